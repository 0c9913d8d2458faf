"""Turning a take of the demonstration into samples: the driver is played, heard and recorded."""

from __future__ import annotations

import math

import numpy as np

from halfroll.acoustics.air import Air
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.driver.cone import ConeMode
from halfroll.driver.demo.scenario import SWEEP
from halfroll.driver.demo.types import Scrape, Take
from halfroll.driver.large_signal import Motion, play
from halfroll.driver.linear import linear_response
from halfroll.driver.microphone import Position, sound_pressure
from halfroll.driver.noise import room_noise, white_noise
from halfroll.driver.rub import at_level, scrape
from halfroll.measure.recording import Role

OVERSAMPLING = 4
"""Within 1e-5 of twice as many steps; a tenth of what the noise leaves to be seen."""

SET_AT_HZ = 400.0
"""Where the drive is set (Hz): above resonance, below inductance."""

_PUT_BACK_WITHIN = (
    0.005  # the microphone returns to its place within half a percent of the distance (1 sigma)
)

_INPUT_NOISE = 1.5e-6  # r.m.s. re full scale, a converter with 113 dB


def roles_of(take: Take) -> tuple[Role, ...]:
    """What the channels of a take hold."""
    roles = (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT)
    return roles[:2] if take.used.current_a is None else roles


def record(take: Take, modes: tuple[ConeMode, ...], progress: Progress = silent) -> FloatArray:
    """Samples re full scale of a take, shape (n_channels, n) at the rate of `SWEEP`, clipped as a converter does.

    The drive is set as with a voltmeter at the terminals and a tone of `SET_AT_HZ`.
    """
    rig, rng = take.used, np.random.default_rng(take.seed)
    air = Air.at(take.temperature_c)
    motion = _motion(take, air, progress)
    distance = take.distance_m * (1.0 + _PUT_BACK_WITHIN * float(rng.standard_normal()))
    position = Position(distance_m=distance, floor=take.floor, air=air)
    pressure = sound_pressure(motion, take.unit.model.radius, position, modes)
    if take.scrape is not None:
        pressure = pressure + _scraped(take.scrape, motion, pressure, take.seed)
    pressure = pressure + room_noise(pressure.size, motion.sample_rate_hz, take.noise_dba, rng)
    channels = [take.gain * pressure / rig.microphone_pa, motion.voltage_v / rig.voltage_v]
    if rig.current_a is not None:
        channels.append(motion.current_a / rig.current_a)
    noisy = [channel + white_noise(channel.size, _INPUT_NOISE, rng) for channel in channels]
    return np.clip(np.stack(noisy), -1.0, 1.0)


def _scraped(how: Scrape, motion: Motion, pressure: FloatArray, seed: tuple[int, ...]) -> FloatArray:
    """The sound of the scraping coil; its chance is its own, so that the rest of the take stays as it would be."""
    noise = scrape(motion, how.beyond_m, np.random.default_rng((*seed, 2)))
    held = np.flatnonzero(motion.displacement_m > how.beyond_m)
    if not held.size:
        return np.zeros_like(pressure)
    return at_level(noise, pressure, how.level_db, slice(int(held[0]), int(held[-1])))


def _motion(take: Take, air: Air, progress: Progress) -> Motion:
    driver = take.unit.model.with_scaled(K=take.stiffness)
    if take.box_m3 is not None:
        driver = driver.with_stiffness_added(air.density * air.speed_of_sound**2 * driver.Sd**2 / take.box_m3)
    shunt = take.used.shunt_ohm
    load = linear_response(driver, np.array([SET_AT_HZ])).impedance_ohm[0]
    peak = math.sqrt(2.0) * take.drive_v * take.drive_error * abs(1.0 + shunt / load)
    source = SWEEP.samples() * (peak / SWEEP.level)
    return play(driver, source, SWEEP.rate_hz, series_ohm=shunt, oversampling=OVERSAMPLING, progress=progress)
