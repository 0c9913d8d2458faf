"""Kits: what goes into a bag, how its price adds up, what a batch books, and what is wrong with a kit is named with its place."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfroll.builds.kits import check_number, pack, plan
from halfroll.builds.kits.price import price_of
from halfroll.core.errors import InputError, RefusedError
from halfroll.workshop import Workshop
from halfroll.workshop.kit_record import KitDriverTable, KitPriceTable, KitRecord
from halfroll.workshop.kits import add_kit, all_kits, load_kit
from halfroll.workshop.parts import load_part
from halfroll.workshop.stock import move, standings, undo
from halfroll.workshop.stock_record import MovementTable
from tests.builds.kit_shop import DAY, KIT, kit_shop


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """The workshop of the worked case."""
    return kit_shop(tmp_path / "shop")


def change(shop: Workshop, place: str, old: str, new: str) -> None:
    """Change a record by hand."""
    path = shop.folder / place
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def amounts(shop: Workshop, n: int = 1) -> dict[str, float]:
    """What goes into one bag."""
    return {part.need.part_id: part.need.per_kit for part in plan(shop, "nest-pair", n).parts}


def test_what_the_builder_prints_is_not_in_the_bag(shop: Workshop) -> None:
    """It is told instead; in the bag it takes a spool, and where there is none that is said."""
    planned = plan(shop, "nest-pair", 1)
    assert [(number, line.key, line.amount) for number, line in planned.by_builder] == [(2, "basket", 18)]
    change(
        shop,
        "kits/nest-pair.toml",
        'title = "Nest box pair"',
        'title = "Nest box pair"\nprinted = "in the bag"',
    )
    bagged = plan(shop, "nest-pair", 1)
    assert bagged.by_builder == ()
    assert bagged.missing == ("basket of dunlin/v1",)
    assert "kit-part-missing" in [v.code for v in bagged.verdicts]


def test_prints_in_the_bag_take_filament_and_hours(shop: Workshop) -> None:
    """36 g of 22.00 EUR a kilogram is 0.792; 5 h at 0.40 is 2.00."""
    (shop.folder / "parts/spool.toml").write_text(
        'format = 1\ntype = "filament"\nmaterial = "pla"\npack_unit = "g"\npack_size = 1000\nprice = 22\ncurrency = "EUR"\n', encoding="utf-8"
    )  # fmt: skip
    change(
        shop,
        "kits/nest-pair.toml",
        'title = "Nest box pair"',
        'title = "Nest box pair"\nprinted = "in the bag"',
    )
    planned = plan(shop, "nest-pair", 1)
    assert amounts(shop)["spool"] == 36
    assert planned.price is not None
    lines = {line.key: line.amount for line in planned.price.lines}
    assert (lines["materials"], lines["printing"]) == (18.12, 2.0)  # 17.33 + 0.792
    assert [v.code for v in planned.verdicts] == ["stock-not-counted", "postage-unknown"]
    assert (planned.allowed, planned.limiting) == (0, ("spool",))


def test_left_out_is_not_bought_and_a_name_that_is_in_no_bill_is_said(shop: Workshop) -> None:
    """By its part or by its name in the bill."""
    change(
        shop,
        "kits/nest-pair.toml",
        'title = "Nest box pair"',
        'title = "Nest box pair"\nleave_out = ["wire", "basket", "solder"]',
    )
    planned = plan(shop, "nest-pair", 1)
    assert "wire" not in {part.need.part_id for part in planned.parts}
    assert planned.by_builder == ()
    said = {v.code: v for v in planned.verdicts}
    assert said["kit-nothing-left-out"].data == {"names": ["solder"]}


def test_general_spares_are_whole_pieces_a_bag(shop: Workshop) -> None:
    """10 %: of 2 magnets 1, of 4 plates 1, of 25 g of wire 2.5 g unless it has its own spare."""
    change(
        shop, "kits/nest-pair.toml", 'title = "Nest box pair"', 'title = "Nest box pair"\nspares_percent = 10'
    )
    assert amounts(shop) == {"magnet": 3, "plate": 5, "wire": 30, "screw": 9}


def test_a_spare_of_what_nothing_takes_is_put_in_alone(shop: Workshop) -> None:
    """A second glue, say: its amount is the spare; a percentage of nothing is nothing."""
    (shop.folder / "parts/tube.toml").write_text('format = 1\ntype = "other"\nstock = 4\n', encoding="utf-8")
    change(shop, "kits/nest-pair.toml", 'part = "wire"\namount = 5', 'part = "tube"\namount = 1')
    assert amounts(shop)["tube"] == 1
    change(shop, "kits/nest-pair.toml", 'part = "tube"\namount = 1', 'part = "tube"\npercent = 50')
    assert "tube" not in amounts(shop)


def test_a_renamed_part_is_still_bagged_bought_and_counted(shop: Workshop) -> None:
    """Bill, extras and movements name the old id."""
    move(shop, MovementTable(date=DAY, part="screw", what="bought", amount=100))
    text = (shop.folder / "parts/screw.toml").read_text(encoding="utf-8")
    (shop.folder / "parts/screw.toml").unlink()
    (shop.folder / "parts/m4-screw.toml").write_text(
        text.replace("stock = 30", 'stock = 30\nformerly = ["screw"]'), encoding="utf-8"
    )
    planned = plan(shop, "nest-pair", 10)
    screws = next(part for part in planned.parts if part.need.part_id == "m4-screw")
    assert (screws.needed, screws.stock, screws.need.spare) == (90, 130, 1)


def test_packing_is_booked_whole_or_not_at_all_and_taken_back_whole(shop: Workshop) -> None:
    """Three kits need six magnets, five are there: nothing is booked. Two are, and one undo takes all of it back."""
    before = {part: one.amount for part, one in standings(shop).items()}
    with pytest.raises(RefusedError, match="magnet would stand at −1 piece on 2026-10-03"):
        pack(shop, "nest-pair", 3, date=DAY)
    assert {part: one.amount for part, one in standings(shop).items()} == before
    _, written = pack(shop, "nest-pair", 2, date=DAY)
    assert {one.part: one.amount for one in written} == {"magnet": 4, "plate": 8, "wire": 60, "screw": 18}
    assert all(one.kit == "nest-pair" for one in written)
    assert len(undo(shop)) == 4
    assert {part: one.amount for part, one in standings(shop).items()} == before
    pack(shop, "nest-pair", 3, date=DAY, anyway=True)
    assert [v.code for v in plan(shop, "nest-pair", 1).verdicts] == ["stock-negative"]


def test_two_alike_batches_are_taken_back_one_by_one(shop: Workshop) -> None:
    """Each packing is a booking of its own."""
    pack(shop, "nest-pair", 1, date=DAY)
    pack(shop, "nest-pair", 1, date=DAY)
    assert len(undo(shop)) == 4
    assert standings(shop)["magnet"].amount == 3


def test_an_offer_in_other_money_is_used_at_the_stated_rate_or_left_out_and_said(shop: Workshop) -> None:
    """Without a rate the kit's price says what is missing in it."""
    change(shop, "parts/plate.toml", 'price = 2.30\ncurrency = "EUR"', 'price = 2.00\ncurrency = "GBP"')
    change(shop, "parts/plate.toml", 'price = 19.50\ncurrency = "EUR"', 'price = 17\ncurrency = "GBP"')
    planned = plan(shop, "nest-pair", 10)
    codes = [v.code for v in planned.verdicts]
    assert "kit-not-priced" in codes
    assert "no-exchange-rate" in codes
    assert planned.shopping.unmet == {"plate": 26}
    rate = '\n[[exchange]]\none = "GBP"\ngives = 1.15\nof = "EUR"\ndate = 2026-09-30\n'
    path = shop.folder / "workshop.toml"
    path.write_text(path.read_text(encoding="utf-8") + rate, encoding="utf-8")
    planned = plan(shop, "nest-pair", 10)
    assert planned.verdicts == ()
    assert planned.price is not None
    assert planned.price.lines[0].amount == 17.33  # 2.00 GBP is 2.30 EUR


def test_the_number_of_kits_must_be_one() -> None:
    """From 1 to ten thousand."""
    for wrong in (0, -3, 10_001):
        with pytest.raises(InputError, match="1 to 10000"):
            check_number(wrong)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('version = "dunlin/v1"', 'version = "dunlin/v9"', r"nest-pair\.toml:5, drivers\[1\]\.version: There is no such version; found dunlin/v9"),
        ('part = "screw"\namount', 'part = "skrew"\namount', r"nest-pair\.toml:9, extras\[1\]\.part: .*found skrew. Allowed: screw"),
        ('part = "wire"\n', 'part = "wire-9"\n', r"nest-pair\.toml:18, spares\[2\]\.part"),
        ("count = 2", "count = 0", r"nest-pair\.toml:6, drivers\[1\]\.count"),
        ("amount = 8", "amount = -8", r"nest-pair\.toml:10, extras\[1\]\.amount"),
        ("percent = 10", "percent = 10\namount = 1", r"spares\[1\]\.amount of the kit must be stated, or percent in its place; found both"),
        ('currency = "EUR"', 'currency = "EUX"', r"price\.currency"),
        ("margin_percent = 25", "margin_percent = -5", r"price\.margin_percent"),
        ("margin_percent = 25", 'margin_percent = 100\nmargin_of = "price"', "must be below 100 where it is of the price"),
        ("postage = 4.90", "postage = -4.90", r"price\.postage"),
        ("tax_percent = 19", "tax_percent = 190", r"price\.tax_percent"),
        ("rounding = 0.50", "rounding = 0", r"price\.rounding"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_kit_is_named_with_file_key_and_line(
    shop: Workshop, old: str, new: str, said: str
) -> None:
    """Whatever it is; the other kits can still be listed."""
    change(shop, "kits/nest-pair.toml", old, new)
    with pytest.raises(InputError, match=said):
        plan(shop, "nest-pair", 1)
    known, faults = all_kits(shop)
    assert len(known) + len(faults) == 1


def test_a_pack_of_zero_and_a_negative_price_are_refused_in_the_parts_record(shop: Workshop) -> None:
    """With the line."""
    change(shop, "parts/magnet.toml", "pack_size = 10", "pack_size = 0")
    with pytest.raises(InputError, match=r"magnet\.toml:\d+, offers\[1\]\.pack_size"):
        load_part(shop, "magnet")
    change(shop, "parts/screw.toml", "price = 1.60", "price = -1.60")
    with pytest.raises(InputError, match=r"screw\.toml:\d+, offers\[1\]\.price"):
        load_part(shop, "screw")


def test_a_kit_is_made_and_changed_only_of_what_is_there(shop: Workshop) -> None:
    """A new one names versions and parts of the workshop; the round trip keeps what was written."""
    record = KitRecord(title="One", drivers=(KitDriverTable(version="dunlin/v1"),))
    add_kit(shop, "one", record)
    assert load_kit(shop, "one").record == record
    with pytest.raises(InputError, match="dunlin"):
        add_kit(shop, "two", KitRecord(title="Two", drivers=(KitDriverTable(version="dunlin/v7"),)))
    with pytest.raises(InputError, match=r"There is no such kit; found 'nest-pear'. Allowed: nest-pair"):
        load_kit(shop, "nest-pear")
    loaded = load_kit(shop, "nest-pair")
    saved = shop.save(loaded, loaded.record.changed(title="Pair for nest boxes"))
    assert saved.path.read_text(encoding="utf-8") == KIT.replace("Nest box pair", "Pair for nest boxes")


def test_a_version_without_a_bill_is_said(shop: Workshop) -> None:
    """Nothing is known of what it is made of."""
    change(shop, "drivers/dunlin/v1/version.toml", "[[bill", "[[own_bill")
    with pytest.raises(InputError, match="dunlin/v1"):
        plan(shop, "nest-pair", 1)


PRICE = KitPriceTable(currency="EUR", margin_percent=25, tax="VAT", tax_percent=19, postage=4.9)


def test_a_margin_of_the_price_is_one() -> None:
    """20 % of the price is 25 % of the cost: 80 becomes 100 either way; tax 19, postage untaxed where the record says so."""
    of_cost = price_of(PRICE.changed(tax_on_postage=False), materials=80)
    of_price = price_of(
        PRICE.changed(tax_on_postage=False, margin_of="price", margin_percent=20), materials=80
    )
    for price in (of_cost, of_price):
        assert (price.net, price.total) == (100, 123.9)
        assert {line.key: line.amount for line in price.lines}["tax"] == 19
    assert price_of(PRICE, materials=80).total == pytest.approx(104.9 * 1.19, abs=0.005)


def test_money_without_cents_is_rounded_to_the_whole() -> None:
    """A price in yen has no decimals."""
    price = price_of(KitPriceTable(currency="JPY", margin_percent=33, tax_percent=10), materials=1234.5)
    assert all(line.amount == int(line.amount) for line in price.lines)


money = st.integers(0, 50_000).map(lambda cents: cents / 100)


@given(
    materials=money, packing=money, postage=money, margin=st.integers(0, 99), tax=st.integers(0, 30), of=st.sampled_from(["cost", "price"]),
    taxed=st.booleans(), step=st.sampled_from([None, 0.05, 0.5, 1.0, 5.0]),
)  # fmt: skip
def test_the_lines_of_a_price_add_up_to_the_cent(
    materials: float,
    packing: float,
    postage: float,
    margin: int,
    tax: int,
    of: str,
    taxed: bool,
    step: float | None,
) -> None:
    """Whatever is rounded: the parts make the cost, cost and margin the net price, with postage and tax the total, on its step; and tax
    is that of what is paid within half a cent.
    """
    table = KitPriceTable(
        currency="EUR", margin_percent=margin, margin_of=of, packing=packing, postage=postage, tax_percent=tax, tax_on_postage=taxed, rounding=step,  # type: ignore[arg-type]
    )  # fmt: skip
    price = price_of(table, materials=materials)
    cents = {line.key: round(100 * line.amount) for line in price.lines}
    assert cents.get("materials", 0) + cents.get("packing", 0) == cents["cost"]
    assert cents["cost"] + cents["margin"] == cents["net"]
    assert cents["net"] + cents["postage"] + cents["tax"] == cents["total"]
    assert cents["total"] % round(100 * (step or 0.01)) == 0
    base = cents["net"] + (cents["postage"] if taxed else 0)
    assert abs(cents["tax"] - base * tax / 100) <= 0.5 * (1 + tax / 100) + 1e-6
    exact = cents["cost"] * (1 + margin / 100) if of == "cost" else cents["cost"] / (1 - margin / 100)
    half_step = 50 * (step or 0.01) / (1 + tax / 100)
    assert abs(cents["net"] - exact) <= half_step + 1.0 + 1e-6


def test_a_record_is_frozen_data(shop: Workshop) -> None:
    """A plan for a machine holds what was asked, numbers and units."""
    said = replace(plan(shop, "nest-pair", 10)).as_dict()
    assert (said["kits"], said["allowed_by_stock"], said["limiting_parts"]) == (10, 2, ["magnet"])
    assert said["shopping"]["total"] == 111.2
    assert {part["part"]: part["unit"] for part in said["parts"]}["wire"] == "g"


def test_dates_of_a_batch_are_those_given(shop: Workshop) -> None:
    """The clock is not looked at."""
    _, written = pack(shop, "nest-pair", 1, date=dt.date(2025, 2, 3))
    assert {one.date for one in written} == {dt.date(2025, 2, 3)}
