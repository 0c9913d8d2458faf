"""Players for tests of stepped tones: a computed driver, and a filter or a law that is known in closed form."""

import math

import numpy as np

from halfroll.acoustics.air import Air
from halfroll.driver.large_signal import play
from halfroll.measure.recording import Role, Scale

RATE = 48_000
ROLES = (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT)
SCALES = {
    Role.MICROPHONE: Scale(per_full_scale=4.0),
    Role.VOLTAGE: Scale(per_full_scale=20.0),
    Role.CURRENT: Scale(per_full_scale=10.0),
}
V_PER_FULL_SCALE = 20.0


class DriverPlayer:
    """A driver of the large-signal model behind an ideal amplifier; pressure is rho Sd a / (2 pi r), no flight."""

    rate_hz = RATE
    channels = 3

    def __init__(self, driver, distance_m=1.0, density=1.2041, oversampling=4):
        self.driver, self.oversampling = driver, oversampling
        self.per_acceleration = density * driver.Sd / (2.0 * math.pi * distance_m)
        self.played = []

    def play(self, signal, progress=lambda done, what: None):
        self.played.append(signal)
        if not np.any(signal):
            return np.full((3, signal.size), 1e-12)
        motion = play(self.driver, signal * V_PER_FULL_SCALE, RATE, oversampling=self.oversampling)
        pressure = self.per_acceleration * motion.acceleration_m_s2
        return np.stack([pressure / 4.0, motion.voltage_v / 20.0, motion.current_a / 10.0])


class LawPlayer:
    """A microphone that hears a law of the signal, and the voltage; white noise on both on request."""

    rate_hz = RATE
    channels = 2

    def __init__(self, law, noise=0.0, seed=1, gain=1.0):
        self.law, self.noise, self.gain = law, noise, gain
        self.rng = np.random.default_rng(seed)
        self.played = []

    def play(self, signal, progress=lambda done, what: None):
        self.played.append(signal)
        heard = np.stack([self.gain * self.law(signal), signal])
        if self.noise:
            heard = heard + self.noise * self.rng.standard_normal(heard.shape)
        return np.clip(heard, -1.0, 1.0)


AIR = Air(1.2041, 343.2)
