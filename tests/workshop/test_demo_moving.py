"""The moving parts of the demonstration can be built, agree with the story of its versions, and fit their motors."""

from __future__ import annotations

import math

import pytest

from halfroll.core.verdicts import Severity
from halfroll.suspension.design import FlexureDesign, StripDesign
from halfroll.suspension.diaphragm import moving_mass
from halfroll.suspension.diaphragm.mass import strip_follow
from halfroll.suspension.flexure.arm import plastic_of
from halfroll.suspension.flexure.bend import bend_arm
from halfroll.suspension.flexure.cuts import FlexureSettings
from halfroll.workshop import Workshop
from halfroll.workshop.demo_materials import add_calibrations
from halfroll.workshop.demo_motors import add_motors
from halfroll.workshop.demo_moving import add_moving, designs
from halfroll.workshop.motors import load_motor
from halfroll.workshop.suspensions import changes_between, load_moving, solve_suspension
from tests.workshop.saltmarsh import MODELS, bare_saltmarsh

SPREAD = 0.15
HEAVY = {"godwit/v1": 0.30}
"""Godwit's story was told before its long copper coil was wound, which weighs 7 g of its 11 g."""


@pytest.fixture(scope="module")
def saltmarsh(tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    """The versions of the demonstration without their takes, with their designs."""
    workshop = bare_saltmarsh(tmp_path_factory.mktemp("demo") / "w")
    add_motors(workshop)
    add_moving(workshop)
    add_calibrations(workshop)
    return workshop


@pytest.fixture(scope="module")
def rests() -> dict[str, float]:
    """Stiffness at rest of parts that were worked out, by what they are: versions share some."""
    return {}


def stiffness(part: StripDesign | FlexureDesign | None, rests: dict[str, float]) -> float:
    """Kms(0) (N/m) of a part."""
    assert part is not None
    key = repr(part)
    if key not in rests:
        if isinstance(part, StripDesign):
            rests[key] = strip_follow(part).stiffness_n_per_m
        else:
            coarse = FlexureSettings(steps=1, tolerance=1.0)
            bent = bend_arm(part, plastic_of(part)[0], 1e-5, coarse)
            rests[key] = part.arms * bent.rest.stiffness_n_per_m
    return rests[key]


def test_every_version_that_is_built_has_moving_parts() -> None:
    """None is left out, and none is of a version that does not exist."""
    assert set(designs()) == set(MODELS)


@pytest.mark.parametrize("version", MODELS)
def test_stiffness_mass_and_resonance_are_those_of_the_story(
    saltmarsh: Workshop, rests: dict[str, float], version: str
) -> None:
    """The model behind the recordings was written before there was a suspension: its K(0), Mms and fs within 15 %, its Sd within 3 %; the
    travel is the model's.
    """
    design, model = load_moving(saltmarsh, version), MODELS[version]
    rest = stiffness(design.surround, rests) + stiffness(design.spider, rests)
    mass = moving_mass(design)
    assert rest == pytest.approx(model.K[0], rel=SPREAD)
    assert mass.mms_kg == pytest.approx(model.Mms, rel=HEAVY.get(version, SPREAD))
    assert math.sqrt(rest / mass.mms_kg) == pytest.approx(math.sqrt(model.K[0] / model.Mms), rel=SPREAD)
    assert mass.area_m2 == pytest.approx(model.Sd, rel=0.03)
    assert design.travel_m == pytest.approx(model.x_range[1])


@pytest.mark.parametrize("version", MODELS)
def test_parts_meet(saltmarsh: Workshop, version: str) -> None:
    """Cone and the spider's ring sit on the former within 0.2 mm, the cone ends where the surround begins, and the spider stays above the motor by
    the travel.
    """
    design, motor = load_moving(saltmarsh, version), load_motor(saltmarsh, version)
    cone, former, surround, spider = design.cone, design.former, design.surround, design.spider
    assert cone is not None
    assert former is not None
    assert surround is not None
    assert spider is not None
    outer = former.inner_radius_m + former.wall_m
    for bore in (cone.inner_radius_m, spider.inner_radius_m - spider.lip_inner_m):
        assert -1e-9 < bore - outer < 0.2e-3
    assert cone.outer_radius_m == surround.inner_radius_m
    top = max(z for body in motor.assembly.bodies for _, z in body.outline)
    assert spider.height_over_gap_m - design.travel_m > top


def test_changes_of_the_story_stand_in_the_designs(saltmarsh: Workshop) -> None:
    """A half roll from v2 on, bent arms from v3, soft ones in v6, a wide thin roll in v8."""
    found = {change.key: change for change in changes_between(saltmarsh, "avocet/v1", "avocet/v2")}
    assert (found["surround.family"].before, found["surround.family"].after) == ("flat", "half-roll")
    found = {change.key: change for change in changes_between(saltmarsh, "avocet/v5", "avocet/v6")}
    assert set(found) == {"spider.material"}
    assert found["spider.material"].after == "TPU 85A"
    found = {change.key: change for change in changes_between(saltmarsh, "avocet/v7", "avocet/v8")}
    assert found["surround.thickness_mm"].delta_mm == pytest.approx(-0.18)
    assert found["surround.material"].before == "TPU 95A, grey spool"


@pytest.mark.slow
@pytest.mark.parametrize("version", ["avocet/v1", "avocet/v8", "godwit/v1"])
def test_nothing_breaks_over_the_travel(saltmarsh: Workshop, version: str) -> None:
    """The stiffest, the widest roll and the longest travel reach their travel without a bad verdict and without cracking in use."""
    solved = solve_suspension(saltmarsh, version, wants=("stiffness",))
    assert solved.suspension is not None
    travel = solved.design.travel_m
    for part in solved.suspension.parts:
        assert part.reached_m == pytest.approx((-travel, travel))
        said = {verdict.code: verdict.severity for verdict in part.verdicts}
        assert max(said.values(), default=Severity.GOOD) < Severity.BAD
        assert "strain-fatigue" not in said
