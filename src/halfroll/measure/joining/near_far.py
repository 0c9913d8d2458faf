"""Cones and ports measured close up, added to what they give together at a distance in half space.

D. B. Keele, "Low-Frequency Loudspeaker Assessment by Nearfield Sound-Pressure Measurement", JAES 22(3), 1974: close to
a piston the pressure is 2r/a times that at the distance r. Cone and ports are therefore weighed by their radii, that is
by the roots of their areas, and added as complex values. In place of the low-frequency factor stands Rayleigh's exact
result for a piston on its axis (`acoustics.nearfield.axial_transfer`), with the microphone's distance in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.nearfield import axial_transfer, near_field_limit_hz, near_to_far_db
from halfroll.core.conditions import Space
from halfroll.core.errors import InputError, RefusedError
from halfroll.core.frequency import log_grid
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.text import format_stated
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.analysis.normalise import NEAR_FIELD_ERROR_DB, NEAR_FIELD_REACH
from halfroll.measure.analysis.response import ORDERS, Response

SAME_DRIVE_DB = 0.5
"""Harmonics of takes whose drives lie closer than this (dB) are put together; they do not grow in proportion to it."""

RADIUS_U = 0.02
"""Relative standard uncertainty of an effective radius: half of the surround, read with a rule (common practice)."""

MICROPHONE_U_M = 1e-3
"""Standard uncertainty of the distance between microphone and cone or port (m)."""

PISTON_U_DB = 0.2
"""What a cone that is no flat piston makes of the near field below the limit (dB); a judgement, not a measurement."""

Kind = Literal["cone", "port"]


@dataclass(frozen=True, kw_only=True)
class Mouth:
    """A cone or a port with its near-field response.

    Parameters
    ----------
    response
        Taken with the microphone almost touching, `Space.NEAR`; its distance is that to the cone or to the port's mouth.
    radius_m
        Effective radius (m).
    kind, name
        What it is, and what it is called.
    count
        So many of the same kind, of which one was measured.
    radius_u
        Relative standard uncertainty of the radius.
    """

    response: Response
    radius_m: float
    kind: Kind = "cone"
    name: str = ""
    count: int = 1
    radius_u: float = RADIUS_U


@dataclass(frozen=True, kw_only=True)
class NearSum:
    """What cones and ports give together on axis in half space, per terminal volt.

    Parameters
    ----------
    frequency_hz, distance_m
        Shape (n_f,), and the distance (m) it is for.
    pressure_pa_per_v
        Complex sum (n_f,) with the time the sound takes, e^{+jωt}.
    parts
        Name and complex share (n_f,) of every mouth.
    harmonics_pa, noise_pa
        As in `Response`, at `drive_v`, at the distance; harmonics are NaN where the drives of the takes differ.
    drive_v
        Drive (V) of the first mouth.
    valid_hz
        Range in which it holds: that of the sweeps, and up to the lowest of the near-field limits.
    scale_u_db, ripple_u_db
        Standard uncertainty of the level as a whole, and what is left of it once the level is matched to another (n_f,).
    verdicts
        What must be said about it.
    """

    frequency_hz: FloatArray
    distance_m: float
    pressure_pa_per_v: ComplexArray
    parts: tuple[tuple[str, ComplexArray], ...]
    harmonics_pa: ComplexArray
    noise_pa: FloatArray
    drive_v: float
    valid_hz: tuple[float, float]
    scale_u_db: float
    ripple_u_db: FloatArray
    verdicts: tuple[Verdict, ...] = ()


def near_sum(mouths: Sequence[Mouth], distance_m: float = 1.0, air: Air = STANDARD_AIR) -> NearSum:
    """Cones and ports at a distance in half space; ports are taken to be as far from the listener as the cone.

    Raises
    ------
    InputError
        No cone among them, or a radius that is not positive.
    RefusedError
        A take is not near-field.
    """
    _check(mouths)
    frequency = _shared_grid([mouth.response for mouth in mouths])
    limit = min(near_field_limit_hz(mouth.radius_m, NEAR_FIELD_ERROR_DB, air) for mouth in mouths)
    parts = tuple((mouth.name or mouth.kind, _part(mouth, frequency, distance_m, air)) for mouth in mouths)
    total = np.sum([part for _, part in parts], axis=0)
    low = max(mouth.response.valid_hz[0] for mouth in mouths)
    high = min(mouth.response.valid_hz[1] for mouth in mouths)
    same = _same_drive(mouths)
    drive = _drive(mouths[0])
    return NearSum(
        frequency_hz=frequency,
        distance_m=distance_m,
        pressure_pa_per_v=np.asarray(total, dtype=np.complex128),
        parts=parts,
        harmonics_pa=_harmonics(mouths, frequency, distance_m, air, same=same),
        noise_pa=_noise(mouths, frequency, distance_m, air, drive),
        drive_v=drive,
        valid_hz=(low, min(high, limit)),
        scale_u_db=max(scale_u_db(mouth) for mouth in mouths),
        ripple_u_db=_ripple_u(mouths, frequency, parts),
        verdicts=tuple(_verdicts(mouths, same=same)),
    )


def half_space_gain(frequency_hz: FloatArray, mouth: Mouth, distance_m: float, air: Air) -> ComplexArray:
    """Pressure at the distance over that at the near-field microphone (n,), exact for a flat piston on its axis.

    Above the near-field limit, where no cone is a flat piston, the exact result's correction of the level stays as it
    is at the limit (1 dB).
    """
    far = axial_transfer(frequency_hz, mouth.radius_m, distance_m, air)
    near = axial_transfer(frequency_hz, mouth.radius_m, mouth.response.conditions.distance_m, air)
    lowest = np.abs(
        axial_transfer(np.array([1e-3]), mouth.radius_m, mouth.response.conditions.distance_m, air)[0]
    )
    floor = lowest * 10.0 ** (-NEAR_FIELD_ERROR_DB / 20.0)
    held = np.maximum(np.abs(near), floor) * np.exp(1j * np.angle(near))
    return np.asarray(mouth.count * far / held, dtype=np.complex128)


def scale_u_db(mouth: Mouth) -> float:
    """Standard uncertainty (dB) of a near-field level carried to a distance: radius, microphone's distance, piston."""
    radius, microphone = mouth.radius_m, mouth.response.conditions.distance_m
    here = near_to_far_db(radius, 1.0, microphone)
    by_radius = near_to_far_db(radius * (1.0 + mouth.radius_u), 1.0, microphone) - here
    by_microphone = near_to_far_db(radius, 1.0, microphone + MICROPHONE_U_M) - here
    return float(np.sqrt(by_radius**2 + by_microphone**2 + PISTON_U_DB**2))


def on_grid(grid_hz: FloatArray, frequency_hz: FloatArray, values: ComplexArray | FloatArray) -> ComplexArray:
    """Values (..., n) over lg f at the points of another grid (..., m); NaN where there are none."""
    at, known = np.log(grid_hz), np.log(frequency_hz)
    rows = np.atleast_2d(values)
    real = np.array([np.interp(at, known, row.real, left=np.nan, right=np.nan) for row in rows])
    imaginary = np.array([np.interp(at, known, row.imag, left=np.nan, right=np.nan) for row in rows])
    found = real + 1j * imaginary
    return np.asarray(found if np.ndim(values) > 1 else found[0], dtype=np.complex128)


def chosen_pressure(response: Response) -> ComplexArray:
    """The fundamental (n_f,) of a take: gated where the gate allows, with the room below."""
    return np.where(response.in_room(), response.pressure_full_pa, response.pressure_pa)


def _check(mouths: Sequence[Mouth]) -> None:
    if not any(mouth.kind == "cone" for mouth in mouths):
        raise InputError("A near-field sum must have one cone at least", key="near")
    for mouth in mouths:
        if not 0.0 < mouth.radius_m <= 1.0 or mouth.count < 1:
            raise InputError(f"The radius of {mouth.name or mouth.kind} must be above 0 m, at most 1 m",
                             key="radius_m", found=f"{mouth.radius_m:g} m")  # fmt: skip
        if mouth.response.conditions.space is not Space.NEAR:
            raise RefusedError(
                f"The take of {mouth.name or mouth.kind} must be near-field: only close to a cone or port does its level "
                "tell of nothing but its own movement",
                found=str(mouth.response.conditions.space), remedy="Choose a near-field take, or correct its record",
            )  # fmt: skip


def _shared_grid(responses: Sequence[Response]) -> FloatArray:
    """The grid the responses share, else the house grid where all of them have values."""
    first = responses[0].frequency_hz
    if all(np.array_equal(response.frequency_hz, first) for response in responses[1:]):
        return first
    low = max(float(response.frequency_hz[0]) for response in responses)
    high = min(float(response.frequency_hz[-1]) for response in responses)
    return log_grid(low * (1.0 - 1e-9), high * (1.0 + 1e-9))


def _part(mouth: Mouth, frequency: FloatArray, distance_m: float, air: Air) -> ComplexArray:
    """Pressure per volt (n_f,) of one mouth at the distance."""
    response = mouth.response
    per_volt = on_grid(frequency, response.frequency_hz, chosen_pressure(response) / response.voltage_v)
    return np.asarray(per_volt * half_space_gain(frequency, mouth, distance_m, air), dtype=np.complex128)


def _drive(mouth: Mouth) -> float:
    return float(np.sqrt(np.mean(mouth.response.voltage_v**2)))


def _same_drive(mouths: Sequence[Mouth]) -> bool:
    drives = [_drive(mouth) for mouth in mouths]
    return bool(20.0 * np.log10(max(drives) / min(drives)) <= SAME_DRIVE_DB)


def _harmonics(
    mouths: Sequence[Mouth], frequency: FloatArray, distance_m: float, air: Air, *, same: bool
) -> ComplexArray:
    """Harmonics (9, n_f) at the distance: every order is carried there at its own frequency."""
    total = np.zeros((len(ORDERS), len(frequency)), dtype=np.complex128)
    if not same:
        return np.full_like(total, np.nan)
    for mouth in mouths:
        rows = on_grid(frequency, mouth.response.frequency_hz, mouth.response.harmonics_pa)
        for row, order in enumerate(ORDERS):
            total[row] += rows[row] * half_space_gain(order * frequency, mouth, distance_m, air)
    return total


def _noise(
    mouths: Sequence[Mouth], frequency: FloatArray, distance_m: float, air: Air, drive_v: float
) -> FloatArray:
    """Noise (10, n_f) at the distance, powers added, at the first mouth's drive."""
    power = np.zeros((len(ORDERS) + 1, len(frequency)))
    for mouth in mouths:
        rows = on_grid(frequency, mouth.response.frequency_hz, mouth.response.noise_pa).real
        for row, order in enumerate((1, *ORDERS)):
            gain = np.abs(half_space_gain(order * frequency, mouth, distance_m, air))
            power[row] += (rows[row] * gain * drive_v / _drive(mouth)) ** 2
    return np.sqrt(power)


def _ripple_u(
    mouths: Sequence[Mouth], frequency: FloatArray, parts: Sequence[tuple[str, ComplexArray]]
) -> FloatArray:
    """What a matched level leaves (n_f,): no flat piston, the room, and the weight of each port against the cone.

    Where cone and port are of opposite phase a small error of one of them counts for much: its share of the sum does.
    """
    total = np.maximum(np.abs(np.sum([part for _, part in parts], axis=0)), 1e-30)
    square = np.full(len(frequency), PISTON_U_DB**2)
    for mouth, (_, part) in zip(mouths, parts, strict=True):
        share = np.abs(part) / total
        room = on_grid(frequency, mouth.response.frequency_hz, mouth.response.room_u_db()).real
        weight_u = scale_u_db(mouth) if len(mouths) > 1 else 0.0
        square += share**2 * (room**2 + weight_u**2)
    return np.asarray(np.sqrt(square))


def _verdicts(mouths: Sequence[Mouth], *, same: bool) -> list[Verdict]:
    found = [verdict for mouth in mouths if (verdict := _too_far(mouth)) is not None]
    if not same:
        found.append(Verdict(
            code="near-drives-differ", severity=Severity.NOTE,
            text="The near-field takes were made at different drives, so their harmonics are not put together.",
            remedy="For distortion in the bass make all near-field takes at one drive.",
        ))  # fmt: skip
    if len(mouths) > 1 and not all(mouth.response.voltage_recorded for mouth in mouths):
        found.append(Verdict(
            code="near-phase-unsure", severity=Severity.CAUTION,
            text="Cone and port are added with their phases, but a take has no voltage channel to refer the phase to.",
            remedy="Record the terminal voltage on a second channel with both takes.",
        ))  # fmt: skip
    return found


def _too_far(mouth: Mouth) -> Verdict | None:
    distance, reach = mouth.response.conditions.distance_m, NEAR_FIELD_REACH * mouth.radius_m
    if distance <= reach * (1.0 + 1e-9):
        return None
    return Verdict(
        code="near-field-too-far", severity=Severity.CAUTION,
        text=f"The microphone stood {format_stated(1e3 * distance, 'mm')} from {mouth.name or mouth.kind}; near field is up "
        f"to {1e3 * reach:.0f} mm. The exact piston corrects for it, but walls and other mouths are then heard, too.",
        remedy="Move the microphone closer, without touching.",
        data={"distance_m": distance, "reach_m": reach},
    )  # fmt: skip
