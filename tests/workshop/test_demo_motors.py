"""The designs of the demonstration can be built, agree with the story of its versions, and cost what its drawers say."""

from __future__ import annotations

import datetime as dt

import pytest

from halfroll.motor.coil.wound import wind
from halfroll.motor.field.study import StudySettings, study
from halfroll.motor.placing.coil_room import clear_gap
from halfroll.workshop import Workshop
from halfroll.workshop.demo_motors import add_motors, designs
from halfroll.workshop.motor_cost import cost_of
from halfroll.workshop.motors import load_motor
from halfroll.workshop.parts import own_parts
from tests.workshop.saltmarsh import MODELS, bare_saltmarsh


@pytest.fixture(scope="module")
def saltmarsh(tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    """The versions of the demonstration without their takes, with their designs."""
    workshop = bare_saltmarsh(tmp_path_factory.mktemp("demo") / "w")
    add_motors(workshop)
    return workshop


def test_every_version_that_is_built_has_a_design() -> None:
    """None is left out, and none is of a version that does not exist."""
    assert set(designs()) == set(MODELS)


@pytest.mark.parametrize("version", MODELS)
def test_force_factor_and_resistance_are_those_of_the_story(saltmarsh: Workshop, version: str) -> None:
    """The model behind the recordings was written before there was a motor: its Bl within a tenth, its Re within an eighth; the
    coil passes its gap with 0.2 mm of air or more, and has the travel of the model.
    """
    motor, model = load_motor(saltmarsh, version), MODELS[version]
    result = study(motor.assembly, StudySettings(points=3, refinement=2.0, judge_error=False))
    assert result.force_factor is not None
    assert result.force_factor.at_rest == pytest.approx(model.Bl[0], rel=0.10)
    assert motor.design.coil is not None
    coil, gap = wind(motor.design.coil), clear_gap(motor.assembly)
    assert coil.resistance_ohm == pytest.approx(model.Re, rel=0.125)
    assert min(coil.former_inner_m - gap.r_inner, gap.r_outer - coil.outermost_m) > 0.19e-3
    assert motor.assembly.inward_room_m is not None
    assert motor.assembly.inward_room_m > model.x_range[1]


def test_changes_of_the_story_stand_in_the_designs(saltmarsh: Workshop) -> None:
    """Avocet: 5.5 mm of coil, then 10.5 and 12 mm in a 4 mm gap; one ring, then two; a cap from v5 on; v7 moves the coil by 0.3 mm."""
    heights, rings, caps = [], [], []
    for number in range(1, 9):
        motor = load_motor(saltmarsh, f"avocet/v{number}")
        assert motor.design.coil is not None
        heights.append(1e3 * wind(motor.design.coil).height_m)
        names = [body.name for body in motor.assembly.bodies]
        rings.append(sum("magnet" in name for name in names))
        caps.append("copper cap" in names)
        gap = motor.assembly.gap
        assert gap.z_high - gap.z_low == pytest.approx(4e-3)
    assert heights == pytest.approx([5.5, 5.5, 5.5, 10.5, 10.5, 10.5, 10.5, 12.0], abs=0.12)  # half a turn
    assert rings == [1, 1, 1, 2, 2, 2, 2, 2]
    assert caps == [False] * 4 + [True] * 4


def test_drawers_are_sound_and_priced(saltmarsh: Workshop) -> None:
    """No record has a fault, and avocet/v7 is priced whole."""
    assert own_parts(saltmarsh).faults == []
    found = cost_of(saltmarsh, load_motor(saltmarsh, "avocet/v7").design, dt.date(2026, 7, 1))
    assert found.missing == ()
    assert 20 < found.used["EUR"] < 50
    assert cost_of(saltmarsh, load_motor(saltmarsh, "godwit/v1").design, dt.date(2026, 7, 1)).missing
