"""The parts of ``halfroll predict`` about limits and what to change: their objects key by key, and their words."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from halfroll.cli.predict_limits import limits_json, print_limits
from halfroll.cli.predict_next import next_json, print_next
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.study.sensitivity import what_next
from halfroll.workshop import Workshop
from halfroll.workshop.limits import driver_limits
from tests.cli.test_windings import described_all
from tests.driver.limits.bench import heat, network, w1
from tests.study.shop import VERSION, predicted


def _printed(show: Callable[[], Any]) -> str:
    import click

    @click.command()
    def command() -> None:
        show()

    return CliRunner().invoke(command).output.replace("\u202f", " ")


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, shared: Path) -> Workshop:
    """A workshop with one whole design."""
    folder: Path = tmp_path_factory.mktemp("parts")
    return predicted(Workshop.init(folder / "shop", "Saltmarsh Workshop", durable=False), shared)


def test_limits(shop: Workshop) -> None:
    """Words and object of the limits of a driver with the motor of a version; found again without searching."""
    model = w1(Bl=(6.0, -30.0, -5e4), K=(1111.0, 1e4, 4e7), Le=(0.3e-3,), x_range=(-8e-3, 8e-3))
    driver = PredictedDriver(
        model=model, assumptions=(), slopes=np.zeros((0, 1)), values=(), heat=heat(network())
    )
    found = driver_limits(shop, VERSION, driver)
    told = limits_json(found)
    assert told.keys() == described_all("limits")
    assert told["limits"].keys() == described_all("highest level")
    assert told["power_compression"].keys() == described_all("power compression")
    words = _printed(lambda: print_limits(found))
    for one in (
        "What limits:",
        "Travel: winding over the gap",
        "Highest level",
        "Power compression",
        "caution: At its limits",
    ):
        assert one in words
    steps: list[str] = []
    again = driver_limits(shop, VERSION, driver, lambda done, what: steps.append(what))
    assert steps == ["done"]
    assert np.array_equal(again.maximum.lowest[0].level_db, found.maximum.lowest[0].level_db, equal_nan=True)


@pytest.mark.slow
def test_what_next(shop: Workshop) -> None:
    """Words and object of what one cheap dimension does."""
    found = what_next(shop, VERSION, keys=["moving.glue_g"])
    told = next_json(found)
    assert told.keys() == described_all("what next")
    (one,) = told["dimensions"]
    assert one["key"] == "moving.glue_g"
    assert one["figures"]["mms_g"]["per_step"] == pytest.approx(0.1, rel=1e-3)
    words = _printed(lambda: print_next(found))
    assert "Glue on the moving parts" in words
    assert "Change per step" in words
