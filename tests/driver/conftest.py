"""The driver whose behaviour two other solvers worked out, see references/driver_model/README.md."""

import json
from pathlib import Path
from typing import Any

import pytest

from halfroll.acoustics.air import Air
from halfroll.driver.lumped import DriverModel

REFERENCES = Path(__file__).parents[1] / "references" / "driver_model"


def reference(name: str) -> Any:
    """One of the stored reference files."""
    return json.loads((REFERENCES / name).read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def reference_driver() -> DriverModel:
    """A small wide-range driver with travel-dependent Bl, K and Le."""
    raw = reference("params.json")
    low, high = raw["valid_x_mm"]
    return DriverModel(
        Re=raw["Re"], Mms=raw["Mms"], Rms=raw["Rms"], Sd=raw["Sd"], L2=raw["L2"], R2=raw["R2"],
        Bl=tuple(raw["bl"]), K=tuple(raw["k"]), Le=tuple(raw["le"]), x_range=(low * 1e-3, high * 1e-3),
    )  # fmt: skip


@pytest.fixture(scope="session")
def reference_air() -> Air:
    """The air of the reference calculations."""
    constants = reference("params.json")["constants"]
    return Air(constants["rho0"], constants["c"])


@pytest.fixture
def worked_driver() -> DriverModel:
    """A driver with round values whose small-signal parameters can be worked out by hand (no inductance to speak of)."""
    return DriverModel(
        Re=6.0, Mms=12e-3, Rms=1.0, Sd=133e-4, Bl=(6.0,), K=(1 / 0.9e-3,), Le=(2e-5,), x_range=(-5e-3, 5e-3)
    )
