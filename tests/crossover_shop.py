"""Godwit v2 and v3 of the small workshop with impedance tables, and a crossover of the two."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np

from halfroll.workshop import Workshop
from halfroll.workshop.crossovers import checked_record, new_crossover
from halfroll.workshop.impedance_record import ImpedanceRecord
from halfroll.workshop.runs import add_run
from tests.driver.crossover.conftest import driver_z

LOW, HIGH = "godwit/v3", "godwit/v2"


def with_impedances(shop: Workshop) -> Workshop:
    """Each version's first unit gets an impedance table: equivalent circuits with resonances at 60 and 80 Hz."""
    for version, peak in ((LOW, (40.0, 20e-3, 350e-6)), (HIGH, (30.0, 10e-3, 396e-6))):
        f = np.geomspace(5.0, 20_000.0, 1500)
        z = driver_z(2j * np.pi * f, 6.8, 0.3e-3, peak)
        rows = "".join(
            f"{x:.6g},{abs(v):.6g},{np.degrees(np.angle(v)):.6g}\n" for x, v in zip(f, z, strict=True)
        )
        table = f"frequency_hz,impedance_ohm,phase_deg\n{rows}".encode()
        record = ImpedanceRecord(method="table", when=dt.datetime(2026, 3, 5, 12))
        add_run(shop, f"{version}/01", "free", record, files={"z.csv": table})
    return shop


def two_ways() -> dict[str, Any]:
    """A crossover as plain values: nothing before the low way, one capacitor before the high one."""
    capacitor = {
        "name": "C1",
        "type": "capacitor",
        "between": ["in", "out"],
        "capacitance_uf": 6.8,
        "construction": "bipolar",
        "rated_v": 35.0,
    }
    return {
        "title": "One capacitor", "rated_impedance_ohm": 4.0, "power_w": 5.0,
        "ways": [{"name": "full", "driver": LOW}, {"name": "small", "driver": HIGH, "y_mm": 120.0, "elements": [capacitor]}],
    }  # fmt: skip


def with_crossover(shop: Workshop) -> Workshop:
    """The same workshop with that crossover as ``pair``."""
    new_crossover(with_impedances(shop), "pair", checked_record(two_ways()))
    return shop
