"""The crossovers of the demonstration can be built of parts one can buy and do no harm to their drivers or an amplifier."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from halfroll.core.verdicts import Severity
from halfroll.driver.crossover.responses import WayData, grid
from halfroll.driver.crossover.study import study
from halfroll.driver.crossover.tuning import E12
from halfroll.driver.linear import linear_response
from halfroll.workshop import Workshop
from halfroll.workshop.crossovers import asked_of, crossover_ids, crossover_of, crossover_record
from halfroll.workshop.demo_crossovers import HIGH, LOW, add_crossovers
from tests.workshop.saltmarsh import MODELS, bare_saltmarsh


@pytest.fixture
def saltmarsh(tmp_path: Path) -> Workshop:
    """The versions with both crossovers."""
    workshop = bare_saltmarsh(tmp_path / "shop")
    add_crossovers(workshop)
    return workshop


def way(version: str) -> WayData:
    """A driver by the model that the demonstration measures."""
    model = MODELS[version]
    found = linear_response(model, grid())
    return WayData(
        frequency_hz=grid(),
        impedance_ohm=found.impedance_ohm,
        pressure_pa_per_v=found.pressure_pa_per_v,
        radius_m=model.radius,
    )


def test_values_are_for_sale(saltmarsh: Workshop) -> None:
    """Every value is one of the row E12 (IEC 60063)."""
    assert crossover_ids(saltmarsh) == ["hide-one-capacitor", "hide-second-order"]
    for name in crossover_ids(saltmarsh):
        for element in crossover_of(crossover_record(saltmarsh, name).record).elements:
            mantissa = element.value / 10.0 ** math.floor(math.log10(element.value) + 1e-9)
            assert min(abs(mantissa - mark) for mark in E12) < 1e-6


@pytest.mark.parametrize("name", ["hide-one-capacitor", "hide-second-order"])
def test_nothing_is_overdone(saltmarsh: Workshop, name: str) -> None:
    """Impedance above 80 % of the rated one, every part within what it bears; the dunlin joins between 1.5 and 4 kHz."""
    record = crossover_record(saltmarsh, name).record
    crossover = crossover_of(record)
    drivers = {one.name: way(table.driver) for one, table in zip(crossover.ways, record.ways, strict=True)}
    assert [table.driver for table in record.ways] == [LOW, HIGH]
    result = study(crossover, drivers, asked_of(record))
    assert [v.code for v in result.verdicts if v.severity >= Severity.CAUTION] == []
    assert 1500.0 < result.crossings_hz[0][2] < 4000.0
    assert np.all(np.isfinite(result.total))
