"""A small workshop to test on: one rig, one driver, two versions, and recordings made from a sweep."""

import contextlib
import datetime as dt
import os
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from halfroll.core.conditions import Space
from halfroll.core.levels import FloatArray
from halfroll.measure.recording import Role
from halfroll.measure.sweep import Sweep
from halfroll.workshop import (
    ChangeTable,
    DriverRecord,
    MicrophoneTable,
    NewAudio,
    RigRecord,
    SweepTable,
    TakeSetup,
    UnitRecord,
    VersionRecord,
    VoltageTable,
    Workshop,
)

SWEEP = Sweep(
    start_hz=20.0, stop_hz=8000.0, duration_s=1.0, rate_hz=24_000, silence_before_s=0.2, silence_after_s=0.3
)
ROLES = (Role.VOLTAGE, Role.MICROPHONE)
WHEN = dt.datetime(2026, 3, 31, 14, 5, tzinfo=dt.UTC)
SETUP = TakeSetup(rig="bench", drive_v=2.0, distance_m=1.0, space=Space.HALF, sweep=SweepTable.of(SWEEP))


def recording(seed: int = 1, gain: float = 0.3) -> FloatArray:
    """Voltage and microphone, (2, n): the sweep, and the sweep 3 ms later with a little noise."""
    played = SWEEP.samples()
    delay = round(0.003 * SWEEP.rate_hz)
    heard = gain * np.concatenate([np.zeros(delay), played[:-delay]])
    noise = np.random.default_rng(seed).normal(0, 1e-5, (2, len(played)))
    return np.stack([played, heard]) + noise


def new_audio(seed: int = 1, file: str = "take.flac") -> NewAudio:
    """A recording as an audio file for a new take."""
    return NewAudio.from_samples(file, recording(seed), SWEEP.rate_hz, ROLES)


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    """A workshop with two versions of a driver and a unit each, without takes."""
    made = Workshop.init(tmp_path / "workshop", "Saltmarsh Workshop")
    rig = RigRecord(
        title="Bench by the window",
        microphone=MicrophoneTable(pa_per_full_scale=4.0, u_db=0.3),
        voltage=VoltageTable(v_per_full_scale=20.0, u_db=0.05),
    )
    made.create_rig("bench", rig)
    made.create_driver("dunlin", DriverRecord(title="Dunlin", aim="A small driver for a small hide"))
    made.create_version(
        "dunlin",
        "v1",
        VersionRecord(title="First", rated_impedance_ohm=4.0, rated_power_w=5.0, effective_area_cm2=32),
    )
    change = ChangeTable(what="spider", before="flat", after="three rolls", why="the coil rubbed")
    second = VersionRecord(
        title="Second", parent="v1", rated_impedance_ohm=4.0, rated_power_w=5.0, changes=(change,)
    )
    made.create_version("dunlin", "v2", second)
    made.create_unit("dunlin/v1", "a", UnitRecord(built_by="Saltmarsh Workshop"))
    made.create_unit("dunlin/v2", "a", UnitRecord(built_by="Saltmarsh Workshop"))
    return made


@contextlib.contextmanager
def as_ordinary_user(folder: Path) -> Iterator[None]:
    """Let permissions hold inside the block. They do not bind the superuser, who becomes somebody else meanwhile."""
    if sys.platform == "win32":
        pytest.skip("folder permissions work otherwise on Windows")
    if os.geteuid() != 0:
        yield
        return
    closed = {above: above.stat().st_mode for above in folder.parents if not above.stat().st_mode & 0o001}
    for above, mode in closed.items():
        above.chmod(mode | 0o055)
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)
        for above, mode in closed.items():
            above.chmod(mode)


@contextlib.contextmanager
def read_only(folder: Path) -> Iterator[None]:
    """Make a folder and all in it really unwritable inside the block, also for the superuser."""
    modes = {path: path.stat().st_mode for path in [folder, *folder.rglob("*")]}
    for path in modes:
        path.chmod(0o555 if path.is_dir() else 0o444)
    try:
        with as_ordinary_user(folder):
            yield
    finally:
        for path, mode in modes.items():
            path.chmod(mode)
