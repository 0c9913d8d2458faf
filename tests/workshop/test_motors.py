"""A design in ``version.toml``: read with what its keys stand for, refused with file, key and line, saved with comments kept,
solved once and then taken from the index, and what its parts cost.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import math
from pathlib import Path

import numpy as np
import pytest

from halfroll.core.errors import ConflictError, InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.catalogue import catalogue
from halfroll.motor import results
from halfroll.motor.coil.wound import wind
from halfroll.motor.placing.design_changes import design_changes
from halfroll.motor.results import AssemblyForce, BlockedImpedance
from halfroll.workshop import VersionRecord, Workshop
from halfroll.workshop import motor_studies as doors
from halfroll.workshop.motor_cost import cost_of
from halfroll.workshop.motor_design import EXAMPLE, path_of
from halfroll.workshop.motors import load_design, load_motor, save_design, solve_version
from halfroll.workshop.packing import pack, unpack_value
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.parts import add_part
from tests.workshop.knot import edit, knot_shop, refused_at, write

TODAY = dt.date(2026, 7, 1)


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """A workshop whose only version has the example design."""
    return knot_shop(tmp_path / "shop", EXAMPLE)


def test_the_example_in_the_error_is_a_motor(shop: Workshop) -> None:
    """The text that is offered can be pasted: a ring of 10 mm on 5 mm and a plate of 4 mm put the gap's middle at 17 mm."""
    motor = load_motor(shop, "knot/v1")
    assert motor.assembly.body("back plate").bounds == pytest.approx((0.010, 0.030, -0.017, -0.012))
    assert motor.assembly.gap.r_outer == pytest.approx(0.0112)
    magnet = motor.design.motor.parts[1]
    assert (magnet.part, magnet.outer_m, magnet.inner_m, magnet.height_m) == (
        "ferrite-ring-60x32x10",
        0.06,
        0.032,
        0.01,
    )
    assert magnet.material is catalogue().magnets["y30"]
    assert motor.design.coil is not None
    assert motor.assembly.winding is not None
    assert motor.assembly.winding.turns == 80


def test_without_a_motor_it_is_said_what_to_write(shop: Workshop) -> None:
    """The remedy holds a whole design."""
    shop.create_version("knot", "v2", VersionRecord(title="Two"))
    with pytest.raises(InputError) as caught:
        load_design(shop, "knot/v2")
    assert caught.value.place.key == "motor"
    assert "[[motor.parts]]" in str(caught.value)
    with pytest.raises(InputError, match="There is no version knot/v9"):
        load_design(shop, "knot/v9")


@pytest.mark.parametrize(
    ("old", "new", "key", "word"),
    [
        ('material = "y30"', 'material = "y31"', "motor.parts[2].material", "y30"),
        ('part = "ferrite-ring-60x32x10"', 'part = "ferrite-ring-60x32x11"', "motor.parts[2].part", "ferrite-ring-60x32x10"),
        ('on = "back plate"', 'on = "back plat"', "motor.parts[2].on", "back plate"),
        ('on = "back plate"', 'on = "back plate"\nunder = "pole"', "motor.parts[2].under", "exactly one"),
        ('on = "back plate"', 'on = "back plate"\noffset_mm = 1', "motor.parts[2].offset_mm", "beside"),
        ('magnetised = "down"\n', "", "motor.parts[2].magnetised", "magnet"),
        ("inner_mm = 22.4", "inner_mm = 19", "motor.parts[4].beside", "pole and top plate"),
        ("inner_mm = 22.4", "inner_mm = 60", "motor.parts[3].inner_mm", "60 mm inside"),
        ("height_mm = 4", "height_mm = 0.004", "motor.parts[3].height_mm", "in millimetres; found 0.004 mm. Allowed: 0.05 to 1000 mm"),
        ("height_mm = 4", 'height_mm = "4,2 mm"', "motor.parts[3].height_mm", "with a decimal point: 4.2"),
        ("turns = 80", 'turns = "80"', "coil.turns", "without quotes and unit, with a decimal point: 80"),
        ("former_wall_mm = 0.15", "former_wall_mm = 0.00015", "coil.former_wall_mm", "wall of the coil's former"),
        ('gap = ["pole", "top plate"]', 'gap = ["pole", "back plate"]\ntemperature_c = 20', "motor.gap", "pole"),
        ('gap = ["pole", "top plate"]', 'gap = ["pole", "top plate"]\ntemperature_c = 300', "motor.temperature_c", "250"),
        ('gap = ["pole", "top plate"]', 'gap = ["pole", "top plate"]\ntravel_mm = 9', "motor.travel_mm", "back plate"),
        ('wire = "cu-0.200-g1"', 'wire = "cu-0.201-g1"', "coil.wire", "cu-0.200-g1"),
        ('former_material = "polyimide"', 'former_material = "steel-1008"', "coil.former_material", "filament"),
        ("former_inner_mm = 20.6", "former_inner_mm = 20", "coil.former_inner_mm", "pole"),
        ("former_inner_mm = 20.6", "former_inner_mm = 2", "coil.former_inner_mm", "2 mm"),
        ("turns = 80", 'turns = 80\nglue = "honey"', "coil.glue", "epoxy"),
        ("turns = 80", "turns = 80\noffset_mm = 9", "coil.offset_mm", "gap"),
        ('shape = "ring"', 'shape = "turned"', "motor.parts[1].outer_mm", "profile"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_file_key_and_line(
    shop: Workshop, old: str, new: str, key: str, word: str
) -> None:
    """The line is that of the key, found in the file as it was written, or of the table when the key is missing."""
    refused_at(edit(shop, old, new), key, word, lambda: load_motor(shop, "knot/v1"))


@pytest.mark.parametrize(
    ("written", "remedy"),
    [("22,4", r"with a decimal point: 22\.4"), ("22.4 mm", r"without its unit, .*: 22\.4"), ("22.4mm", r"without its unit, .*: 22\.4")],
)  # fmt: skip
def test_a_number_that_is_none_in_toml_is_written_anew(shop: Workshop, written: str, remedy: str) -> None:
    """TOML has no decimal comma and no units: the line is named and how the number is written."""
    path = edit(shop, "inner_mm = 22.4", f"inner_mm = {written}")
    with pytest.raises(InputError, match=f"Write the number {remedy}") as caught:
        load_design(shop, "knot/v1")
    assert caught.value.place.line == path.read_text().split("\n").index(f"inner_mm = {written}") + 1


def test_a_corner_of_three_numbers_is_refused_in_words(shop: Workshop) -> None:
    """A profile's corners have two."""
    edit(
        shop,
        'shape = "disc"\nouter_mm = 20\nheight_mm = 19',
        'shape = "turned"\nprofile_mm = [[0, 0, 1], [9, 0], [9, 9]]',
    )
    with pytest.raises(
        InputError,
        match=r"profile_mm\[1\] of the version must have fewer entries; found .* Allowed: 2 at most",
    ):
        load_design(shop, "knot/v1")


def test_a_slip_in_a_key_of_the_design_is_refused_and_an_own_key_kept(shop: Workshop) -> None:
    """outer_m is a slip of outer_mm; own_box is nobody's."""
    path = edit(shop, "outer_mm = 60", "outer_m = 60")
    with pytest.raises(InputError, match="outer_mm") as caught:
        load_design(shop, "knot/v1")
    assert caught.value.place.line == path.read_text().split("\n").index("outer_m = 60") + 1
    edit(shop, "outer_m = 60", "outer_mm = 60\nown_box = 7")
    loaded = shop.version("knot/v1")
    assert [note.data["key"] for note in loaded.notes] == ["motor.parts[1].own_box"]
    assert loaded.record.motor is not None
    save_design(shop, "knot/v1", loaded.record.motor.changed(temperature_c=40.0), loaded.record.coil)
    assert "own_box = 7" in loaded.path.read_text()


def test_a_record_makes_the_round_trip(shop: Workshop) -> None:
    """What the reader made of the file is what a new file says again."""
    record = shop.version("knot/v1").record
    again = shop.create_version("knot", "v2", record).record
    assert again == record
    assert load_design(shop, "knot/v2") == load_design(shop, "knot/v1")


def test_a_save_touches_only_the_keys_that_differ(shop: Workshop) -> None:
    """Two lines change, the comment stays, and a second save from the old record is refused."""
    path = edit(shop, "outer_mm = 56", "outer_mm = 56  # the thick washer")
    before = path.read_text().split("\n")
    loaded = shop.version("knot/v1")
    motor = loaded.record.motor
    assert motor is not None
    plate = motor.parts[2].changed(height_mm=5.0, glue_mm=0.1)
    save_design(shop, "knot/v1", motor.changed(parts=(*motor.parts[:2], plate, motor.parts[3])), loaded.record.coil,
                revision=loaded.revision)  # fmt: skip
    after = path.read_text().split("\n")
    assert set(after) - set(before) == {"height_mm = 5.0", "glue_mm = 0.1"}
    assert "outer_mm = 56  # the thick washer" in after
    with pytest.raises(ConflictError, match="changed by somebody else"):
        save_design(shop, "knot/v1", motor, loaded.record.coil, revision=loaded.revision)
    assert path.read_text().split("\n") == after


def test_what_cannot_be_built_is_not_saved(shop: Workshop) -> None:
    """A pole too thick for its hole leaves the file as it was."""
    loaded = shop.version("knot/v1")
    motor, before = loaded.record.motor, loaded.path.read_bytes()
    assert motor is not None
    thick = motor.parts[3].changed(outer_mm=23.0)
    with pytest.raises(InputError) as caught:
        save_design(shop, "knot/v1", motor.changed(parts=(*motor.parts[:3], thick)), loaded.record.coil)
    assert caught.value.place.key == "motor.parts[4].beside"
    assert loaded.path.read_bytes() == before


def test_keys_of_errors_lead_to_their_lines() -> None:
    """Entries count from 1 in a key and from 0 in a path."""
    assert path_of("motor.parts[2].on") == ("motor", "parts", 1, "on")
    assert path_of("coil") == ("coil",)


# Solving ---------------------------------------------------------------------------------------------------------


class _Counted:
    """Stands for the slow studies: counts how often each is asked for."""

    def __init__(self) -> None:
        self.calls: list[str] = []

    def inductance(self, case: doors.Case, progress: Progress) -> BlockedImpedance:
        self.calls.append("inductance")
        progress(0.5, "half")
        return BlockedImpedance(
            frequency_hz=np.array([100.0]), x_m=np.array([0.0]), inductance_h=np.array([[1e-3]]),
            resistance_ohm=np.array([[0.5]]), u_rel=0.01, verdicts=(Verdict(code="x", severity=Severity.NOTE, text="t"),),
        )  # fmt: skip

    def forces(self, case: doors.Case, progress: Progress) -> tuple[AssemblyForce, ...]:
        self.calls.append("forces")
        return (
            AssemblyForce(body="magnet", distance_m=np.array([0.01]), force_n=np.array([3.0]), u_rel=0.02),
        )


def test_results_are_kept_until_the_design_changes(shop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each study runs once, also for a workshop opened anew; 0.01 mm on a plate makes it run again."""
    studies = _Counted()
    monkeypatch.setitem(doors._STUDIES, "inductance", studies.inductance)
    monkeypatch.setitem(doors._STUDIES, "forces", studies.forces)
    seen: list[float] = []
    first = solve_version(shop, "knot/v1", ("forces", "inductance"), lambda done, _: seen.append(done))
    again = solve_version(Workshop.open(shop.folder), "knot/v1", ("inductance", "forces"), silent)
    assert studies.calls == ["inductance", "forces"]
    assert seen == [pytest.approx(1.5 / 24), 1.0]
    assert again.motor is None
    assert again.inductance is not None
    assert first.inductance is not None
    assert np.array_equal(again.inductance.inductance_h, first.inductance.inductance_h)
    assert again.inductance.verdicts == first.inductance.verdicts
    assert again.forces[0].force_n[0] == 3.0
    edit(shop, "height_mm = 4", "height_mm = 4.01")
    solve_version(shop, "knot/v1", ("inductance",), silent)
    assert studies.calls == ["inductance", "forces", "inductance"]


def test_every_result_can_be_kept() -> None:
    """Each class of `motor.results`, filled with something of every kind, comes back equal."""
    kinds = [
        kind
        for kind in vars(results).values()
        if dataclasses.is_dataclass(kind) and kind.__module__ == results.__name__
    ]
    assert results.MotorResult in kinds
    for kind in kinds:
        names = [field.name for field in dataclasses.fields(kind)]
        value = kind(**{name: (np.arange(3.0), (1.5, "a"), None)[i % 3] for i, name in enumerate(names)})
        back = unpack_value(pack(value))
        assert type(back) is kind
        for name in names:
            assert np.array_equal(getattr(back, name), getattr(value, name))


# Cost and changes --------------------------------------------------------------------------------------------------


def test_cost_counts_pieces_wire_and_prints_and_says_what_has_no_price(shop: Workshop) -> None:
    """Worked by hand: one of four magnets for 10 EUR; wire at 8 EUR for 100 m; the plates and the former have no record."""
    add_part(shop, "ring", PartRecord(
        type="magnet", catalogue="ferrite-ring-60x32x10", price=10.0, currency="EUR", pack_size=4, date=dt.date(2026, 6, 1)
    ))  # fmt: skip
    add_part(shop, "spool", PartRecord(
        type="wire", catalogue="cu-0.200-g1", price=8.0, currency="EUR", pack_size=100, pack_unit="m", date=dt.date(2026, 6, 1)
    ))  # fmt: skip
    design = load_design(shop, "knot/v1")
    found = cost_of(shop, design, TODAY)
    assert design.coil is not None
    metres = wind(design.coil).wire_to_buy_m
    assert found.used == {"EUR": pytest.approx(10.0 / 4 + 0.08 * metres)}
    assert found.to_pay == {"EUR": pytest.approx(18.0)}
    assert found.missing == ("back plate", "top plate", "pole", "former")
    assert [verdict.code for verdict in found.verdicts] == ["cost-incomplete"]
    lines = {line.what: line for line in found.lines}
    assert lines["magnet"].part_id == "ring"
    assert lines["pole"].cost is None


def test_two_magnets_of_one_record_come_from_one_pack_and_a_record_without_price_is_said(
    shop: Workshop,
) -> None:
    """Two needed, one in stock, one pack to buy at a price nobody stated."""
    add_part(shop, "ring", PartRecord(type="magnet", catalogue="ferrite-ring-60x32x10", stock=1))
    edit(shop, 'on = "magnet"', 'on = "second"')
    path = shop.version("knot/v1").path
    second = '[[motor.parts]]\nname = "second"\npart = "ring"\nmaterial = "y30"\nmagnetised = "down"\non = "magnet"\n\n[coil]'
    write(path, path.read_text().replace("[coil]", second).replace("height_mm = 19", "height_mm = 29"))
    found = cost_of(shop, load_design(shop, "knot/v1"), TODAY)
    line = next(line for line in found.lines if line.part_id == "ring")
    assert line.what == "magnet, second"
    assert line.cost is not None
    assert (line.cost.amount, line.cost.packs, line.cost.used) == (2.0, 1, None)
    assert "magnet, second" in found.missing
    assert {v.code for v in found.verdicts} == {"cost-incomplete", "no-price"}


def test_prints_of_one_spool_are_added(shop: Workshop) -> None:
    """A spacer and the former both of the spool "grey": 25 EUR a kilogram for the mass of both, by hand."""
    add_part(shop, "grey", PartRecord(
        type="filament", material="petg", price=25.0, currency="EUR", pack_size=1000, pack_unit="g", date=dt.date(2026, 6, 1)
    ))  # fmt: skip
    edit(shop, '"polyimide"', '"grey"')
    edit(shop, "[coil]", '[[motor.parts]]\nname = "foot"\nshape = "ring"\nouter_mm = 60\ninner_mm = 40\nheight_mm = 3\n'
          'material = "petg"\nunder = "back plate"\n\n[coil]')  # fmt: skip
    design = load_design(shop, "knot/v1")
    assert design.coil is not None
    foot = math.pi / 4 * (60**2 - 40**2) * 3 * 1.27e-3
    line = next(line for line in cost_of(shop, design, TODAY).lines if line.part_id == "grey")
    assert line.what == "foot, former"
    assert line.cost is not None
    assert line.cost.used == pytest.approx(0.025 * (foot + 1e3 * wind(design.coil).masses.former), rel=1e-6)


def test_of_several_records_the_one_with_a_price_and_of_the_same_grade_counts(shop: Workshop) -> None:
    """The example's ring is of Y30: a ring of Y35 is another thing, and of two of Y30 the one without a price says nothing."""
    ring = {
        "type": "magnet",
        "catalogue": "ferrite-ring-60x32x10",
        "currency": "EUR",
        "date": dt.date(2026, 6, 1),
    }
    add_part(shop, "a-strong", PartRecord(**ring, material="y35", price=9.0))
    assert "magnet" in cost_of(shop, load_design(shop, "knot/v1"), TODAY).missing
    add_part(shop, "b-drawer", PartRecord(type="magnet", catalogue="ferrite-ring-60x32x10"))
    add_part(shop, "c-shop", PartRecord(**ring, material="y30", price=4.0))
    found = cost_of(shop, load_design(shop, "knot/v1"), TODAY)
    assert next(line for line in found.lines if line.what == "magnet").part_id == "c-shop"
    assert found.used == {"EUR": pytest.approx(4.0)}


def test_changes_between_two_designs_are_named_with_their_sizes(shop: Workshop) -> None:
    """A height, turns, an offset and a grade; nothing between a design and itself."""
    before = load_design(shop, "knot/v1")
    edit(shop, "height_mm = 4", "height_mm = 5.5")
    edit(shop, "turns = 80", "turns = 92\noffset_mm = 0.3")
    edit(shop, 'material = "y30"', 'material = "y35"')
    after = load_design(shop, "knot/v1")
    found = {change.key: change for change in design_changes(before, after)}
    assert set(found) == {
        "motor.parts.magnet.material",
        "motor.parts.top plate.height_mm",
        "coil.turns",
        "coil.offset_mm",
    }
    height = found["motor.parts.top plate.height_mm"]
    assert (height.what, height.before, height.after) == ("top plate height", "4 mm", "5.5 mm")
    assert height.delta_mm is not None
    assert math.isclose(height.delta_mm, 1.5)
    assert (found["coil.turns"].before, found["coil.turns"].after) == ("80", "92")
    assert design_changes(before, before) == ()
