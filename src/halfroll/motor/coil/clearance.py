"""Clearance of a coil in its gap, cold and warm, against what a print and a workshop can hold.

A radius r grows by r α ΔT, in the cold it shrinks. The winding's wire and the former of plastic want to grow by different
amounts: between the former's free growth and the wire's lies what happens, and each side of the gap takes the worse one. Tolerances are added up
(worst case) and as independent uniform ones (root sum of squares, JCGM 100:2008, 4.3.7, with k = 2).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from halfroll.core.errors import InputError
from halfroll.core.text import THIN
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.wire import expansion_per_k
from halfroll.motor.coil.wound import Coil
from halfroll.motor.types import Gap

STEEL_PER_K = 12e-6
"""Expansion of low-carbon steel (1/K), handbook value from memory; the gap's walls are taken to be of it."""

RUNOUT_M = 0.1e-3
"""How far off the axis a coil runs at rest once centred with a shim, half the band (m); common practice, no source."""

WALL_TOLERANCE_M = 0.05e-3
"""Half the band of the radius of a turned pole or a bored plate (m); common practice. ISO 7089 washers are worse."""

COVERAGE = 2.0
"""k of the root sum of squares."""

REFERENCE_C = 20.0

REMEDY = "Give the gap more room, measure former and gap before gluing, and centre the coil with a shim."


@dataclass(frozen=True, kw_only=True)
class Tolerance:
    """One cause of doubt: half of the band it can lie in (m)."""

    cause: str
    half_m: float


@dataclass(frozen=True, kw_only=True)
class Side:
    """Clearance between a part of the coil and a wall of the gap (m, on the radius).

    Parameters
    ----------
    part, wall
        Who is near whom.
    nominal_m, warm_m
        As drawn at 20 °C, and with everything warm.
    tolerances
        What it may be off by.
    """

    part: str
    wall: str
    nominal_m: float
    warm_m: float
    tolerances: tuple[Tolerance, ...]

    @property
    def worst_m(self) -> float:
        """The smaller of cold and warm with all tolerances against it (m)."""
        return min(self.nominal_m, self.warm_m) - sum(t.half_m for t in self.tolerances)

    @property
    def likely_m(self) -> float:
        """The same with tolerances as independent uniform ones, k = 2 (m): about one coil of forty has less."""
        spread = math.sqrt(sum(t.half_m**2 / 3.0 for t in self.tolerances))
        return min(self.nominal_m, self.warm_m) - COVERAGE * spread


@dataclass(frozen=True, kw_only=True)
class Clearance:
    """Both sides of the coil in the gap at temperatures (°C) of coil and motor, and what follows."""

    inside: Side
    outside: Side
    coil_c: float
    motor_c: float
    verdicts: tuple[Verdict, ...] = field(default=())

    @property
    def tightest(self) -> Side:
        """The side with less likely clearance."""
        return min(self.inside, self.outside, key=lambda side: side.likely_m)


def clearance(
    coil: Coil,
    gap: Gap,
    *,
    coil_c: float = REFERENCE_C,
    motor_c: float = REFERENCE_C,
    runout_m: float = RUNOUT_M,
    wall_tolerance_m: float = WALL_TOLERANCE_M,
) -> Clearance:
    """Clearance on both sides of a coil.

    Parameters
    ----------
    coil, gap
        The coil as wound, and the gap it moves in.
    coil_c, motor_c
        Temperatures of the coil and of the gap's walls (°C).
    runout_m
        How far the coil may run off the axis (m), bent former and rocking with it.
    wall_tolerance_m
        Half the band of the radii of the gap's walls (m).

    Raises
    ------
    InputError
        The coil does not go into the gap as drawn; names the coil's and the motor's part.
    """
    rise, motor_rise = coil_c - REFERENCE_C, motor_c - REFERENCE_C
    wire = rise * expansion_per_k(coil.design.wire)
    least, most = sorted((wire, rise * coil.design.former.expansion_per_k))
    bore, outer = coil.former_inner_m, coil.outermost_m
    printed = Tolerance(cause="printed diameter", half_m=0.5 * coil.design.print_tolerance_m)
    shared = (printed, Tolerance(cause="runout", half_m=runout_m), Tolerance(cause=f"{gap.inner} and {gap.outer} as made", half_m=wall_tolerance_m))  # fmt: skip
    inside = Side(
        part="former", wall=gap.inner, nominal_m=bore - gap.r_inner,
        warm_m=bore * (1.0 + least) - gap.r_inner * (1.0 + STEEL_PER_K * motor_rise), tolerances=shared,
    )  # fmt: skip
    core, build = coil.inner_m, outer - coil.inner_m
    grown = core * (1.0 + most) + build * (1.0 + wire)
    outside = Side(
        part="winding", wall=gap.outer, nominal_m=gap.r_outer - outer,
        warm_m=gap.r_outer * (1.0 + STEEL_PER_K * motor_rise) - grown,
        tolerances=(*shared, Tolerance(cause="build", half_m=math.sqrt(3.0) * coil.build_u_m), Tolerance(cause="wall", half_m=0.5 * coil.design.print_tolerance_m)),
    )  # fmt: skip
    for side in (inside, outside):
        _refuse(side)
    found = Clearance(inside=inside, outside=outside, coil_c=coil_c, motor_c=motor_c)
    return Clearance(
        inside=inside, outside=outside, coil_c=coil_c, motor_c=motor_c, verdicts=tuple(_verdicts(found))
    )


def _refuse(side: Side) -> None:
    if side.nominal_m <= 0.0:
        raise InputError(
            f"The coil's {side.part} and the motor's {side.wall} must leave clearance between them",
            key="coil.former_inner_mm" if side.part == "former" else "coil.layers",
            found=f"{1e3 * side.nominal_m:.2f} mm", allowed="above 0 mm, 0.2 to 0.3 mm on each side as common practice",
            remedy="Make the former wider" if side.part == "former" else "Take thinner wire, fewer layers or a thinner wall",
        )  # fmt: skip


def _verdicts(found: Clearance) -> Iterator[Verdict]:
    for side in (found.inside, found.outside):
        if side.worst_m > 0.0:
            continue
        warm = (
            f", {1e3 * side.warm_m:.2f}{THIN}mm at {found.coil_c:.0f}{THIN}°C"
            if found.coil_c != REFERENCE_C
            else ""
        )
        between = f"Between {side.part} and {side.wall} there are {1e3 * side.nominal_m:.2f}{THIN}mm as drawn{warm}; "
        causes = ", ".join(f"{t.cause} ±{1e3 * t.half_m:.2f}" for t in side.tolerances)
        data = {"nominal_mm": 1e3 * side.nominal_m, "warm_mm": 1e3 * side.warm_m, "worst_mm": 1e3 * side.worst_m, "likely_mm": 1e3 * side.likely_m}  # fmt: skip
        if side.likely_m <= 0.0:
            yield Verdict(
                code="coil-rubs", severity=Severity.BAD, data=data,
                text=f"{between}what is usually off eats them up ({causes}{THIN}mm).", remedy=REMEDY,
            )  # fmt: skip
        else:
            yield Verdict(
                code="coil-may-rub", severity=Severity.CAUTION, data=data,
                text=f"{between}with everything off the wrong way none is left ({causes}{THIN}mm).", remedy=REMEDY,
            )  # fmt: skip
