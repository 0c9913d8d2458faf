"""Hum and other lines in the silence of a recording, how loud the silence is, and what the lines do to distortion.

A steady tone stands in the deconvolved response as a tone, so it is read as the n-th harmonic of the excitation f/n, with
the gain of inverse filter and window. That is the one place where a weak hum spoils a figure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft
from scipy.ndimage import median_filter

from halfroll.acoustics.weighting import a_weighting
from halfroll.core.levels import P_REF_PA, FloatArray, spl
from halfroll.core.text import THIN, format_value, join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.analysis.deconvolve import inverse_filter, order_window
from halfroll.measure.analysis.noise import NoiseSpectrum, silence_parts
from halfroll.measure.sweep import Sweep

MAINS_HZ = (50.0, 60.0)
"""Rated mains frequencies (IEC 60038); within 1 % in a public network (EN 50160, from memory)."""

MAINS_WITHIN = 0.01
MULTIPLES = 20
HIGHEST_HZ = 5000.0
LONGEST_FRAME_S = 2.0

BESIDE = 101
"""Points of the spectrum that say what the noise beside a line is."""

LOWEST_HZ = 30.0

MAINS_SURE = 13.0
LINE_SURE = 20.0
"""Power over the noise beside it from which a line is believed: noise passes R with probability exp(-R) a point, so at
known places less is enough than anywhere."""

HANN_BINS = 1.5
"""Power of a sine in the bins of a Hann window, over that in the highest when it falls on one."""

MOST_TOLD = 4
"""Lines that a sentence names."""

SPOILED_ORDERS = (2, 3, 4, 5)
LEAST_ADDED_PERCENT = 0.1
LEAST_OF_HARMONIC = 0.3
"""A line matters when it adds 0.1 % at least, and 30 % of the harmonic that was measured there."""


@dataclass(frozen=True, kw_only=True)
class Hum:
    """What the silence of a recording holds.

    Parameters
    ----------
    mains_hz
        The mains frequency whose multiples were found; None without any.
    line_hz, line_pa
        Frequency (Hz) and r.m.s. value of each line, (n,); uncalibrated: re full scale.
    multiple
        Which multiple of the mains a line is, (n,); 0: of something else.
    added_percent, added_at_hz, added_order
        What the line can add to distortion, in % of the fundamental, at which excitation (Hz) and in which order, (n,);
        the worst of orders 2 to 5.
    level_a_pa
        A-weighted r.m.s. of the silence up to 20 kHz; NaN without silence.
    """

    mains_hz: float | None
    line_hz: FloatArray
    line_pa: FloatArray
    multiple: NDArray[np.int64]
    added_percent: FloatArray
    added_at_hz: FloatArray
    added_order: NDArray[np.int64]
    level_a_pa: float

    @property
    def level_dba(self) -> float:
        """A-weighted level of the silence (dB re 20 µPa)."""
        return float(20.0 * np.log10(max(self.level_a_pa, 1e-12) / P_REF_PA))


def read_hum(
    signal: FloatArray,
    noise: NoiseSpectrum | None,
    sweep: Sweep,
    start_s: float,
    grid_hz: FloatArray,
    fundamental_pa: FloatArray,
) -> Hum:
    """Lines and level of the silence of a channel (n,), and what the lines add to distortion of a fundamental (n_f,)."""
    parts = [signal[part] for part in silence_parts(len(signal), sweep, start_s)]
    if not parts or noise is None:
        return _hum(None, np.zeros(0), np.zeros(0), np.zeros(0, dtype=np.int64), (), float("nan"))
    frequency, power, height = _spectrum(max(parts, key=len), sweep.rate_hz)
    mains, places = _mains(frequency, height)
    known = [(n * mains, n) for n in places] if mains else []
    other = [
        (f, 0) for f in _peaks(frequency, height) if all(abs(f - m) > 3 * frequency[1] for m, _ in known)
    ]
    lines = sorted([*known, *other])
    at = np.array([f for f, _ in lines])
    rms = np.array([np.sqrt(power[_near(frequency, f)].sum() / HANN_BINS) for f in at])
    added = [_added(f, a, sweep, grid_hz, fundamental_pa) for f, a in zip(at, rms, strict=True)]
    return _hum(
        mains if known else None,
        at,
        rms,
        np.array([n for _, n in lines], dtype=np.int64),
        added,
        _level_a(noise),
    )


def _hum(
    mains: float | None,
    at: FloatArray,
    rms: FloatArray,
    multiple: NDArray[np.int64],
    added: Sequence[tuple[float, float, int]],
    level_a_pa: float,
) -> Hum:
    columns = np.array(added).reshape(-1, 3).T
    return Hum(
        mains_hz=mains,
        line_hz=at,
        line_pa=rms,
        multiple=multiple,
        added_percent=columns[0],
        added_at_hz=columns[1],
        added_order=columns[2].astype(np.int64),
        level_a_pa=level_a_pa,
    )


def _spectrum(silence: FloatArray, rate_hz: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Frequencies, mean square of a sine at each, and power over the noise beside it, of a stretch of silence."""
    frame = silence[: round(LONGEST_FRAME_S * rate_hz)]
    window = np.hanning(len(frame))
    values = fft.rfft((frame - frame.mean()) * window)
    frequency = np.asarray(fft.rfftfreq(len(frame), 1 / rate_hz))
    power = 2.0 * np.abs(values) ** 2 / np.sum(window) ** 2
    inside = frequency <= 1.1 * HIGHEST_HZ
    frequency, power = frequency[inside], power[inside]
    flat = power * frequency  # room noise falls about as 1/f, and a median over many points would lean
    mean = median_filter(flat, BESIDE, mode="mirror") / np.log(2.0)  # of an exponential the median is ln 2
    return frequency, power, flat / np.maximum(mean, 1e-300)


def _near(frequency: FloatArray, at_hz: float) -> slice:
    centre = round(at_hz / frequency[1])
    return slice(max(centre - 2, 0), centre + 3)


def _mains(frequency: FloatArray, height: FloatArray) -> tuple[float, list[int]]:
    """Mains frequency and the multiples of it that stand out; 0 and none when there are none."""
    best, found, most = 0.0, list[int](), 0.0
    for rated in MAINS_HZ:
        for base in rated * (1.0 + MAINS_WITHIN * np.linspace(-1.0, 1.0, 21)):
            index = np.rint(base * np.arange(1, MULTIPLES + 1) / frequency[1]).astype(int)
            index = index[index < len(height) - 1]
            stands = [n + 1 for n, i in enumerate(index) if height[i] >= MAINS_SURE and i >= 3]
            total = float(sum(np.log(height[index[n - 1]]) for n in stands))
            nearer = total == most and abs(base - rated) < abs(best - rated)
            if stands and (total > most or nearer):
                best, found, most = float(base), stands, total
    return best, found


def _peaks(frequency: FloatArray, height: FloatArray) -> list[float]:
    """Places of all lines that stand far out."""
    inner = height[1:-1]
    top = (
        (inner >= LINE_SURE) & (inner >= height[:-2]) & (inner > height[2:]) & (frequency[1:-1] >= LOWEST_HZ)
    )
    return [float(f) for f in frequency[1:-1][top] if f <= HIGHEST_HZ]


def _added(
    line_hz: float, rms: float, sweep: Sweep, grid_hz: FloatArray, fundamental_pa: FloatArray
) -> tuple[float, float, int]:
    """The most that a line adds to one of the orders (% of the fundamental), at which excitation (Hz), in which order."""
    found = [(0.0, 0.0, 0)]
    for order in SPOILED_ORDERS:
        at = line_hz / order
        if not grid_hz[0] <= at <= grid_hz[-1]:
            continue
        window = order_window(sweep, order, 0.0)
        held = window.before_s + window.after_s - 0.5 * (window.fade_in_s + window.fade_out_s)
        gain = float(np.abs(inverse_filter(sweep, np.array([line_hz])))[0]) * held / 2.0
        found.append((100.0 * rms * gain / float(np.interp(at, grid_hz, fundamental_pa)), at, order))
    return max(found)


def _level_a(noise: NoiseSpectrum) -> float:
    inside = noise.frequency_hz <= 20_000.0
    weighted = noise.density[inside] * a_weighting(noise.frequency_hz[inside]) ** 2
    return float(np.sqrt(np.sum(weighted) * noise.frequency_hz[0]))


def hum_verdict(
    hum: Hum, grid_hz: FloatArray, harmonics_percent: FloatArray, *, calibrated: bool = True
) -> Verdict | None:
    """A caution when a line adds to distortion what matters; `harmonics_percent` (9, n_f) are the orders 2 to 10 as measured."""
    spoiled = []
    for i, (added, at, order) in enumerate(
        zip(hum.added_percent, hum.added_at_hz, hum.added_order, strict=True)
    ):
        if order and added >= LEAST_ADDED_PERCENT:
            measured = np.interp(at, grid_hz, np.nan_to_num(harmonics_percent[order - 2]))
            if added >= LEAST_OF_HARMONIC * measured:
                spoiled.append(i)
    if not spoiled:
        return None
    worst = max(spoiled, key=lambda i: float(hum.added_percent[i]))
    what = "Mains hum" if hum.multiple[worst] else "A steady tone"
    loud = f" ({format_value(float(spl(hum.line_pa[worst])), None, 'dB')})" if calibrated else ""
    kin = np.flatnonzero((hum.multiple > 0) == (hum.multiple[worst] > 0))
    strongest = np.sort(kin[np.argsort(-hum.line_pa[kin])][:MOST_TOLD])
    shown = join_words([f"{f:.0f}" for f in hum.line_hz[strongest]])
    return Verdict(
        code="hum-lines",
        severity=Severity.CAUTION,
        text=f"{what} in the silence: {'line' if len(strongest) == 1 else 'lines'} at {shown}{THIN}Hz. The one at {hum.line_hz[worst]:.0f}{THIN}Hz{loud} can add "
        f"{format_value(float(hum.added_percent[worst]), None, '%')} to the distortion at {hum.added_at_hz[worst]:.0f}{THIN}Hz.",
        remedy="Keep cables away from transformers, use one mains outlet for all, switch off fans; then repeat the take.",
        data={
            "mains_hz": hum.mains_hz,
            "line_hz": [float(f) for f in hum.line_hz[spoiled]],
            "line_pa": [float(a) for a in hum.line_pa[spoiled]],
            "added_percent": [float(a) for a in hum.added_percent[spoiled]],
            "added_at_hz": [float(f) for f in hum.added_at_hz[spoiled]],
        },
    )
