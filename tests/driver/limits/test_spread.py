"""Spread of the lowest limit against what the same change does when it is computed anew."""

from dataclasses import replace

import numpy as np
import pytest

from halfroll.driver.limits.maximum import maximum_level
from halfroll.driver.limits.spread import with_spread
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.packing import pack
from halfroll.driver.predicted.types import Assumption, PredictedDriver
from tests.driver.limits.bench import heat, motor, network, w1

F = np.array([25.0, 40.0, 63.0, 100.0, 200.0, 1000.0])


def _assumption(key: str) -> Assumption:
    return Assumption(key=key, label=key, kind="material", unit="1", value=1.0, u=0.02)


def test_each_assumption_computed_anew() -> None:
    """Moving the model by an assumption and searching again moves the lowest level by what the spread says, within a tenth of it."""
    model = w1(Bl=(6.0, -30.0, -5e4), K=(1111.0, 1e4, 4e7), Le=(0.3e-3, -1e-2), x_range=(-9e-3, 9e-3))
    borne = heat(network(), 80.0)
    changes = {
        "modulus": replace(model, K=tuple(1.04 * k for k in model.K)),
        "remanence": replace(model, Bl=tuple(1.02 * b for b in model.Bl)),
        "area": replace(model, Sd=1.01 * model.Sd),
    }
    slopes = np.array([pack(one) - pack(model) for one in changes.values()])
    predicted = PredictedDriver(
        model=model,
        assumptions=tuple(_assumption(key) for key in changes),
        slopes=slopes,
        values=(),
        heat=borne,
    )
    found = with_spread(_limits(model, borne), predicted)
    again = [_limits(one, borne).lowest[0].level_db - found.lowest[0].level_db for one in changes.values()]
    assert len(set(found.lowest[0].acting)) >= 2
    assert found.lowest[0].u_db == pytest.approx(np.sqrt(np.sum(np.square(again), axis=0)), rel=0.1, abs=0.01)


def test_spread_of_the_heat() -> None:
    """A network known to 20 % in its only way makes ± 10 lg of that where heat acts, and nothing where travel does."""
    model = w1(Le=(0.3e-3,))
    borne = heat(network(u_coil_to_motor_k_w=0.2, u_motor_to_air_k_w=0.2))
    predicted = PredictedDriver(model=model, assumptions=(), slopes=np.zeros((0, 1)), values=(), heat=borne)
    found = with_spread(_limits(model, borne), predicted)
    at_heat = np.array([key.startswith("heat") for key in found.lowest[0].acting])
    assert at_heat.any()
    assert not at_heat.all()
    u = np.hypot(0.2 * 4.0 / 6.0, 0.2 * 2.0 / 6.0)
    assert found.lowest[0].u_db[at_heat] == pytest.approx(10.0 / np.log(10.0) * u, rel=0.01)
    assert np.all(found.lowest[0].u_db[~at_heat] == 0.0)


def _limits(model: DriverModel, borne: object):  # type: ignore[no-untyped-def]
    return maximum_level(model, heat=borne, assembly=motor(12.0, 6.0), frequency_hz=F)  # type: ignore[arg-type]
