"""A small workshop with one unit, a calibrated rig, and players that obey laws known in closed form."""

import datetime as dt

import numpy as np

from halfroll.measure.recording import Role
from halfroll.workshop import (
    DriverRecord,
    MicrophoneTable,
    RigRecord,
    UnitRecord,
    VersionRecord,
    VoltageTable,
    Workshop,
)
from halfroll.workshop.rig_record import DevicesTable, LatencyTable, LimitsTable, OutputTable
from halfroll.workshop.tones_live import Wanted, play_and_keep, prepare
from tests.measure.tone_players import LawPlayer

LAW_ROLES = (Role.MICROPHONE, Role.VOLTAGE)
UNIT = "plover/v1/01"
DAY = dt.date(2026, 3, 1)


def wanted(**changes):
    """Four levels from 0.1 to 2.7 W at four tones."""
    values = {
        "rig": "bench", "low_w": 0.1, "high_w": 2.7, "count": 4, "low_hz": 50.0, "high_hz": 100.0, "per_octave": 3,
        "distance_m": 2.0, "space": "half-space",
    }  # fmt: skip
    return Wanted(**{**values, **changes})


def law(signal):
    """H3/H1 grows with the square of the voltage: x + b x³ gives H3/H1 = (b/4) a²/(1 + (3/4) b a²), exactly."""
    return 0.1 * (signal + 4.0 * signal**3)


def thd_of(volts):
    """THD over the fundamental of `law` at a terminal voltage; 20 V at full scale."""
    peak = np.sqrt(2.0) * volts / 20.0
    return peak**2 / (1.0 + 3.0 * peak**2)


def volts_at(thd):
    """The voltage at which `law` has a THD over the fundamental."""
    return np.sqrt(thd / (1.0 - 3.0 * thd)) * 20.0 / np.sqrt(2.0)


def shop(folder, *, rig=None):
    """The workshop without a series."""
    workshop = Workshop.init(folder, "Saltmarsh Workshop", durable=False)
    workshop.create_rig(
        "bench",
        rig
        or RigRecord(
            date=DAY, microphone=MicrophoneTable(pa_per_full_scale=20.0, u_db=0.2), voltage=VoltageTable(v_per_full_scale=20.0, u_db=0.1),
            output=OutputTable(v_per_full_scale=20.0), latency=LatencyTable(samples=100.0, rate_hz=48_000),
            devices=DevicesTable(inputs=LAW_ROLES), limits=LimitsTable(v_max=6.0),
        ),
    )  # fmt: skip
    workshop.create_driver("plover", DriverRecord(title="Plover"))
    workshop.create_version(
        "plover", "v1", VersionRecord(rated_impedance_ohm=8.0, rated_power_w=4.0, effective_area_cm2=54.0)
    )
    workshop.create_unit("plover/v1", "01", UnitRecord())
    return workshop


def with_series(folder, name="lawn"):
    """The workshop with one series of tones."""
    workshop = shop(folder)
    play_and_keep(
        workshop, LawPlayer(law, noise=1e-6), LAW_ROLES, prepare(workshop, UNIT, wanted()), name=name
    )
    return workshop
