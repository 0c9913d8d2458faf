"""A steady tone in a recording: where it is, its frequency, level, steadiness, and what is not the tone.

The frequency comes from the phase of short windowed pieces, whose slope is fitted by least squares (Tretter, IEEE Trans.
Inf. Theory 31(6), 1985); amplitude and offset from a linear least-squares fit of sine, cosine and constant at that
frequency, the three-parameter fit of IEEE 1057.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import fft

from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray, db

BLOCK_S = 0.1
"""Length of the pieces in which level and phase are followed (s)."""

SHORTEST_S = 1.0
"""A tone must hold at least this long (s)."""

SILENT = 1e-5
"""R.m.s. re full scale (-100 dB) below which there is nothing."""

_STEADY_DB = 1.0  # pieces whose level is this near the usual one belong to the tone
_PURE = 0.5  # share of the power the fitted tone must hold
_SAME_HZ = 0.005  # relative change of frequency from piece to piece that is a sweep or music, no tone


@dataclass(frozen=True, kw_only=True)
class Tone:
    """What was found.

    Parameters
    ----------
    frequency_hz
        Frequency (Hz), by the recorder's clock.
    peak
        Amplitude re full scale, a peak value.
    residual
        R.m.s. of all that is neither the tone nor a constant offset, over `peak`/sqrt(2): distortion and noise.
    offset
        Constant offset re full scale.
    fluctuation_db
        Standard deviation of the level from piece to piece (dB).
    trend_db
        Change of level from the first to the last third (dB).
    start_s, duration_s
        Where the steady part lies (s).
    clipped
        Number of samples at full scale in the steady part.
    """

    frequency_hz: float
    peak: float
    residual: float
    offset: float
    fluctuation_db: float
    trend_db: float
    start_s: float
    duration_s: float
    clipped: int

    @property
    def rms(self) -> float:
        """R.m.s. value re full scale."""
        return self.peak / float(np.sqrt(2.0))


def find_tone(samples: FloatArray, rate_hz: int) -> Tone:
    """The steady tone in a channel (n,) re full scale.

    Silence and handling noise before and after it are left out: the longest stretch whose level stays within 1 dB of its
    usual value counts.

    Raises
    ------
    InputError
        Silent, too short, no tone, not steady, or a sweep.
    """
    samples = np.asarray(samples, dtype=np.float64)
    if samples.ndim != 1 or not np.isfinite(samples).all():
        raise InputError("A tone must be one channel of plain numbers", remedy="Export the recording again")
    block = round(BLOCK_S * rate_hz)
    if samples.size < round(SHORTEST_S * rate_hz):
        raise InputError("The recording is too short for a tone", found=f"{samples.size / rate_hz:.2f} s",
                         allowed=f"{SHORTEST_S:g} s of steady tone, better 10 s")  # fmt: skip
    if float(np.std(samples)) < SILENT:
        raise InputError("The recording is silent", found=f"{_level(float(np.std(samples))):.0f} dB re full scale",
                         remedy="Check cable, input and gain, and switch the calibrator or the tone on")  # fmt: skip
    first, last = _steady(samples, block)
    piece = samples[first:last]
    frequency = _frequency(piece, rate_hz, block)
    return _fitted(piece, rate_hz, frequency, first / rate_hz, block)


def _steady(samples: FloatArray, block: int) -> tuple[int, int]:
    """Ends of the longest stretch of pieces of one level, the first and the last piece left off."""
    pieces = samples[: samples.size // block * block].reshape(-1, block)
    level = db(np.maximum(pieces.std(axis=1), 1e-12))
    loud = level[level > level.max() - 20.0]
    near = np.abs(level - np.median(loud[loud >= np.median(loud)])) <= _STEADY_DB
    edges = np.flatnonzero(np.diff(np.concatenate([[0], near.astype(np.int8), [0]])))
    starts, stops = edges[::2], edges[1::2]
    longest = int(np.argmax(stops - starts))
    first, last = int(starts[longest]), int(stops[longest])
    if first > 0:
        first += 1  # the tone may begin or end inside such a piece
    if last < len(pieces):
        last -= 1
    if (last - first) * block < SHORTEST_S / BLOCK_S * block:
        raise InputError(
            "The level is not steady: no tone holds its level within 1 dB for a second",
            found=f"levels from {level.min():.0f} to {level.max():.0f} dB re full scale in {len(pieces)} pieces of "
            f"{BLOCK_S:g} s",
            remedy="Record the calibrator seated firmly on the microphone for 10 s, without touching it",
        )
    return first * block, last * block


def _frequency(piece: FloatArray, rate_hz: int, block: int) -> float:
    """Frequency (Hz) of the strongest line, refined by the phase of successive pieces."""
    rough = _rough_frequency(piece, rate_hz)
    count = piece.size // block
    phases = np.angle(_demodulated(piece[: count * block], rate_hz, rough, block))
    steps = np.angle(np.exp(1j * np.diff(phases)))
    hertz = steps / (2 * np.pi * BLOCK_S)
    if np.max(np.abs(hertz - np.median(hertz))) > max(_SAME_HZ * rough, 1.0):
        raise InputError(
            "The recording holds no steady tone: its frequency changes",
            found=f"{rough + hertz.min():.0f} to {rough + hertz.max():.0f} Hz and more",
            remedy="This looks like a sweep or music; record the tone alone",
        )
    whole = np.concatenate([[0.0], np.cumsum(steps)])
    slope = float(np.polynomial.polynomial.polyfit(np.arange(count), whole, 1)[1])
    return rough + slope / (2 * np.pi * BLOCK_S)


def _rough_frequency(piece: FloatArray, rate_hz: int) -> float:
    """Highest line of the Hann-windowed spectrum, its place by the parabola through the logarithms of three bins."""
    length = min(piece.size, 2 * rate_hz)
    part = piece[:length] - piece[:length].mean()
    spectrum = np.abs(fft.rfft(part * np.hanning(length))) + 1e-30
    top = int(np.argmax(spectrum[1:-1])) + 1
    a, b, c = np.log(spectrum[top - 1 : top + 2])
    bend = a - 2 * b + c
    return float((top + (0.5 * (a - c) / bend if bend else 0.0)) * rate_hz / length)


def _demodulated(piece: FloatArray, rate_hz: int, frequency_hz: float, block: int) -> ComplexArray:
    """Complex peak amplitude in each piece, (n_pieces,), under a Hann window."""
    time = np.arange(piece.size) / rate_hz
    turned = ((piece - piece.mean()) * np.exp(-2j * np.pi * frequency_hz * time)).reshape(-1, block)
    window = np.hanning(block)
    return np.asarray(2.0 * (turned * window).sum(axis=1) / window.sum())


def _fitted(piece: FloatArray, rate_hz: int, frequency_hz: float, start_s: float, block: int) -> Tone:
    """Amplitude by the mean over pieces, what is left over by a fit inside each piece."""
    if not 10.0 <= frequency_hz <= 0.45 * rate_hz:
        raise InputError("The strongest line is no tone in the audible range", found=f"{frequency_hz:.4g} Hz",
                         remedy="Remove hum and direct current, and record the tone again")  # fmt: skip
    pieces = piece[: piece.size // block * block].reshape(-1, block)
    time = np.arange(block) / rate_hz
    turn = 2 * np.pi * frequency_hz * time
    base = np.stack([np.cos(turn), np.sin(turn), np.ones(block)], axis=1)
    solution, *_ = np.linalg.lstsq(base, pieces.T, rcond=None)
    left = pieces.T - base @ solution
    peaks = np.hypot(solution[0], solution[1])
    power, rest = float(np.mean(peaks**2) / 2.0), float(np.sum(left**2) / (left.size - 3 * len(pieces)))
    if power < _PURE * (power + rest):
        raise InputError(
            "There is no tone in the recording",
            found=f"the strongest line, {frequency_hz:.4g} Hz, holds {100 * power / (power + rest):.0f} % of the power",
            allowed=f"{100 * _PURE:.0f} % at least",
            remedy="Seat the calibrator firmly, make it quieter, and record again",
        )
    level, third = db(peaks), max(len(peaks) // 3, 1)
    return Tone(
        frequency_hz=frequency_hz,
        peak=float(np.sqrt(2.0 * power)),
        residual=float(np.sqrt(rest / power)),
        offset=float(np.mean(solution[2])),
        fluctuation_db=float(np.std(level, ddof=1)),
        trend_db=float(level[-third:].mean() - level[:third].mean()),
        start_s=start_s,
        duration_s=pieces.size / rate_hz,
        clipped=int(np.count_nonzero(np.abs(piece) >= 0.9995)),
    )


def _level(value: float) -> float:
    return float(db(max(value, 1e-12)))
