"""From the conditions of a take to the conditions of a data sheet, and the refusals where that would not be true.

Drive and distance follow IEC 60268-5 cl. 20.4: L + 20 lg(d/1 m) + 20 lg(U_p/U) with U_p = sqrt(R · 1 W). The near field
follows D. B. Keele, JAES 22(3), 1974.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.acoustics.nearfield import axial_transfer, near_field_limit_hz, near_to_far_db
from halfroll.core.conditions import Conditions, Space
from halfroll.core.errors import RefusedError
from halfroll.core.levels import FloatArray, spl
from halfroll.core.text import format_stated
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.analysis.response import Response

REFERENCE_DISTANCE_M = 1.0

TRADE_VOLTAGE_V = math.sqrt(8.0)
"""The trade's "2.83 V": 1 W into 8 ohm."""

FAR_FIELD_ERROR_DB = 0.5
"""How far the level on the axis of a piston may lie from the 1/r law and still be called far field."""

NEAR_FIELD_ERROR_DB = 1.0
"""How far the near-field level may fall short of its low-frequency value: ka = 1.643."""

NEAR_FIELD_REACH = 0.11
"""Microphone distance over cone radius up to which a near-field level is within 1 dB (Keele 1974)."""


@dataclass(frozen=True, kw_only=True)
class Normalised:
    """A response at the conditions of a data sheet.

    Parameters
    ----------
    frequency_hz, level_db
        Shape (n_f,); level re 20 µPa at `drive_v` and `distance_m` in `space`. Only the shape counts when the
        microphone is not calibrated.
    valid_hz
        Range in which the conversion holds and the sweep is reliable.
    cautions
        What must be said beside it.
    """

    frequency_hz: FloatArray
    level_db: FloatArray
    valid_hz: tuple[float, float]
    space: Space
    distance_m: float
    drive_v: float
    cautions: tuple[Verdict, ...] = ()


def voltage_for(power_w: float, rated_impedance_ohm: float) -> float:
    """Drive voltage (V) of a power into the rated impedance, sqrt(R P); 1 W into 8 ohm is 2.828 V."""
    return math.sqrt(rated_impedance_ohm * power_w)


def voltage_step_db(rated_impedance_ohm: float) -> float:
    """Level at 2.83 V over level at 1 W, 10 lg(8/R) (dB); +3.01 dB for 4 ohm."""
    return 10.0 * math.log10(8.0 / rated_impedance_ohm)


def at_reference(
    response: Response, *, drive_v: float, distance_m: float = REFERENCE_DISTANCE_M
) -> Normalised:
    """Level at a drive voltage and a distance in the take's own radiation space; near field becomes half space.

    Raises
    ------
    RefusedError
        Near field without the cone's radius, or a distance so short that 1/r does not hold.
    """
    gain_db, (low, high), cautions = to_distance(response.conditions, response.frequency_hz, distance_m)
    level = spl(response.sensitivity_pa_per_v() * drive_v) + gain_db
    space = response.conditions.space
    return Normalised(
        frequency_hz=response.frequency_hz,
        level_db=level,
        valid_hz=(max(low, response.valid_hz[0]), min(high, response.valid_hz[1])),
        space=Space.HALF if space is Space.NEAR else space,
        distance_m=distance_m,
        drive_v=drive_v,
        cautions=cautions,
    )


def one_watt_caution(rated_impedance_ohm: float) -> str:
    """What to say where 1 W and 2.83 V are not the same; empty for 8 ohm."""
    step = voltage_step_db(rated_impedance_ohm)
    if abs(step) < 0.05:
        return ""
    power = TRADE_VOLTAGE_V**2 / rated_impedance_ohm
    return (
        f"2.83 V into {format_stated(rated_impedance_ohm, 'ohm')} is {format_stated(power, 'W')}: this figure lies "
        f"{abs(step):.2f} dB {'above' if step > 0 else 'below'} the one for 1 W."
    )


def require_comparable(one: Space, other: Space) -> None:
    """Refuse to compare levels of two radiation spaces between which no conversion is true.

    Near field and half space go together, because near field is converted to half space.
    """
    spaces = {Space.HALF if s is Space.NEAR else s for s in (one, other)}
    if len(spaces) == 1:
        return
    pair = f"{str(one).capitalize()} and {other} takes cannot be compared"
    if Space.CABINET in spaces:
        raise RefusedError(
            f"{pair}: in a cabinet the cabinet is part of the result",
            remedy="Compare takes in the same cabinet, or bare drivers with bare drivers",
        )
    raise RefusedError(
        f"{pair}: between half space and free field lies the baffle, whose step of up to 6 dB depends on its size",
        remedy="Compare takes in the same radiation space",
    )


def to_distance(
    conditions: Conditions, frequency_hz: FloatArray, distance_m: float = REFERENCE_DISTANCE_M
) -> tuple[float, tuple[float, float], tuple[Verdict, ...]]:
    """From the microphone to another distance: gain (dB), range in which it holds (Hz), cautions.

    Raises
    ------
    RefusedError
        As `at_reference`.
    """
    if conditions.space is Space.NEAR:
        return _from_near_field(conditions, distance_m)
    if math.isclose(conditions.distance_m, distance_m, rel_tol=1e-9):
        return 0.0, (0.0, math.inf), ()
    gain = 20.0 * math.log10(conditions.distance_m / distance_m)
    nearest = min(conditions.distance_m, distance_m)
    if conditions.radius_m is None:
        return gain, (0.0, math.inf), (_unknown_far_field(nearest),)
    return gain, (0.0, _far_field_limit_hz(frequency_hz, conditions.radius_m, nearest)), ()


def _from_near_field(
    conditions: Conditions, distance_m: float
) -> tuple[float, tuple[float, float], tuple[Verdict, ...]]:
    radius = conditions.radius_m
    if radius is None:
        raise RefusedError(
            "A near-field level can be converted to a distance only with the cone's radius",
            found="no effective piston area in the version's record",
            remedy="State the effective piston area of the version",
        )
    cautions: tuple[Verdict, ...] = ()
    if conditions.distance_m > NEAR_FIELD_REACH * radius:
        text = (
            f"The microphone stood {conditions.distance_m * 1000:.0f} mm from the cone; a near-field level is within "
            f"1 dB only up to {NEAR_FIELD_REACH * radius * 1000:.0f} mm."
        )
        cautions = (Verdict(code="near-field-too-far", severity=Severity.CAUTION, text=text),)
    return (
        near_to_far_db(radius, distance_m, conditions.distance_m),
        (0.0, near_field_limit_hz(radius, NEAR_FIELD_ERROR_DB)),
        cautions,
    )


def _far_field_limit_hz(frequency_hz: FloatArray, radius_m: float, distance_m: float) -> float:
    """Frequency up to which the pressure on the axis of a piston keeps to the 1/r law within 0.5 dB.

    Raises `RefusedError` when it does not at any frequency.
    """
    far = STANDARD_AIR.density * radius_m**2 / (2.0 * distance_m)
    ratio = np.abs(axial_transfer(frequency_hz, radius_m, distance_m)) / far
    too_near = np.abs(20.0 * np.log10(np.maximum(ratio, 1e-9))) > FAR_FIELD_ERROR_DB
    if too_near[0]:
        raise RefusedError(
            "A level can be referred to another distance only from the far field of the cone",
            found=f"{distance_m:.3g} m from a cone of {radius_m:.3g} m radius",
            allowed=f"{FAR_FIELD_ERROR_DB:g} dB from the 1/r law, here about {2.0 * radius_m:.2g} m and more",
            remedy="State the take as near-field if the microphone almost touched the cone, or measure farther away",
        )
    return float(frequency_hz[np.argmax(too_near)]) if too_near.any() else math.inf


def _unknown_far_field(distance_m: float) -> Verdict:
    return Verdict(
        code="far-field-assumed",
        severity=Severity.CAUTION,
        text=f"The cone's radius is not stated: {distance_m:.3g} m was taken to be in its far field.",
        remedy="State the effective piston area of the version.",
    )
