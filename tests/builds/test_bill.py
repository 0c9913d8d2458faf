"""Bills and carry-over: amounts from the design held against geometry, money without a rate, and everything that is refused."""

from __future__ import annotations

import datetime as dt
import io
import math
from pathlib import Path

import pypdf
import pytest

from halfroll.builds.bill import bill_of, carry_over
from halfroll.builds.bill.amounts import amounts_of
from halfroll.core.errors import InputError
from halfroll.materials.catalogue import catalogue
from halfroll.publish.bill_charts import cost_rows
from halfroll.publish.bill_paper import bill_pdf
from halfroll.publish.carry_drawing import marked
from halfroll.workshop import Workshop
from halfroll.workshop.motor_cost import cost_of
from halfroll.workshop.motor_design import EXAMPLE
from halfroll.workshop.motors import load_design
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.parts import add_part, current_id, own_parts
from tests.builds.by_hand import by_hand
from tests.workshop.knot import edit, knot_shop

TODAY = dt.date(2026, 7, 1)

MOVING = """
[surround]
family = "flat"
inner_mm = 60
outer_mm = 80
thickness_mm = 0.5
material = "tpu-95a"

[cap]
outer_mm = 22
thickness_mm = 0.6
material = "petg"
print = { weighed_g = 0.31 }

[moving]
glue_g = 0.2
"""

BILL = """
[[bill.printed]]
name = "surround"
grams = 1.5
hours = 0.4

[[bill.printed]]
name = "spacer"
material = "petg"
grams = 3
pieces = 4
hours = 0.25
"""


@pytest.fixture
def stilt(tmp_path: Path) -> Workshop:
    """The case that is worked by hand."""
    return by_hand(tmp_path / "shop")


@pytest.fixture
def knot(tmp_path: Path) -> Workshop:
    """The example's motor with a flat surround and cap, and a ring magnet and a spool in the drawer."""
    shop = knot_shop(tmp_path / "knot", EXAMPLE + MOVING)
    add_part(
        shop,
        "ring",
        PartRecord(
            type="magnet", catalogue="ferrite-ring-60x32x10", price=4.0, currency="EUR", supplier="Tideline"
        ),
    )
    add_part(
        shop,
        "grey",
        PartRecord(
            type="filament", material="tpu-95a", price=30.0, currency="EUR", pack_size=1000.0, pack_unit="g"
        ),
    )
    return shop


def changed(shop: Workshop, file: str, old: str, new: str) -> Path:
    """Put `new` in place of what stands in a file of the workshop."""
    path = shop.folder / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


# Amounts -----------------------------------------------------------------------------------------------------------


def test_prints_by_their_volume_and_bought_parts_as_the_motors_cost_has_them(knot: Workshop) -> None:
    """A flat ring is pi/4 (80² - 60²) 0.5 mm³, solid, at the filament's density; wire, pieces and former are those of `cost_of`."""
    lines = {one.key: one for one in amounts_of(knot, "knot/v1").lines}
    grams = math.pi / 4 * (80.0**2 - 60.0**2) * 0.5 * 1e-6 * catalogue().filaments["tpu-95a"].density_kg_m3
    assert lines["surround"].amount == pytest.approx(grams, rel=2e-3)  # facets
    assert lines["surround"].u_amount >= 0.03 * grams
    assert (lines["surround"].part_id, lines["surround"].source) == ("grey", "computed")
    hours = (
        grams / catalogue().filaments["tpu-95a"].density_kg_m3 * 1e-3 / (0.42e-3 * 0.2e-3 * 30e-3) / 3600.0
    )
    assert (lines["surround"].hours, lines["surround"].hours_source) == (
        pytest.approx(hours, rel=2e-3),
        "estimated",
    )
    assert (lines["cap"].amount, lines["cap"].source) == (pytest.approx(0.31), "weighed")
    assert (lines["joint glue"].amount, lines["joint glue"].part_id) == (0.2, None)
    cost = {line.what: line for line in cost_of(knot, load_design(knot, "knot/v1"), TODAY).lines}
    assert cost["magnet"].cost is not None
    assert lines["magnet"].amount == cost["magnet"].cost.amount == 1.0
    assert {"back plate", "top plate", "pole", "former", "coil wire"} <= {
        one.key for one in lines.values() if one.part_id is None
    }


def test_the_bill_goes_before_the_model_and_adds_what_the_design_does_not_know(knot: Workshop) -> None:
    """Typed grams and hours of the surround; four spacers of 3 g and a quarter of an hour each; no word of estimated hours left of it."""
    edit(knot, "[moving]", f"{BILL.strip()}\n\n[moving]")
    found = bill_of(knot, "knot/v1", today=TODAY)
    lines = {one.line.key: one.line for one in found.lines}
    assert (lines["surround"].amount, lines["surround"].hours, lines["surround"].source) == (
        1.5,
        0.4,
        "slicer",
    )
    assert (lines["spacer"].amount, lines["spacer"].hours, lines["spacer"].pieces) == (12.0, 1.0, 4.0)
    assert {"cost-incomplete", "old-price"} <= {one.code for one in found.verdicts}
    assert "spacer" in found.missing
    assert all(one.line.key.startswith("jig-") for one in found.tools)


def test_a_model_of_another_dimension_is_another_part(knot: Workshop, tmp_path: Path) -> None:
    """Equal designs have equal shapes though the weighed grams differ; a thicker surround does not fit, the cap still does."""
    before = amounts_of(knot, "knot/v1")
    text = knot.version("knot/v1").path.read_text(encoding="utf-8")
    folder = knot.folder / "drivers/knot/v2"
    folder.mkdir()
    (folder / "version.toml").write_text(
        text.replace("thickness_mm = 0.5", "thickness_mm = 0.6").replace("0.31", "0.33"), encoding="utf-8"
    )
    after = amounts_of(knot, "knot/v2")
    same = {
        key
        for key in ("surround", "cap", "former", "coil wire")
        if before.line(key).shape == after.line(key).shape
    }  # type: ignore[union-attr]
    assert same == {"cap", "former", "coil wire"}
    apart = carry_over(knot, "knot/v1", "knot/v2", today=TODAY, apart="all")
    assert {one.line.key for one in apart.of("new")} == {"surround", "joint glue"}
    glued = carry_over(knot, "knot/v1", "knot/v2", today=TODAY)
    assert {"cap", "former", "coil wire"} <= {one.line.key for one in glued.of("left over")}
    assert "glued-together" in {one.code for one in glued.verdicts}


# Money -------------------------------------------------------------------------------------------------------------


def test_money_without_a_rate_is_in_no_sum(stilt: Workshop) -> None:
    """Without the rate the glue is asked for in pounds, said so, and left out."""
    changed(stilt, "workshop.toml", 'one = "GBP"', 'one = "SEK"')
    found = bill_of(stilt, "stilt/v1", today=TODAY)
    assert found.other == {"GBP": pytest.approx(9.0 / 50 * 1.12257, rel=1e-4)}
    assert found.total.usual == pytest.approx(39.4625 - 0.2425, abs=2e-4)
    assert "no-exchange-rate" in {one.code for one in found.verdicts}
    assert set(found.missing) == {"magnet to back plate", "top plate to magnet", "cone to frame"}


def test_the_way_back_is_the_inverse_and_the_latest_rate_counts(stilt: Workshop) -> None:
    """Euros in pounds by the same line; a newer rate goes before an older one."""
    more = '\n[[exchange]]\none = "GBP"\ngives = 1.25\nof = "EUR"\ndate = 2026-07-01\n'
    path = stilt.folder / "workshop.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace('currency = "EUR"\nprinter', 'currency = "GBP"\nprinter')
        + more,
        encoding="utf-8",
    )
    found = bill_of(stilt, "stilt/v1", today=TODAY)
    pole = next(one for one in found.lines if one.line.key == "pole")
    assert (found.currency, pole.usual, pole.asked[0].converted) == ("GBP", pytest.approx(6.5 / 1.25), True)


def test_an_old_price_and_unknown_hours_are_said(stilt: Workshop) -> None:
    """A price of two years ago; a frame nobody sliced."""
    changed(stilt, "parts/ring.toml", "2026-06-01", "2024-06-01")
    changed(stilt, "drivers/stilt/v1/version.toml", "grams = 50\nhours = 4\n", "grams = 50\n")
    found = bill_of(stilt, "stilt/v1", today=TODAY)
    assert found.oldest == dt.date(2024, 6, 1)
    assert found.hours_unknown == ("frame",)
    assert {one.code for one in found.verdicts} == {"old-price", "print-hours-unknown"}


# Refusals ----------------------------------------------------------------------------------------------------------

PART_FAULTS = [
    ("parts/ring.toml", "price = 4.0", "price = -4.0", "offers[1].price", "at least 0"),
    (
        "parts/ring.toml",
        'price = 4.0\ncurrency = "EUR"',
        'price = 4.0\ncurrency = "EUT"',
        "offers[1].currency",
        "EUR",
    ),
    ("parts/ring.toml", "price = 4.0", "price = 4.0\npack_size = 0", "offers[1].pack_size", "above 0"),
    (
        "parts/ring.toml",
        "price = 4.0",
        "price = 4.0\npack_size = 1.5",
        "offers[1].pack_size",
        "whole number of pieces",
    ),
    ("parts/screw.toml", "price = 4.0", "price = -1.0", "price", "at least 0"),
    ("parts/epoxy-tubes.toml", 'glue = "epoxy"', 'glue = "epoxi"', "glue", "epoxy"),
    ("parts/pole-short.toml", 'made_from = "pole-long"', "", "made_from", "must say what it is made from"),
]


@pytest.mark.parametrize(("file", "old", "new", "key", "words"), PART_FAULTS)
def test_a_part_that_cannot_be_is_named(
    stilt: Workshop, file: str, old: str, new: str, key: str, words: str
) -> None:
    """File, key and line; the bill that needs it says the same."""
    path = changed(stilt, file, old, new)
    fault = own_parts(stilt).part_faults[path.stem]
    assert (fault.place.file, fault.place.key) == (str(path), key)
    assert words in str(fault)
    assert fault.place.line is not None or key == "made_from"
    if path.stem != "pole-short":
        with pytest.raises(InputError) as caught:
            bill_of(stilt, "stilt/v1", today=TODAY)
        assert caught.value.place == fault.place


BILL_FAULTS = [
    ('part = "ring"', 'part = "rang"', "bill.bought[1].part", "ring"),
    ("amount = 4", "amount = 4.5", "bill.bought[5].amount", "whole pieces"),
    ("amount = 4", "amount = -4", "bill.bought[5].amount", "above 0"),
    ("amount = 4", "amount = 1e300", "bill.bought[5].amount", "1000000000"),
    ("amount = 4", "amount = 1e-9", "bill.bought[5].amount", "0.000001"),
    ('name = "frame"\nmaterial = "spool"', 'name = "frame"', "bill.printed[1].material", "must be stated"),
    (
        'name = "frame"\nmaterial = "spool"',
        'name = "frame"\nmaterial = "petgg"',
        "bill.printed[1].material",
        "petg",
    ),
    ('name = "cone"', 'name = "frame"', "bill.printed[2].name", "once"),
    ("bead_mm = 2", "", "bill.glued[1].bead_mm", "or grams"),
    ("bead_mm = 2", "grams = 2", "bill.glued[1].grams", "beside length_mm"),
    ('glue = "epoxy-tubes"', 'glue = "toffee"', "bill.glued[1].glue", "cyanoacrylate"),
    ('joins = ["magnet", "back plate"]', 'joins = ["magnet", "lid"]', "bill.glued[1].joins", "top plate"),
    ('joins = ["magnet", "back plate"]', 'joins = ["magnet"]', "bill.glued[1].joins", "two parts"),
]


@pytest.mark.parametrize(("old", "new", "key", "words"), BILL_FAULTS)
def test_a_bill_that_cannot_be_is_named(stilt: Workshop, old: str, new: str, key: str, words: str) -> None:
    """File, key and line, and what is allowed."""
    path = changed(stilt, "drivers/stilt/v1/version.toml", old, new)
    with pytest.raises(InputError, match=words) as caught:
        bill_of(stilt, "stilt/v1", today=TODAY)
    assert (caught.value.place.file, caught.value.place.key) == (str(path), key)
    assert caught.value.place.line is not None


RATES = [
    ('of = "EUR"', 'of = "GBP"', "exchange[1].of", "another currency"),
    ("gives = 1.2", "gives = 0", "exchange[1].gives", "above 0"),
    ("printer_per_hour = 0.5", "printer_per_hour = -1", "costs.printer_per_hour", "at least 0"),
    ('currency = "EUR"\nprinter', 'currency = "Euro"\nprinter', "costs.currency", "EUR may be meant"),
]


@pytest.mark.parametrize(("old", "new", "key", "words"), RATES)
def test_rates_that_cannot_be_are_named(stilt: Workshop, old: str, new: str, key: str, words: str) -> None:
    """Of the workshop's own record."""
    path = changed(stilt, "workshop.toml", old, new)
    with pytest.raises(InputError, match=words) as caught:
        bill_of(stilt, "stilt/v1", today=TODAY)
    assert (caught.value.place.file, caught.value.place.key) == (str(path), key)


def test_parts_made_from_each_other_in_a_ring_are_refused(stilt: Workshop) -> None:
    """Both files are named."""
    long = changed(
        stilt, "parts/pole-long.toml", 'currency = "EUR"', 'currency = "EUR"\nmade_from = "pole-short"'
    )
    with pytest.raises(InputError, match="ring") as caught:
        carry_over(stilt, "stilt/v1", "stilt/v2", today=TODAY)
    assert str(long) in str(caught.value)
    assert str(stilt.folder / "parts/pole-short.toml") in str(caught.value)
    assert caught.value.place.key == "made_from"


def test_a_part_made_from_one_that_is_not_there_is_said(stilt: Workshop) -> None:
    """It is counted as new, with a caution that names both; spelled right there is none."""
    said = {one.code for one in carry_over(stilt, "stilt/v1", "stilt/v2", today=TODAY).verdicts}
    assert "made-from-unknown" not in said
    changed(stilt, "parts/pole-short.toml", 'made_from = "pole-long"', 'made_from = "pole-lang"')
    found = carry_over(stilt, "stilt/v1", "stilt/v2", today=TODAY)
    caution = next(one for one in found.verdicts if one.code == "made-from-unknown")
    assert caution.data == {"parts": {"pole-short": "pole-lang"}}


def test_parents_in_a_ring_are_refused(stilt: Workshop) -> None:
    """v1 from v2 from v1."""
    first = changed(stilt, "drivers/stilt/v1/version.toml", "format = 1\n", 'format = 1\nparent = "v2"\n')
    with pytest.raises(InputError, match="come from itself") as caught:
        carry_over(stilt, "stilt/v1", "stilt/v2", today=TODAY)
    assert str(first) in str(caught.value)
    assert str(stilt.folder / "drivers/stilt/v2/version.toml") in str(caught.value)
    assert caught.value.place.key == "parent"


@pytest.mark.parametrize("units", [0, -1, 10**9])
def test_no_number_of_drivers(stilt: Workshop, units: int) -> None:
    """One at least."""
    with pytest.raises(InputError, match="number of units"):
        bill_of(stilt, "stilt/v1", today=TODAY, units=units)


def test_a_version_of_which_nothing_is_known(stilt: Workshop) -> None:
    """Neither design nor bill."""
    path = stilt.folder / "drivers/stilt/v1/version.toml"
    path.write_text("format = 1\n", encoding="utf-8")
    with pytest.raises(InputError, match="neither a design nor a bill"):
        bill_of(stilt, "stilt/v1", today=TODAY)


# Renamed parts -----------------------------------------------------------------------------------------------------


def test_a_renamed_part_is_found_by_its_old_id(knot: Workshop) -> None:
    """A design that names the magnet as it was called before still builds, and its bill has the present id."""
    edit(knot, 'part = "ferrite-ring-60x32x10"\nmaterial = "y30"', 'part = "old-ring"\nmaterial = "y30"')
    with pytest.raises(InputError, match="old-ring"):
        amounts_of(knot, "knot/v1")
    changed(knot, "parts/ring.toml", 'currency = "EUR"', 'currency = "EUR"\nformerly = ["old-ring"]')
    line = amounts_of(knot, "knot/v1").line("magnet")
    assert line is not None
    assert (line.part_id, line.shape) == ("ring", "ring")
    assert current_id(own_parts(knot), "old-ring") == "ring"


def test_two_parts_cannot_have_had_one_id(stilt: Workshop) -> None:
    """Both files are named to whoever asks for it; no new part may take the name."""
    second = changed(stilt, "parts/screw.toml", "pack_size = 50", 'pack_size = 50\nformerly = ["washer-60"]')
    with pytest.raises(InputError, match="One part only") as caught:
        bill_of(stilt, "stilt/v1", today=TODAY)
    assert str(second) in str(caught.value)
    assert str(stilt.folder / "parts/plate.toml") in str(caught.value)
    changed(stilt, "parts/screw.toml", 'formerly = ["washer-60"]', "")
    with pytest.raises(InputError, match="washer-60"):
        add_part(stilt, "washer-60", PartRecord(type="other"))


# Matching ----------------------------------------------------------------------------------------------------------


def test_a_version_against_itself_carries_everything(stilt: Workshop) -> None:
    """Nothing new, nothing left over, nothing to pay."""
    for apart in ("unglued", "all"):
        found = carry_over(stilt, "stilt/v1", "stilt/v1", today=TODAY, apart=apart)  # type: ignore[arg-type]
        assert {one.fate for one in found.lines} == {"stays"}
        assert (found.step.usual, found.to_pay, found.printed_g) == (0.0, 0.0, 0.0)


def test_what_was_cut_is_not_lengthened_and_stock_is_used_first(stilt: Workshop) -> None:
    """12 m of wire are not made of 10 m; 5 m in the drawer leave 31 of 36 to buy, one reel of 100 m all the same."""
    changed(stilt, "drivers/stilt/v2/version.toml", "amount = 10", "amount = 12")
    found = carry_over(
        stilt, "stilt/v1", "stilt/v2", units=3, today=TODAY, apart="all", stock={"wire-02": 36.0}
    )
    assert {one.line.key for one in found.of("left over")} == {"wire-02", "cone"}
    assert found.buy is not None
    assert all(one.offer.part_id != "wire-02" for one in found.buy.purchases)
    back = carry_over(stilt, "stilt/v2", "stilt/v1", today=TODAY, apart="all")
    assert "wire-02" in {one.line.key for one in back.of("stays")}


def test_a_seam_that_opens_lets_go(stilt: Workshop) -> None:
    """With both motor seams opening the plates and the ring stay, and only the opened ones take new glue."""
    for _ in range(2):
        changed(
            stilt, "drivers/stilt/v1/version.toml", "bead_mm = 2\n\n", "bead_mm = 2 # cut\nopens = true\n\n"
        )
    found = carry_over(stilt, "stilt/v1", "stilt/v2", today=TODAY)
    assert {"magnet", "back plate", "top plate", "magnet to back plate"} <= {
        one.line.key for one in found.of("stays")
    }
    assert [one.code for one in found.verdicts] == []


# Shown -------------------------------------------------------------------------------------------------------------


def test_the_bill_on_paper(stilt: Workshop) -> None:
    """Read back: sums, lines, what to buy; the same bytes for the same bill; fonts inside."""
    bill = bill_of(stilt, "stilt/v1", today=TODAY, units=3)
    data = bill_pdf(bill, date="2026-07-01")
    assert data == bill_pdf(bill, date="2026-07-01")
    text = "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages).replace(
        "\u202f", " "
    )
    for words in ("Bill of materials: Stilt v1", "39.46 EUR", "By the cheapest supplier of every line 39.46 EUR, by the dearest 40.46 EUR.",
                  "To buy for 3 drivers, whole packs", "with postage 109.90 EUR"):  # fmt: skip
        assert words in text
    assert [row.name for row in cost_rows(bill)][:2] == ["pole", "back plate"]


def test_a_drawing_is_marked_by_what_becomes_of_its_parts() -> None:
    """Classes are added to groups of parts, and to nothing else."""
    svg = '<g class="body" data-body="a &amp; b" data-kind="steel"/><g class="coil"><path class="body"/></g><g class="moving" data-part="cone"/>'
    said = marked(svg, {"a & b": "stays", "coil wire": "left over"})
    assert said.count("fate-") == 2
    assert 'class="body fate-stays" data-body="a &amp; b"' in said
    assert 'class="coil fate-left-over"' in said
