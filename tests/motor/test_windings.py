"""Which windings fit: what must hold for every answer, ranks that can be reckoned by hand, and a field from finite elements."""

from __future__ import annotations

import itertools
import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import catalogue
from halfroll.motor.coil.gap_field import FieldLine, in_gap_only
from halfroll.motor.coil.windings import Choice, Room, Target, Windings, windings_that_fit
from halfroll.motor.coil.wound import wind
from halfroll.motor.placing.coil_room import clear_gap
from halfroll.motor.placing.design import Design, PartDesign, Placement
from halfroll.motor.placing.stack import assemble
from halfroll.motor.types import Gap
from tests.motor.designs import COPPER as COPPER_CAP
from tests.motor.designs import MM, a2, coil, on, ring

REFERENCE = Path(__file__).parents[1] / "references" / "motor"
GAP = Gap(
    inner="pole plate", outer="cup wall", r_inner=10 * MM, r_outer=11.5 * MM, z_low=-2 * MM, z_high=2 * MM
)
COPPER = [wire for key, wire in catalogue().wires.items() if key.startswith("cu-0") and key.endswith("g1")]
ROOM = Room(gap=GAP)


def answer(target: Target | None = None, room: Room = ROOM, **more: Any) -> Windings:
    """Windings of copper wire of grade 1 in A2's gap."""
    return windings_that_fit(
        coil(20.5), room, more.pop("wires", COPPER), target or Target(ohm=4.0), in_gap_only(GAP, 0.75), **more
    )


def test_every_winding_answers_the_question() -> None:
    """R within the range, clearance on both sides, full layers, and every winding that was looked at accounted for."""
    found = answer(packings=("stacked", "nested"))
    assert found.choices
    for choice in found.choices:
        assert 3.2 <= choice.coil.resistance_ohm <= 3.8
        assert min(choice.clearance.inside.nominal_m, choice.clearance.outside.nominal_m) >= 0.2 * MM
        turns = choice.coil.layer_turns
        assert max(turns) - min(turns) == (1 if choice.coil.design.packing == "nested" else 0)
        assert choice.why
    assert found.tried == len(COPPER) * (1 + 5 * 2)  # one layer has nothing to nest in


def test_bl_by_hand() -> None:
    """N turns in 0.75 T at the gap's mean radius of 10.75 mm, of a winding higher than the gap only the share in it."""
    bl = in_gap_only(GAP, 0.75)
    assert bl(10.4 * MM, 11.0 * MM, -1 * MM, 1 * MM, 50) == pytest.approx(
        50 * 2 * math.pi * 10.75 * MM * 0.75
    )
    assert bl(10.4 * MM, 11.0 * MM, -4 * MM, 4 * MM, 50) == pytest.approx(
        25 * 2 * math.pi * 10.75 * MM * 0.75
    )
    assert bl(10.4 * MM, 11.0 * MM, 3 * MM, 5 * MM, 50) == 0.0


def test_ranked_by_force_for_resistance() -> None:
    """(Bl)²/R falls down the list, but for the tenth an odd number of layers or nesting is set back by."""
    found = answer()
    for upper, lower in itertools.pairwise(found.choices):
        assert upper.score >= lower.score
    for choice in found.choices:
        assert choice.merit == pytest.approx(choice.bl**2 / choice.coil.resistance_ohm)
        back = 0.9 if choice.coil.design.layers % 2 else 1.0
        back *= 0.9 if choice.coil.design.packing == "nested" else 1.0
        assert choice.score == pytest.approx(back * choice.merit)
        assert ("lead ends at the far end" in choice.why) == bool(choice.coil.design.layers % 2)


def test_the_merit_is_copper_in_the_field() -> None:
    """(Bl)²/R = B² times volume of copper over resistivity for a winding wholly in the gap, whatever the wire (textbook)."""
    short = [c for c in answer().choices if c.hung == "underhung"]
    assert len(short) > 3
    ratios = []
    for choice in short:
        volume = choice.coil.winding_length_m * math.pi / 4 * choice.coil.design.wire.bare_m**2
        mean = (choice.coil.mean_diameter_m / (21.5 * MM)) ** 2  # the gap's mean radius stands for the turn's
        leads = choice.coil.length_m / choice.coil.winding_length_m
        ratios.append(choice.merit * mean * leads / (0.75**2 * volume * 58.5e6))
    assert ratios == pytest.approx([1.0] * len(ratios), rel=0.01)


def test_with_the_rest_of_the_mass_a_light_coil_wins() -> None:
    """With next to no other mass force per mass counts; with a heavy cone the order is that of force alone."""
    force = answer()
    heavy, light = (answer(other_mass_kg=kg) for kg in (1.0, 0.1e-3))
    assert heavy.choices[0].coil.design == force.choices[0].coil.design
    assert light.choices[0].coil.mass_kg < force.choices[0].coil.mass_kg
    assert light.ranked_by == "(Bl)²/(R M²)"


def test_rated_or_resistance() -> None:
    """4 ohm rated keeps 80 % of it (IEC 60268-5), so R is 3.2 to 3.8 ohm; 4 ohm of resistance is 3.8 to 4.2 ohm."""
    rated, plain = Target(ohm=4.0), Target(ohm=4.0, kind="resistance")
    assert rated.range_ohm == pytest.approx((3.2, 3.8))
    assert plain.range_ohm == pytest.approx((3.8, 4.2))
    found = answer(plain)
    assert all(3.8 <= c.coil.resistance_ohm <= 4.2 for c in found.choices)
    said = next(v for v in found.verdicts if v.code == "impedance-meant")
    assert "direct-current resistance" in said.text
    assert "IEC 60268-5" in answer().verdicts[0].text


def test_less_room_never_adds_a_winding() -> None:
    """More clearance, less height, more travel or a warmer coil only take windings away."""

    def names(found: Windings) -> set[tuple[str, int, str]]:
        return {(c.coil.design.wire.key, c.coil.design.layers, c.coil.design.packing) for c in found.choices}

    wide = names(answer(most=1000))
    for room in (
        Room(gap=GAP, clearance_m=0.3 * MM),
        Room(gap=GAP, height_m=(3 * MM, 6 * MM)),
        Room(gap=GAP, travel_m=1 * MM),
        Room(gap=GAP, coil_c=120.0),
    ):
        assert names(answer(room=room, most=1000)) < wide
    travelled = answer(room=Room(gap=GAP, travel_m=1 * MM), most=1000).choices
    assert all(c.travel_m >= 1 * MM for c in travelled)


def test_a_clearance_that_is_just_enough_is_enough() -> None:
    """20.4 mm on a pole of 20 mm leaves 0.2 mm, which in metres is 0.19999... for a computer."""
    assert 0.5 * 20.4 * MM - GAP.r_inner < 0.2 * MM
    just = windings_that_fit(coil(20.4), ROOM, COPPER, Target(ohm=4.0), in_gap_only(GAP))
    assert just.choices
    assert not any("inside" in reason for reason in just.rejected)


def test_every_number_of_turns_within_the_resistance_counts() -> None:
    """Each answer is what a search over all full layers finds: the resistance nearest to the aim of those heights that suit."""
    room = Room(gap=GAP, travel_m=1.5 * MM, height_m=(2 * MM, 8 * MM))
    found = {
        (c.coil.design.wire.key, c.coil.design.layers): c.coil.design.turns
        for c in answer(room=room, packings=("stacked",), most=1000).choices
    }
    searched = {}
    for wire, layers in itertools.product(COPPER, range(1, 7)):
        every = [wind(coil(20.5, wire=wire, layers=layers, turns=layers * each)) for each in range(5, 90)]
        fits = [c for c in every if 3.2 <= c.resistance_ohm <= 3.8 and 7 * MM <= c.height_m <= 8 * MM]
        if fits and fits[0].outermost_m <= 11.3 * MM:
            best = min(fits, key=lambda c: abs(c.resistance_ohm - 3.5))
            searched[wire.key, layers] = best.design.turns
    assert found == searched
    assert len(found) >= 4


def test_a_winding_must_not_meet_its_motor() -> None:
    """A2's cup is 12 mm deep under the middle of its gap: a coil of 24 mm stands on the floor, and one of 14 mm meets it after 5 mm."""
    motor = assemble(Design(motor=a2()))
    free, inside = (
        answer(room=Room(gap=GAP, height_m=(11 * MM, 40 * MM), motor=m), most=1000) for m in (None, motor)
    )
    assert max(c.coil.height_m for c in free.choices) > 24 * MM
    assert max(c.coil.height_m for c in inside.choices) < 24 * MM
    assert inside.rejected["meets a part of the motor"] > 0
    far = answer(room=Room(gap=GAP, travel_m=5 * MM, motor=motor), most=1000)
    assert far.rejected["meets a part within the travel"] > 0
    assert all(0.5 * c.coil.height_m + 5 * MM <= 12 * MM for c in far.choices)


def test_a_cap_on_the_pole_takes_room() -> None:
    """A copper cap of 0.3 mm on A2's pole plate leaves a former of 20.9 mm bore 0.15 mm."""
    cap = ring("cap", 20.6, 20, 4, material=COPPER_CAP, placement=Placement(how="beside", of="pole plate"))
    capped = assemble(Design(motor=replace(a2(), parts=(*a2().parts, cap))))
    assert clear_gap(capped).r_inner == pytest.approx(10.3 * MM)
    found = windings_that_fit(
        coil(20.9), Room(gap=GAP, motor=capped), COPPER, Target(ohm=4.0), in_gap_only(GAP)
    )
    assert not found.choices
    assert any("less clearance inside" in reason for reason in found.rejected)


def test_a_pole_that_is_wider_under_the_gap_takes_room_from_a_long_coil() -> None:
    """A2 with a turned pole plate, 20 mm in the gap and 20.3 mm lower down by a slope: only a coil that reaches down there finds less."""
    profile = ((0.0, 0.0), (10.15, 0.0), (10.15, 1.0), (10.0, 2.0), (10.0, 6.0), (0.0, 6.0))
    plate = PartDesign(name="pole plate", shape="turned", material=a2().parts[0].material, placement=on("magnet"),
                       profile_m=tuple((r * MM, z * MM) for r, z in profile))  # fmt: skip
    wall = replace(a2().parts[1], height_m=16 * MM)
    bare = assemble(Design(motor=replace(a2(), parts=(a2().parts[0], wall, a2().parts[2], plate))))
    assert (bare.gap.z_high, bare.gap.r_inner) == pytest.approx((3 * MM, 10.15 * MM))
    top = replace(
        bare, gap=replace(bare.gap, z_low=-1 * MM, r_inner=10 * MM)
    )  # the walls that face each other above the slope
    for turns in (10, 16, 40):  # from 3 mm down to 0, -1.8 and -9 mm; the slope goes from -1 to -2 mm
        winding = wind(coil(20.5, turns=2 * turns, offset_m=(3.0 - 0.15 * turns) * MM)).winding()
        found = clear_gap(replace(top, winding=winding))
        reach = min(max(10.0 + 0.15 * (-1.0 - 1e3 * winding.z_low), 10.0), 10.15)
        assert found.r_inner == pytest.approx(reach * MM, abs=1e-9)


def test_travel_that_was_not_asked_for_is_said() -> None:
    """Force at rest alone does not care for travel; asked for, it counts."""
    assert "travel-not-asked" in {v.code for v in answer().verdicts}
    asked = answer(room=Room(gap=GAP, travel_m=1 * MM))
    assert "travel-not-asked" not in {v.code for v in asked.verdicts}


def test_even_layers_only() -> None:
    """Odd numbers are left out when asked."""
    assert {c.coil.design.layers % 2 for c in answer(even_only=True).choices} == {0}


def test_what_does_not_fit_is_counted_with_its_reason() -> None:
    """What is cut off the list is counted too, and an answer without a winding says why."""
    found = answer(most=3)
    assert len(found.choices) == 3
    assert any(reason.startswith("ranked below the first 3") for reason in found.rejected)
    assert "does not go into the gap" in found.rejected
    none = answer(Target(ohm=500.0), wires=[w for w in COPPER if w.bare_m > 0.3 * MM])
    assert none.choices == ()
    assert none.verdicts[-1].code == "no-winding-fits"


def test_a_coil_beside_the_gap_is_no_winding() -> None:
    """A rest position 40 mm out leaves every winding without a turn in the gap, and that is the reason given."""
    away = windings_that_fit(coil(20.5, offset_m=40 * MM), ROOM, COPPER, Target(ohm=4.0), in_gap_only(GAP))
    assert away.rejected["no turn lies in the field"] > 10
    assert all(c.bl > 0.0 for c in away.choices)


def test_without_a_field_it_is_said() -> None:
    """The fallback is named, the solved field is not."""
    assert "field-not-solved" in {v.code for v in answer(field_solved=False).verdicts}
    assert "field-not-solved" not in {v.code for v in answer().verdicts}


def test_a_field_line_by_hand() -> None:
    """1 T from -1 to 1 mm falling to 0 at ± 2 mm: its mean over ± 2 mm is 0.75 T, beyond the ends there is nothing."""
    line = FieldLine(z_m=np.array([-2, -1, 1, 2]) * MM, b_t=np.array([0.0, 1.0, 1.0, 0.0]), r_m=0.01)
    assert line.mean_t(-2 * MM, 2 * MM) == pytest.approx(0.75)
    assert line.mean_t(-0.5 * MM, 0.5 * MM) == pytest.approx(1.0)
    assert line.mean_t(-4 * MM, 4 * MM) == pytest.approx(0.375)
    assert line.mean_t(5 * MM, 6 * MM) == 0.0
    assert line.bl(0.0099, 0.0101, -0.5 * MM, 0.5 * MM, 10) == pytest.approx(10 * 2 * math.pi * 0.01)


@pytest.mark.parametrize(("name", "at_rest", "anywhere"), [("A1", 0.005, 0.025), ("A2", 0.003, 0.005)])
def test_a_field_line_against_finite_elements(name: str, at_rest: float, anywhere: float) -> None:
    """The field along the coil's middle radius alone gives Bl at rest within 0.5 % of FreeFem++'s integral over the winding, and
    within 2.5 % of its maximum with the coil half out of the gap (tests/references/motor).
    """
    made = json.loads((REFERENCE / f"{name}.json").read_text(encoding="utf-8"))
    found, winding = made["results"], made["coil"]
    line = FieldLine(
        z_m=np.array(found["z_mm"]) * MM,
        b_t=np.array(found["Br_z_T"]),
        r_m=0.5 * (winding["r0"] + winding["r1"]) * MM,
    )
    x, half = np.array(found["x_mm"]) * MM, 0.5 * winding["height"] * MM
    bl = np.array(
        [line.bl(winding["r0"] * MM, winding["r1"] * MM, at - half, at + half, winding["turns"]) for at in x]
    )
    off = np.abs(bl - found["Bl_Tm"]) / max(found["Bl_Tm"])
    assert off.max() < anywhere
    assert line.bl(0.0, 0.0, -half, half, winding["turns"]) == pytest.approx(found["Bl0_Tm"], rel=at_rest)


@pytest.mark.parametrize(
    "wrong", [{"ohm": 0.0}, {"ohm": math.nan}, {"ohm": 4.0, "tolerance": 0.0}, {"ohm": 4.0, "tolerance": 2.0}]
)
def test_no_target(wrong: dict[str, float]) -> None:
    """An impedance or tolerance that cannot be is refused."""
    with pytest.raises(InputError):
        Target(**wrong)  # type: ignore[arg-type]


def test_nothing_to_try() -> None:
    """No wire, no layer, or heights that do not rise."""
    with pytest.raises(InputError, match="a wire and a number of layers"):
        answer(wires=[])
    with pytest.raises(InputError, match="a wire and a number of layers"):
        answer(layers=(1, 3), even_only=True)
    with pytest.raises(InputError, match="rising heights"):
        FieldLine(z_m=np.array([0.0, 0.0]), b_t=np.array([1.0, 1.0]), r_m=0.01)


def test_a_lead_without_room_to_come_back_needs_a_groove() -> None:
    """Over one layer of thin wire the lead has room; over three of 0.224 mm in A2's gap there are 0.1 mm less than it is thick."""
    for choice in answer(layers=(1, 3), most=1000).choices:
        thick = choice.coil.design.wire.overall_m >= choice.clearance.outside.nominal_m
        assert ("needs a groove" in choice.why) == thick
    both = {"needs a groove" in choice.why for choice in answer(layers=(1, 3), most=1000).choices}
    assert both == {True, False}


def test_the_first_is_explained() -> None:
    """The first is the highest, by force or by sensitivity."""
    first: Choice = answer().choices[0]
    assert first.why.startswith("Highest (Bl)²/R")
    by_mass = answer(other_mass_kg=2e-3).choices
    assert by_mass[0].why.startswith("Highest sensitivity")
    assert "dB of sensitivity under the highest" in by_mass[-1].why


def test_a_set_back_first_is_explained() -> None:
    """Three layers of 0.16 mm give a little more force than four; four come first, as their leads end together, and say so."""
    found = answer(layers=(3, 4), packings=("stacked",), wires=[w for w in COPPER if w.key == "cu-0.160-g1"])
    assert [c.coil.design.layers for c in found.choices] == [4, 3]
    assert found.choices[0].merit < found.choices[1].merit
    assert found.choices[1].why.startswith("Highest (Bl)²/R; ")
    tied = found.choices[0].why
    assert tied.startswith("As good as the highest") or "first, as those above it are set back" in tied
