"""A small workshop to look at: two drivers, four versions, simple recordings made here.

Each recording is a sweep through a second-order high-pass with a little even and odd curvature and some noise: enough
for a page to have curves and figures. What the numbers are is not the business of these tests.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
from scipy import signal

from halfroll.app import design_start
from halfroll.app.design_draft import DesignDraft
from halfroll.core.conditions import Space
from halfroll.materials.catalogue import catalogue
from halfroll.measure.recording import Role
from halfroll.measure.sweep import Sweep
from halfroll.workshop import (
    ChangeTable,
    DriverRecord,
    MicrophoneTable,
    NewAudio,
    PublishedTable,
    RigRecord,
    SweepTable,
    TakeSetup,
    UnitRecord,
    VersionRecord,
    VoltageTable,
    Workshop,
    derive,
)
from tests.once import made_once

SWEEP = Sweep(duration_s=1.0, rate_hz=24_000, stop_hz=10_000.0, silence_before_s=0.2, silence_after_s=0.3)
ROLES = (Role.MICROPHONE, Role.VOLTAGE)
PA, VOLTS = 4.0, 20.0


def recorded(
    *, resonance_hz: float = 80.0, curvature: float = 0.02, level_v: float = 2.83, seed: int = 1
) -> np.ndarray:
    """Microphone and voltage, shape (2, n), re full scale."""
    rng = np.random.default_rng(seed)
    drive = SWEEP.samples() / (SWEEP.level / np.sqrt(2.0)) * level_v
    sos = signal.butter(2, resonance_hz, "highpass", fs=SWEEP.rate_hz, output="sos")
    bent = drive + curvature * drive**2 / level_v - curvature * drive**3 / level_v**2
    pressure = 0.2 * signal.sosfilt(sos, bent)
    delayed = np.concatenate([np.zeros(70), pressure[:-70]]) + 2e-5 * rng.standard_normal(pressure.size)
    noisy_drive = drive + 1e-5 * rng.standard_normal(drive.size)
    return np.stack([delayed / PA, noisy_drive / VOLTS])


def audio_file(path: Path, **how: float) -> Path:
    """A recording as a WAV file."""
    from halfroll.workshop.audio import write_audio

    write_audio(path, recorded(**how), SWEEP.rate_hz, durable=False)  # type: ignore[arg-type]
    return path


def empty_workshop(folder: Path) -> Workshop:
    """A workshop in which nothing is yet."""
    return Workshop.init(folder, "Saltmarsh Workshop", durable=False)


def small_workshop(folder: Path) -> Workshop:
    """Godwit v1 to v3 (two units each, two takes at 1 W and one at 3 W) and Sandpiper v1, known from a table."""
    shop = empty_workshop(folder)
    shop.create_rig("bench", RigRecord(
        title="Bench microphone", microphone=MicrophoneTable(pa_per_full_scale=PA, u_db=0.3),
        voltage=VoltageTable(v_per_full_scale=VOLTS, u_db=0.05),
    ))  # fmt: skip
    shop.create_driver("godwit", DriverRecord(title="Godwit", aim="A small bass for hides by the water."))
    for n, (resonance, curvature) in enumerate(((120.0, 0.05), (80.0, 0.05), (60.0, 0.01)), start=1):
        _version(shop, n, resonance, curvature)
    shop.create_driver("sandpiper", DriverRecord(title="Sandpiper"))
    shop.create_version("sandpiper", "v1", VersionRecord(
        title="As bought", rated_impedance_ohm=8.0, rated_power_w=15.0, published=PublishedTable(
            source="Printed table", figures={"sensitivity_db": 84.0, "sensitivity_db_u": 0.5, "lower_limit_hz": 62.0}),
    ))  # fmt: skip
    return shop


def analysed_workshop(shared: Path) -> Path:
    """The folder of the small workshop with every take analysed, made once for all workers; copy it, do not write to it."""
    made = made_once(
        shared, "small", lambda folder: derive.readings(small_workshop(folder / "shop"), workers=1)
    )
    return made / "shop"


def _version(shop: Workshop, n: int, resonance: float, curvature: float) -> None:
    version = shop.create_version("godwit", f"v{n}", VersionRecord(
        title=f"Trial {n}", parent=None if n == 1 else f"v{n - 1}", date=dt.date(2026, 3, n), rated_impedance_ohm=8.0,
        rated_power_w=10.0, effective_area_cm2=50.0, summary="Softer surround." if n > 1 else "First print.",
        changes=() if n == 1 else (ChangeTable(what="Surround", before="1.2 mm", after=f"{1.2 - 0.2 * n:.1f} mm", why="Deeper bass."),),
    ))  # fmt: skip
    for u in (1, 2):
        unit = shop.create_unit(version.id, f"0{u}", UnitRecord(built_by="Saltmarsh Workshop", re_ohm=6.8))
        for k, watts in enumerate((1.0, 1.0, 3.0)):
            volts = float(np.sqrt(8.0 * watts))
            samples = recorded(
                resonance_hz=resonance * (1 + 0.01 * u),
                curvature=curvature,
                level_v=volts,
                seed=100 * n + 10 * u + k,
            )
            shop.add_take(
                unit.id, f"2026-03-0{n}-{watts:g}w-{k + 1}",
                TakeSetup(rig="bench", distance_m=1.0, space=Space.HALF, drive_v=round(volts, 3), sweep=SweepTable.of(SWEEP)),
                dt.datetime(2026, 3, n, 10 + u, 5 * k),
                [NewAudio.from_samples("take.flac", samples, SWEEP.rate_hz, ROLES)],
            )  # fmt: skip


def knot_with_motor(shop: Workshop) -> Workshop:
    """The workshop with one version more, ``knot/v1``, that has a motor and coil: the ring magnet around a pole."""
    shop.create_driver("knot", DriverRecord(title="Knot"))
    shop.create_version("knot", "v1", VersionRecord(rated_impedance_ohm=4.0, rated_power_w=10.0))
    draft = DesignDraft(shop, "knot/v1")
    draft.change(lambda data: data.update(design_start.start("ring", catalogue())))
    draft.save()
    return shop
