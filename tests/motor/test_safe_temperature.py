"""How hot (or cold) a magnet may get in its motor: at that temperature its weakest place works at the knee."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from halfroll.materials.catalogue import catalogue
from halfroll.motor.field.free_mesh import free_mesh
from halfroll.motor.field.magnetostatics import solve
from halfroll.motor.field.mesh import MeshSettings, mesh_of
from halfroll.motor.field.operating_point import operating_points
from halfroll.motor.field.study import at_temperature
from halfroll.motor.results import OperatingPoint
from halfroll.motor.types import Assembly, Magnet
from tests.motor.bodies import body
from tests.motor.eddy_motors import reference

SETTINGS = MeshSettings(travel_m=1e-3)


def _with_grade(name: str, key: str) -> Assembly:
    _, motor = reference(name)
    grade = catalogue().magnets[key]
    return replace(
        motor,
        bodies=tuple(
            replace(b, matter=replace(b.matter, grade=grade)) if isinstance(b.matter, Magnet) else b
            for b in motor.bodies
        ),
    )


def _point(motor: Assembly, temperature_c: float) -> OperatingPoint:
    (point,) = operating_points(solve(mesh_of(at_temperature(motor, temperature_c), SETTINGS)))
    return point


def test_ferrite_at_its_coldest_is_at_its_knee() -> None:
    """Found at 20 °C, then the field solved anew at that temperature: the margin there is a hundredth of Br, or less."""
    motor = _with_grade("A1", "y30")
    first = _point(motor, 20.0)
    assert first.margin_t > 0.0
    assert -40.0 < first.safe_to_c < 20.0
    then = _point(motor, first.safe_to_c)
    assert then.margin_t == pytest.approx(0.0, abs=0.01 * catalogue().magnets["y30"].br_t)


@pytest.mark.parametrize("key", ["n42", "n35h"])
def test_a_thick_magnet_in_iron_bears_what_its_grade_does(key: str) -> None:
    """A magnet half as high as wide in a steel cup: nothing is lost at the grade's highest temperature either."""
    motor = _with_grade("A2", key)
    assert _point(motor, 20.0).safe_to_c == math.inf
    assert _point(motor, catalogue().magnets[key].highest_c).margin_t > 0.0


def test_a_thin_disc_in_free_air_is_past_its_knee_below_its_limit() -> None:
    """N42 of height over diameter 0.2: mean permeance 0.47 (Chen, Brug and Goldfarb, IEEE Trans. Magn. 27, 3601, 1991), so the mean
    reaches the knee at 53 °C, below the 80 °C of the grade. The weakest place gives way sooner.
    """
    grade = catalogue().magnets["n42"]
    disc = body("disc", Magnet(grade=grade, direction=(0.0, 1.0)), (0, 0), (10, 0), (10, 4), (0, 4))
    (point,) = operating_points(solve(free_mesh([disc])))
    pull = grade.br_t / (4e-7 * math.pi * (0.4702 + grade.mu_rec))
    hold = 0.9 * grade.hcj_a_m
    mean_c = 20.0 + (pull - hold) / (hold * grade.beta_hcj_per_k - pull * grade.alpha_br_per_k)
    assert 20.0 < point.safe_to_c < mean_c < grade.highest_c
    warm = replace(disc, matter=Magnet(grade=grade, direction=(0.0, 1.0), temperature_c=point.safe_to_c))
    (then,) = operating_points(solve(free_mesh([warm])))
    assert then.margin_t == pytest.approx(0.0, abs=0.01 * grade.br_t)
