"""What a reader of the documentation would record: the sweep that was written, played through a nonlinear driver model.

The models are those of the demonstration; every unit is a little different, and so is every take.
"""

import datetime as dt
import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import soundfile

from halfroll.core.levels import FloatArray
from halfroll.driver.demo.avocet import AVOCET
from halfroll.driver.large_signal import Motion, play
from halfroll.driver.linear import current_of
from halfroll.driver.lumped import DriverModel
from halfroll.driver.microphone import Floor, Position, sound_pressure
from halfroll.driver.noise import room_noise

MIC_PA, VOLTS, AMPS = 4.0, 20.0, 10.0
"""What full scale of the three inputs stands for, as the pages tell the reader to write into the rig."""

ONE_WATT_V = 8.0**0.5
WHEN = dt.datetime(2026, 3, 31, 14, 5)  # local time, as file stamps are read
VERSIONS = {"v1": AVOCET.versions[1], "v2": AVOCET.versions[6]}
"""The two versions of the tutorial, with the physics of Avocet's second and seventh."""


def record(what: str, folder: Path) -> None:
    """Make the recordings of a mark ``recorded: what`` in the reader's folder."""
    for path, channels, rate in MAKERS[what](folder):
        path.parent.mkdir(parents=True, exist_ok=True)
        soundfile.write(path, np.clip(channels, -1.0, 1.0).T, rate, subtype="PCM_24")
        os.utime(path, (WHEN.timestamp(), WHEN.timestamp()))


Made = Iterator[tuple[Path, FloatArray, int]]


def sessions(folder: Path) -> Made:
    """Two takes of three units of both versions, microphone and voltage."""
    sweep, rate = soundfile.read(folder / "recordings" / "sweep.wav")
    for row, version in enumerate(VERSIONS):
        for unit in (1, 2, 3):
            driver = built(version, np.random.default_rng((row, unit)))
            for take in "ab":
                motion = played(driver, sweep, rate)
                pressure = heard(motion, driver, seed=(row, unit, ord(take)))
                channels = np.stack([pressure / MIC_PA, motion.voltage_v / VOLTS])
                yield folder / "recordings" / f"{version}-{unit:02d}-{take}.wav", channels, rate


def one(
    folder: Path, name: str, *, floor: Floor | None = None, distance_m: float = 1.0, gain: float = 1.0
) -> Made:
    """One more take of the second version's first unit, somewhere else."""
    sweep, rate = soundfile.read(folder / "recordings" / "sweep.wav")
    driver = built("v2", np.random.default_rng((1, 1)))
    motion = played(driver, sweep, rate)
    pressure = heard(motion, driver, floor=floor, distance_m=distance_m, seed=(9, len(name)))
    channels = np.stack([gain * pressure / MIC_PA, motion.voltage_v / VOLTS])
    yield folder / "recordings" / f"{name}.wav", channels, rate


def with_current(folder: Path) -> Made:
    """The same three channels as three files of one channel, as some recorders write them."""
    sweep, rate = soundfile.read(folder / "recordings" / "sweep.wav")
    driver = built("v2", np.random.default_rng((1, 1)))
    motion = played(driver, sweep, rate)
    for role, channel in (
        ("mic", heard(motion, driver, seed=(8,)) / MIC_PA),
        ("voltage", motion.voltage_v / VOLTS),
        ("current", motion.current_a / AMPS),
    ):
        yield folder / "recordings" / f"friday-{role}.wav", channel[np.newaxis], rate


def friends(folder: Path) -> Made:
    """A folder from a friend with one recording of another sweep, microphone alone."""
    from halfroll.measure.sweep import Sweep

    sweep = Sweep(start_hz=30.0, stop_hz=18_000.0, duration_s=5.0, rate_hz=44_100)
    driver = built("v2", np.random.default_rng((1, 4)))
    motion = played(driver, sweep.samples(), sweep.rate_hz)
    pressure = heard(motion, driver, seed=(7,))
    yield folder / "from-a-friend" / "unit-04.wav", pressure[np.newaxis] / MIC_PA, sweep.rate_hz


def calibrating(folder: Path) -> Made:
    """A calibrator on a microphone of 4 Pa, a tone of 2.83 V on an input of 20 V, both checks of a divider, a loop."""
    sweep, rate = soundfile.read(folder / "recordings" / "sweep.wav")
    time, noise = np.arange(6 * rate) / rate, np.random.default_rng(94)
    calibrator = np.sqrt(2) * 1.002374 / 4.0 * np.sin(2 * np.pi * 1000 * time)
    yield (
        folder / "recordings" / "calibrator.wav",
        (calibrator + 1e-5 * noise.standard_normal(time.size))[None, :],
        rate,
    )
    tone = np.sqrt(2) * 2.83 / 20.0 * np.sin(2 * np.pi * 100 * time)
    yield folder / "recordings" / "tone.wav", (tone + 1e-5 * noise.standard_normal(time.size))[None, :], rate
    source = 0.4 * sweep
    yield folder / "recordings" / "open.wav", np.stack([1.01 * source, source]), rate
    yield folder / "recordings" / "resistor.wav", np.stack([1.01 * source, source * 8.2 / 18.2]), rate
    yield folder / "recordings" / "loop.wav", np.concatenate([np.zeros(1056), 0.5 * sweep])[None, :], rate


def impedances(folder: Path) -> Made:
    """Terminal voltage and current at a quarter of a volt, without and with 3 g of putty on the cone."""
    sweep, rate = soundfile.read(folder / "recordings" / "sweep.wav")
    volts = np.sqrt(2.0) * 0.25 * sweep / np.max(np.abs(sweep))
    driver, noise = built("v2", np.random.default_rng((1, 1))), np.random.default_rng(3)
    for name, heavier in (("alone", 1.0), ("putty", 1.0 + 3e-3 / driver.Mms)):
        amps = current_of(driver.with_scaled(Mms=heavier), volts, rate)
        channels = np.stack([volts / VOLTS, amps / 4.0]) + 1e-6 * noise.standard_normal((2, volts.size))
        yield folder / "recordings" / f"{name}.wav", channels, rate


MAKERS = {
    "sessions": sessions,
    "over a floor": lambda folder: one(folder, "indoors", floor=Floor(height_m=0.7, gain=0.8)),
    "close to the cone": lambda folder: one(folder, "close", distance_m=0.004, gain=1 / 30),
    "with current": with_current,
    "by a friend": friends,
    "calibrating a rig": calibrating,
    "impedances": impedances,
}
"""How each kind of recording that a page speaks of is made."""


def built(version: str, rng: np.random.Generator) -> DriverModel:
    """A unit of a version: one and a half per cent of spread in motor, mass and stiffness."""
    bl, mass, stiffness = 1.0 + 0.015 * rng.standard_normal(3)
    return VERSIONS[version].model.with_scaled(Bl=float(bl), Mms=float(mass), K=float(stiffness))


def played(driver: DriverModel, sweep: FloatArray, rate_hz: int) -> Motion:
    """The driver at one watt, as a voltmeter shows it."""
    voltage = np.sqrt(2.0) * ONE_WATT_V * sweep / np.max(np.abs(sweep))
    return play(driver, voltage, rate_hz, oversampling=4)


def heard(
    motion: Motion,
    driver: DriverModel,
    *,
    seed: tuple[int, ...],
    floor: Floor | None = None,
    distance_m: float = 1.0,
) -> FloatArray:
    """Sound pressure (Pa) at the microphone with the noise of a quiet garden."""
    rng = np.random.default_rng(seed)
    pressure = sound_pressure(
        motion, driver.radius, Position(distance_m=distance_m, floor=floor), VERSIONS["v2"].modes
    )
    return pressure + room_noise(pressure.size, motion.sample_rate_hz, 26.0, rng)
