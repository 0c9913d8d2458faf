"""A linear bench for tests: a sweep through a filter made by SciPy, with delay, noise and faults on request."""

import numpy as np
from scipy.signal import butter, freqz, lfilter

from halfroll.core.conditions import Conditions, Space
from halfroll.measure.recording import Recording, Role, Scale
from halfroll.measure.sweep import Sweep

SWEEP = Sweep(duration_s=3.0, silence_before_s=0.4, silence_after_s=0.6)
CONDITIONS = Conditions(drive_v=None, distance_m=0.343, space=Space.HALF, rated_impedance_ohm=8.0)
FILTER = butter(2, [80.0, 9000.0], "bandpass", fs=48_000)
DELAY = 48


def passed(signal, sweep=SWEEP):
    """The signal after the filter and 48 samples of travel (1 ms, 0.343 m)."""
    b, a = butter(2, [80.0, 9000.0], "bandpass", fs=sweep.rate_hz)
    return np.concatenate([np.zeros(DELAY), lfilter(b, a, signal)[:-DELAY]])


def true_response(frequency_hz):
    """Complex gain of filter and travel at frequencies (Hz)."""
    _, h = freqz(*FILTER, worN=2 * np.pi * np.asarray(frequency_hz) / 48_000)
    return h * np.exp(-2j * np.pi * np.asarray(frequency_hz) * DELAY / 48_000)


def take(mic=None, voltage=None, current=None, sweep=SWEEP, scales=True):
    """A recording from channels; the microphone defaults to the filtered sweep, the voltage to the sweep."""
    signal = sweep.samples()
    channels = {Role.MICROPHONE: passed(signal, sweep) if mic is None else mic}
    if voltage is not False:
        channels[Role.VOLTAGE] = signal if voltage is None else voltage
    if current is not None:
        channels[Role.CURRENT] = current
    known = {
        Role.MICROPHONE: Scale(per_full_scale=2.0, u_db=0.3),
        Role.VOLTAGE: Scale(per_full_scale=10.0, u_db=0.1),
    }
    known[Role.CURRENT] = Scale(per_full_scale=1.0)
    return Recording(
        samples=np.array(list(channels.values())),
        rate_hz=sweep.rate_hz,
        roles=tuple(channels),
        scales={r: s for r, s in known.items() if r in channels} if scales else {},
    )


def noise(level, n, seed=1):
    """White noise of an r.m.s. level re full scale."""
    return level * np.random.default_rng(seed).standard_normal(n)
