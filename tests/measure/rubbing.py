"""A bench for rub: a computed driver without fault, sounds of faults of known level, the noise of a quiet room.

The faults here are made in another way than `halfroll.driver.rub` and than the ones thresholds were set with: other
drivers, other bands, other places in the cycle. They are invented after descriptions of rub and buzz; no recording stands
behind them. The level of a fault is its r.m.s. over the stretch of the sweep in which it sounds, re that of the driver.
"""

import functools
from dataclasses import dataclass

import numpy as np
from scipy.signal import butter, sosfilt

from halfroll.core.conditions import Conditions, Space
from halfroll.core.levels import FloatArray
from halfroll.driver.cone import ConeMode
from halfroll.driver.demo.types import model
from halfroll.driver.large_signal import Motion, play
from halfroll.driver.microphone import Position, sound_pressure
from halfroll.driver.noise import room_noise
from halfroll.measure.analysis.align import Aligned
from halfroll.measure.analysis.analyse import analyse
from halfroll.measure.analysis.deconvolve import deconvolve, order_window
from halfroll.measure.analysis.noise import noise_spectrum
from halfroll.measure.analysis.response import Response
from halfroll.measure.recording import Recording, Role, Scale
from halfroll.measure.residues.residue import Residue, read_residue, regular_orders
from halfroll.measure.sweep import Sweep

SWEEP = Sweep(duration_s=2.5, silence_before_s=0.3, silence_after_s=0.45)
"""As short as the demonstration's, the hardest case: a third of an octave lasts 84 ms."""

RATE = SWEEP.rate_hz
NOISE_DBA = 30.0
ROLES = (Role.MICROPHONE, Role.VOLTAGE)
SCALES = {Role.MICROPHONE: Scale(per_full_scale=4.0), Role.VOLTAGE: Scale(per_full_scale=20.0)}
CONDITIONS = Conditions(drive_v=None, distance_m=1.0, space=Space.HALF, rated_impedance_ohm=8.0)


@dataclass(frozen=True)
class Bench:
    """A driver that was played without noise: its motion, its pressure (n,), and the response of that."""

    motion: Motion
    pressure: FloatArray
    response: Response

    def recording(self, extra: FloatArray) -> Recording:
        """What is recorded with another sound (n,) beside the driver's."""
        channels = [(self.pressure + extra) / 4.0, self.motion.voltage_v / 20.0]
        return Recording(samples=np.stack(channels), rate_hz=RATE, roles=ROLES, scales=SCALES)

    def residue(self, extra: FloatArray) -> Residue:
        """The residue of such a recording, without finding the sweep each time."""
        signal = self.pressure + extra
        start = SWEEP.silence_before_s
        found = Aligned(
            deconvolution=deconvolve({Role.MICROPHONE.value: signal}, SWEEP, start),
            window=order_window(SWEEP, 1, 0.4),
            verdicts=(),
            start_s=start,
        )
        r = self.response
        regular = regular_orders(r.harmonics_pa, r.noise_pa[1:])
        noise = noise_spectrum(signal, SWEEP, start)
        residue = read_residue(
            found, noise, r.frequency_hz, np.abs(r.pressure_full_pa), regular, delay_s=1 / 343
        )
        assert residue is not None
        return residue

    def at_level(self, fault: FloatArray, level_db: float, low_hz: float, high_hz: float) -> FloatArray:
        """A fault's sound at a level re the driver's over a stretch of the sweep."""
        first, last = (round((SWEEP.silence_before_s + SWEEP.time_of(f)) * RATE) for f in (low_hz, high_hz))
        ratio = np.sqrt(np.mean(self.pressure[first:last] ** 2) / np.mean(fault[first:last] ** 2))
        return np.asarray(fault * ratio * 10 ** (level_db / 20))


@functools.cache
def bench(drive_w: float = 1.0) -> Bench:
    """A 5-inch driver with a resonance near 65 Hz at a drive into 8 ohm; its parameters are in no demonstration."""
    driver = model(
        bl=(5.0, 0.1, -0.09), k=(2100, 60, 55, 0, 2), le_mh=(0.3, -0.02, -0.006), re=6.3, mms_g=9.5, rms=1.4,
        sd_cm2=80, l2_mh=0.2, r2=3.5, travel_mm=5.0,
    )  # fmt: skip
    source = SWEEP.samples() * (np.sqrt(2.0 * drive_w * 8.0) / SWEEP.level)
    motion = play(driver, source, RATE, oversampling=4)
    modes = (ConeMode(frequency_hz=3000.0, q=4.0, share=0.2),)
    pressure = sound_pressure(motion, driver.radius, Position(distance_m=1.0), modes)
    hush = 1e-9 * np.random.default_rng(1).standard_normal(pressure.size)
    clean = Recording(
        samples=np.stack([pressure / 4.0 + hush, motion.voltage_v / 20.0]),
        rate_hz=RATE,
        roles=ROLES,
        scales=SCALES,
    )
    return Bench(motion=motion, pressure=pressure, response=analyse(clean, SWEEP, CONDITIONS))


def quiet(seed: int, level_dba: float = NOISE_DBA) -> FloatArray:
    """Noise of a room as the demonstration has it."""
    return room_noise(bench().pressure.size, RATE, level_dba, np.random.default_rng((seed, 31)))


def _filtered(signal: FloatArray, low_hz: float, high_hz: float) -> FloatArray:
    return np.asarray(sosfilt(butter(1, [low_hz, high_hz], "bandpass", fs=RATE, output="sos"), signal))


def both_ends(seed: int) -> FloatArray:
    """A coil that rubs at both ends of its travel: hiss whenever |x| passes 60 % of the most, 2 to 6 kHz."""
    x = bench().motion.displacement_m
    grain = np.random.default_rng((seed, 32)).standard_normal(x.size)
    return _filtered(grain * (np.abs(x) > 0.6 * np.abs(x).max()), 2000.0, 6000.0)


def leak(seed: int) -> FloatArray:
    """Air through a leak: noise that goes with the square of the cone's velocity, 0.8 to 5 kHz."""
    v = bench().motion.velocity_m_s
    grain = np.random.default_rng((seed, 33)).standard_normal(v.size)
    return _filtered(grain * (v / np.abs(v).max()) ** 2, 800.0, 5000.0)


def knocks(
    seed: int, low_hz: float, high_hz: float, *, tone_hz: float, jitter: float = 0.02, missing: float = 0.0
) -> FloatArray:
    """One knock a cycle between two frequencies of the sweep: a loose wire or joint that rings at `tone_hz`."""
    rng = np.random.default_rng((seed, 34))
    length = SWEEP.rate_constant_s
    cycle = np.arange(np.ceil(length * low_hz), length * high_hz)
    cycle = cycle[rng.random(cycle.size) >= missing]
    cycle = cycle + 0.6 + jitter * rng.standard_normal(cycle.size)
    at = SWEEP.silence_before_s + length * np.log(cycle / (length * SWEEP.start_hz))
    impulses = np.zeros(bench().pressure.size)
    impulses[np.rint(at * RATE).astype(int)] = 1.0 + 0.2 * rng.standard_normal(cycle.size)
    return _filtered(impulses, 0.85 * tone_hz, 1.18 * tone_hz)


FAULTS = {
    "coil rubbing at both ends": (both_ends, 30.0, 70.0),
    "leak": (leak, 30.0, 90.0),
    "coil former knocking": (lambda seed: knocks(seed, 28.0, 80.0, tone_hz=2400.0), 28.0, 80.0),
    "loose lead wire": (lambda seed: knocks(seed, 120.0, 160.0, tone_hz=5000.0), 120.0, 160.0),
    "loose wire, a third of knocks missing": (
        lambda seed: knocks(seed, 300.0, 400.0, tone_hz=6500.0, jitter=0.05, missing=0.33), 300.0, 400.0),
}  # fmt: skip
"""A fault's sound by seed, and the stretch of the sweep in which it sounds (Hz)."""


def door(seed: int, peak_pa: float = 0.1, decay_s: float = 0.12, at_s: float = 1.0) -> FloatArray:
    """A door that slams once: noise of 60 Hz to 2.5 kHz that dies away."""
    rng = np.random.default_rng((seed, 35))
    sound = np.zeros(bench().pressure.size)
    first = round(at_s * RATE)
    t = np.arange(sound.size - first) / RATE
    sound[first:] = _filtered(rng.standard_normal(t.size) * np.exp(-t / decay_s), 60.0, 2500.0)
    return np.asarray(sound * peak_pa / np.abs(sound).max())
