"""What is left of a sweep above its harmonics: the sound of a scraping coil, a loose wire, a leak.

A regular driver answers a tone with a few harmonics. Something that knocks or scrapes makes short noises in step with
the tone, spread over many orders. So the recording is freed of everything up to order 10 of the frequency that is just
playing, and what remains is looked at in time, cycle by cycle (the idea of impulsive distortion in IEC 60268-21, from
memory; that groups of orders from 10 up tell rub better than THD: Foley et al., AES 117th Convention, 2004, abstract).

In the deconvolved response order n stands L ln n before the fundamental (Novak, Lotton, Simon, 2015). Cutting away
what lies later than order `CUT` and turning the rest back is therefore a high-pass that follows the sweep exactly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.core.frequency import log_grid
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.measure.analysis.align import Aligned
from halfroll.measure.analysis.noise import NoiseSpectrum
from halfroll.measure.recording import Role
from halfroll.measure.residues.cycles import CycleTable
from halfroll.measure.residues.tracked import CUT, lowest_hz, tracked
from halfroll.measure.sweep import Sweep

TOP_HZ = 20_000.0
"""Upper end of the band that is looked at, or 0.42 of the sample rate when that is lower (Hz)."""

PER_OCTAVE = 12
"""Points of the result in an octave of excitation."""

LONGEST_MOMENT_S = 0.08
"""Most of a recording that is kept for a picture (s)."""

_TINY = 1e-40


@dataclass(frozen=True, kw_only=True)
class Moment:
    """A short stretch of what is left, for a picture: `pressure` (n,) float32 from `start_s` of the recording.

    The tone has passed L f cycles when it stands at f (`rate_constant_s` is L); it stands at `excitation_hz` at `time_s`.
    """

    pressure: NDArray[np.float32]
    start_s: float
    rate_hz: int
    excitation_hz: float
    time_s: float
    rate_constant_s: float

    @property
    def second(self) -> FloatArray:
        """Time in the recording (s), shape (n,)."""
        return self.start_s + np.arange(self.pressure.size) / self.rate_hz

    @property
    def cycles(self) -> FloatArray:
        """Cycles that the tone has passed, as it is heard, shape (n,)."""
        turned = np.exp((self.second - self.time_s) / self.rate_constant_s)
        return np.asarray(self.rate_constant_s * self.excitation_hz * turned)


@dataclass(frozen=True, kw_only=True)
class Residue:
    """What is left above order 10, over the excitation frequency; every array has shape (n_b,).

    Parameters
    ----------
    frequency_hz
        Excitation frequency (Hz), `PER_OCTAVE` an octave.
    level_db
        R.m.s. of what is left, noise taken off, re the fundamental (dB); where that is less, `floor_db`.
    floor_db
        What could be told from the noise at 3 standard deviations, re the fundamental (dB); NaN without silence.
    noise_db
        Expected r.m.s. of the noise in the same band, re the fundamental (dB); NaN without silence.
    regular_db
        Orders 6 to 10 together where they stand over the noise, re the fundamental (dB).
    excess
        Power of what is left over that expected of noise (1: just noise); NaN without silence.
    deviation
        Relative standard deviation of that power under noise.
    in_step
        Share (0 to 1) of what is left that swells 1 to 4 times per cycle of the tone.
    score
        -ln of the probability with which noise alone swells as much.
    cycles
        Over how many cycles the energy is spread (1: one single event).
    crest
        Peak over r.m.s.; Gaussian noise has 3.5 to 5.
    time_s
        When the recording holds each frequency (s).
    """

    frequency_hz: FloatArray
    level_db: FloatArray
    floor_db: FloatArray
    noise_db: FloatArray
    regular_db: FloatArray
    excess: FloatArray
    deviation: FloatArray
    in_step: FloatArray
    score: FloatArray
    cycles: FloatArray
    crest: FloatArray
    time_s: FloatArray
    moment: Moment | None = None


def read_residue(
    aligned: Aligned,
    noise: NoiseSpectrum | None,
    grid_hz: FloatArray,
    fundamental: FloatArray,
    regular: FloatArray,
    *,
    delay_s: float = 0.0,
    role: Role = Role.MICROPHONE,
) -> Residue | None:
    """What is left in a channel above order 10 of the sweep.

    Parameters
    ----------
    aligned
        The recording on the sweep's time.
    noise
        Noise of the same channel, from its silence; None when there is none.
    grid_hz, fundamental, regular
        R.m.s. magnitude of the fundamental and of the orders 6 to 10 together, each (n_f,), over their excitation.
    delay_s
        Time the sound took (s), so that phases are counted from the drive.

    Returns
    -------
    Residue or None
        None when less than a third of an octave of the sweep has its order 12 recorded.
    """
    sweep = aligned.deconvolution.sweep
    top = min(TOP_HZ, 0.42 * sweep.rate_hz, sweep.stop_hz)
    points = _points(sweep, grid_hz, top)
    if len(points) < PER_OCTAVE // 3:
        return None
    start = aligned.start_s + delay_s
    band = (lowest_hz(aligned.deconvolution, float(points[-1])), top)
    left = tracked(aligned.deconvolution, role, band)
    table = CycleTable.of(left, sweep, start, points)
    lower = np.maximum(0.5 * sum(CUT) * points, band[0])
    expected, width = _expected_noise(noise, lower, top)
    looks = [table.look(f, sweep, b, n) for f, b, n in zip(points, width, expected, strict=True)]
    power, deviation, in_step, score, cycles, peak = np.array(looks).T
    tone = np.maximum(np.interp(points, grid_hz, fundamental), _TINY)
    known = np.isfinite(expected)
    noise_power = np.where(known, expected, 0.0)
    floor = 3.0 * deviation * noise_power
    loudest = int(np.argmax(np.where(score > np.max(score) / 2.0, power / tone**2, 0.0)))
    times = start + sweep.rate_constant_s * np.log(points / sweep.start_hz)
    return Residue(
        frequency_hz=points,
        level_db=_re(np.maximum(power - noise_power, floor), tone),
        floor_db=np.where(known, _re(floor, tone), np.nan),
        noise_db=np.where(known, _re(noise_power, tone), np.nan),
        regular_db=_re(np.interp(points, grid_hz, regular) ** 2, tone),
        excess=power / np.where(known, np.maximum(expected, _TINY), np.nan),
        deviation=deviation,
        in_step=in_step,
        score=score,
        cycles=cycles,
        crest=peak / np.sqrt(np.maximum(power, _TINY)),
        time_s=times,
        moment=_moment(left, sweep, float(times[loudest]), float(points[loudest])),
    )


def regular_orders(harmonics: ComplexArray, noise: FloatArray) -> FloatArray:
    """R.m.s. (n_f,) of the orders 6 to 10 that stand 10 dB over the noise, of `harmonics` and `noise` (9, n_f) from order 2."""
    rows = slice(6 - 2, None)
    power = np.nan_to_num(np.abs(harmonics[rows])) ** 2
    noise_power = np.nan_to_num(noise[rows]) ** 2
    return np.asarray(np.sqrt(np.where(power >= 10.0 * noise_power, power - noise_power, 0.0).sum(axis=0)))


def _points(sweep: Sweep, grid_hz: FloatArray, top_hz: float) -> FloatArray:
    """Excitation frequencies of the result: where a third of an octave is played, up to half an octave of band."""
    low, high = float(grid_hz[0]) * 2 ** (1 / 6), min(float(grid_hz[-1]), top_hz / (1.5 * CUT[1]))
    if high <= low:
        return np.zeros(0)
    return log_grid(low, high, PER_OCTAVE)


def _moment(left: FloatArray, sweep: Sweep, time_s: float, excitation_hz: float) -> Moment:
    """The six cycles of the tone about a time, at most `LONGEST_MOMENT_S`."""
    half = min(3.0 / excitation_hz, 0.5 * LONGEST_MOMENT_S)
    first = max(round((time_s - half) * sweep.rate_hz), 0)
    piece = left[first : round((time_s + half) * sweep.rate_hz)]
    return Moment(
        pressure=piece.astype(np.float32),
        start_s=first / sweep.rate_hz,
        rate_hz=sweep.rate_hz,
        excitation_hz=excitation_hz,
        time_s=time_s,
        rate_constant_s=sweep.rate_constant_s,
    )


def _expected_noise(
    noise: NoiseSpectrum | None, lower_hz: FloatArray, top_hz: float
) -> tuple[FloatArray, FloatArray]:
    """Power (n_b,) that noise leaves between lower ends and `top_hz`, NaN when unknown; and its statistical bandwidth (Hz).

    The bandwidth of a density S is (integral of S)² over the integral of S², that of the band itself for white noise: the
    energy of noise that falls with frequency is less sure, and its samples more alike.
    """
    if noise is None:
        return np.full(len(lower_hz), np.nan), top_hz - lower_hz
    grid = np.geomspace(lower_hz[0], top_hz, 600)
    density = noise.at(grid)
    power, square = (_above(values, grid, lower_hz) for values in (density, density**2))
    # a computed recording has next to no noise, and then none that falls
    return power, np.where(square > 0.0, power**2 / np.maximum(square, 1e-300), top_hz - lower_hz)


def _above(density: FloatArray, grid: FloatArray, lower_hz: FloatArray) -> FloatArray:
    """Integral (n_b,) of a density over a grid of frequencies from lower ends up, by the trapezoidal rule."""
    sums = np.concatenate([[0.0], np.cumsum(0.5 * (density[1:] + density[:-1]) * np.diff(grid))])
    return np.asarray(sums[-1] - np.interp(lower_hz, grid, sums))


def _re(power: FloatArray, tone: FloatArray) -> FloatArray:
    """A power re the squared fundamental (dB)."""
    return np.asarray(10.0 * np.log10(np.maximum(power, _TINY) / np.maximum(tone**2, _TINY)))
