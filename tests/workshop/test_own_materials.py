"""Records in ``materials/`` as values in SI units: each field by hand, and what is not stated."""

from __future__ import annotations

from pathlib import Path

import pytest
from pydantic import ValidationError

from halfroll.materials.catalogue import catalogue
from halfroll.materials.wire import ohm_per_m
from halfroll.workshop.material_record import (
    ConductorTable,
    FilamentTable,
    MagnetTable,
    MaterialRecord,
    WireTable,
)
from halfroll.workshop.own_materials import Made, material_of


def made(**tables: object) -> Made:
    """The material of a record."""
    return material_of("mine", MaterialRecord(**tables), Path("materials/mine.toml"), catalogue())  # type: ignore[arg-type]


def test_a_magnet_grade() -> None:
    """kA/m and per cent per kelvin become A/m and 1/K; a grade stated whole has 3 % of its remanence as uncertainty."""
    table = MagnetTable(
        family="ferrite", br_t=0.4, hcb_ka_m=230, hcj_ka_m=240, mu_rec=1.1, alpha_br_percent_per_k=-0.19,
        beta_hcj_percent_per_k=0.28, highest_c=250, lowest_c=-30, density_kg_m3=4900, conductivity_s_m=1e-4,
    )  # fmt: skip
    grade = made(magnet=table)
    assert (grade.hcb_a_m, grade.hcj_a_m) == pytest.approx((230e3, 240e3))  # type: ignore[union-attr]
    assert (grade.alpha_br_per_k, grade.beta_hcj_per_k) == pytest.approx((-0.0019, 0.0028))  # type: ignore[union-attr]
    assert grade.br_u_t == pytest.approx(0.012)  # type: ignore[union-attr]
    assert (grade.highest_c, grade.lowest_c) == (250.0, -30.0)  # type: ignore[union-attr]


def test_a_grade_like_another() -> None:
    """What is stated goes before that of the grade it is like."""
    grade, like = made(magnet=MagnetTable(like="n42", hcj_ka_m=1000)), catalogue().magnets["n42"]
    assert grade.hcj_a_m == pytest.approx(1e6)  # type: ignore[union-attr]
    assert (grade.br_t, grade.beta_hcj_per_k, grade.key) == (like.br_t, like.beta_hcj_per_k, "mine")  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("metal", "ohm"),
    [("copper", 0.5488), ("aluminium", 0.8997), ("cca10", 1 / (0.1 / 0.5488 + 0.9 / 0.8997)), ("cca15", 1 / (0.15 / 0.5488 + 0.85 / 0.8997))],
)  # fmt: skip
def test_a_wire(metal: str, ohm: float) -> None:
    """0.2 mm of copper (1/58 ohm mm²/m), of aluminium (0.028264), and both side by side: worked by hand, ohm/m."""
    wire = made(wire=WireTable(bare_mm=0.2, overall_mm=0.23, metal=metal))  # type: ignore[arg-type]
    assert ohm_per_m(wire) == pytest.approx(ohm, rel=1e-4)  # type: ignore[arg-type]
    assert (wire.bare_m, wire.overall_m) == pytest.approx((0.2e-3, 0.23e-3))  # type: ignore[union-attr]


def test_sheet_is_said_to_be_sheet() -> None:
    """A laminate of one's own is cut, not printed; like a sheet of the catalogue it is sheet too, unless it says not."""
    laminate = FilamentTable(
        density_kg_m3=1850, modulus_mpa=18_000, glass_c=135, continuous_c=130, sheet=True
    )
    found = [made(filament=one) for one in (
        laminate, laminate.model_copy(update={"sheet": None}), FilamentTable(like="card"), FilamentTable(like="card", sheet=False)
    )]  # fmt: skip
    assert [one.sheet for one in found] == [True, False, True, False]  # type: ignore[union-attr]


def test_a_filament_and_a_metal() -> None:
    """MPa become Pa; a modulus without an uncertainty has a tenth of it."""
    plain = FilamentTable(density_kg_m3=1200, modulus_mpa=2200, glass_c=110, continuous_c=90)
    told = FilamentTable(density_kg_m3=1200, modulus_mpa=2200, modulus_u_mpa=50, glass_c=110, continuous_c=90)
    assert made(filament=plain).modulus_pa == pytest.approx(2.2e9)  # type: ignore[union-attr]
    assert [made(filament=f).modulus_u_pa for f in (plain, told)] == pytest.approx([2.2e8, 5e7])  # type: ignore[union-attr]
    metal = made(conductor=ConductorTable(resistivity_ohm_m=2.8e-8, density_kg_m3=2700))
    assert metal.resistivity_ohm_m == 2.8e-8  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"poisson": 0.5}, "0.4995"),
        ({"modulus_mpa": 26.0, "modulus_u_mpa": 1e6}, "no larger than modulus_mpa, 26"),
        ({"density_kg_m3": 1200.0, "density_u_kg_m3": 1e5}, "no larger than density_kg_m3, 1200"),
        ({"modulus_mpa": 0.0}, "greater than 0.1"),
    ],
)
def test_a_filament_that_cannot_be(values: dict[str, float], words: str) -> None:
    """No plastic is quite incompressible, and none is known worse than to its own size."""
    with pytest.raises(ValidationError, match=words):
        FilamentTable(like="tpu-95a", **values)  # type: ignore[arg-type]
