"""Delay of a sound card from output to input, from a loop: what was played against what came back.

The delay is where the impulse response from output to input is largest: the cross-correlation with the spectrum of what was
played divided out, so that coupling capacitors and the long bass part of a sweep do not draw its peak aside. A fraction of a
sample is found at the top of the band-limited response (Newton's step on its spectrum).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import fft

from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.verdicts import Severity, Verdict

LEAST_LIKENESS = 0.3
"""Normalised correlation below which the recording does not hold what was played."""

_LEAST_POWER = 1e-4  # of the strongest line: weaker ones were not played

STEADY_SAMPLES = 0.5
"""Repeats further apart than this are told: the device starts at another place each time."""


@dataclass(frozen=True, kw_only=True)
class Latency:
    """One delay: `samples` from output to input, `likeness` of the two signals (1: the same but for a gain), and `inverted`
    when the polarity is turned.
    """

    samples: float
    likeness: float
    inverted: bool = False


@dataclass(frozen=True, kw_only=True)
class LoopResult:
    """Delay over repeats: mean, standard uncertainty of one run (samples), each run, and what must be said."""

    samples: float
    u_samples: float
    runs: tuple[Latency, ...]
    verdicts: tuple[Verdict, ...] = ()


def loop_latency(played: FloatArray, recorded: FloatArray) -> Latency:
    """Delay of `recorded` (m,) behind `played` (n,), same sample rate.

    Raises
    ------
    InputError
        One of them is silent, or the recording does not hold what was played.
    """
    for name, signal in (("played", played), ("recorded", recorded)):
        if signal.ndim != 1 or not np.isfinite(signal).all():
            raise InputError(f"The {name} signal must be one channel of plain numbers")
        if signal.size < 64 or float(np.std(signal)) < 1e-7:
            raise InputError(f"The {name} signal is silent or empty",
                             remedy="Connect the output to the input and raise the level")  # fmt: skip
    length = fft.next_fast_len(played.size + recorded.size, real=True)
    source = fft.rfft(played - played.mean(), length)
    cross = fft.rfft(recorded - recorded.mean(), length) * np.conj(source)
    likeness = _likeness(fft.irfft(cross, length), played, recorded)
    if likeness < LEAST_LIKENESS:
        raise InputError(
            "The recording does not hold what was played", found=f"a likeness of {likeness:.2f}",
            allowed=f"{LEAST_LIKENESS:g} to 1", remedy="Check the loop from output to input, and that the files belong together",
        )  # fmt: skip
    power = np.abs(source) ** 2
    transfer = cross / (power + _LEAST_POWER * float(power.max()))
    response = fft.irfft(transfer, length)
    at = int(np.argmax(np.abs(response)))
    lag = at if at < recorded.size else at - length
    inverted = bool(response[at] < 0)
    whole = lag + _fraction(-transfer if inverted else transfer, lag, length)
    return Latency(samples=whole, likeness=likeness, inverted=inverted)


def _likeness(correlation: FloatArray, played: FloatArray, recorded: FloatArray) -> float:
    """Largest correlation over the product of the norms where the two overlap there."""
    at = int(np.argmax(np.abs(correlation)))
    lag = at if at < recorded.size else at - len(correlation)
    first, last = max(lag, 0), min(lag + played.size, recorded.size)
    here = recorded[first:last] - recorded.mean()
    there = played[first - lag : last - lag] - played.mean()
    norms = float(np.linalg.norm(here) * np.linalg.norm(there)) + 1e-30
    return min(float(abs(correlation[at])) / norms, 1.0)


def _fraction(transfer: ComplexArray, lag: int, length: int) -> float:
    """What is left of the delay beyond whole samples, at the top of sum |H| cos(w d + phase) over the delay d."""
    omega = 2 * np.pi * np.arange(transfer.size) / length
    rest = 0.0
    for _ in range(4):
        turned = transfer * np.exp(1j * omega * (lag + rest))
        slope = -float(np.sum(omega * turned.imag))
        bend = float(np.sum(omega**2 * turned.real))
        if bend <= 0:
            break
        rest = float(np.clip(rest + slope / bend, -1.0, 1.0))
    return rest


def over_repeats(runs: Sequence[Latency]) -> LoopResult:
    """Delay over repeats; its uncertainty is the standard deviation, for every later take is one run."""
    if not runs:
        raise InputError("A latency needs one loop recording at least")
    values = np.array([run.samples for run in runs])
    spread = float(np.std(values, ddof=1)) if len(runs) > 1 else 0.0
    said = []
    if len(runs) > 1 and float(np.ptp(values)) > STEADY_SAMPLES:
        said.append(Verdict(
            code="latency-varies", severity=Severity.CAUTION,
            text=f"The delay differs by {float(np.ptp(values)):.1f} samples between {len(runs)} loops.",
            remedy="Record the voltage with the microphone: then the take does not depend on it. A larger buffer may help.",
            data={"range_samples": float(np.ptp(values))},
        ))  # fmt: skip
    if any(run.inverted for run in runs):
        said.append(Verdict(
            code="loop-inverted", severity=Severity.CAUTION,
            text="The loop turns the polarity: what comes back is upside down.",
            remedy="Exchange the two leads of the input, or keep it in mind when polarity matters.",
        ))  # fmt: skip
    return LoopResult(samples=float(values.mean()), u_samples=spread, runs=tuple(runs), verdicts=tuple(said))
