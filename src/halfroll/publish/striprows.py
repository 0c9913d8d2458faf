"""What a strip chart says of each version: its figure, its difference to the base, and both in words."""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.compare.findings import short_names
from halfroll.compare.types import Comparison, Difference
from halfroll.core.text import SYMBOLS, THIN, format_value, format_with_u
from halfroll.figures.types import Figure, Source
from halfroll.publish.curves import remark_of

_REMARKED = " predicted"
"""At the end of the name of a version whose prediction is meant; the remark behind the label says it."""

BOUND_SIGN = {"upper": "≤\u202f", "lower": "≥\u202f", None: ""}

Interval = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class StripRow:
    """One version in a strip chart; `style` is its place in the theme's order of curve styles."""

    label: str
    style: int
    base: bool
    source: Source
    figure: Figure
    difference: Difference | None

    @property
    def remark(self) -> str:
        """What must be said behind the label."""
        return remark_of(base=self.base, source=self.source)

    @property
    def name(self) -> str:
        """The label with the remark."""
        return self.label + self.remark

    @property
    def grey(self) -> bool:
        """Whether it cannot be told from the base."""
        return self.difference is not None and self.difference.outcome == "not distinguishable"

    @property
    def interval(self) -> Interval | tuple[()]:
        """The 95 % interval; empty when the spread is unknown or the value is only a bound."""
        value, half = self.figure.value, self.figure.expanded
        if value is None or half is None or self.figure.bound is not None:
            return ()
        return value - half, value + half

    @property
    def value_text(self) -> str:
        """The value with its 95 % half-width and unit."""
        return _value_text(self.figure, self.figure.unit)

    @property
    def number_text(self) -> str:
        """The same without the unit, for a column whose head names it."""
        written = _value_text(self.figure, self.figure.unit)
        return written.removesuffix(THIN + SYMBOLS.get(self.figure.unit, self.figure.unit))

    @property
    def difference_text(self) -> str:
        """The difference to the base and what may be claimed; empty for the base itself."""
        d = self.difference
        if d is None or d.value is None:
            return ""
        if self.grey:
            return d.outcome
        size = format_with_u(d.value, d.expanded, d.unit)
        claim = "spread unknown" if d.outcome == "unknown" else d.outcome
        return f"{BOUND_SIGN[d.bound]}{'+' if d.value > 0 else ''}{size}, {claim}"


def strip_rows(comparison: Comparison, figure_key: str) -> list[StripRow]:
    """The versions of a comparison in their order, with the styles their curves have."""
    styles, labels = version_styles(comparison), version_labels(comparison)
    rows = []
    for column in comparison.columns:
        version = column.version
        figure = column.figures.get(figure_key)
        if figure is None:
            continue
        base = version.version_id == comparison.base_id and comparison.base_mode != "parent"
        rows.append(
            StripRow(
                label=labels[version.version_id],
                style=styles[version.version_id],
                base=base,
                source=column.source,
                figure=figure,
                difference=comparison.difference(figure_key, version.version_id),
            )
        )
    return rows


def version_labels(comparison: Comparison) -> dict[str, str]:
    """What every version is called beside its curve: as in the sentences, then its title."""
    versions = [column.version for column in comparison.columns]
    names = short_names(versions)
    return {
        v.version_id: names[v.version_id]
        if v.title in ("", v.name)
        else f"{names[v.version_id].removesuffix(_REMARKED)} {v.title}"
        for v in versions
    }


def version_styles(comparison: Comparison) -> dict[str, int]:
    """The style number of every version: the base has the first, the others follow in their order."""
    ids = [c.version.version_id for c in comparison.columns]
    ordered = sorted(ids, key=lambda version_id: version_id != comparison.base_id)
    return {version_id: i for i, version_id in enumerate(ordered)}


def strip_summary(label: str, rows: list[StripRow]) -> str:
    """The strip chart in words."""
    parts = []
    for row in rows:
        difference = f" ({row.difference_text})" if row.difference_text else ""
        parts.append(f"{row.name}: {row.value_text}{difference}")
    return f"{label}. {'; '.join(parts)}." if parts else f"{label}: no values."


def _value_text(figure: Figure, unit: str) -> str:
    if figure.value is None:
        return "no value"
    if figure.bound is not None:
        return BOUND_SIGN[figure.bound] + format_value(figure.value, None, unit)
    return format_with_u(figure.value, figure.expanded, unit)
