"""Moving parts in ``version.toml``: read with what their keys stand for, refused with file, key and line, saved with comments kept,
copied to another version, compared, solved once and then taken from the index.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from halfroll.core.errors import ConflictError, InputError
from halfroll.materials.catalogue import catalogue
from halfroll.motor.coil.wound import wind
from halfroll.suspension.design import FlexureDesign, StripDesign
from halfroll.workshop import DriverRecord, VersionRecord, Workshop
from halfroll.workshop.motor_design import EXAMPLE as MOTOR
from halfroll.workshop.motors import load_design
from halfroll.workshop.paths import record_path
from halfroll.workshop.suspension_design import EXAMPLE
from halfroll.workshop.suspensions import MovingTables, changes_between, load_moving, save_moving

ARMS = """\
[spider]
family = "spiral-arms"
inner_mm = 20.9
outer_mm = 56
thickness_mm = 0.8
width_mm = 3
arms = 4
sweep_deg = 90
material = "tpu-95a"
"""


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """A workshop whose only version has the example motor and the example moving parts."""
    return _shop(tmp_path / "shop", MOTOR + "\n" + EXAMPLE)


def _shop(folder: Path, text: str) -> Workshop:
    workshop = Workshop.init(folder, "Shop", durable=False)
    workshop.create_driver("knot", DriverRecord(title="Knot"))
    loaded = workshop.create_version("knot", "v1", VersionRecord(title="One"))
    _write(loaded.path, loaded.path.read_text() + "\n" + text)
    return workshop


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")


def _edit(workshop: Workshop, old: str, new: str) -> Path:
    path = record_path(workshop.folder, "knot/v1")
    text = path.read_text(encoding="utf-8")
    assert text.count(old) >= 1
    _write(path, text.replace(old, new, 1))
    return path


def test_the_example_in_the_error_is_a_suspension(shop: Workshop) -> None:
    """Millimetres of diameter become metres of radius, keys their materials, and heights follow from what touches: the former goes on from
    the winding's inner end (offset 0), the cone stands on it, the surround at the cone's edge, the spider between winding and cone.
    """
    design = load_moving(shop, "knot/v1")
    coil = load_design(shop, "knot/v1").coil
    assert coil is not None
    wound = wind(coil)
    surround, spider, cone, former = design.surround, design.spider, design.cone, design.former
    assert isinstance(surround, StripDesign)
    assert isinstance(spider, StripDesign)
    assert cone is not None
    assert former is not None
    assert (surround.inner_radius_m, surround.outer_radius_m) == pytest.approx((0.034, 0.042))
    assert surround.material is catalogue().filaments["tpu-95a"]
    assert former.high_m == pytest.approx(-0.5 * wound.height_m + wound.former_height_m)
    assert former.winding_kg + former.former_kg == pytest.approx(wound.mass_kg)
    assert cone.height_over_gap_m == former.high_m
    assert surround.height_over_gap_m == pytest.approx(former.high_m + 0.014)
    assert spider.height_over_gap_m == pytest.approx(0.5 * (0.5 * wound.height_m + former.high_m))
    assert (design.glue_kg, design.travel_m) == (pytest.approx(0.4e-3), pytest.approx(4e-3))


def test_a_stated_height_goes_before_what_follows(shop: Workshop) -> None:
    """at_mm of the surround, and the motor's travel where [moving] states none."""
    _edit(shop, "outer_mm = 84", "outer_mm = 84\nat_mm = 21.5")
    _edit(shop, "travel_mm = 4\n", "")
    _edit(shop, 'gap = ["pole", "top plate"]', 'gap = ["pole", "top plate"]\ntravel_mm = 2.5')
    design = load_moving(shop, "knot/v1")
    assert design.surround is not None
    assert design.surround.height_over_gap_m == pytest.approx(0.0215)
    assert design.travel_m == pytest.approx(2.5e-3)


def test_arms_become_a_flexure(tmp_path: Path) -> None:
    """A spider of arms without anything else in the record."""
    spider = load_moving(_shop(tmp_path / "shop", ARMS), "knot/v1").spider
    assert isinstance(spider, FlexureDesign)
    assert spider.sweep_rad == pytest.approx(math.pi / 2)
    assert (spider.arms, spider.hub, spider.height_over_gap_m) == (4, "held", 0.0)


def test_without_moving_parts_it_is_said_what_to_write(shop: Workshop) -> None:
    """The remedy holds a whole example."""
    shop.create_version("knot", "v2", VersionRecord(title="Two"))
    with pytest.raises(InputError) as caught:
        load_moving(shop, "knot/v2")
    assert caught.value.place.key == "surround"
    assert EXAMPLE.strip() in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "key", "word"),
    [
        ('family = "half-roll"', 'family = "half roll"', "surround.family", "half-roll"),
        ('material = "tpu-95a"', 'material = "tpu-95b"', "surround.material", "tpu-95a"),
        ('material = "tpu-95a"', 'material = "steel-1008"', "surround.material", "filament"),
        ("thickness_mm = 0.42", 'thickness_mm = "0,42 mm"', "surround.thickness_mm", "with a decimal point: 0.42"),
        ("thickness_mm = 0.42", "thickness_mm = 0.42\narms = 4", "surround.arms", "straight-legs and spiral-arms"),
        ("thickness_mm = 0.42", "thickness_mm = 0.42\nrolls = 4", "surround.rolls", "corrugated"),
        ("thickness_mm = 0.42", "thickness_mm = 0.42\npoints_mm = [[1, 2]]", "surround.points_mm", "free"),
        ("outer_mm = 84\n", "", "surround.outer_mm", "missing"),
        ("inner_mm = 68", "inner_mm = -68", "surround.inner_mm", "diameter"),
        ('raster = "around"', 'raster = "around"\ninfill = 40', "surround.print.infill", "write 0.4"),
        ('raster = "around"', 'raster = "round"', "surround.print.raster", "around"),
        ('raster = "around"', 'raster = "around"\nlayer_mm = 20', "surround.print.layer_mm", "0.02 to 3"),
        ('raster = "around"', 'raster = "around"\nslicer_g = 0', "surround.print.slicer_g", "above 0"),
        ("depth_mm = 14", "", "cone.depth_mm", "missing"),
        ("depth_mm = 14", "depth_mm = 14\nflare_mm = 2", "cone.flare_mm", "flared"),
        ("glue_g = 0.4", "glue_g = -0.4", "moving.glue_g", "0 to 1000 g"),
        ("travel_mm = 4", "travel_mm = 400", "moving.travel_mm", "0.05 to 100"),
        ('wire = "cu-0.200-g1"', 'wire = "cu-0.201-g1"', "coil.wire", "cu-0.200-g1"),
        ('family = "half-roll"', 'family = "free"\npoints = "roll.svg"', "surround.points", "no file roll.svg"),
        ('family = "half-roll"', 'family = "free"\npoints = "../roll.svg"', "surround.points", "same folder"),
        ('family = "half-roll"', 'family = "free"\npoints_mm = [[30, 0], [42, 0]]', "surround.inner_mm", "Leave out inner_mm"),
        ('family = "half-roll"', 'family = "free"', "surround.points_mm", "points_mm = [[r, z], ...]"),
        ('shape = "straight"', 'shape = "straight"\npoints_mm = [[1, 2]]', "cone.points_mm", "free"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_file_key_and_line(
    shop: Workshop, old: str, new: str, key: str, word: str
) -> None:
    """The line is that of the key as it was written, or of its table when the key is missing."""
    path = _edit(shop, old, new)
    with pytest.raises(InputError) as caught:
        load_moving(shop, "knot/v1")
    place = caught.value.place
    assert (place.file, place.key) == (str(path), key)
    assert place.line is not None
    line = path.read_text().split("\n")[place.line - 1]
    assert key.rpartition(".")[2] in line or line == f"[{key.partition('.')[0]}]"
    assert word in str(caught.value)


def test_a_legless_flexure_is_refused(tmp_path: Path) -> None:
    """Arms need a width, and a flat part has no roll's height."""
    shop = _shop(tmp_path / "shop", ARMS)
    path = _edit(shop, "width_mm = 3\n", "")
    with pytest.raises(InputError, match="width_mm of the spider is missing"):
        load_moving(shop, "knot/v1")
    _write(path, path.read_text().replace("arms = 4", "arms = 4\nwidth_mm = 3\nheight_mm = 4"))
    with pytest.raises(InputError, match="height_mm of the spider has no meaning"):
        load_moving(shop, "knot/v1")


def test_a_save_touches_only_the_keys_that_differ(shop: Workshop) -> None:
    """One line changes, the comment stays, and a second save from the old record is refused."""
    path = _edit(shop, "thickness_mm = 0.42", "thickness_mm = 0.42  # two lines would be 0.84")
    before = path.read_text().split("\n")
    loaded = shop.version("knot/v1")
    tables = MovingTables.of(loaded.record)
    assert tables.surround is not None
    thick = MovingTables(**{**vars(tables), "surround": tables.surround.changed(outer_mm=86.0)})
    save_moving(shop, "knot/v1", thick, revision=loaded.revision)
    after = path.read_text().split("\n")
    assert set(after) - set(before) == {"outer_mm = 86.0"}
    with pytest.raises(ConflictError, match="changed by somebody else"):
        save_moving(shop, "knot/v1", tables, revision=loaded.revision)
    assert path.read_text().split("\n") == after


def test_what_cannot_be_is_not_saved(shop: Workshop) -> None:
    """A material that does not exist leaves the file as it was; no part at all is a save too."""
    loaded = shop.version("knot/v1")
    before = loaded.path.read_bytes()
    tables = MovingTables.of(loaded.record)
    assert tables.cap is not None
    with pytest.raises(InputError, match="material"):
        save_moving(shop, "knot/v1", MovingTables(cap=tables.cap.changed(material="wax")))
    assert loaded.path.read_bytes() == before
    assert save_moving(shop, "knot/v1", MovingTables()).record.surround is None


def test_a_record_makes_the_round_trip(shop: Workshop) -> None:
    """What the reader made of the file is what a new file says again."""
    record = shop.version("knot/v1").record
    assert shop.create_version("knot", "v2", record).record == record
    assert load_moving(shop, "knot/v2") == load_moving(shop, "knot/v1")


def test_changes_between_two_versions_are_named_with_their_sizes(shop: Workshop) -> None:
    """A thickness, a filament, a raster and a cap that goes; nothing between a design and itself."""
    record = shop.version("knot/v1").record
    shop.create_version("knot", "v2", record.changed(cap=None))
    path = record_path(shop.folder, "knot/v2")
    text = (
        path.read_text()
        .replace("thickness_mm = 0.42", "thickness_mm = 0.6")
        .replace('"tpu-95a"', '"tpu-85a"', 1)
    )
    _write(path, text.replace('raster = "around"', 'raster = "crossed"', 1))
    found = {change.key: change for change in changes_between(shop, "knot/v1", "knot/v2")}
    assert set(found) == {"surround.thickness_mm", "surround.material", "surround.print.raster", "cap"}
    thickness = found["surround.thickness_mm"]
    assert (thickness.what, thickness.before, thickness.after) == ("surround thickness", "0.42 mm", "0.6 mm")
    assert thickness.delta_mm == pytest.approx(0.18)
    assert (found["surround.material"].before, found["surround.material"].after) == ("TPU 95A", "TPU 85A")
    assert (found["cap"].before, found["cap"].after) == ("cap, 26 mm, 0.6 mm of PETG", "")
    assert changes_between(shop, "knot/v1", "knot/v1") == ()
