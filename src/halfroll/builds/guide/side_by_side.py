"""A unit's values on the bench: as its version was predicted, as it was built, as it was measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfroll.builds.guide.bands import KINDS
from halfroll.builds.guide.expected import Expected, expected_of
from halfroll.builds.guide.readings import fit_readings
from halfroll.core.progress import Progress, part, silent
from halfroll.workshop.as_built import AsBuilt, as_built
from halfroll.workshop.contents import read_contents

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

Value = tuple[float, float]
"""Value and standard uncertainty."""


@dataclass(frozen=True, kw_only=True)
class Line:
    """One value in free air, three ways; `measured` None where no impedance curve tells it."""

    key: str
    label: str
    unit: str
    predicted: Value
    built: Value
    measured: Value | None


@dataclass(frozen=True, kw_only=True, eq=False)
class SideBySide:
    """A unit as built, and its values three ways."""

    found: AsBuilt
    lines: tuple[Line, ...]


def side_by_side(workshop: Workshop, unit_id: str, progress: Progress = silent) -> SideBySide:
    """Predicted, as built, measured.

    Raises
    ------
    InputError
        There is no such unit, or its version's driver is not known.
    CancelledError
        `progress` asked to stop.
    """
    found = as_built(workshop, unit_id, part(progress, 0.0, 0.8))
    before, after = expected_of(found.before), expected_of(found.driver)
    contents = read_contents(workshop.folder, workshop.index)
    measured = fit_readings(workshop, unit_id, contents, found.driver.model, part(progress, 0.8, 1.0))
    lines = tuple(
        Line(
            key=key,
            label=kind.label,
            unit=kind.unit,
            predicted=_pair(before[key]),
            built=_pair(after[key]),
            measured=measured.get(key),
        )
        for key, kind in KINDS.items()
    )
    return SideBySide(found=found, lines=lines)


def _pair(one: Expected) -> Value:
    return one.value, float((one.u_shared**2 + one.u_unit**2) ** 0.5)
