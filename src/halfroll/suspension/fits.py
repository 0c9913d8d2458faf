"""Whether parts that are glued together reach each other, and whether all that moves has been designed."""

from __future__ import annotations

from collections.abc import Iterator

from halfroll.core.verdicts import Severity, Verdict
from halfroll.suspension.design import MovingDesign

REACH_M = 1.0e-3
"""Radii of parts that are glued together may differ by so much beyond the lip (own choice): a fillet of glue bridges that."""


def fit_verdicts(design: MovingDesign) -> tuple[Verdict, ...]:
    """Joints whose diameters are too far apart to be glued, and a moving mass that lacks its coil."""
    return (*_joints(design), *_no_coil(design))


def _joints(design: MovingDesign) -> Iterator[Verdict]:
    """A holder's inner lip ends at its inner diameter; what it is glued to must lie under the lip, or close to it."""
    cone, former = design.cone, design.former
    if design.surround is not None and cone is not None:
        holder = design.surround
        yield from _miss("surround", holder.inner_radius_m, holder.lip_inner_m, "cone", cone.outer_radius_m)
    if former is None:
        return
    outside = former.inner_radius_m + former.wall_m
    if design.spider is not None:
        yield from _miss("spider", design.spider.inner_radius_m, design.spider.lip_inner_m, "former", outside)
    if cone is not None and cone.inner_radius_m > 0:
        yield from _miss("cone", cone.inner_radius_m, 0.0, "former", outside)


def _miss(part: str, inner_m: float, lip_m: float, other: str, at_m: float) -> Iterator[Verdict]:
    gap = max(inner_m - lip_m - at_m, at_m - inner_m)
    if gap <= REACH_M:
        return
    lip = f"its lip reaches in to {_mm(inner_m - lip_m)}" if lip_m > 0 else "it has no lip inwards"
    yield Verdict(
        code="glued-parts-miss", severity=Severity.CAUTION,
        text=f"The {part} begins at {_mm(inner_m)} diameter, and {lip}; the {other} it is glued to ends at {_mm(at_m)}. They miss each "
        f"other by {1e3 * gap:.1f} mm, which is computed as bridged rigidly.",
        remedy=f"Check the diameters of {part} and {other}, or give the {part} a lip that reaches.",
        data={"part": part, "other": other, "miss_mm": round(1e3 * gap, 3)},
    )  # fmt: skip


def _no_coil(design: MovingDesign) -> Iterator[Verdict]:
    """Without a former and its winding all that follows from the moving mass is off."""
    if design.former is not None or design.cone is None:
        return
    yield Verdict(
        code="mass-without-coil", severity=Severity.CAUTION,
        text="No coil is designed: former and winding are missing in the moving mass. The resonance is too high, the sag too small.",
        remedy="Describe the coil in [coil], or on the page Design.",
    )  # fmt: skip


def _mm(radius_m: float) -> str:
    return f"{2e3 * radius_m:.1f} mm"
