"""A stand-in for the studies of a design: a driver with two assumptions at once, so that what is built on predictions is tested quickly."""

from __future__ import annotations

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.packing import pack
from halfroll.driver.predicted.types import Assumption, PredictedDriver
from halfroll.workshop import Workshop, demo_motors, demo_moving
from halfroll.workshop.motor_record import CoilTable, MotorTable

MODEL = DriverModel(
    Re=6.5, Mms=7.5e-3, Rms=0.6, Sd=54e-4, Bl=(4.3, 8.0, -3e4), K=(1500.0, 0.0, 4e7), Le=(3e-4, -4e-3), x_range=(-4e-3, 4e-3),
)  # fmt: skip


def worked_out(stiffer: float = 1.0) -> PredictedDriver:
    """The driver: its cone's mass 3 %, its filament's modulus 8 %."""
    model = MODEL.with_scaled(K=stiffer)
    base = pack(model)
    slopes = np.array([pack(model.with_scaled(Mms=1.03)) - base, pack(model.with_scaled(K=1.08)) - base])
    assumptions = (
        Assumption(key="cone.grams", label="mass of the cone", kind="print", unit="g", value=3.0, u=0.1, source="slicer"),
        Assumption(key="filament.tpu-grey.modulus", label="modulus of TPU 95A, grey spool", kind="material", unit="Pa", value=44e6, u=3.5e6,
                   shared=True, record="tpu-grey", source="strips"),
    )  # fmt: skip
    return PredictedDriver(
        model=model,
        assumptions=assumptions,
        slopes=slopes,
        values=(),
        missing=("The leads are not weighed.",),
    )


def design(workshop: Workshop, version_id: str, like: str = "avocet/v8") -> None:
    """Give a version motor, coil and moving parts of the demonstration; parts and materials are made where they lack."""
    if not workshop.folder.joinpath("materials").exists():
        demo_motors.add_motors(workshop)
        demo_moving.add_moving(workshop)
    motor, coil = demo_motors.designs()[like]
    loaded = workshop.version(version_id)
    record = loaded.record.changed(
        motor=MotorTable.model_validate(motor), coil=CoilTable.model_validate(coil)
    )
    workshop.save(loaded, demo_moving.with_moving(record, demo_moving.designs()[like]))


def thicken(workshop: Workshop, version_id: str) -> None:
    """Change the design: a thicker surround."""
    loaded = workshop.version(version_id)
    assert loaded.record.surround is not None
    workshop.save(loaded, loaded.record.changed(surround=loaded.record.surround.changed(thickness_mm=0.7)))


class Counted:
    """In the place of `driver_model`: counts how often it is asked; `fault` is raised instead."""

    def __init__(self) -> None:
        self.asked: list[str] = []
        self.fault: InputError | None = None

    def __call__(
        self, workshop: Workshop, version_id: str, source: str = "auto", progress: Progress = silent
    ) -> PredictedDriver:
        self.asked.append(version_id)
        if self.fault is not None:
            raise self.fault
        record = workshop.version(version_id).record
        assert record.surround is not None
        return worked_out(record.surround.thickness_mm / 0.42)


def stand_in(monkeypatch: pytest.MonkeyPatch) -> Counted:
    """Put it in place."""
    found = Counted()
    monkeypatch.setattr("halfroll.workshop.prediction.driver_model", found)
    return found
