"""What must be said about absolute parameters: refusals, remarks on corrections made, doubts."""

from __future__ import annotations

import math

from halfroll.core.errors import RefusedError
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.lumped.absolute_inputs import AIR_LOAD_U, Inputs
from halfroll.measure.lumped.absolute_methods import (
    AIR_SHARE,
    air_load,
    mass_by_strength,
    volume_ratio_by_frequency,
)
from halfroll.measure.lumped.impedance_model import dynamic_compliance
from halfroll.measure.lumped.parameter_types import Agreement, Method, MethodResult

_HEAVIEST = 30.0  # kg of moving mass per m² of cone; cones of the trade have about 0.3 to 5 (common practice)
_SURELY = 3.0  # standard deviations; between 95 % and this chance may have done it
_LIGHT_LOAD, _HEAVY_LOAD = 0.2, 1.5  # added mass over moving mass
_BY_CHANCE = 0.01
_STRENGTH_DIFFERS = 3.0  # standard deviations
_STRENGTH_LEAST = 0.05
_LEAST_RATIO = 0.3  # Vas/Vb
_LOSS_GROWS = 1.5
_MASS_SHIFT = 0.15


def no_method() -> Verdict:
    """Nothing was given that tells the moving mass."""
    return Verdict(
        code="no-absolute-method",
        severity=Severity.NOTE,
        text="One impedance curve tells Re, fs and the Qs only. Mms, Cms, Rms, Bl, Vas, eta0 and sensitivity need one measurement more.",
        remedy="Measure again with a known mass on the cone or on a closed box of known volume, or weigh the moving parts.",
    )


def refuse_impossible(method: Method, mass_kg: float, inputs: Inputs) -> None:
    """A moving mass that no cone of this area has is a slip in a unit; raises `RefusedError`."""
    air = air_load(inputs.area_m2, inputs.air, inputs.mounting)
    area = f"{1e4 * inputs.area_m2:.4g} cm²"
    if not mass_kg > 0.0 or mass_kg < air:
        found = f"{1e3 * mass_kg:.3g} g"
        rule = (
            f"Mms by {method} must be more than the {1e3 * air:.3g} g of air that move with a cone of {area}"
        )
    elif mass_kg > _HEAVIEST * inputs.area_m2:
        found = f"{1e3 * mass_kg:.4g} g"
        rule = f"Mms by {method} must be below {1e3 * _HEAVIEST * inputs.area_m2:.3g} g for a cone of {area}"
    else:
        return
    causes = {
        "added mass": "The mass may have been typed in kilograms where grams are meant, or the other way round; check the area too",
        "known volume": "The volume or the area may have been typed in another unit",
        "weighed mass": "The mass may have been typed in kilograms where grams are meant, or the other way round; check the area too",
    }
    raise RefusedError(rule, found=found, remedy=causes[method])


def remarks(method: Method, mass_kg: float, inputs: Inputs) -> tuple[str, ...]:
    """Corrections made and not made, one sentence or two each."""
    said = {"added mass": _mass_remarks, "known volume": _box_remarks, "weighed mass": _weight_remarks}
    load = air_load(inputs.area_m2, inputs.air, inputs.mounting)
    other = "baffle" if inputs.mounting == "free air" else "free air"
    change = load * (AIR_SHARE[other] / AIR_SHARE[inputs.mounting] - 1.0)  # type: ignore[index]
    where = "a baffle" if other == "baffle" else "free air"
    here = "free air" if inputs.mounting == "free air" else "a baffle"
    common = (
        f"Mms holds the air that moves in {here}, computed as {1e3 * load:.3g} g. In {where} it would be "
        f"{1e3 * (mass_kg + change):.4g} g.",
    )
    return (*said[method](mass_kg, inputs), *common)


def _mass_remarks(mass_kg: float, inputs: Inputs) -> tuple[str, ...]:
    free = inputs.free_at(inputs.values)
    run, added = inputs.run_at(inputs.values, len(inputs.added) - 1)
    if not free.creep:
        return (
            "No creep of the suspension was found, so it is taken to be as stiff at the lower resonance.",
        )
    softer = dynamic_compliance(run.fs, free.fs, free.creep)
    plain = added / ((free.fs / run.fs) ** 2 - 1.0)
    return (
        f"The suspension creeps and is {100.0 * (softer - 1.0):.1f} % softer at {run.fs:.4g} Hz than at {free.fs:.4g} Hz; that was "
        f"corrected. Without it {1e3 * added:.3g} g alone would give {1e3 * plain:.4g} g.",
    )


def _box_remarks(mass_kg: float, inputs: Inputs) -> tuple[str, ...]:
    free = inputs.free_at(inputs.values)
    boxed, volume = inputs.run_at(inputs.values, len(inputs.added))
    ratio = inputs.ratio_at(inputs.values, 0)
    plain = volume_ratio_by_frequency(free, boxed)
    rho_c2 = inputs.air.density * inputs.air.speed_of_sound**2
    said = [
        f"Vas comes from fc·Qec/(fs·Qes), in which the moving mass cancels: {1e3 * ratio * volume:.4g} l. The resonances alone "
        f"would give {1e3 * plain * volume:.4g} l; the mass that moves on the box is {100.0 * (boxed.mass / free.mass - 1.0):+.1f} % "
        "of that without.",
        f"Cms and Mms need ρc² = {rho_c2:.4g} Pa and the area, which enters squared.",
        "The volume must be the net one, with the room behind the cone and without filling; the air is taken to be compressed "
        "without loss of heat.",
    ]
    return tuple(said)


def _weight_remarks(mass_kg: float, inputs: Inputs) -> tuple[str, ...]:
    load = air_load(inputs.area_m2, inputs.air, inputs.mounting)
    return (
        f"An air load of {1e3 * load:.3g} g was added to what was weighed, with {100 * AIR_LOAD_U:.0f} % standard uncertainty.",
        "Of surround and spider only the part that moves counts, about half (common practice); that must be in the mass typed.",
    )


def mass_verdicts(inputs: Inputs, mass_kg: float) -> tuple[Verdict, ...]:
    """Doubts about added masses: of an unlucky size, or the strength of the motor tells another mass."""
    said = []
    heaviest = max(a.mass_kg for a in inputs.added) / mass_kg
    if not _LIGHT_LOAD <= heaviest <= _HEAVY_LOAD:
        said.append(
            Verdict(
                code="added-mass-size",
                severity=Severity.NOTE,
                text=f"The added mass is {100.0 * heaviest:.0f} % of the moving mass. Outside {100 * _LIGHT_LOAD:.0f} % to "
                f"{100 * _HEAVY_LOAD:.0f} % either the shift of resonance is small or the suspension is used far from it.",
                remedy=f"Use about half the moving mass, {1e3 * mass_kg / 2.0:.3g} g.",
                data={"ratio": heaviest},
            )
        )
    return (*said, *_scatter(inputs), *_strength(inputs, mass_kg))


def _scatter(inputs: Inputs) -> tuple[Verdict, ...]:
    """Several masses that do not lie on one line."""
    from scipy.special import chdtrc

    off, freedom = inputs.line.off, len(inputs.added) - 1
    if freedom < 1 or chdtrc(freedom, float(off @ off)) > _BY_CHANCE:
        return ()
    worst = int(abs(off[1:]).argmax())
    return (
        Verdict(
            code="added-masses-disagree",
            severity=Severity.CAUTION,
            text=f"The {len(inputs.added)} added masses do not lie on one line; {1e3 * inputs.added[worst].mass_kg:.3g} g lies furthest off. "
            "The uncertainty was widened for that.",
            remedy="Weigh the masses again, fix each evenly, and keep them small enough that the cone does not sag.",
            data={"off_u": [float(v) for v in off]},
        ),
    )


def _strength(inputs: Inputs, mass_kg: float) -> tuple[Verdict, ...]:
    """The same mass out of Mms/Bl², which does not need the stiffness: a check that both runs were of the same driver."""

    def both(x: object) -> object:
        import numpy as np

        run, added = inputs.run_at(x, len(inputs.added) - 1)  # type: ignore[arg-type]
        return np.log([inputs.mass_by_added(x), mass_by_strength(inputs.free_at(x), run, added)])  # type: ignore[arg-type]

    run, _ = inputs.run_at(inputs.values, len(inputs.added) - 1)
    free = inputs.free_at(inputs.values)
    other = mass_by_strength(free, run, inputs.added[-1].mass_kg) if run.mass > free.mass else math.inf
    if math.isfinite(other):
        values, jacobian = inputs.propagate(both)  # type: ignore[arg-type]
        difference = jacobian[1] - jacobian[0]
        u = math.sqrt(max(float(difference @ inputs.covariance @ difference), 0.0))
        gap = float(values[1] - values[0])
        if abs(gap) <= max(_STRENGTH_DIFFERS * u, _STRENGTH_LEAST):
            return ()
    text = f"{1e3 * other:.4g} g" if math.isfinite(other) else "no mass at all"
    return (
        Verdict(
            code="added-mass-inconsistent",
            severity=Severity.CAUTION,
            text=f"With the added mass the resonance tells Mms = {1e3 * mass_kg:.4g} g, but the motional impedance beside it "
            f"tells {text}. Stiffness or force factor changed between the two measurements.",
            remedy="Fix the mass evenly, centre the coil, use the same level, and measure both shortly after one another.",
            data={"by_resonance_kg": mass_kg, "by_strength_kg": other if math.isfinite(other) else None},
        ),
    )


def box_verdicts(inputs: Inputs) -> tuple[Verdict, ...]:
    """Doubts about boxes: too large to tell, more loss than free (a leak), or a mass that changed too much."""
    said = []
    free = inputs.free_at(inputs.values)
    for i, box in enumerate(inputs.boxes):
        boxed, _ = inputs.run_at(inputs.values, len(inputs.added) + i)
        ratio = inputs.ratio_at(inputs.values, i)
        litres = f"{1e3 * box.volume_m3:.3g} l"
        if 0.0 < ratio < _LEAST_RATIO:
            said.append(
                Verdict(
                    code="box-too-large",
                    severity=Severity.NOTE,
                    text=f"The box of {litres} adds only {100.0 * ratio:.0f} % to the stiffness, so Vas hangs on a small difference.",
                    remedy="Use a box whose volume is about Vas or less.",
                    data={"stiffness_ratio": ratio},
                )
            )
        growth = boxed.loss / free.loss
        shift = boxed.mass / free.mass - 1.0
        if growth > _LOSS_GROWS or abs(shift) > _MASS_SHIFT:
            said.append(_leak(litres, growth, shift))
    return tuple(said)


def _leak(litres: str, growth: float, shift: float) -> Verdict:
    return Verdict(
        code="box-leak",
        severity=Severity.CAUTION,
        text=f"On the box of {litres} the mechanical loss is {growth:.2g} times that without, and the moving mass seems to change by "
        f"{100.0 * shift:+.0f} %. A tight, hard, empty box does neither; with a leak Vas comes out too small.",
        remedy="Seal the driver's rim and the cable, press the walls, take out the filling, and measure again.",
        data={"loss_ratio": growth, "mass_shift": shift},
    )


def methods_disagree(agreement: tuple[Agreement, ...], results: tuple[MethodResult, ...]) -> Verdict:
    """Two methods tell different moving masses."""
    worst = max(
        (a for a in agreement if not a.agrees), key=lambda a: abs(a.relative) / a.u if a.u else math.inf
    )
    mass = {r.method: 1e3 * r.estimates.value("mms_kg") for r in results}
    return Verdict(
        code="methods-disagree",
        severity=Severity.CAUTION if abs(worst.relative) > _SURELY * worst.u else Severity.NOTE,
        text=f"Mms by {worst.first} is {mass[worst.first]:.4g} g, by {worst.second} {mass[worst.second]:.4g} g: "
        f"{100.0 * abs(worst.relative):.1f} % apart, more than their uncertainty of {200.0 * worst.u:.1f} % allows. The uncertainty "
        "shown reaches both.",
        remedy="A leaking box, a wrong piston area (it enters squared by known volume), a mass that was not fixed, or a suspension "
        "that changed in between are the usual causes.",
        data={"first": worst.first, "second": worst.second, "relative": worst.relative, "u": worst.u},
    )
