"""What is said where a design's own words cannot hold: a filling in a wall too thin for one, a mass that does not move as one piece."""

from __future__ import annotations

from collections.abc import Iterator

from halfroll.core.text import format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.suspension.design import MovingDesign
from halfroll.suspension.results import BreakUp, SuspensionResult

SOLID_LINES = 4.0
"""A wall of up to so many lines is printed solid: two outlines meet from each side (common practice of slicers)."""

NOT_RIGID = 0.1
"""Share by which the resonance of the bending parts may lie off that of a rigid mass before it is told (own choice)."""


def thin_fillings(design: MovingDesign) -> Iterator[Verdict]:
    """Parts said to be filled in part whose wall is too thin for a filling."""
    for name in ("surround", "spider", "cone", "cap"):
        one = getattr(design, name)
        if one is None or one.print.infill >= 1.0 or one.thickness_m > SOLID_LINES * one.print.line_width_m:
            continue
        yield Verdict(
            code="filling-in-thin-wall", severity=Severity.CAUTION,
            text=f"The {name} is said to be filled to {100 * one.print.infill:.0f} %, and its wall is {1e3 * one.thickness_m:.2g} mm, "
            f"{one.thickness_m / one.print.line_width_m:.1f} lines of {1e3 * one.print.line_width_m:.2g} mm: a slicer prints such a wall solid. "
            "Mass and stiffness are computed with the filling.",
            remedy=f"Leave infill out of [{name}.print] unless a weighed print says so.",
            data={"part": name, "infill": one.print.infill, "thickness_mm": 1e3 * one.thickness_m},
        )  # fmt: skip


def not_rigid(result: SuspensionResult | None, found: BreakUp | None) -> Iterator[Verdict]:
    """The lowest resonance of the bending parts lies off that of a rigid mass on the suspension."""
    if result is None or result.resonance_hz is None or found is None:
        return
    first = next((mode.frequency_hz for mode in found.modes if mode.kind == "piston"), None)
    if first is None or abs(first / result.resonance_hz - 1.0) <= NOT_RIGID:
        return
    yield Verdict(
        code="resonance-not-of-one-piece", severity=Severity.CAUTION,
        text=f"A rigid mass would resonate at {format_value(result.resonance_hz, None, 'Hz')}; with what moves bending along it is {format_value(first, None, 'Hz')}. "
        "The suspension is too stiff for the cone and former to move as one piece.",
        remedy="Take the lower value for the resonance, and a softer suspension for a driver.",
        data={"rigid_hz": result.resonance_hz, "bending_hz": first},
    )  # fmt: skip
