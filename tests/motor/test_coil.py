"""A wound coil against a coil worked by hand, a maker's published coil, and what must hold for every coil."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import catalogue
from halfroll.materials.conductors import COPPER
from halfroll.materials.glue import GLUES, glue_of
from halfroll.materials.types import Filament
from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.coil.wound import Coil, turns_by_layer, wind

MM = 1e-3


def design(**changes: Any) -> CoilDesign:
    """60 turns of 0.16 mm in two layers, mean diameter 20.8 mm, on 0.5 mm of PETG."""
    inner = 20.8 - 2 * 0.182 - 2 * 0.5
    wire = replace(catalogue().wires["cu-0.160-g1"], conductor=COPPER)
    values: dict[str, Any] = {
        "wire": wire, "layers": 2, "turns": 60, "former_inner_m": inner * MM, "former_wall_m": 0.5 * MM,
        "former": catalogue().filaments["petg"], "former_height_m": 12 * MM,
    }  # fmt: skip
    return CoilDesign(**(values | changes))


def codes(coil: Coil) -> set[str]:
    """Codes of what is said about a coil."""
    return {v.code for v in coil.verdicts}


def test_the_coil_worked_by_hand() -> None:
    """0.160 mm copper of 1/58 ohm mm²/m and 8.89 g/cm³ (IEC 60028), overall 0.182 mm (IEC 60317-0-1 grade 1), 2 layers of 30 on
    a mean diameter of 20.8 mm: 60 π 20.8 mm = 3.92071 m, times 0.857510 ohm/m = 3.36207 ohm, times 0.178743 g/m = 0.70080 g,
    30 turns of 0.182 mm = 5.46 mm high.
    """
    coil = wind(design())
    assert coil.layer_turns == (30, 30)
    assert coil.mean_diameter_m == pytest.approx(20.8 * MM, rel=1e-12)
    assert coil.winding_length_m == pytest.approx(3.92071, abs=1e-5)
    share = coil.winding_length_m / coil.length_m
    assert share * coil.resistance_ohm == pytest.approx(3.36207, abs=1e-5)
    assert share * coil.masses.metal == pytest.approx(0.70080e-3, rel=1e-5)
    assert coil.height_m == pytest.approx(5.46 * MM, rel=1e-12)
    assert coil.lead_length_m == pytest.approx(0.1)
    winding = coil.winding()
    assert (winding.turns, winding.r_inner, winding.r_outer) == (60, coil.inner_m, coil.outer_m)
    assert 1e3 * (coil.inner_m + coil.outer_m) == pytest.approx(20.8)
    assert coil.fill_factor == pytest.approx(math.pi / 4 * 0.16**2 / 0.182**2)


def test_warm_by_the_temperature_coefficient_of_copper() -> None:
    """IEC 60028: 0.00393 /K, so 100 K more is 1.393 times the resistance."""
    coil = wind(design())
    assert coil.resistance_at(120.0) / coil.resistance_at(20.0) == pytest.approx(1.393, abs=1e-9)
    assert coil.resistance_at(20.0) == coil.resistance_ohm


def test_a_makers_published_coil() -> None:
    """The coil drawing of an open-hardware driver (see tests/references/maker_driver_F144): AWG 32, 3 layers of 40 on 30.6 mm,
    6.28 ohm and about 4 g estimated by its maker. Former and leads are not stated; with a 0.1 mm aluminium former and without
    leads this comes to 6.39 ohm, 1.8 % more, and 3.9 g. The drawing's 8 mm of winding height is 40 bare wires; over the enamel
    they take 9.2 mm.
    """
    wire = catalogue().wires["cu-awg32-g1"]
    aluminium = catalogue().conductors["aluminium"]
    coil = wind(design(wire=wire, layers=3, turns=120, former_inner_m=30.6 * MM, former_wall_m=0.1 * MM, former=aluminium,
                       former_height_m=15 * MM))  # fmt: skip
    bare = coil.resistance_ohm * coil.winding_length_m / coil.length_m
    assert bare / 6.28 - 1 == pytest.approx(0.018, abs=0.002)
    assert abs(bare - 6.28) < 2 * coil.resistance_u_ohm
    assert 1e3 * coil.mass_kg == pytest.approx(4.0, abs=0.15)
    assert 40 * wire.bare_m == pytest.approx(8.08 * MM, abs=0.01 * MM)
    assert coil.height_m == pytest.approx(9.2 * MM, abs=0.05 * MM)
    assert {"former-shorts", "lead-at-far-end"} <= codes(coil)


def test_nested_layers() -> None:
    """In hexagonal packing layers lie sqrt(3)/2 of a wire apart, and a layer in grooves has one turn less (elementary geometry)."""
    coil = wind(design(layers=4, turns=118, packing="nested"))
    assert coil.layer_turns == (30, 29, 30, 29)
    d = coil.design.wire.overall_m
    assert coil.build_m == pytest.approx(d * (1 + 1.5 * math.sqrt(3)))
    assert coil.outermost_m == pytest.approx(coil.inner_m + 4 * d)  # where turns cross they do not nest
    assert "nested-crossings" in codes(coil)
    assert "layers-not-full" not in codes(coil)


def test_uneven_layers_and_an_unknown_former_are_said() -> None:
    """An odd turn makes the layers uneven; a former without a length is taken 5 mm longer than the winding."""
    coil = wind(design(turns=61, former_height_m=None))
    assert coil.layer_turns == (31, 30)
    assert {"layers-not-full", "former-length-assumed"} <= codes(coil)
    assert coil.former_height_m == pytest.approx(coil.height_m + 5 * MM)
    assert codes(wind(design())) == set()


def test_masses_add_up() -> None:
    """Former by hand: tube of 19.436 to 20.436 mm, 12 mm long, 1.27 g/cm³."""
    coil = wind(design(glue=glue_of("epoxy"), insulation_m=0.05 * MM))
    tube = math.pi / 4 * (20.436**2 - 19.436**2) * 12 * 1.27e-6
    assert coil.masses.former == pytest.approx(tube, rel=1e-9)
    parts = coil.masses
    assert coil.mass_kg == parts.metal + parts.enamel + parts.glue + parts.former + parts.insulation
    assert 0 < parts.glue < 0.2 * parts.metal
    assert wind(design()).masses.glue == 0.0


def test_insulation_and_glue_by_hand() -> None:
    """0.05 mm of paper (0.8 g/cm³) on 20.436 mm under 5.46 mm of winding; glue in half of what 60 round turns leave of their ring, and
    0.02 mm over it.
    """
    coil = wind(design(glue=glue_of("epoxy"), insulation_m=0.05 * MM))
    paper = math.pi * 20.486 * 0.05 * 5.46 * 0.8e-6
    assert coil.masses.insulation == pytest.approx(paper, rel=1e-9)
    inside, outside = 20.536, 20.536 + 4 * 0.182
    ring = math.pi / 4 * (outside**2 - inside**2) * 5.46
    round_turns = 60 * math.pi * (inside + 2 * 0.182) * math.pi / 4 * 0.182**2
    assert coil.masses.glue == pytest.approx(
        (0.5 * (ring - round_turns) + math.pi * outside * 5.46 * 0.02) * 1.15e-6, rel=1e-6
    )


def test_enamel_by_hand() -> None:
    """From 0.160 to 0.182 mm at 1.35 g/cm³ over all 4.0207 m of winding and leads."""
    enamel = math.pi / 4 * (0.182**2 - 0.160**2) * 1.35e-6 * 4020.71
    assert wind(design()).masses.enamel == pytest.approx(enamel, rel=1e-5)


def test_uncertainty_of_the_mass_by_hand() -> None:
    """Root sum of squares of: metal by its section, enamel 30 %, former by its density and the ± 0.05 mm of its 0.5 mm of wall."""
    coil = wind(design())
    petg = coil.design.former
    assert isinstance(petg, Filament)
    metal = coil.resistance_u_ohm / coil.resistance_ohm * coil.masses.metal  # the length is known to 0.2 %
    former = (
        math.hypot(petg.density_u_kg_m3 / petg.density_kg_m3, 0.05 / 0.5 / math.sqrt(3)) * coil.masses.former
    )
    by_hand = math.sqrt(metal**2 + (0.3 * coil.masses.enamel) ** 2 + former**2)
    assert coil.mass_u_kg == pytest.approx(by_hand, rel=0.005)


def test_the_lead_that_comes_back() -> None:
    """Two leads of 50 mm; with three layers one of them first runs back along the winding, 20 turns of 0.182 mm."""
    assert wind(design(layers=3)).lead_length_m == pytest.approx(0.1 + 20 * 0.182 * MM)
    assert wind(design(layers=4)).lead_length_m == pytest.approx(0.1)


def test_wire_to_buy() -> None:
    """4.02 m wound, a tenth more and half a metre, in half metres: 5 m. Twice as much: 7.94 m in all, 9.24 m, so 9.5 m."""
    assert wind(design()).wire_to_buy_m == 5.0
    assert wind(design(turns=120, former_height_m=None)).wire_to_buy_m == 9.5


@given(turns=st.integers(12, 800), layers=st.integers(1, 6), packing=st.sampled_from(["stacked", "nested"]))
def test_turns_are_kept(turns: int, layers: int, packing: str) -> None:
    """No turn is lost or won, and no outer layer is longer than the one it lies on by more than its packing allows."""
    lying = turns_by_layer(turns, layers, packing)
    assert sum(lying) == turns
    assert len(lying) == layers
    assert max(lying) - min(lying) <= (1 if packing == "stacked" else 2)
    assert lying[0] == max(lying)


@pytest.mark.parametrize("layers", range(1, 13))
def test_the_fewest_nested_turns_are_told(layers: int) -> None:
    """One turn less than the refusal allows is refused, and what it allows can be wound."""
    with pytest.raises(InputError) as fault:
        turns_by_layer(layers - 1 if layers < 2 else layers, layers, "nested")
    fewest = int(str(fault.value.allowed).split()[1])
    assert sum(turns_by_layer(fewest, layers, "nested")) == fewest
    with pytest.raises(InputError):
        turns_by_layer(fewest - 1, layers, "nested")


@given(turns=st.integers(20, 300), more=st.integers(1, 40), layers=st.integers(1, 5))
def test_more_turns_are_more_of_everything(turns: int, more: int, layers: int) -> None:
    """Resistance, mass and inductance never fall when turns are added."""
    few, many = (wind(design(turns=n, layers=layers, former_height_m=None)) for n in (turns, turns + more))
    assert many.resistance_ohm > few.resistance_ohm
    assert many.mass_kg > few.mass_kg
    assert many.height_m >= few.height_m
    assert many.inductance_h > 0.0


@given(layers=st.integers(1, 6))
def test_scaled_by_two_the_resistance_halves(layers: int) -> None:
    """Twice as large in every length: twice the wire of four times the section."""
    small = design(layers=layers, turns=30 * layers, former_height_m=None)
    wire = replace(small.wire, bare_m=2 * small.wire.bare_m, overall_m=2 * small.wire.overall_m)
    large = replace(
        small, wire=wire, former_inner_m=2 * small.former_inner_m, former_wall_m=2 * small.former_wall_m
    )
    one, two = wind(small), wind(large)
    per_metre = [c.resistance_ohm / c.length_m * c.winding_length_m for c in (one, two)]
    assert per_metre[1] == pytest.approx(0.5 * per_metre[0], rel=1e-9)
    assert two.inductance_h == pytest.approx(2 * one.inductance_h, rel=1e-6)
    assert two.fill_factor == pytest.approx(one.fill_factor)


def test_uncertainty_of_resistance_is_that_of_the_wire() -> None:
    """IEC 60317-0-1 allows 0.160 mm ± 0.003 mm: ± 3.8 % of the section, over sqrt 3 about 2.2 % standard; conductivity adds some."""
    coil = wind(design())
    assert coil.resistance_u_ohm / coil.resistance_ohm == pytest.approx(0.0265, abs=0.005)


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"layers": 0}, "coil.layers"),
        ({"layers": 2.5}, "coil.layers"),
        ({"turns": 1}, "coil.turns"),
        ({"turns": -3}, "coil.turns"),
        ({"former_inner_m": 0.0}, "coil.former_inner_mm"),
        ({"former_wall_m": -0.1 * MM}, "coil.former_wall_mm"),
        ({"former_wall_m": math.nan}, "coil.former_wall_mm"),
        ({"insulation_m": 5 * MM}, "coil.insulation_mm"),
        ({"packing": "loose"}, "coil.packing"),
        ({"print_tolerance_m": -1 * MM}, "coil.print_tolerance_mm"),
        ({"offset_m": math.inf}, "coil.offset_mm"),
        ({"former_height_m": 4 * MM}, "coil.former_height_mm"),
        ({"layers": 4, "turns": 5, "packing": "nested"}, "coil.turns"),
    ],
)
def test_what_cannot_be_wound(changes: dict[str, Any], key: str) -> None:
    """Each refusal names its key and says what is allowed."""
    with pytest.raises(InputError) as fault:
        wind(design(**changes))
    assert fault.value.place.key == key
    assert fault.value.allowed


def test_glues() -> None:
    """The room-cured epoxy softens before the warm-cured one; an unknown glue is refused with those there are."""
    assert glue_of("epoxy").softens_c < 60.0 < glue_of("epoxy-warm").softens_c
    assert all(glue.softens_c > 40.0 for glue in GLUES.values())
    with pytest.raises(InputError, match="Allowed: cyanoacrylate"):
        glue_of("chewing-gum")
