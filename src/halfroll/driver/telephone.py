"""A telephone that records a sound pressure: its bass filter, gain control, clock, noise and converter, and a room's tail.

Invented, to show and to test what reads such recordings; no telephone in particular.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray


@dataclass(frozen=True, kw_only=True)
class GainControl:
    """A gain that follows the level: towards `target` r.m.s. re full scale, within `range_db`, with its two times (s)."""

    target: float = 0.15
    range_db: float = 12.0
    attack_s: float = 0.03
    release_s: float = 0.6


@dataclass(frozen=True, kw_only=True)
class Telephone:
    """What a telephone does to a pressure.

    Parameters
    ----------
    highpass_hz, highpass_order
        Its bass filter (Butterworth).
    clock
        Relative difference of its clock: a second lasts 1 + clock seconds' worth of its samples.
    rate_hz
        Sample rate of its file.
    noise_rms, peak
        Noise and loudest peak of the file re full scale; a peak above 1 clips.
    room_db, room_s
        Energy of the room's tail re the direct sound, and its reverberation time.
    """

    highpass_hz: float = 40.0
    highpass_order: int = 1
    clock: float = 0.0
    rate_hz: int = 48_000
    noise_rms: float = 3e-5
    peak: float = 0.5
    room_db: float = -30.0
    room_s: float = 0.5
    gain_control: GainControl | None = None


def heard(pressure: FloatArray, rate_hz: int, phone: Telephone, rng: np.random.Generator) -> FloatArray:
    """The file a telephone makes of a pressure (n,) at `rate_hz`: samples (m,) re full scale at its own rate, 16 bit."""
    import soxr
    from scipy.signal import butter, fftconvolve, sosfilt

    tail_n = round(0.8 * phone.room_s * rate_hz)
    t = np.arange(tail_n) / rate_hz
    tail = rng.standard_normal(tail_n) * np.exp(-6.91 * t / phone.room_s)
    tail[: round(0.002 * rate_hz)] = 0.0
    tail *= 10.0 ** (phone.room_db / 20.0) / np.sqrt(np.sum(tail**2))
    sound = pressure + fftconvolve(pressure, tail)[: pressure.size]
    sos = butter(phone.highpass_order, phone.highpass_hz, "highpass", fs=rate_hz, output="sos")
    sound = sosfilt(sos, sound)
    sound = soxr.resample(sound, rate_hz, phone.rate_hz * (1.0 + phone.clock), quality="VHQ")
    sound *= phone.peak / np.max(np.abs(sound))
    sound = sound + phone.noise_rms * rng.standard_normal(sound.size)
    if phone.gain_control is not None:
        sound = sound * _gain(sound, phone.rate_hz, phone.gain_control)
    return np.asarray(np.round(np.clip(sound, -1.0, 32767 / 32768) * 32768.0) / 32768.0)


def _gain(sound: FloatArray, rate_hz: int, control: GainControl) -> FloatArray:
    """Gain over time (n,), by blocks of 5 ms."""
    block = max(round(0.005 * rate_hz), 1)
    count = -(-sound.size // block)
    padded = np.zeros(count * block)
    padded[: sound.size] = sound
    level = np.sqrt(np.mean(padded.reshape(count, block) ** 2, axis=1)) + 1e-9
    most = 10.0 ** (control.range_db / 20.0)
    gains, now = np.empty(count), 1.0
    for k, here in enumerate(level):
        wanted = float(np.clip(control.target / here, 1.0 / most, most))
        time = control.attack_s if wanted < now else control.release_s
        now *= (wanted / now) ** (1.0 - np.exp(-0.005 / time))
        gains[k] = now
    return np.interp(np.arange(sound.size), (np.arange(count) + 0.5) * block, gains)
