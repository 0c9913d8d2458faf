"""What a data sheet is made of: cells, rows, sentences, and the columns its curves come from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from halfroll.compare.types import Comparison
from halfroll.figures.types import Figure

HEADS = {"measured": "Measured", "predicted": "Predicted", "published": "Printed by others"}

CAUTIONS = (
    "Protect your ears: this driver can play louder than is good for hearing. Above 85 dB(A) wear hearing protection.",
    "Strong magnets: they snap together and onto steel, pinch skin, and harm pacemakers, cards and disks. Keep a distance.",
    "Heat: coil and pole get hot at high power, printed parts soften. Stay below the rated power and let it cool before you touch it.",
    "Amplifiers that run from the mains stay closed; change wires with the power off. Local electrical rules come first.",
)
"""What is said on every sheet."""


CURVES = (("level", "level"), ("impedance", "impedance"), ("thd", "distortion"))
"""Curves of a sheet and their words."""


@dataclass(frozen=True, kw_only=True)
class SheetCell:
    """One figure from one source: its value with the expanded uncertainty, what it rests on, its mark (large letters)."""

    source: str
    text: str
    basis: str
    mark: str
    figure: Figure


@dataclass(frozen=True, kw_only=True)
class SheetRow:
    """One figure: its name, its rule in words, and a cell for each source of the sheet (None: not known from there)."""

    key: str
    label: str
    rule: str
    cells: tuple[SheetCell | None, ...]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class DataSheet:
    """A data sheet before it is printed.

    Parameters
    ----------
    sources
        Where the numbers come from, in the order of the cells: ``measured``, ``predicted``, ``published``.
    facts
        What the record states, (name, value).
    groups
        Rows by heading.
    unknown, limits, cabinets, conditions, changes, said
        Sentences: what is not known; power and travel; cabinets of the workshop for it; how it was measured; what changed from its parent;
        what must be said of its numbers.
    comparison
        The columns with their curves, for charts.
    marks
        Mark (normal form) by (version id, figure key).
    """

    version_id: str
    title: str
    driver: str
    workshop: str
    summary: str
    sources: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    groups: tuple[tuple[str, tuple[SheetRow, ...]], ...]
    unknown: tuple[str, ...]
    limits: tuple[str, ...]
    cabinets: tuple[str, ...]
    conditions: tuple[str, ...]
    changes: tuple[str, ...]
    said: tuple[str, ...]
    comparison: Comparison
    marks: Mapping[tuple[str, str], str]

    @property
    def rows(self) -> tuple[SheetRow, ...]:
        """All rows, whatever their heading."""
        return tuple(row for _, rows in self.groups for row in rows)

    def as_dict(self) -> dict[str, Any]:
        """The machine interface's shape."""
        return {
            "version": self.version_id, "title": self.title, "driver": self.driver, "facts": dict(self.facts),
            "settings": self.comparison.settings.as_dict(), "sources": list(self.sources),
            "figures": [
                {**cell.figure.as_dict(), "mark": cell.mark}
                for row in self.rows for cell in row.cells if cell is not None
            ],
            "unknown": list(self.unknown), "limits": list(self.limits), "cabinets": list(self.cabinets),
            "conditions": list(self.conditions), "changes": list(self.changes), "must_be_said": list(self.said),
            "cautions": list(CAUTIONS),
        }  # fmt: skip
