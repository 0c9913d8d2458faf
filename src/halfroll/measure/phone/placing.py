"""Where a telephone lay, and what that makes of a driver's half-space response: near field, no baffle, room.

The corrections are those of a flat piston of the cone's effective radius; half of each, and what a centimetre more or less would
change, is counted as uncertain.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.nearfield import axial_transfer
from halfroll.core.frequency import POINTS_PER_OCTAVE
from halfroll.core.levels import DB_OF_RELATIVE, FloatArray, db

Mounting = Literal["free-air", "baffle", "box"]

NEAR_M, DISTANCE_U_M = 0.03, 0.01
"""Where a builder is asked to hold the telephone before the cone, and how well that is kept (own choice)."""

ROOM_M3, REVERBERATION_S = 40.0, 0.5
"""A furnished living room (own choice)."""

CORRELATION = 2.2
"""Points of a room's response 2.2/T apart are independent (Kuttruff, "Room Acoustics", from memory)."""


@dataclass(frozen=True, kw_only=True)
class Placing:
    """Telephone and driver.

    Parameters
    ----------
    mounting
        ``free-air`` (nothing around it), ``baffle`` (a board much larger than the cone), ``box``.
    distance_m
        Telephone's microphone to the cone's edge plane, on axis (m).
    radius_m
        Effective radius of the cone (m); None where not known: nothing is corrected.
    """

    mounting: Mounting = "free-air"
    distance_m: float = NEAR_M
    radius_m: float | None = None


def to_half_space_db(
    placing: Placing, frequency_hz: FloatArray, air: Air = STANDARD_AIR
) -> tuple[FloatArray, FloatArray]:
    """What to add to a level at the telephone to get the shape on axis far away in a baffle (dB), and its standard uncertainty, each (n_f,).

    A constant in it says nothing. Zero, and unsure by 2 dB below and 4 dB above 2 kHz (own choice), without a radius.
    """
    if placing.radius_m is None:
        return np.zeros(len(frequency_hz)), np.where(frequency_hz > 2000.0, 4.0, 2.0)
    gain = _near_db(placing, placing.distance_m, frequency_hz, air)
    steps = [
        _near_db(placing, max(placing.distance_m + step, 0.002), frequency_hz, air) - gain
        for step in (-DISTANCE_U_M, DISTANCE_U_M)
    ]
    moved = np.max(np.abs([step - np.mean(step) for step in steps]), axis=0)
    shaped = gain - np.mean(gain[np.abs(np.log2(frequency_hz / 630.0)) <= 1.0])
    return -gain, np.hypot(0.5 * np.abs(shaped), moved)


def room_u_db(placing: Placing, low_hz: float, high_hz: float, air: Air = STANDARD_AIR) -> float:
    """Standard deviation (dB) that a room gives to a mean level from `low_hz` to `high_hz`, taken at `POINTS_PER_OCTAVE`.

    A diffuse field of the energy r re the direct sound moves the level at one frequency by 8.7 √(r/2) dB; the band holds as many
    independent points as its width times T/2.2. r is (d/r_c)² with the critical distance 0.057 √(V/T) of a source that radiates all
    round (Kuttruff, "Room Acoustics"), d the distance at which a small source would be as loud as the cone is here. Below 200 Hz
    single modes stand out: twice as much.
    """
    critical = 0.057 * math.sqrt(ROOM_M3 / REVERBERATION_S)
    radius = placing.radius_m
    distance = placing.distance_m
    if radius is not None:
        distance = radius**2 / (2.0 * (math.hypot(placing.distance_m, radius) - placing.distance_m))
    ratio = (distance / critical) ** 2
    looked = POINTS_PER_OCTAVE * math.log2(high_hz / low_hz)
    points = max(1.0, min((high_hz - low_hz) * REVERBERATION_S / CORRELATION, looked))
    modes = 2.0 if low_hz < 200.0 else 1.0
    return float(modes * DB_OF_RELATIVE * math.sqrt(min(ratio, 2.0) / 2.0 / points))


def disc_over_piston(radius_m: float, distance_m: float) -> float:
    """Low-frequency pressure before a disc with nothing around it, over that of the same disc in a baffle, on axis.

    The disc's potential is A (1 - ζ arccot ζ), A = 2 a U/π, ζ = z/a (Lamb, "Hydrodynamics", art. 108); the baffled piston's is
    U (√(z² + a²) - z). At the disc 2/π.
    """
    zeta = distance_m / radius_m
    free = 2.0 / math.pi * (1.0 - zeta * math.atan2(1.0, zeta))
    return free / (math.hypot(1.0, zeta) - zeta)


def _near_db(placing: Placing, distance_m: float, frequency_hz: FloatArray, air: Air) -> FloatArray:
    """Level at the telephone re that far away in a baffle (dB), (n_f,)."""
    assert placing.radius_m is not None
    near = db(axial_transfer(frequency_hz, placing.radius_m, distance_m, air))
    if placing.mounting != "free-air":
        return near
    # Between the two ends, where the back stops cancelling the front, a plain first-order step about ka = 1.
    low = disc_over_piston(placing.radius_m, distance_m)
    ka = 2.0 * np.pi * frequency_hz / air.speed_of_sound * placing.radius_m
    return np.asarray(near + 10.0 * np.log10((low**2 + ka**2) / (1.0 + ka**2)))
