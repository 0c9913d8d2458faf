"""What is said beside the static field of a motor: what it assumes, and where it ends."""

from __future__ import annotations

from collections.abc import Iterator

from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.steel import curve
from halfroll.motor.field.sections import INSET_M
from halfroll.motor.field.spread import Spread
from halfroll.motor.results import MotorResult, OperatingPoint, Saturation
from halfroll.motor.types import Assembly, FieldCoil, Magnet, SoftSteel

FULL_MU_R = 250.0
"""A steel section counts as full below this relative permeability at its mean flux density: about 1.7 T in low-carbon steel."""

CORNERS_SHARE = 0.005
"""A smaller share of a magnet below its knee is its corners only, where the field has no finite value."""

MUCH_SHARE = 0.05
COARSE = 0.01
TOLD_SPREAD = 0.005


def study_verdicts(assembly: Assembly, result: MotorResult, known: Spread | None) -> tuple[Verdict, ...]:
    """All that is to be said, the gravest first."""
    found = [
        *_magnets(assembly, result),
        *_steel(assembly, result),
        *_coil(assembly, result),
        *_accuracy(result, known),
        *_assumptions(assembly),
    ]
    return tuple(sorted(found, key=lambda verdict: -verdict.severity))


def _magnets(assembly: Assembly, result: MotorResult) -> Iterator[Verdict]:
    for point in result.magnets:
        matter = assembly.body(point.body).matter
        assert isinstance(matter, Magnet)
        grade = matter.grade
        if point.temperature_c > grade.highest_c:
            yield Verdict(
                code="magnet-above-its-limit",
                severity=Severity.BAD,
                text=f"{point.body} of {grade.title} is at {point.temperature_c:g} °C; its grade bears {grade.highest_c:g} °C.",
                remedy="Take a grade for higher temperatures, or keep the motor cooler.",
                data={"body": point.body, "temperature_c": point.temperature_c, "highest_c": grade.highest_c},
            )
        if point.share_below_knee > CORNERS_SHARE or point.margin_t < 0.0:
            yield _demagnetised(point)


def _demagnetised(point: OperatingPoint) -> Verdict:
    r, z = (1e3 * value for value in point.worst_at_m)
    much = point.share_below_knee > MUCH_SHARE
    return Verdict(
        code="magnet-demagnetised",
        severity=Severity.BAD if much else Severity.CAUTION,
        text=f"{100 * point.share_below_knee:.2g} % of {point.body} lies below the knee of its curve at "
        f"{point.temperature_c:g} °C (lowest {point.b_worst_t:.3g} T at r {r:.3g} mm, z {z:.3g} mm; knee {point.knee_t:.3g} T) "
        "and loses magnetisation for good. The loss is not in the field, so field and force factor are upper bounds.",
        remedy="Take a thicker magnet, a smaller gap, a grade with more coercivity, or keep it cooler.",
        data={
            "body": point.body,
            "share_below_knee": point.share_below_knee,
            "b_worst_t": point.b_worst_t,
            "knee_t": point.knee_t,
            "temperature_c": point.temperature_c,
            "worst_r_mm": r,
            "worst_z_mm": z,
        },
    )


def _steel(assembly: Assembly, result: MotorResult) -> Iterator[Verdict]:
    for steel in result.steel:
        matter = assembly.body(steel.body).matter
        assert isinstance(matter, SoftSteel)
        end = curve(matter.steel).table_end_t
        if steel.peak_t > end:
            yield _beyond_table(steel, end)
        if steel.mu_r < FULL_MU_R:
            where = ("height z " if steel.across == "z" else "radius ") + f"{1e3 * steel.at_m:.3g} mm"
            yield Verdict(
                code="steel-saturated",
                severity=Severity.CAUTION,
                text=f"{steel.body} is full of flux: {steel.mean_t:.3g} T on average over its section at {where}, where its "
                f"relative permeability is {steel.mu_r:.0f}. More magnet adds little, and steel of another sort changes the result.",
                remedy="Make that section larger, or use less magnet.",
                data={
                    "body": steel.body,
                    "mean_t": steel.mean_t,
                    "at_mm": 1e3 * steel.at_m,
                    "mu_r": steel.mu_r,
                },
            )


def _beyond_table(steel: Saturation, end: float) -> Verdict:
    r, z = (1e3 * value for value in steel.peak_at_m)
    return Verdict(
        code="beyond-steel-table",
        severity=Severity.CAUTION,
        text=f"{steel.body} reaches {steel.peak_t:.3g} T at r {r:.3g} mm, z {z:.3g} mm; the table of its steel ends at {end:.3g} T. "
        "Above, it is taken as fully saturated, rising like vacuum.",
        remedy="Make the part thicker there, or give a table that goes farther.",
        data={"body": steel.body, "peak_t": steel.peak_t, "table_end_t": end, "r_mm": r, "z_mm": z},
    )


def _coil(assembly: Assembly, result: MotorResult) -> Iterator[Verdict]:
    winding, gap, bl = assembly.winding, assembly.gap, result.force_factor
    if winding is None or bl is None:
        return
    if winding.r_inner < gap.r_inner or winding.r_outer > gap.r_outer:
        yield Verdict(
            code="coil-outside-gap",
            severity=Severity.BAD,
            text=f"The winding reaches from radius {1e3 * winding.r_inner:.4g} to {1e3 * winding.r_outer:.4g} mm, the gap only from "
            f"{1e3 * gap.r_inner:.4g} to {1e3 * gap.r_outer:.4g} mm: part of the coil stands in the steel.",
            remedy="Change the former's diameter, the layers or the gap.",
            data={
                "winding_mm": [1e3 * winding.r_inner, 1e3 * winding.r_outer],
                "gap_mm": [1e3 * gap.r_inner, 1e3 * gap.r_outer],
            },
        )
    if bl.at_rest < 0.0:
        yield Verdict(
            code="force-factor-negative",
            severity=Severity.NOTE,
            text="The force factor is negative: a positive current pulls the coil inwards.",
            remedy="Swap the coil's leads, or turn the magnets over.",
            data={"bl_t_m": bl.at_rest},
        )


def _accuracy(result: MotorResult, known: Spread | None) -> Iterator[Verdict]:
    if result.error > COARSE:
        yield Verdict(
            code="mesh-coarse",
            severity=Severity.CAUTION,
            text=f"The force factor still changes by {100 * result.error:.2g} % with the mesh.",
            remedy="Compute with a finer mesh.",
            data={"error_rel": result.error},
        )
    if known is not None and max(known.steel_rel, known.magnet_rel) > TOLD_SPREAD:
        causes = (("steel", known.steel_rel), ("magnets", known.magnet_rel))
        told = " and ".join(f"{what} by ±{100 * rel:.2g} %" for what, rel in causes if rel > 0)
        yield Verdict(
            code="material-spread",
            severity=Severity.NOTE,
            text=f"What is sold under one name differs. It changes the force factor: {told} (one standard deviation).",
            remedy="Measure the flux density in the gap of one motor, and correct the magnet's remanence by it.",
            data={"steel_rel": known.steel_rel, "magnet_rel": known.magnet_rel},
        )


def _assumptions(assembly: Assembly) -> Iterator[Verdict]:
    yield Verdict(
        code="field-axisymmetric",
        severity=Severity.NOTE,
        text="The field is that of a motor of revolution, all parts centred: printed ribs, wire exits, holes beside the axis and parts "
        f"off centre are not in it. Values in steel and magnets are read {1e3 * INSET_M:g} mm inside their faces; at corners there is no "
        "finite value.",
        data={"inset_mm": 1e3 * INSET_M},
    )
    if any(isinstance(body.matter, SoftSteel) for body in assembly.bodies):
        yield Verdict(
            code="steel-without-memory",
            severity=Severity.NOTE,
            text="Steel follows its first magnetisation curve, without hysteresis: what it keeps from being magnetised before, or from "
            "being turned and punched, is not in the field.",
        )
    for body in assembly.bodies:
        if isinstance(body.matter, FieldCoil):
            yield Verdict(
                code="field-coil-steady",
                severity=Severity.NOTE,
                text=f"{body.name} carries {body.matter.current_a:g} A steadily; its heat and how its resistance rises are not in the field.",
                data={"body": body.name, "current_a": body.matter.current_a},
            )
