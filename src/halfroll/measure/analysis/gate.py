"""Reflections and the window that keeps them out.

What comes before the first reflection is the driver alone.  A window of length T says nothing below about 1/T
(common practice: one full period must fit).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import fft

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.measure.analysis.deconvolve import Window
from halfroll.measure.analysis.response import WEAKEST_REFLECTION_DB, Gate

LOOK_FROM_S = 0.7e-3
"""Earlier than this a reflection cannot be told from the driver's own ringing (s)."""

LOOK_TO_S = 40e-3
"""Later than this a reflection hardly colours what a gate would leave (s)."""

SHORTEST_GATE_S, LONGEST_GATE_S = 0.5e-3, 1.0
"""A gate may be this long (s)."""


@dataclass(frozen=True, kw_only=True)
class Reflection:
    """First reflection after the direct sound: `delay_s` after it, `level_db` re it."""

    delay_s: float
    level_db: float


def envelope(piece: FloatArray, rate_hz: int, low_hz: float, high_hz: float) -> FloatArray:
    """Magnitude (n,) of the analytic signal of a piece, limited to a band by raised-cosine flanks of half an octave."""
    n = fft.next_fast_len(2 * len(piece))
    spectrum = fft.fft(piece, n)
    f = fft.fftfreq(n, 1 / rate_hz)
    x = np.log2(np.maximum(f, 1e-9))
    rise = np.clip((x - np.log2(low_hz)) * 2 + 0.5, 0, 1)
    fall = np.clip((np.log2(high_hz) - x) * 2 + 0.5, 0, 1)
    flank = np.sin(rise * np.pi / 2) ** 2 * np.sin(fall * np.pi / 2) ** 2
    return np.asarray(np.abs(fft.ifft(2 * spectrum * np.where(f > 0, flank, 0.0)))[: len(piece)])


def find_reflection(piece: FloatArray, arrival: int, rate_hz: int, high_hz: float) -> Reflection | None:
    """First strong reflection in an impulse response.

    Parameters
    ----------
    piece
        Impulse response (n,), arrival of the direct sound at sample `arrival`.
    high_hz
        Upper end of the sweep; the search uses 1 kHz to four fifths of it, where pulses are short.

    A reflection is a local maximum of the envelope within 20 dB of the direct sound that stands 6 dB above the lowest
    point since then.
    """
    if high_hz < 3000:
        return None
    shape = envelope(piece, rate_hz, 1000.0, 0.8 * high_hz)
    direct = float(shape[max(arrival - 20, 0) : arrival + 20].max())
    start = arrival + round(LOOK_FROM_S * rate_hz)
    stop = min(arrival + round(LOOK_TO_S * rate_hz), len(shape) - 1)
    if direct <= 0 or stop - start < 3:
        return None
    view = shape[start:stop]
    lowest = np.minimum.accumulate(view)
    peak = (view[1:-1] >= view[:-2]) & (view[1:-1] > view[2:])
    strong = (view[1:-1] > direct * 10 ** (WEAKEST_REFLECTION_DB / 20)) & (view[1:-1] > 2.0 * lowest[1:-1])
    found = np.flatnonzero(peak & strong)
    if len(found) == 0:
        return None
    first = int(found[0])
    block = view[first + 1 : first + 1 + round(1e-3 * rate_hz)]
    at = first + 1 + int(np.argmax(block))
    return Reflection(
        delay_s=(start + at - arrival) / rate_hz, level_db=float(20 * np.log10(view[at] / direct))
    )


def choose_gate(setting: str | float, reflection: Reflection | None) -> Gate:
    """The gate for a setting: ``auto`` (up to the first reflection, if any), ``none``, or a length in seconds."""
    found_s = None if reflection is None else reflection.delay_s
    found_db = None if reflection is None else reflection.level_db
    length: float | None
    if setting == "none":
        length = None
    elif setting == "auto":
        length = None if found_s is None else found_s - 0.1e-3
    elif isinstance(setting, (int, float)) and SHORTEST_GATE_S <= setting <= LONGEST_GATE_S:
        length = float(setting)
    else:
        raise InputError(
            "The gate must be 'auto', 'none' or a length",
            key="gate",
            found=setting,
            allowed="'auto', 'none' or 0.5 ms to 1 s",
        )
    if length is None:
        return Gate(reflection_s=found_s, reflection_db=found_db)
    return Gate(length_s=length, valid_from_hz=1.0 / length, reflection_s=found_s, reflection_db=found_db)


def gate_window(gate: Gate, full: Window, arrival_s: float) -> Window:
    """The window that the gate leaves, `arrival_s` after the electrical zero; the last fifth is tapered."""
    if gate.length_s is None:
        return full
    before = min(full.before_s, 2e-3)
    return Window(
        before_s=before,
        after_s=arrival_s + gate.length_s,
        fade_in_s=0.5 * before,
        fade_out_s=0.2 * gate.length_s,
    )
