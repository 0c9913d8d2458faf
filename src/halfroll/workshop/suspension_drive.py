"""How much distortion a version's suspension makes: the constants of its driver gathered from where they are known, and played."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.motor.coil.wound import wind
from halfroll.workshop.jobs import code_of, key_of
from halfroll.workshop.kept import kept
from halfroll.workshop.motors import solve_version
from halfroll.workshop.suspension_measured import MeasuredVersion, measured_of

if TYPE_CHECKING:
    from halfroll.driver.suspension_distortion import Constants, SuspensionDistortion
    from halfroll.suspension.design import MovingDesign
    from halfroll.suspension.results import SuspensionResult
    from halfroll.workshop.store import Workshop
    from halfroll.workshop.suspensions import SuspensionSolved

USUAL_VOLTS = 2.83
USUAL_LE_H = 0.3e-3
"""Inductance where nothing tells it; at 200 Hz it is a twentieth of 8 ohm."""

Origins = tuple[tuple[str, str], ...]


def usual_volts(rated_impedance_ohm: float | None) -> float:
    """The voltage of 1 W into the rated impedance, else 2.83 V."""
    return USUAL_VOLTS if rated_impedance_ohm is None else round(math.sqrt(rated_impedance_ohm), 3)


def distortion_of(
    workshop: Workshop,
    version_id: str,
    solved: SuspensionSolved,
    volts: Sequence[float] = (),
    progress: Progress = silent,
) -> SuspensionDistortion:
    """The bass distortion of a version's suspension alone at some voltages (V r.m.s.), 1 W into the rated impedance unless said.

    Bl, Re and Le come from the version's motor and coil where they are designed, else from measured parameters; with the motor its own
    share is told beside. Kept in the index.

    Raises
    ------
    InputError
        There is no suspension, or nothing tells a constant that is needed; the message says which, and what to do.
    CancelledError
        `progress` asked to stop.
    """
    from halfroll.driver.suspension_distortion import suspension_distortion

    if solved.suspension is None:
        raise InputError("Distortion needs a suspension", key="surround", found="no table [surround] or [spider]",
                         remedy="Design a surround or a spider")  # fmt: skip
    curve = solved.suspension.curve
    constants, origins = constants_of(workshop, version_id, solved, part(progress, 0.0, 0.7))
    played = tuple(volts) or (usual_volts(workshop.version(version_id).record.rated_impedance_ohm),)
    key = key_of(
        "distortion", code_of("core", "driver", "suspension"), repr(constants), repr(origins), repr(played),
        curve.x_m.tobytes().hex(), curve.force_n.tobytes().hex(),
    )  # fmt: skip
    told = part(progress, 0.7, 1.0)
    found: SuspensionDistortion = kept(
        workshop, key, f"suspension distortion {version_id}",
        lambda: suspension_distortion(curve, constants, played, origins=origins, progress=told),
    )  # fmt: skip
    return found


def constants_of(
    workshop: Workshop, version_id: str, solved: SuspensionSolved, progress: Progress = silent
) -> tuple[Constants, Origins]:
    """What stays constant while the suspension bends, and where each value comes from."""
    from halfroll.driver.suspension_distortion import Constants
    from halfroll.driver.suspension_fit import fit_force_factor

    assert solved.suspension is not None
    measured = measured_of(workshop, version_id, part(progress, 0.0, 0.3))
    electric, origins = _electric(workshop, version_id, measured, part(progress, 0.3, 1.0))
    bl, re, le, curve = electric
    mass, record = solved.mass, workshop.version(version_id).record
    mms = mass.mms_kg if mass is not None and solved.design.cone is not None else None
    if mms is not None:
        origins.append(("Mms", "the moving parts' design"))
    else:
        mms = _need(measured, "mms_kg", "Mms", "a cone in the design, or a measured moving mass")
        origins.append(("Mms", "measured"))
    area = mass.area_m2 if mass is not None else 1e-4 * (record.effective_area_cm2 or 0.0)
    if not area:
        raise InputError("Distortion needs the effective area", key="effective_area_cm2", found="nothing",
                         remedy="Design the cone and surround, or state effective_area_cm2")  # fmt: skip
    origins.append(("Sd", "the moving parts' design" if mass is not None else "the version's record"))
    rms = None if measured is None else measured.get("rms_ns_per_m")
    origins.append(("Rms", "the plastics' loss factors" if rms is None else "measured"))
    if rms is None:
        rms = loss_resistance(solved.design, solved.suspension, mms)
    bl_of_x = None
    if curve is not None:
        x = solved.suspension.curve.x_m
        try:
            bl_of_x = fit_force_factor(curve[0], curve[1], (float(x[0]), float(x[-1])))
        except InputError:  # the motor was computed over less travel: its share is left out
            origins.append(("Bl(x)", "known over less travel than the suspension's"))
    return Constants(bl=bl, re_ohm=re, le_h=le, mms_kg=mms, rms=rms, sd_m2=area, bl_of_x=bl_of_x), tuple(
        origins
    )


def _electric(
    workshop: Workshop, version_id: str, measured: MeasuredVersion | None, progress: Progress
) -> tuple[tuple[float, float, float, tuple[FloatArray, FloatArray] | None], list[tuple[str, str]]]:
    """Bl, Re, Le and Bl over x from the motor's design, else from measurements."""
    record = workshop.version(version_id).record
    if record.motor is not None and record.coil is not None:
        try:
            found = solve_version(workshop, version_id, ("field",), progress)
        except InputError:
            if measured is None:
                raise
        else:
            design, motor = found.design.coil, found.motor
            assert design is not None
            assert motor is not None
            coil, bl = wind(design), motor.force_factor
            assert bl is not None
            words = "the motor's design"
            said = [
                ("Bl", words),
                ("Re", "the coil's design"),
                ("Le", "the coil in air, without the motor's iron"),
            ]
            return (float(bl.at_rest), coil.resistance_ohm, coil.inductance_h, (bl.x_m, bl.bl)), said
    missing = "a motor and coil in the design, or measured parameters with a mass or a box"
    force = _need(measured, "bl_n_per_a", "Bl", missing)
    resistance = _need(measured, "re_ohm", "Re", missing)
    le = None if measured is None else measured.get("le_h")
    said = [("Bl", "measured"), ("Re", "measured"), ("Le", "measured" if le else "a usual value")]
    return (force, resistance, le or USUAL_LE_H, None), said


def _need(measured: MeasuredVersion | None, name: str, symbol: str, what: str) -> float:
    value = None if measured is None else measured.get(name)
    if value is None:
        raise InputError(f"Distortion needs {symbol}, which is not known of this version", key=symbol, found="nothing", allowed=what,
                         remedy="Design the motor and coil on the page of designs, or measure the unit's parameters")  # fmt: skip
    return value


def loss_resistance(design: MovingDesign, suspension: SuspensionResult, mms_kg: float) -> float:
    """Rms (N s/m) at resonance from loss factors: each part's stiffness times its plastic's tan d, over the angular frequency.

    A hysteretic spring K(1 + j tan d) loses as much as a resistance K tan d/ω there (complex stiffness; any textbook of vibration).
    """
    holders = [one for one in (design.surround, design.spider) if one is not None]
    lost = sum(
        result.curve.at_rest() * holder.material.loss_factor
        for result, holder in zip(suspension.parts, holders, strict=True)
    )
    return lost / math.sqrt(suspension.curve.at_rest() / mms_kg)
