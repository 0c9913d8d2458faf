"""The plastic in the print: direction of the lines, filling, law."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import catalogue
from halfroll.materials.printed import in_print, lines_under_load

PLA = replace(catalogue().filaments["pla"], across_factor=0.8, across_factor_u=0.1)


@pytest.mark.parametrize(("raster", "load", "factor"), [("radial", "radial", 1.0), ("around", "radial", 0.8), ("around", "around", 1.0),
                                                        ("radial", "around", 0.8), ("crossed", "radial", 0.9), ("around", "both", 0.9)])  # fmt: skip
def test_the_lines_decide_the_modulus(raster: str, load: str, factor: float) -> None:
    """Lines around the axis are crossed by a bend from clamp to clamp; crossed ones are taken by the mean."""
    found = in_print(PLA, raster=raster, direction=load)  # type: ignore[arg-type]
    assert found.modulus_pa == pytest.approx(factor * PLA.modulus_pa)


def test_the_uncertainty_by_hand() -> None:
    """Across: 10 % of the modulus, 0.1/0.8 of the factor, 1.5 times 2 % of how full it is."""
    found = in_print(replace(PLA, modulus_u_pa=0.1 * PLA.modulus_pa), raster="around")
    assert found.modulus_u_pa / found.modulus_pa == pytest.approx(math.sqrt(0.1**2 + 0.125**2 + 0.03**2))


def test_half_a_filling_by_gibson_and_ashby() -> None:
    """Between s (stretching) and s² (bending): s^1.5 with an uncertainty that reaches both."""
    found = in_print(PLA, raster="radial", infill=0.5)
    assert found.modulus_pa == pytest.approx(PLA.modulus_pa * 0.5**1.5)
    assert 0.5**2 < found.modulus_pa / PLA.modulus_pa < 0.5
    assert found.density_kg_m3 == pytest.approx(0.5 * PLA.density_kg_m3)
    exponent = math.log(2) * 0.5 / math.sqrt(3)
    assert found.modulus_u_pa / found.modulus_pa == pytest.approx(
        math.sqrt(0.1**2 + exponent**2 + 0.03**2), rel=1e-6
    )
    assert "50 %" in found.words


def test_a_soft_plastic_has_the_law_of_rubber() -> None:
    """TPU neo-Hooke, the stiff ones St Venant."""
    known = catalogue().filaments
    laws = {key: in_print(known[key]).law for key in ("tpu-95a", "tpe-85a", "pp", "pla", "asa")}
    assert laws == {
        "tpu-95a": "neo-hooke",
        "tpe-85a": "neo-hooke",
        "pp": "st-venant",
        "pla": "st-venant",
        "asa": "st-venant",
    }


@pytest.mark.parametrize("infill", [0.0, 15.0, -1.0, math.nan])
def test_a_filling_that_is_no_share_is_refused(infill: float) -> None:
    """15 for 15 % is a usual slip."""
    with pytest.raises(InputError, match="filling must be a share"):
        in_print(PLA, infill=infill)


def test_an_unknown_raster_is_refused() -> None:
    """With the words there are."""
    with pytest.raises(InputError, match="around, radial, crossed"):
        lines_under_load("spiral")  # type: ignore[arg-type]


def test_every_filament_of_the_catalogue_is_whole_and_sane() -> None:
    """Poisson's ratio below a half, factors and losses that can be, a source for each, uncertainties above zero."""
    for one in catalogue().filaments.values():
        assert 0.2 < one.poisson < 0.495
        assert 0.0 < one.loss_factor_u < one.loss_factor < 0.3
        assert 0.0 < one.creep_per_decade_u < one.creep_per_decade < 0.2
        assert 0.2 < one.across_factor <= 1.0
        assert one.fatigue_strain is not None
        assert one.strength_pa is not None
        assert one.fatigue_strain < 0.3
        assert one.strength_pa < 0.15 * one.modulus_pa or one.modulus_pa < 300e6
        assert one.mechanics is not None
        assert one.mechanics.support == "memory"
    assert catalogue().filaments["tpu-95a"].modulus_lines == "crossed"
