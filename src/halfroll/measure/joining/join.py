"""Joining the bass of the near field to the treble of the far field.

The far field is true above its gate's limit, the near field below its own. In a band where both hold they are brought to
the same level and the same delay; how far they still lie apart is the check on both. Common practice; Keele 1974 for the
near field, `acoustics.baffle` for what lies between half space and a cabinet.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.baffle import UNCERTAINTY_DB, Baffle, Listener, baffle_transfer
from halfroll.core.conditions import Space
from halfroll.core.errors import InputError, RefusedError
from halfroll.core.frequency import in_band, log_grid, octave_weights
from halfroll.core.levels import ComplexArray, FloatArray, amplitude, db, spl
from halfroll.measure.analysis.response import ORDERS, Gate, Response
from halfroll.measure.joining.join_types import Joined, JoinReport, JoinSettings
from halfroll.measure.joining.join_verdicts import join_verdicts
from halfroll.measure.joining.near_far import (
    SAME_DRIVE_DB,
    Mouth,
    NearSum,
    chosen_pressure,
    near_sum,
    on_grid,
)

NARROWEST_OCTAVES = 1.0 / 3.0
"""A level can be matched over this much at least; an octave is common practice."""


@dataclass(frozen=True)
class _Match:
    """Far field over near field in the overlap: frequencies (m,), weights (m,), level (m,), and the fitted phase."""

    frequency_hz: FloatArray
    weights: FloatArray
    level_db: FloatArray
    delay_s: float
    turned: bool
    left_rad: FloatArray

    @property
    def mean_db(self) -> float:
        return float(np.sum(self.weights * self.level_db))

    @property
    def spread_db(self) -> float:
        return float(np.sqrt(np.sum(self.weights * (self.level_db - self.mean_db) ** 2)))

    @property
    def trend(self) -> float:
        octaves = np.log2(self.frequency_hz)
        centred = octaves - np.sum(self.weights * octaves)
        return float(np.sum(self.weights * centred * self.level_db) / np.sum(self.weights * centred**2))

    @property
    def phase_rms(self) -> float:
        return float(np.sqrt(np.sum(self.weights * self.left_rad**2)))


def join(mouths: Sequence[Mouth], far: Response, settings: JoinSettings) -> Joined:
    """Join near-field takes of cones and ports with a far-field take.

    The result is at the far field's distance, drive and space. Below the overlap it is the near field, above it the far
    field, between them both in turn, over lg f. Harmonics come from the near field below the middle of the overlap where
    its drive was the far field's, else there are none. The impedance is the far take's.

    Raises
    ------
    InputError
        The overlap is too narrow or not within what both takes cover; the far take is a near-field one; no cone.
    RefusedError
        In free field or in a cabinet without a baffle: what lies between it and the near field is then not known.
    """
    _check(far, settings)
    air = STANDARD_AIR if far.conditions.temperature_c is None else Air.at(far.conditions.temperature_c)
    near = near_sum(mouths, far.conditions.distance_m, air)
    grid = _grid(near, far, settings)
    baffle = _Baffled(settings.baffle, mouths[0].radius_m, far.conditions.distance_m, air)
    near_pa = on_grid(grid, near.frequency_hz, near.pressure_pa_per_v) * baffle(grid)
    far_pa = on_grid(grid, far.frequency_hz, chosen_pressure(far) / far.voltage_v)
    match = _match(grid, near_pa, far_pa, settings)
    gain_db = match.mean_db if settings.match_level else 0.0
    turn = np.exp(-2j * np.pi * grid * match.delay_s) * (-1.0 if match.turned else 1.0)
    placed = near_pa * amplitude(gain_db) * turn
    weight = _far_weight(grid, settings.overlap_hz)
    report = JoinReport(
        settings=settings, distance_m=far.conditions.distance_m, frequency_hz=grid,
        near_db=spl(placed), far_db=spl(far_pa),
        parts_db=tuple((name, spl(on_grid(grid, near.frequency_hz, part) * baffle(grid) * amplitude(gain_db)))
                       for name, part in near.parts),
        baffle_db=None if settings.baffle is None else db(baffle(grid)),
        joined_db=spl(_blend(placed, far_pa, weight)),
        mismatch_db=_in_overlap(grid, match, gain_db),
        mean_db=match.mean_db, trend_db_per_octave=match.trend, delay_s=match.delay_s, turned=match.turned,
        rms_db=match.spread_db if settings.match_level else math.hypot(match.spread_db, match.mean_db),
        phase_rms_deg=math.degrees(match.phase_rms), near_valid_hz=near.valid_hz,
        far_valid_from_hz=max(far.gate.valid_from_hz, far.valid_hz[0]), u_db=_u(grid, near, far, match, settings, weight),
    )  # fmt: skip
    carried = baffle.orders(near, grid, gain_db, match)
    return Joined(
        response=_response(near, far, report, _blend(placed, far_pa, weight), carried, mouths), report=report
    )


def _check(far: Response, settings: JoinSettings) -> None:
    low, high = settings.overlap_hz
    if not (0.0 < low < high and math.log2(high / low) >= NARROWEST_OCTAVES * (1.0 - 1e-6)):
        raise InputError("The overlap must be a band of a third of an octave or more", key="overlap_hz",
                         found=f"{low:g} to {high:g} Hz")  # fmt: skip
    space = far.conditions.space
    if space is Space.NEAR:
        raise InputError("The far take must not be a near-field one", key="far",
                         remedy="Choose the take from a distance")  # fmt: skip
    if settings.baffle is None and space is not Space.HALF:
        raise RefusedError(
            f"The far take is {space} and no baffle is stated: a near field tells of half space, and what lies between "
            "the two, up to 6 dB, is the baffle's size", key="baffle",
            remedy="State the baffle's width, its height and the driver's place in it",
        )  # fmt: skip


def _grid(near: NearSum, far: Response, settings: JoinSettings) -> FloatArray:
    low, high = settings.overlap_hz
    start, end = max(near.valid_hz[0], near.frequency_hz[0]), min(far.valid_hz[1], far.frequency_hz[-1])
    both = (max(start, far.frequency_hz[0]), min(end, near.frequency_hz[-1]))
    if low < both[0] * (1.0 - 1e-6) or high > both[1] * (1.0 + 1e-6):
        raise InputError(
            "The overlap must lie in what both takes cover", key="overlap_hz", found=f"{low:g} to {high:g} Hz",
            allowed=f"{both[0]:.0f} to {both[1]:.0f} Hz",
        )  # fmt: skip
    return log_grid(start * (1.0 - 1e-9), end * (1.0 + 1e-9))


class _Baffled:
    """What the baffle does to the near field, at any frequency; nothing without one."""

    def __init__(self, baffle: Baffle | None, radius_m: float, distance_m: float, air: Air) -> None:
        self._baffle, self._radius, self._distance, self._air = baffle, radius_m, distance_m, air

    def __call__(self, frequency: FloatArray) -> ComplexArray:
        if self._baffle is None:
            return np.ones(len(frequency), dtype=np.complex128)
        found: ComplexArray = _front(
            frequency.tobytes(), self._baffle, self._radius, self._distance, self._air
        )
        return found

    def orders(
        self, near: NearSum, grid: FloatArray, gain_db: float, match: _Match
    ) -> tuple[ComplexArray, FloatArray]:
        """Harmonics (9, n_f) and noise (10, n_f) of the near field as the fundamental was placed, order by order."""
        harmonics = on_grid(grid, near.frequency_hz, near.harmonics_pa)
        noise = on_grid(grid, near.frequency_hz, near.noise_pa).real
        base = self(grid)
        for row, order in enumerate((1, *ORDERS)):
            at = order * grid
            inside = at <= grid[-1]
            gain = np.full(len(grid), base[-1])
            gain[inside] = on_grid(at[inside], grid, base)
            gain = gain * amplitude(gain_db) * np.exp(-2j * np.pi * at * match.delay_s)
            noise[row] = noise[row] * np.abs(gain)
            if order > 1:
                harmonics[row - 1] = harmonics[row - 1] * gain * (-1.0 if match.turned else 1.0)
        return harmonics, noise


@functools.lru_cache(maxsize=8)
def _front(frequency: bytes, baffle: Baffle, radius_m: float, distance_m: float, air: Air) -> ComplexArray:
    """The baffle's transfer, kept: it stays the same while a person tries another overlap."""
    listener = Listener(distance_m=distance_m)
    found = baffle_transfer(np.frombuffer(frequency), baffle, radius_m, listener, air=air)
    found.flags.writeable = False
    return found


def _match(grid: FloatArray, near_pa: ComplexArray, far_pa: ComplexArray, settings: JoinSettings) -> _Match:
    """Far over near field in the overlap: a straight line through the phase gives delay and polarity."""
    mask = in_band(grid, settings.overlap_hz) & np.isfinite(near_pa) & np.isfinite(far_pa)
    frequency = grid[mask]
    if len(frequency) < 4:
        raise InputError(
            "The overlap must hold four points at least", key="overlap_hz", found=str(len(frequency))
        )
    weights = octave_weights(frequency, (float(frequency[0]), float(frequency[-1])))
    ratio = far_pa[mask] / near_pa[mask]
    phase = np.unwrap(np.angle(ratio))
    root = np.sqrt(weights)
    line = np.stack([-2.0 * np.pi * frequency, np.ones_like(frequency)], axis=1)
    _, start = np.linalg.lstsq(line * root[:, None], phase * root, rcond=None)[0]
    half_turns = round(float(start) / np.pi)
    delay = float(
        np.sum(weights * line[:, 0] * (phase - np.pi * half_turns)) / np.sum(weights * line[:, 0] ** 2)
    )
    left = phase - np.pi * half_turns - line[:, 0] * delay
    return _Match(frequency, weights, db(ratio), delay, bool(half_turns % 2), left)


def _far_weight(grid: FloatArray, overlap_hz: tuple[float, float]) -> FloatArray:
    """Weight (n_f,) of the far field: 0 below the overlap, 1 above, half a cosine over lg f between."""
    low, high = np.log(overlap_hz[0]), np.log(overlap_hz[1])
    return np.asarray(0.5 - 0.5 * np.cos(np.pi * np.clip((np.log(grid) - low) / (high - low), 0.0, 1.0)))


def _blend(near: ComplexArray, far: ComplexArray, weight: FloatArray) -> ComplexArray:
    """From near to far field (n_f,) by level and phase: halves of unlike phase do not cancel."""
    both = (weight > 0.0) & (weight < 1.0)
    blended = np.where(weight > 0.0, far, near)
    blended[both] = near[both] * np.exp(weight[both] * np.log(far[both] / near[both]))
    return np.asarray(blended, dtype=np.complex128)


def _u(
    grid: FloatArray, near: NearSum, far: Response, match: _Match, settings: JoinSettings, weight: FloatArray
) -> FloatArray:
    """Standard uncertainty (n_f,): of the near field below the overlap, of the far field's room above.

    Once the level is matched, radius and microphone's distance no longer count for the whole; what the halves disagree
    by does. Left as measured, the scale counts in full.
    """
    ripple = on_grid(grid, near.frequency_hz, near.ripple_u_db).real
    baffle = 0.0 if settings.baffle is None else UNCERTAINTY_DB
    scale = 0.0 if settings.match_level else math.hypot(near.scale_u_db, match.mean_db / math.sqrt(3.0))
    low = np.sqrt(ripple**2 + baffle**2 + scale**2 + match.spread_db**2)
    high = np.nan_to_num(on_grid(grid, far.frequency_hz, far.room_u_db()).real, nan=0.0)
    return np.hypot((1.0 - weight) * low, weight * high)


def _in_overlap(grid: FloatArray, match: _Match, gain_db: float) -> FloatArray:
    found = np.full(len(grid), np.nan)
    found[np.isin(grid, match.frequency_hz)] = match.level_db - gain_db
    return found


def _impedance(grid: FloatArray, far: Response) -> ComplexArray | None:
    """The far take's impedance, where it covers the grid."""
    if far.impedance_ohm is None:
        return None
    found = on_grid(grid, far.frequency_hz, far.impedance_ohm)
    return found if np.isfinite(found).all() else None


def _response(
    near: NearSum, far: Response, report: JoinReport, per_volt: ComplexArray,
    carried: tuple[ComplexArray, FloatArray], mouths: Sequence[Mouth],
) -> Response:  # fmt: skip
    """The joined response at the far take's drive."""
    grid = report.frequency_hz
    voltage = np.interp(np.log(grid), np.log(far.frequency_hz), far.voltage_v)
    mean = float(np.sqrt(np.mean(far.voltage_v**2)))
    same = abs(20.0 * math.log10(mean / near.drive_v)) <= SAME_DRIVE_DB
    below = grid < math.sqrt(report.settings.overlap_hz[0] * report.settings.overlap_hz[1])
    far_harmonics = on_grid(grid, far.frequency_hz, far.harmonics_pa)
    near_harmonics = carried[0] if same else np.full_like(far_harmonics, np.nan)
    far_noise = on_grid(grid, far.frequency_hz, far.noise_pa).real
    pressure = per_volt * voltage
    return replace(
        far, frequency_hz=grid, pressure_pa=pressure, pressure_full_pa=pressure, voltage_v=voltage,
        harmonics_pa=np.where(below, near_harmonics, far_harmonics),
        noise_pa=np.where(below, carried[1] * (voltage / near.drive_v), far_noise),
        impedance_ohm=_impedance(grid, far), residue=None, gate=Gate(), valid_hz=(float(grid[0]), float(grid[-1])),
        verdicts=join_verdicts(report, near.verdicts, far, [mouth.response for mouth in mouths], same_drive=same),
        joined_u_db=report.u_db,
    )  # fmt: skip
