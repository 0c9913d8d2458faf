"""How long the whole analysis of a take is, beside the bare transforms and a general-purpose library's deconvolution.

A take of 10 s at 48 kHz with microphone, voltage and current; ten orders, noise, checks, gate and impedance.
Run: ``python benchmarks/analysis.py``.  Prints medians and ratios of one run; the bound in the design is four times the
bare transforms.  Takes of one sweep share what the ideal sweep gives, so the first of them is timed by itself.  With
MALLOC_MMAP_THRESHOLD_=1000000000 MALLOC_TRIM_THRESHOLD_=4000000000 set, memory that the system clears anew each time does
not count.
"""

from __future__ import annotations

import itertools
import statistics
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from scipy import fft
from scipy.signal import butter, lfilter

from halfroll.core.conditions import Conditions, Space
from halfroll.measure.analysis.analyse import analyse
from halfroll.measure.recording import Recording, Role, Scale
from halfroll.measure.sweep import Sweep

SWEEP = Sweep(duration_s=8.5, silence_before_s=0.5, silence_after_s=1.0)
CONDITIONS = Conditions(drive_v=None, distance_m=1.0, space=Space.HALF)


def take() -> Recording:
    """A 10 s, 3-channel recording of a mildly nonlinear band-pass with noise."""
    signal = SWEEP.samples()
    rng = np.random.default_rng(7)
    b, a = butter(2, [80.0, 9000.0], "bandpass", fs=SWEEP.rate_hz)
    microphone = lfilter(b, a, signal + 0.02 * signal**2) + 1e-4 * rng.standard_normal(len(signal))
    current = 0.2 * lfilter(*butter(1, 2000.0, fs=SWEEP.rate_hz), signal)
    return Recording(
        samples=np.array([microphone, signal, current]),
        rate_hz=SWEEP.rate_hz,
        roles=(Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT),
        scales={r: Scale(per_full_scale=1.0) for r in (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT)},
    )


def bare_transforms(recording: Recording) -> None:
    """Forward transforms of the three channels and the reference, and the three inverse ones: the least possible."""
    n = fft.next_fast_len(recording.samples.shape[1], real=True)
    for channel in (*recording.samples, recording.samples[1]):
        spectrum = fft.rfft(channel, n)
    for _ in range(3):
        fft.irfft(spectrum, n)


def peer(recording: Recording) -> None:
    """Regularised deconvolution of the three channels by a general-purpose acoustics library, one order only."""
    import pyfar

    output = pyfar.Signal(recording.samples, recording.rate_hz)
    reference = pyfar.Signal(SWEEP.samples(), recording.rate_hz)
    inverse = pyfar.dsp.RegularizedSpectrumInversion.from_frequency_range(reference, (20, 20_000)).invert
    _ = (output * inverse).time


def median_s(work: Callable[[], object], times: int = 9) -> float:
    """Median duration (s) after one run to warm up."""
    work()
    durations = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        durations.append(time.perf_counter() - start)
    return statistics.median(durations)


def main() -> None:
    """Measure all three in one run and print the ratios."""
    recording = take()
    seconds = recording.samples.shape[1] / recording.rate_hz
    bare = median_s(lambda: bare_transforms(recording))
    ours = median_s(lambda: analyse(recording, SWEEP, CONDITIONS))
    fresh = (replace(SWEEP, level=0.4 + 1e-3 * n) for n in itertools.count())
    first = median_s(lambda: analyse(recording, next(fresh), CONDITIONS))
    other = median_s(lambda: peer(recording))
    print(f"take: {seconds:.1f} s, {recording.samples.shape[0]} channels, {recording.rate_hz} Hz")
    print(f"bare transforms              {1e3 * bare:7.1f} ms   1.0")
    print(f"full analysis, ten orders    {1e3 * ours:7.1f} ms   {ours / bare:.1f}   (bound 4.0)")
    print(f"the first take of a sweep    {1e3 * first:7.1f} ms   {first / bare:.1f}")
    print(f"peer's deconvolution alone   {1e3 * other:7.1f} ms   {other / bare:.1f}")


if __name__ == "__main__":
    main()
