"""Godwit of the demonstration: a driver in a vented cabinet, measured close to its cone, at its port and from a metre, and joined.

The recordings come from the linear model of the driver in its box (`driver.linear`), Rayleigh's piston, the edges of the
cabinet's front (`acoustics.baffle`) and the floor of the yard. So there is no distortion in them but what noise feigns.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import Air
from halfroll.acoustics.baffle import Listener, baffle_transfer
from halfroll.acoustics.load import vented_load
from halfroll.acoustics.nearfield import axial_transfer
from halfroll.acoustics.radiation import directivity
from halfroll.core.conditions import Space
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.cone import ConeMode, cone_transfer
from halfroll.driver.demo.scenario import SECOND_RIG, SWEEP
from halfroll.driver.demo.types import model
from halfroll.driver.linear import LinearResponse, linear_response
from halfroll.driver.microphone import Floor
from halfroll.driver.noise import room_noise, white_noise
from halfroll.measure.recording import Role
from halfroll.workshop.joined_record import BaffleTable, JoinedRecord, MouthTable
from halfroll.workshop.records import DriverRecord, SweepTable, TakeSetup, UnitRecord, VersionRecord
from halfroll.workshop.runs import add_run
from halfroll.workshop.store import Workshop
from halfroll.workshop.takes import NewAudio

UNIT = "godwit/v1/01"
DAY = "2026-06-14"
RATED_OHM, RATED_W = 6.0, 15.0
DRIVER = model(
    bl=(7.0,), k=(1350,), le_mh=(0.25,), re=5.5, mms_g=11.0, rms=1.0, sd_cm2=95.0, l2_mh=0.2, r2=3.0, travel_mm=6.0,
)  # fmt: skip
BOX_M3, TUNING_HZ, LEAK_Q = 9e-3, 50.0, 8.0
MODES = (ConeMode(frequency_hz=3200.0, q=4.5, share=0.2), ConeMode(frequency_hz=6800.0, q=5.0, share=0.2))
FRONT = BaffleTable(width_cm=24.0, height_cm=36.0, x_cm=12.0, y_cm=22.0)
PORT_CM2 = 12.6
NEAR_M, PORT_M, FAR_M = 0.005, 0.002, 1.0
NEAR_W, FAR_W = 0.006, 1.0
FLOOR = Floor(height_m=1.2, gain=0.8)
GATE_MS = 4.4
OVERLAP_HZ = (300.0, 900.0)
TEMPERATURE_C = 21.0
_NOISE_DBA = 28.0
_INPUT_NOISE = 1.5e-6

Heard = Callable[[FloatArray, LinearResponse, Air], ComplexArray]


@dataclass(frozen=True)
class _Plan:
    name: str
    heard: Heard
    power_w: float
    distance_m: float
    space: Space
    note: str
    gate_ms: float | str = "none"


def add_joined(workshop: Workshop, seed: int) -> None:
    """The driver, its unit, three takes and the recipe that joins them."""
    workshop.create_driver("godwit", DriverRecord(
        title="Godwit", aim="A 5-inch driver in a vented cabinet of 9 litres, for the hide by the road where calls must carry.",
    ))  # fmt: skip
    workshop.create_version("godwit", "v1", VersionRecord(
        title="Curlew's cone, tuned box", date=dt.date.fromisoformat("2026-06-07"), rated_impedance_ohm=RATED_OHM,
        rated_power_w=RATED_W, effective_area_cm2=round(1e4 * DRIVER.Sd, 1),
        summary="Measured in its cabinet: close up for the bass, from a metre for the treble.",
    ))  # fmt: skip
    workshop.create_unit("godwit/v1", "01", UnitRecord(
        built_by="Saltmarsh Workshop", built_on=dt.date.fromisoformat("2026-06-12"), re_ohm=DRIVER.Re,
    ))  # fmt: skip
    plans = (
        _Plan("cone", _cone, NEAR_W, NEAR_M, Space.NEAR, "Microphone 5 mm before the dust cap."),
        _Plan(
            "port", _port, NEAR_W, PORT_M, Space.NEAR, "Microphone in the mouth of the port, all but flush."
        ),
        _Plan("far", _far, FAR_W, FAR_M, Space.CABINET, "In the yard, 1.2 m above the paving.", GATE_MS),
    )
    for number, plan in enumerate(plans):
        _add(
            workshop,
            plan,
            dt.datetime.fromisoformat(f"{DAY}T10:{10 * number + 5:02d}:00"),
            (seed, 90, number),
        )
    add_run(workshop, UNIT, "vented", JoinedRecord(
        when=dt.datetime.fromisoformat(f"{DAY}T10:40:00"), far="far", overlap_hz=OVERLAP_HZ, baffle=FRONT,
        near=(MouthTable(take="cone"), MouthTable(take="port", what="port", area_cm2=PORT_CM2)),
    ))  # fmt: skip


def _add(workshop: Workshop, plan: _Plan, when: dt.datetime, key: tuple[int, ...]) -> None:
    drive = round(math.sqrt(plan.power_w * RATED_OHM), 3)
    samples = _samples(plan, drive, np.random.default_rng(key))
    audio = NewAudio.from_samples(
        "take.flac", samples, SWEEP.rate_hz, (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT)
    )
    setup = TakeSetup(
        rig=SECOND_RIG.name, drive_v=drive, distance_m=plan.distance_m, space=plan.space, temperature_c=TEMPERATURE_C,
        gate_ms=plan.gate_ms, note=plan.note, sweep=SweepTable.of(SWEEP),  # type: ignore[arg-type]
    )  # fmt: skip
    workshop.add_take(UNIT, plan.name, setup, when, [audio])


def _samples(plan: _Plan, drive_v: float, rng: np.random.Generator) -> FloatArray:
    """Microphone, voltage and current re full scale (3, n)."""
    from scipy.fft import irfft, next_fast_len, rfft

    air = Air.at(TEMPERATURE_C)
    source = SWEEP.samples() * (math.sqrt(2.0) * drive_v / SWEEP.level)
    size = source.size
    length = next_fast_len(2 * size, real=True)
    frequency = np.asarray(np.fft.rfftfreq(length, 1.0 / SWEEP.rate_hz), dtype=np.float64)
    frequency[0] = 1e-3
    spectrum = rfft(source, length)
    moved = in_the_box(frequency, air)
    pressure = irfft(spectrum * plan.heard(frequency, moved, air), length)[:size]
    pressure = pressure + room_noise(size, SWEEP.rate_hz, _NOISE_DBA, rng)
    current = irfft(spectrum / moved.impedance_ohm, length)[:size]
    rig = SECOND_RIG
    channels = [pressure / rig.microphone_pa, source / rig.voltage_v, current / (rig.current_a or 1.0)]
    noisy = np.stack([c + white_noise(size, _INPUT_NOISE, rng) for c in channels])
    return np.asarray(np.clip(noisy, -1.0, 1.0), dtype=np.float64)


def in_the_box(frequency: FloatArray, air: Air) -> LinearResponse:
    """The driver in its cabinet at small signals."""
    return linear_response(DRIVER, frequency, load=vented_load(BOX_M3, TUNING_HZ, LEAK_Q, air), air=air)


def _cone(frequency: FloatArray, moved: LinearResponse, air: Air) -> ComplexArray:
    near = axial_transfer(frequency, DRIVER.radius, NEAR_M, air)
    return np.asarray(
        moved.acceleration_m_s2_per_v * cone_transfer(frequency, MODES) * near, dtype=np.complex128
    )


def _port(frequency: FloatArray, moved: LinearResponse, air: Air) -> ComplexArray:
    area = 1e-4 * PORT_CM2
    near = axial_transfer(frequency, math.sqrt(area / math.pi), PORT_M, air)
    return np.asarray(moved.flow_slope_m3_s2_per_v("port") / area * near, dtype=np.complex128)


def _far(frequency: FloatArray, moved: LinearResponse, air: Air) -> ComplexArray:
    """Cone and port over the edges of the front, and the same again from below, off the paving."""
    radius = DRIVER.radius
    wave_number = 2.0 * np.pi * frequency / air.speed_of_sound
    path, angle = FLOOR.path_m(FAR_M), FLOOR.angle_rad(FAR_M)
    cone = moved.acceleration_m_s2_per_v * cone_transfer(frequency, MODES)
    port = moved.flow_slope_m3_s2_per_v("port") / DRIVER.Sd
    direct = (cone + port) * axial_transfer(frequency, radius, FAR_M, air)
    below = air.density * radius**2 / (2.0 * path) * np.exp(-1j * wave_number * path)
    floor = FLOOR.gain * directivity(wave_number * radius, angle) * below
    points = np.geomspace(10.0, 24_000.0, 600)
    edges = baffle_transfer(points, FRONT.baffle(), radius, Listener(distance_m=FAR_M), air=air)
    x, known = np.log(np.maximum(frequency, 10.0)), np.log(points)
    front = np.interp(x, known, edges.real) + 1j * np.interp(x, known, edges.imag)
    return np.asarray((direct + cone * floor) * front, dtype=np.complex128)
