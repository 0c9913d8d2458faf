"""Parts that touch come to their places, and what cannot be is refused by the names of the parts.

Places are checked against the reference motors A1 and A2, whose rectangles were typed as coordinates for a finite-element
program (see tests/references/motor), and against sums by hand.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from halfroll.core.errors import InputError
from halfroll.motor.heat.masses import mass_kg, volume_m3
from halfroll.motor.placing.coil_room import clear_gap, stop_above
from halfroll.motor.placing.design import Design, MotorDesign, PartDesign, Placement
from halfroll.motor.placing.polygons import (
    Polygon,
    crossing_edges,
    distance,
    drop,
    overlap,
    rectangle,
    signed_area,
)
from halfroll.motor.placing.stack import assemble
from halfroll.motor.types import Body, FieldCoil, Filler, Magnet, Ring, SoftSteel
from tests.motor.designs import COPPER, MM, PETG, STEEL, a1, a2, a2_with_coil, coil, disc, grade, on, ring


def _mm(bounds: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(round(1e3 * b, 9) for b in bounds)


def _refusal(design: MotorDesign | Design, key: str, *words: str) -> InputError:
    """The refusal of a design; its key and the words in its text."""
    whole = design if isinstance(design, Design) else Design(motor=design)
    with pytest.raises(InputError) as caught:
        assemble(whole)
    assert caught.value.place.key == key
    for word in words:
        assert word in str(caught.value)
    return caught.value


def test_a_stack_comes_to_the_coordinates_of_reference_motor_a1() -> None:
    """(r0, r1, z0, z1) of the rectangles of A1, typed there by hand."""
    assembly = assemble(Design(motor=a1()))
    assert {b.name: _mm(b.bounds) for b in assembly.bodies} == {
        "pole": (0, 12.5, -16, 2),
        "back plate": (12.5, 30, -16, -12),
        "magnet": (16, 30, -12, -2),
        "top plate": (14, 25, -2, 2),
    }
    gap = assembly.gap
    assert _mm((gap.r_inner, gap.r_outer, gap.z_low, gap.z_high)) == (12.5, 14, -2, 2)


def test_a_stack_comes_to_the_coordinates_of_reference_motor_a2() -> None:
    """(r0, r1, z0, z1) of the rectangles of A2, typed there by hand."""
    assembly = assemble(Design(motor=a2()))
    assert {b.name: _mm(b.bounds) for b in assembly.bodies} == {
        "cup floor": (0, 15.5, -16, -12),
        "cup wall": (11.5, 15.5, -12, 2),
        "magnet": (0, 10, -12, -2),
        "pole plate": (0, 10, -2, 2),
    }
    gap = assembly.gap
    assert _mm((gap.r_inner, gap.r_outer, gap.z_low, gap.z_high)) == (10, 11.5, -2, 2)


def test_a_cup_turned_in_one_holds_the_magnet_on_its_floor() -> None:
    """The same half-section as A2's floor and wall: the magnet comes down inside it, not onto its rim."""
    cup = PartDesign(
        name="cup", shape="turned", material=STEEL,
        profile_m=tuple((r * MM, z * MM) for r, z in ((0, 5), (15.5, 5), (15.5, 23), (11.5, 23), (11.5, 9), (0, 9))),
    )  # fmt: skip
    two = a2()
    assembly = assemble(Design(motor=replace(
        two, parts=(cup, replace(two.parts[2], placement=on("cup")), two.parts[3]), gap=("pole plate", "cup")
    )))  # fmt: skip
    assert _mm(assembly.body("magnet").bounds) == (0, 10, -12, -2)
    assert _mm(assembly.body("cup").bounds) == (0, 15.5, -16, 2)
    assert _mm((assembly.gap.r_inner, assembly.gap.r_outer)) == (10, 11.5)


def test_glue_offsets_and_under() -> None:
    """Sums by hand: 4 + 0.1 + 10 + 0.1 = 14.2 mm up to the plate; a disc under the back plate hangs by its own height and the glue."""
    one = a1()
    glued = (
        one.parts[0],
        replace(one.parts[1], placement=on("back plate", 0.1)),
        replace(one.parts[2], placement=on("magnet", 0.1)),
        replace(
            one.parts[3],
            placement=Placement(how="beside", of="back plate", align="bottom", offset_m=0.2 * MM),
        ),
        disc("foot", 40, 3, placement=Placement(how="under", of="back plate", glue_m=0.05 * MM)),
    )
    assembly = assemble(Design(motor=replace(one, parts=glued)))
    base = assembly.body("back plate").bounds[2]
    heights = {b.name: round(1e3 * (b.bounds[2] - base), 9) for b in assembly.bodies}
    assert heights == {"back plate": 0.0, "magnet": 4.1, "top plate": 14.2, "pole": 0.2, "foot": -3.05}


@pytest.mark.parametrize(("align", "low"), [("bottom", 0.0), ("middle", 5.0), ("top", 10.0)])
def test_beside_levels_bottoms_middles_or_tops(align: str, low: float) -> None:
    """A ring of 8 mm around a disc of 18 mm: 0, 5 or 10 mm above its base."""
    one = a1()
    cap = ring("cap", 26, 25, 8, material=COPPER, placement=Placement(how="beside", of="pole", align=align))  # type: ignore[arg-type]
    assembly = assemble(Design(motor=replace(
        one, parts=(disc("pole", 25, 18), cap, ring("plate", 50, 28, 4, placement=Placement(how="on", of="holder")),
                    ring("holder", 50, 26, 6, material=PETG, placement=Placement(how="beside", of="cap", align="bottom"))),
        gap=("pole", "plate"),
    )))  # fmt: skip
    base = assembly.body("pole").bounds[2]
    assert round(1e3 * (assembly.body("cap").bounds[2] - base), 9) == low


def test_matter_follows_the_material() -> None:
    """A magnet keeps the motor's temperature and its direction; copper is a ring, or with turns a field coil."""
    motor = replace(
        a2(), temperature_c=60.0,
        parts=(
            *a2().parts,
            ring("short", 23, 22, 2, material=COPPER, placement=Placement(how="beside", of="cup wall", align="bottom", offset_m=2 * MM)),
            ring("field", 22, 20, 4, material=COPPER, turns=100, current_a=1.5, placement=on("cup floor")),
            ring("spacer", 31, 24, 1, material=PETG, placement=on("cup wall")),
        ),
    )  # fmt: skip
    matter = {body.name: body.matter for body in assemble(Design(motor=motor)).bodies}
    assert isinstance(matter["magnet"], Magnet)
    assert matter["magnet"].direction == (0.0, 1.0)
    assert matter["magnet"].temperature_c == 60.0
    assert matter["short"] == Ring(conductor=COPPER)
    assert matter["field"] == FieldCoil(turns=100, current_a=1.5)
    assert matter["spacer"] == Filler(title="PETG", density_kg_m3=1270.0)
    assert matter["cup wall"] == SoftSteel(steel=STEEL)


def test_winding_rests_at_its_offset_and_the_room_inwards_is_known() -> None:
    """Two layers of 20 turns of 0.3 mm are 6 mm high; raised by 1 mm they end 2 mm below the middle: the floor is 12 mm below it,
    so 10 mm of room are left.
    """
    assembly = assemble(a2_with_coil(offset_m=1.0 * MM))
    winding = assembly.winding
    assert winding is not None
    assert _mm((winding.r_inner, winding.r_outer, winding.z_low, winding.z_high)) == (10.45, 11.05, -2, 4)
    assert winding.turns == 40
    assert assembly.inward_stop == "cup floor"
    assert assembly.inward_room_m == pytest.approx(10 * MM)


def test_room_outwards_ends_at_a_lip_over_the_coil() -> None:
    """A ring 20 mm over the gap's middle and a coil that ends 3 mm over it, its former 5 mm farther."""
    from halfroll.motor.placing.coil_room import moving_sections

    assembly = assemble(a2_with_coil())
    lip = replace(assembly.bodies[0], name="lip", outline=rectangle(5 * MM, 16 * MM, 20 * MM, 21 * MM))
    _, moving = moving_sections(coil(20.5))
    stop = stop_above((*assembly.bodies, lip), moving)
    assert stop is not None
    assert (stop.body, round(1e3 * stop.room_m, 9)) == ("lip", 12.0)


# What is refused -----------------------------------------------------------------------------------------------


def _with(design: MotorDesign, index: int, **changes: object) -> MotorDesign:
    return design.with_part(design.parts[index].name, **changes)


def test_parts_that_overlap_are_refused_with_both_names() -> None:
    """Half the difference of the diameters is what both take up."""
    wide = _with(a2(), 2, outer_m=23.1 * MM)
    _refusal(wide, "motor.parts[3].on", "magnet", "cup wall", "0.05 mm in radius")
    thick = a1().with_part("pole", outer_m=25.2 * MM)
    _refusal(thick, "motor.parts[4].beside", "pole", "back plate")


def test_parts_that_only_touch_or_lap_by_a_micrometre_stand() -> None:
    """0.75 µm on the radius is a touch, 1.5 µm is not."""
    assemble(Design(motor=_with(a1(), 3, outer_m=25.0015 * MM)))
    _refusal(_with(a1(), 3, outer_m=25.003 * MM), "motor.parts[4].beside", "pole", "back plate")


def test_turned_parts_overlap_by_their_true_outlines() -> None:
    """A cone in a conical bore of the same slope, 0.5 mm apart, does not overlap it; lowered by 1.2 mm it enters the floor."""
    bore = PartDesign(
        name="bore", shape="turned", material=STEEL,
        profile_m=tuple((r * MM, z * MM) for r, z in ((12, 0), (20, 0), (20, 10), (17, 10))),
    )  # fmt: skip
    floor = ring("floor", 40, 10, 2)
    plug = PartDesign(
        name="plug", shape="turned", material=STEEL, placement=on("floor"),
        profile_m=tuple((r * MM, z * MM) for r, z in ((0, 0), (11.5, 0), (16.5, 10), (0, 10))),
    )  # fmt: skip
    motor = MotorDesign(parts=(floor, replace(bore, placement=on("floor")), plug), gap=("plug", "bore"))
    _refusal(motor, "motor.gap", "plug", "bore")  # no overlap, but no cylinder fits between the two either
    short = replace(
        plug, profile_m=tuple((r * MM, z * MM) for r, z in ((0, 0), (11.5, 0), (15.5, 8), (0, 8)))
    )
    low = replace(short, placement=Placement(how="beside", of="bore", align="bottom", offset_m=-1.2 * MM))
    _refusal(replace(motor, parts=(*motor.parts[:2], low)), "motor.parts[3].beside", "plug", "floor")


@pytest.mark.parametrize(
    ("index", "changes", "key", "words"),
    [
        (0, {"name": "magnet"}, "motor.parts[3].name", ("same name", "magnet")),
        (0, {"name": " "}, "motor.parts[1].name", ("name",)),
        (0, {"height_m": 0.0}, "motor.parts[1].height_mm", ("cup floor", "0 mm")),
        (0, {"outer_m": -1.0 * MM}, "motor.parts[1].outer_mm", ("cup floor", "-1 mm")),
        (0, {"outer_m": math.nan}, "motor.parts[1].outer_mm", ("cup floor",)),
        (0, {"outer_m": 31.0}, "motor.parts[1].outer_mm", ("31000 mm",)),
        (0, {"inner_m": 5 * MM}, "motor.parts[1].inner_mm", ("cup floor", "ring")),
        (1, {"inner_m": 31 * MM}, "motor.parts[2].inner_mm", ("cup wall", "31 mm inside, 31 mm outside")),
        (1, {"inner_m": None}, "motor.parts[2].inner_mm", ("cup wall", "nothing")),
        (1, {"profile_m": ((0.0, 0.0),)}, "motor.parts[2].profile_mm", ("cup wall", "turned")),
        (1, {"placement": None}, "motor.parts[2].name", ("cup wall", "on, under, beside")),
        (1, {"placement": on("lid")}, "motor.parts[2].on", ("cup wall", "lid", "cup floor, magnet, pole plate")),
        (1, {"placement": on("cup wall")}, "motor.parts[2].on", ("cup wall",)),
        (1, {"placement": on("cup floor", -0.1)}, "motor.parts[2].glue_mm", ("cup wall", "cup floor", "-0.1 mm")),
        (1, {"placement": on("cup floor", 3)}, "motor.parts[2].glue_mm", ("spacer",)),
        (1, {"placement": on("pole plate")}, "motor.parts[2].on", ("cup wall", "pole plate", "23 to 31 mm")),
        (1, {"magnetised": "up"}, "motor.parts[2].magnetised", ("cup wall", "no magnet")),
        (2, {"magnetised": None}, "motor.parts[3].magnetised", ("magnet", "up, down, outwards, inwards")),
        (1, {"turns": 10.0, "current_a": 1.0}, "motor.parts[2].material", ("cup wall", "iron")),
        (1, {"material": COPPER, "current_a": 1.0}, "motor.parts[2].turns", ("cup wall",)),
        (1, {"material": COPPER, "turns": 3.0}, "motor.parts[2].current_a", ("cup wall",)),
        (0, {"placement": on("magnet")}, "motor.parts[1].on", ("cup floor", "first part")),
    ],
)  # fmt: skip
def test_a_part_that_cannot_be_is_refused(
    index: int, changes: dict[str, object], key: str, words: tuple[str, ...]
) -> None:
    """Every key of a part has its refusal, with the part's name."""
    _refusal(_with(a2(), index, **changes), key, *words)


@pytest.mark.parametrize(
    ("profile", "word"),
    [
        (((0, 0), (1, 0)), "three corners"),
        (((0, 0), (1, 0), (2, 0)), "itself"),
        (((0, 0), (10, 10), (10, 0), (0, 10)), "cross"),
        (((-1, 0), (10, 0), (10, 10)), "radii"),
        (((0, 0), (0.01, 0), (0.01, 0.01)), "enclose"),
    ],
)
def test_a_profile_that_bounds_nothing_is_refused(
    profile: tuple[tuple[float, float], ...], word: str
) -> None:
    """Too few corners, corners on a line, a bow tie, a radius below zero, no area."""
    turned = PartDesign(
        name="yoke", shape="turned", material=STEEL, profile_m=tuple((r * MM, z * MM) for r, z in profile)
    )
    _refusal(MotorDesign(parts=(turned,), gap=("yoke", "yoke")), "motor.parts[1].profile_mm", "yoke", word)


def test_a_circle_is_refused_with_the_parts_in_it() -> None:
    """The circle is told part by part."""
    circle = a2().with_part("magnet", placement=on("pole plate"))
    _refusal(circle, "motor.parts[3].on", "magnet on pole plate on magnet", "cup floor")


def test_a_part_in_the_air_is_refused_unless_glue_fills_its_joint() -> None:
    """A ring 0.1 mm wider than the plate it stands around."""
    cap = ring("cap", 22.5, 20.2, 3, material=COPPER, placement=Placement(how="beside", of="pole plate"))
    _refusal(
        replace(a2(), parts=(*a2().parts, cap)),
        "motor.parts[5].beside",
        "cap",
        "0.1 mm of air to",
        "pole plate",
    )
    glued = replace(cap, placement=Placement(how="beside", of="pole plate", glue_m=0.1 * MM))
    assemble(Design(motor=replace(a2(), parts=(*a2().parts, glued))))


def test_a_pair_without_a_gap_is_refused() -> None:
    """A pair at different heights, the wrong way round, unknown, alike, and no parts at all."""
    _refusal(
        replace(a2(), gap=("pole plate", "cup floor")),
        "motor.gap",
        "pole plate",
        "cup floor",
        "10 mm of height",
    )
    _refusal(replace(a2(), gap=("cup wall", "pole plate")), "motor.gap", "Name the inner part first")
    _refusal(replace(a2(), gap=("pole plate", "lid")), "motor.gap", "lid")
    _refusal(replace(a2(), gap=("magnet", "magnet")), "motor.gap", "different")
    _refusal(MotorDesign(parts=(), gap=("a", "b")), "motor.parts", "none")


def test_magnets_warmer_or_colder_than_their_grade_bears_are_refused() -> None:
    """80 °C is the limit of a plain neodymium grade."""
    _refusal(
        replace(a2(), temperature_c=81.0),
        "motor.temperature_c",
        "magnet of N",
        "81 °C",
        "-40 to 80 °C",
        "cooler",
    )
    _refusal(replace(a2(), temperature_c=-60.0), "motor.temperature_c", "warmer")
    _refusal(replace(a2(), temperature_c=math.inf), "motor.temperature_c")
    assemble(Design(motor=replace(a2(), temperature_c=80.0)))
    hot = a2().with_part("magnet", material=grade("SH", highest_c=150.0))
    assemble(Design(motor=replace(hot, temperature_c=140.0)))


def test_a_coil_in_the_way_is_refused_with_the_part_it_meets() -> None:
    """The gap goes from 20 to 23 mm; former and winding take 0.8 mm on the radius."""
    narrow = Design(motor=a2(), coil=coil(20.0))
    _refusal(narrow, "coil.former_inner_mm", "coil and pole plate")
    wide = Design(motor=a2(), coil=coil(21.4))
    _refusal(wide, "coil.layers", "coil and cup wall")
    assemble(Design(motor=a2(), coil=coil(21.3)))
    _refusal(
        Design(motor=a2(), coil=coil(30.0)), "coil.former_inner_mm", "pole plate and cup wall", "20 to 23 mm"
    )


def test_a_cap_in_the_gap_counts_for_the_clearance() -> None:
    """A copper cap of 0.3 mm: the coil meets it, and with clearance it is the wall; the gap of the field stays from steel to steel."""
    cap = ring("cap", 20.6, 20, 4, material=COPPER, placement=Placement(how="beside", of="pole plate"))
    motor = replace(a2(), parts=(*a2().parts, cap))
    _refusal(Design(motor=motor, coil=coil(20.5)), "coil.former_inner_mm", "coil and cap")
    assembly = assemble(Design(motor=motor, coil=coil(20.9)))
    clear = clear_gap(assembly)
    assert (clear.inner, clear.outer, _mm((clear.r_inner, clear.r_outer))) == (
        "cap",
        "cup wall",
        (10.3, 11.5),
    )
    assert _mm((assembly.gap.r_inner, assembly.gap.r_outer)) == (10, 11.5)


def test_a_coil_out_of_the_gap_is_refused() -> None:
    """A coil of 6 mm and a gap of 4 mm part at an offset of 5 mm."""
    _refusal(a2_with_coil(offset_m=5.5 * MM), "coil.offset_mm", "pole plate and cup wall", "0.5 mm")
    _refusal(a2_with_coil(offset_m=-5.0 * MM), "coil.offset_mm")
    assemble(a2_with_coil(offset_m=4.9 * MM))


def test_a_coil_that_would_hit_the_back_plate_is_refused_with_the_room_there_is() -> None:
    """A coil of 6 mm at rest in the middle, a floor 12 mm below: 9 mm."""
    design = a2_with_coil()
    assemble(replace(design, motor=replace(a2(), travel_m=8.9 * MM)))
    far = replace(design, motor=replace(a2(), travel_m=9.1 * MM))
    _refusal(far, "motor.travel_mm", "cup floor", "9.1 mm stated, 9 mm of room")
    _refusal(replace(a2(), travel_m=-1.0 * MM), "motor.travel_mm", "-1 mm")


def test_a_coil_that_would_hit_a_lip_on_its_way_out_is_refused() -> None:
    """A ring on the cup's wall reaches over the coil: 5 mm over the gap's edge, which is 2 mm over the middle; the former of 11 mm
    ends 8 mm over the middle, so it would stand in the lip already; one of 6 mm leaves 4 mm.
    """
    lip = ring("lip", 31, 15, 1, placement=on("rim"))
    motor = replace(
        a2(), parts=(*a2().parts, ring("rim", 31, 23, 5, material=PETG, placement=on("cup wall")), lip)
    )
    short = coil(20.5, former_height_m=6 * MM)
    assemble(Design(motor=replace(motor, travel_m=3.9 * MM), coil=short))
    _refusal(
        Design(motor=replace(motor, travel_m=4.1 * MM), coil=short),
        "motor.travel_mm",
        "lip",
        "4 mm of room outwards",
    )
    _refusal(Design(motor=motor, coil=coil(20.5)), "coil.former_inner_mm", "coil and lip")


# Polygons and bodies of revolution --------------------------------------------------------------------------------


def test_overlap_of_polygons_with_known_intersections() -> None:
    """Two unit squares shifted by a half; crossing bars; one inside the other; equal ones; triangles that meet in a corner only."""
    square = rectangle(1, 2, 0, 1)
    assert overlap(square, rectangle(1.5, 2.5, 0.5, 1.5)) == pytest.approx((0.5, 0.5))
    assert overlap(rectangle(0, 3, 1, 2), rectangle(1, 2, 0, 3)) == pytest.approx((1, 1))
    assert overlap(square, rectangle(1.2, 1.8, 0.2, 0.8)) == pytest.approx((0.6, 0.6))
    assert overlap(square, square) == pytest.approx((1, 1))
    assert overlap(square, rectangle(2, 3, 0, 1)) is None
    assert overlap(square, rectangle(1, 2, 1, 2)) is None
    assert overlap(((0, 0), (1, 0), (0, 1)), ((1, 1), (0, 1), (1, 0))) is None  # they share their long side
    corner = overlap(
        ((0, 0), (2, 0), (0, 2)), ((2, 2), (0, 2), (2, 0), (0.5, 0.5))
    )  # two slivers beside the corner
    assert corner is not None
    notch = (
        (0, 0),
        (3, 0),
        (3, 3),
        (2, 3),
        (2, 1),
        (1, 1),
        (1, 3),
        (0, 3),
    )  # a U: what stands in it does not overlap it
    assert overlap(notch, rectangle(1, 2, 1, 4)) is None
    assert overlap(notch, rectangle(1, 2, 0.9, 4)) == pytest.approx((1, 0.1))


def test_drop_comes_to_rest_on_the_highest_face_below() -> None:
    """A step of 1 on a floor of 0.5, a ring that spans both, one that is beside, and a cone on an edge: 45 degrees."""
    step = ((0, 0), (2, 0), (2, 0.5), (1, 0.5), (1, 1), (0, 1))
    assert drop(rectangle(0.5, 1.5, 0, 1), step) == pytest.approx(1.0)
    assert drop(rectangle(1, 2, 0, 1), step) == pytest.approx(0.5)
    assert drop(rectangle(2, 3, 0, 1), step) is None
    assert drop(((0, 0), (3, 3), (0, 3)), rectangle(1, 2, 0, 1)) == pytest.approx(0.0, abs=1e-6)


def test_distance_and_self_crossing() -> None:
    """A 3-4-5 triangle between two corners; squares, a bow tie, a corner on an edge."""
    assert distance(rectangle(0, 1, 0, 1), rectangle(4, 5, 5, 6)) == pytest.approx(5.0)
    assert distance(rectangle(0, 1, 0, 1), rectangle(0.5, 2, 0.5, 2)) == 0.0
    assert not crossing_edges(rectangle(0, 1, 0, 1))
    assert crossing_edges(((0, 0), (1, 1), (1, 0), (0, 1)))
    assert crossing_edges(((0, 0), (2, 0), (2, 1), (1, 0), (0, 1)))  # a corner on an edge


def volume(polygon: Polygon) -> float:
    """Volume of a steel body of that half-section."""
    return volume_m3(Body(name="any", outline=polygon, matter=SoftSteel(steel=STEEL)))


def test_volumes_of_bodies_of_revolution() -> None:
    """Cylinder, cone, tube and a torus of square section, by the school formulas (Pappus: 2 pi R A for the last)."""
    assert volume(rectangle(0, 2, 0, 3)) == pytest.approx(math.pi * 4 * 3)
    assert volume(((0, 0), (2, 0), (0, 6))) == pytest.approx(math.pi * 4 * 6 / 3)
    assert volume(rectangle(1, 2, 0, 3)) == pytest.approx(math.pi * 3 * 3)
    diamond = ((4, 0), (5, 1), (4, 2), (3, 1))
    assert signed_area(diamond) == pytest.approx(2.0)
    assert volume(diamond) == pytest.approx(2 * math.pi * 4 * 2.0)


def test_mass_of_a_magnet_ring() -> None:
    """A ring 60 x 32 x 10 mm has 20.232 cm3 (pi/4 (6.0² - 3.2²) 1.0), at 7500 kg/m3 that is 151.7 g."""
    body = assemble(Design(motor=a1())).body("magnet")
    assert mass_kg(body) == pytest.approx(0.25 * math.pi * (36 - 10.24) * 1e-6 * 7500)
