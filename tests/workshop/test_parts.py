"""Parts and materials of one's own: kept whole, looked up beside the catalogue, and what an amount costs."""

import datetime as dt
from pathlib import Path

import pytest

from halfroll.core.errors import ConflictError, InputError
from halfroll.materials.types import MagnetGrade, Steel
from halfroll.workshop import Workshop
from halfroll.workshop.contents import read_contents
from halfroll.workshop.material_record import MagnetTable, MaterialRecord, SteelTable
from halfroll.workshop.part_cost import cost, in_pack_unit, price_verdicts
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.part_rows import cost_words, material_rows, part_rows
from halfroll.workshop.parts import (
    add_material,
    add_part,
    add_steel,
    load_material,
    load_part,
    lookups,
    material_ids,
    own_parts,
    part_ids,
    resolve,
    save_part,
)
from halfroll.workshop.stock import standings

TODAY = dt.date(2026, 11, 25)
BAR = "# ring test of a bar\nh_a_m, b_t\n0, 0\n100, 0.5\n300, 1.0\n900, 1.5\n5000, 1.7\n20000, 1.95\n"
SPOOL = PartRecord(type="wire", catalogue="cu-0.200-g1", price=12.0, currency="EUR", pack_size=100.0, pack_unit="g",
                   stock=1.0, date=dt.date(2026, 3, 1))  # fmt: skip
DISC = PartRecord(
    type="magnet", catalogue="nd-disc-20x5", material="n42", price=8.4, currency="EUR", pack_size=4.0
)


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """An empty workshop."""
    return Workshop.init(tmp_path / "shop", "Saltmarsh Workshop")


def text(shop: Workshop, place: str, content: str) -> Path:
    """Write a file by hand."""
    path = shop.folder / place
    path.parent.mkdir(exist_ok=True)
    path.write_text(content, encoding="utf-8")
    return path


def test_an_own_part_is_found_beside_the_catalogue(shop: Workshop) -> None:
    """By its id, with shape of the catalogue and material of its own; a spool is found as a wire too."""
    add_part(shop, "big-magnet", DISC)
    add_part(shop, "spool", SPOOL)
    assert part_ids(shop) == ["big-magnet", "spool"]
    known = lookups(shop)
    disc = resolve(shop, "big-magnet")
    assert (disc.shape, disc.outer_m, disc.height_m, disc.material) == ("disc", 0.02, 0.005, "n42")
    assert known.part("nd-disc-20x5").material is None
    wire = known.wire("spool")
    assert (wire.key, wire.bare_m) == ("spool", 0.2e-3)
    assert known.part("spool").wire == "cu-0.200-g1"


def test_a_part_of_its_own_shape(shop: Workshop) -> None:
    """A ring and a turned part in metres, of a material of one's own."""
    add_material(
        shop,
        "my-n42",
        MaterialRecord(magnet=MagnetTable(like="n42", br_t=1.24), source="field over the disc"),
    )
    add_part(
        shop,
        "ring",
        PartRecord(
            type="magnet", shape="ring", outer_mm=60.0, inner_mm=24.0, height_mm=10.0, material="my-n42"
        ),
    )
    add_part(shop, "pole", PartRecord(type="other", shape="turned", material="steel-1008",
                                      profile_mm=((0.0, 0.0), (10.0, 0.0), (10.0, 20.0), (0.0, 20.0))))  # fmt: skip
    ring, pole = resolve(shop, "ring"), resolve(shop, "pole")
    assert (ring.outer_m, ring.inner_m, ring.height_m) == pytest.approx((0.06, 0.024, 0.01))
    assert pole.profile_m[2] == pytest.approx((0.01, 0.02))
    grade = lookups(shop).material("my-n42")
    assert isinstance(grade, MagnetGrade)
    assert (grade.br_t, grade.hcj_a_m, grade.origin.support) == (1.24, 955e3, "own")
    assert "field over the disc" in grade.origin.source


def test_a_steel_from_a_table(shop: Workshop, tmp_path: Path) -> None:
    """The CSV is copied beside the record and read from there; a second of the name is refused and nothing is lost."""
    table = tmp_path / "bar.csv"
    table.write_text(BAR, encoding="utf-8")
    record = MaterialRecord(title="Bright bar", steel=SteelTable(table="bar.csv", h_factor_u=0.1))
    add_steel(shop, "bar", table, record)
    assert (shop.folder / "materials" / "bar.csv").read_text(encoding="utf-8") == BAR
    steel = lookups(shop).material("bar")
    assert isinstance(steel, Steel)
    assert (steel.h_a_m[3], steel.b_t[3], steel.h_factor_u) == (900.0, 1.5, 0.1)
    with pytest.raises(InputError, match="There is a material bar already"):
        add_steel(shop, "bar", table, record)
    assert material_ids(shop) == ["bar"]
    assert [row["what"] for row in material_rows(own_parts(shop))] == ["steel"]


def test_a_material_cannot_hide_another_kind_of_the_catalogue(shop: Workshop, tmp_path: Path) -> None:
    """A steel n42 would take the magnet grade from every design; a grade n42 of one's own is somebody's right."""
    table = tmp_path / "bar.csv"
    table.write_text(BAR, encoding="utf-8")
    with pytest.raises(InputError, match="found n42, a magnet"):
        add_steel(shop, "n42", table, MaterialRecord(steel=SteelTable(table="n42.csv")))
    assert not (shop.folder / "materials").exists()
    add_material(shop, "n42", MaterialRecord(magnet=MagnetTable(like="n42", br_t=1.25)))
    grade = lookups(shop).material("n42")
    assert isinstance(grade, MagnetGrade)
    assert grade.br_t == 1.25


@pytest.mark.parametrize(("content", "words", "line"), [
    (BAR.replace("900, 1.5", "900, 0.9"), "Row 4 of the B-H table must have a larger flux density", 6),
    (BAR.replace("0, 0\n", "5, 0\n", 1), "Row 1 of the B-H table must be 0 A/m", 3),
    (BAR.replace("h_a_m, b_t", "field, flux"), "a column h_a_m and a column b_t; found field, flux", 2),
    (BAR.replace("900, 1.5", "900, high"), "must be a number", 6),
])  # fmt: skip
def test_a_table_that_is_no_curve_is_refused(
    shop: Workshop, tmp_path: Path, content: str, words: str, line: int
) -> None:
    """File and line are named, and nothing is left in the workshop."""
    table = tmp_path / "bar.csv"
    table.write_text(content, encoding="utf-8")
    with pytest.raises(InputError, match=words) as caught:
        add_steel(shop, "bar", table, MaterialRecord(steel=SteelTable(table="bar.csv")))
    assert (caught.value.place.file, caught.value.place.line) == (str(table), line)
    assert not (shop.folder / "materials").exists()


PARTS = [
    ('type = "ring"\nshape = "ring"\nouter_mm = 0.06\ninner_mm = 0.025\nheight_mm = 5.0', "inner_mm", "at least 0.05; found 0.025", 5),
    ('type = "magnet"\nouter_mm = 20.0', "shape", "must say what the sizes are of", None),
    ('type = "ring"\nshape = "ring"\nouter_mm = 20.0\ninner_mm = 25.0\nheight_mm = 3.0', "inner_mm", "smaller than outer_mm", 5),
    ('type = "ring"\nshape = "ring"\nouter_mm = 20.0\nheight_mm = 3.0', "inner_mm", "must be stated for a ring", None),
    ('type = "ring"\nshape = "disc"\nouter_mm = 20.0\ninner_mm = 3.0\nheight_mm = 3.0', "inner_mm", "not be stated for a disc", 5),
    ('type = "washer"\ncatalogue = "iso7093-m8"\nheight_mm = 2.0', "height_mm", "beside a key of the catalogue", 4),
    ('type = "washer"\ncatalogue = "iso7093-m9"', "catalogue", "Allowed: .*iso7093-m", 3),
    ('type = "magnet"\ncatalogue = "nd-disc-20x5"\nmaterial = "n99"', "material", "no material of that key; found n99", 4),
    ('type = "magnet"\ncatalogue = "nd-disc-20x5"\nmaterial = "steel-1008"', "material", "must be of a magnet grade", 4),
    ('type = "glue"\nprice = 3.0', "currency", "must be stated with a price", None),
    ('type = "glue"\nprice = 3.0\ncurrency = "Euro"', "currency", "three capital letters", 4),
    ('type = "glue"\nprice = -3.0\ncurrency = "EUR"', "price", "at least 0; found -3.0", 3),
    ('type = "glue"\npack_size = 2.5', "pack_size", "whole number of pieces", 3),
    ('type = "glue"\npackunit = "g"', "packunit", "pack_unit", 3),
    ('type = "spoon"', "type", "magnet, washer, ring", 2),
]  # fmt: skip


@pytest.mark.parametrize(("content", "key", "words", "line"), PARTS)
def test_a_part_that_cannot_be_is_named(
    shop: Workshop, content: str, key: str, words: str, line: int | None
) -> None:
    """File, key and line; the other parts stay usable, and the wrong one is told to whoever asks for it."""
    text(shop, "parts/bad.toml", f"format = 1\n{content}\n")
    add_part(shop, "good", DISC)
    own = own_parts(shop)
    assert list(own.parts) == ["good"]
    with pytest.raises(InputError, match=words) as caught:
        own.catalogue.part("bad")
    place = caught.value.place
    assert (place.file, place.key) == (str(shop.folder / "parts" / "bad.toml"), key)
    if line is not None:
        assert place.line == line


MATERIALS = [
    ('[steel]\nh_a_m = [0, 1, 2, 3, 4, 5]\nb_t = [0, 0.1, 0.2, 0.15, 0.4, 0.5]', "steel.b_t", "Row 4 .* larger flux density", 4),
    ('[steel]\nh_a_m = [0, 1, 2, 3, 4, 5]\nb_t = [0, 0.1, 0.2, 0.3]', "steel.b_t", "6 of h_a_m, 4 of b_t", 4),
    ('[steel]\ntable = "none.csv"', None, "The file is missing", None),
    ('[magnet]\nlike = "n99"', "magnet.like", "no magnet grade of that key; found n99", 3),
    ("[magnet]\nbr_t = 1.2", "magnet.family", "must be stated, or a grade of the catalogue", None),
    ("[wire]\nbare_mm = 0.2\noverall_mm = 0.19", "wire.overall_mm", "larger than bare_mm", 4),
    ('title = "nothing"', "magnet", "only one of the tables", None),
]  # fmt: skip


@pytest.mark.parametrize(("content", "key", "words", "line"), MATERIALS)
def test_a_material_that_cannot_be_is_named(
    shop: Workshop, content: str, key: str | None, words: str, line: int | None
) -> None:
    """As for parts; the shipped catalogue stays usable."""
    text(shop, "materials/bad.toml", f"format = 1\n{content}\n")
    known = lookups(shop)
    assert known.material("n42").key == "n42"
    with pytest.raises(InputError, match=words) as caught:
        known.material("bad")
    assert caught.value.place.key == key
    if line is not None:
        assert caught.value.place.line == line


def test_saves_are_whole_and_never_silent(shop: Workshop) -> None:
    """Comments and unknown keys stay; a file that was changed meanwhile is left as it is; names are not taken twice."""
    text(
        shop,
        "parts/disc.toml",
        '# from the fair\nformat = 1\ntype = "magnet"\ncatalogue = "nd-disc-20x5"\nown_box = 7\n',
    )
    loaded = load_part(shop, "disc")
    save_part(shop, loaded, loaded.record.changed(stock=12.0))
    kept = loaded.path.read_text(encoding="utf-8")
    assert kept.startswith("# from the fair\n")
    assert "own_box = 7" in kept
    assert "stock = 12.0" in kept
    with pytest.raises(ConflictError):
        save_part(shop, loaded, loaded.record.changed(stock=1.0))
    with pytest.raises(InputError, match="There is a part disc already"):
        add_part(shop, "disc", DISC)
    with pytest.raises(InputError, match="must be plain"):
        add_part(shop, "../disc", DISC)
    with pytest.raises(InputError, match=r"There is no part disk.*disc"):
        load_part(shop, "disk")
    with pytest.raises(InputError, match="there is no material yet"):
        load_material(shop, "bar")


def test_nothing_is_saved_that_could_not_be_looked_up(shop: Workshop) -> None:
    """A part of a catalogue key that does not exist is refused before it is written."""
    with pytest.raises(InputError, match="nd-disc-20x5"):
        add_part(shop, "disc", DISC.changed(catalogue="nd-disc-20x6"))
    assert part_ids(shop) == []


def test_contents_hold_parts_and_materials(shop: Workshop) -> None:
    """They are read with everything else, and a fault of one is reported under its kind and id."""
    add_part(shop, "disc", DISC)
    add_material(shop, "soft", MaterialRecord(magnet=MagnetTable(like="n35")))
    text(shop, "parts/bad.toml", "format = 1\n")
    for _ in range(2):  # from the files, then from the index
        contents = read_contents(shop.folder, shop.index)
        assert contents.parts["disc"] == DISC
        assert contents.materials["soft"].what == "magnet"
        assert list(contents.faults) == ["part bad"]


def test_what_an_amount_costs() -> None:
    """Its share of packs, and whole packs apart from that; stock goes first."""
    two, six = cost(DISC, 2, TODAY), cost(DISC.changed(stock=1.0), 6, TODAY)
    assert (two.used, two.packs, two.to_pay, two.rounding, two.left_over) == (4.2, 1, 8.4, 4.2, 2)
    assert (six.used, six.packs, six.to_pay) == (pytest.approx(12.6), 2, 16.8)
    assert six.rounding == pytest.approx(16.8 - 8.4 * 5 / 4)
    assert six.left_over == 3
    enough = cost(DISC.changed(stock=4.0), 4, TODAY)
    assert (enough.packs, enough.to_pay, enough.rounding) == (0, 0.0, 0.0)
    assert cost(DISC.changed(stock=None), 4, TODAY).packs == 1  # no rounding up of whole packs
    free = cost(PartRecord(type="glue"), 2, TODAY)
    assert (free.used, free.to_pay, free.packs) == (None, None, 2)
    assert any("2 packs" in words for words in cost_words(free))
    with pytest.raises(InputError, match="0 or more"):
        cost(DISC, -1, TODAY)


def test_wire_by_mass(shop: Workshop) -> None:
    """100 m of 0.200 mm weigh 27.9 g of copper and 1.2 g of enamel; by the piece there is no length."""
    wire = lookups(shop).wire("cu-0.200-g1")
    grams = in_pack_unit(SPOOL, wire=wire, metres=100.0)
    assert grams == pytest.approx(29.1, abs=0.05)
    assert in_pack_unit(SPOOL.changed(pack_unit="m"), wire=wire, grams=grams) == pytest.approx(100.0)
    assert in_pack_unit(SPOOL, grams=3.0) == 3.0
    with pytest.raises(InputError, match="found 5 m"):
        in_pack_unit(DISC, metres=5.0)


def test_old_prices_are_said() -> None:
    """Older than a year, or without a day; a part without a price says so too."""
    assert price_verdicts(SPOOL, dt.date(2027, 3, 1)) == ()
    (old,) = price_verdicts(SPOOL, dt.date(2027, 3, 2), "spool")
    assert (old.code, old.data["age_days"]) == ("old-price", 366)
    assert "2026-03-01" in old.text
    assert [v.code for v in price_verdicts(DISC, TODAY)] == ["old-price"]
    assert [v.code for v in price_verdicts(PartRecord(type="glue"), TODAY)] == ["no-price"]


def test_rows_in_words(shop: Workshop) -> None:
    """What lists show: size, price of a pack, stock with its unit."""
    add_part(shop, "disc", DISC.changed(stock=3.0))
    add_part(shop, "spool", SPOOL)
    disc, spool = part_rows(own_parts(shop), TODAY, standings(shop))
    assert (disc.size, disc.price, disc.stock) == ("20 × 5\u202fmm", "8.40\u202fEUR for 4", "3")
    assert (spool.size, spool.price, spool.stock) == ("", "12.00\u202fEUR for 100\u202fg", "1\u202fg")
    assert disc.as_dict()["outer_mm"] == 20.0
    assert ("price", "8.40\u202fEUR for 4") in disc.facts
