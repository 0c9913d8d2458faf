"""What is gathered of a motor and its coil: without a field here, which is not needed for coil, clearance, heat and cost."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from halfroll.motor.coil.clearance import clearance
from halfroll.motor.placing.coil_room import clear_gap
from halfroll.motor.placing.stack import assemble
from halfroll.workshop.motor_design import EXAMPLE
from halfroll.workshop.motor_report import MotorReport, motor_report
from halfroll.workshop.motors import Solved, load_design
from tests.workshop.knot import knot_shop

TODAY = dt.date(2026, 7, 1)
CAP = '[[motor.parts]]\nname = "cap"\nshape = "ring"\nouter_mm = 20.2\ninner_mm = 20\nheight_mm = 6\nmaterial = "copper"\nbeside = "pole"\nalign = "top"\n'  # fmt: skip


def report(tmp_path: Path, design: str, rated_power_w: float | None = None) -> MotorReport:
    """The report of a version with a design, not solved."""
    workshop = knot_shop(tmp_path / "shop", design, rated_power_w)
    read = load_design(workshop, "knot/v1")
    return motor_report(workshop, Solved(design=read, assembly=assemble(read)), TODAY, "knot/v1")


def test_clearance_is_that_of_coil_and_motor_after_hours(tmp_path: Path) -> None:
    """The coil as warm as the ferrite or the enamel lets it be, the motor as warm as that makes it."""
    found = report(tmp_path, EXAMPLE)
    assert found.heat is not None
    assert found.clearance is not None
    assert found.clearance_warm is not None
    assert found.clearance.coil_c == found.clearance.motor_c == 20.0
    assert (found.clearance_warm.coil_c, found.clearance_warm.motor_c) == found.heat.warm_c
    assert found.heat.warm_c[0] == pytest.approx(155.0, abs=0.5)  # class 155 before the ferrite's 250 °C
    assert 20.0 < found.heat.warm_c[1] < found.heat.warm_c[0]


def test_a_cap_is_the_wall_the_coil_finds(tmp_path: Path) -> None:
    """Former of 20.6 mm bore on a cap of 20.2 mm: 0.2 mm, and its name is said."""
    found = report(tmp_path, EXAMPLE.replace("[coil]", CAP + "\n[coil]"))
    assert found.clearance is not None
    assert found.clearance.inside.wall == "cap"
    assert found.clearance.inside.nominal_m == pytest.approx(0.2e-3)
    assert found.coil is not None
    by_hand = clearance(found.coil, clear_gap(found.solved.assembly))
    assert found.clearance.inside == by_hand.inside


def test_verdicts_come_once_and_the_gravest_first(tmp_path: Path) -> None:
    """A rated power the coil does not bear is said beside what the coil, its heat and its cost say; nothing twice."""
    found = report(tmp_path, EXAMPLE.replace('"polyimide"', '"pla"'), rated_power_w=50.0)
    said = [(v.code, v.text) for v in found.verdicts]
    assert len(said) == len(set(said))
    assert [v.severity for v in found.verdicts] == sorted((v.severity for v in found.verdicts), reverse=True)
    assert {"rated-power-too-hot", "coil-softens-first", "cost-incomplete", "heat-estimated"} <= {
        code for code, _ in said
    }


def test_without_a_coil_there_is_the_motor_alone(tmp_path: Path) -> None:
    """No coil, clearance, heat or travel; the cost of the parts all the same."""
    found = report(tmp_path, EXAMPLE.partition("[coil]")[0])
    assert (
        found.coil
        is found.clearance
        is found.clearance_warm
        is found.heat
        is found.limits
        is found.geometric
        is None
    )
    assert found.faults == ()
    assert set(found.cost.missing) == {"back plate", "magnet", "top plate", "pole"}
