"""The bill and the carry-over worked by hand in docs/how-to/what-a-version-costs.md: that page is the reference."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from halfroll.builds.bill import bill_of, carry_over
from halfroll.workshop import Workshop
from tests.builds.by_hand import PAGE, by_hand

TODAY = dt.date(2026, 7, 1)


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """The workshop that stands on the page."""
    return by_hand(tmp_path / "shop")


def on_page(*numbers: str) -> None:
    """The numbers compared with are those that stand there."""
    text = PAGE.read_text(encoding="utf-8")
    assert [number for number in numbers if number not in text] == []


def test_the_bill_of_one_driver(shop: Workshop) -> None:
    """Every line, the spread by supplier, printing and work."""
    found = bill_of(shop, "stilt/v1", today=TODAY)
    costs = {one.line.key: one.usual for one in found.lines}
    bead = 0.3613 * 0.216
    worked = {"magnet": 3.0, "back plate": 5.0, "top plate": 5.0, "pole": 6.5, "screw": 0.32, "wire-02": 0.8, "frame": 1.0, "cone": 0.1,
              "magnet to back plate": bead, "top plate to magnet": bead, "cone to frame": 0.4 * 0.216}  # fmt: skip
    assert costs == {key: pytest.approx(value, abs=5e-5) for key, value in worked.items()}
    assert found.currency == "EUR"
    assert found.material.usual == pytest.approx(21.9625, abs=5e-5)
    assert (found.total.usual, found.total.low, found.total.high) == pytest.approx(
        (39.4625, 39.4625, 40.4625), abs=5e-5
    )
    assert (found.print_hours, found.printer_cost, found.work_cost) == (5.0, 2.5, 15.0)
    assert found.printed_g == 55.0
    assert found.oldest == dt.date(2026, 6, 1)
    assert (found.missing, found.other, found.hours_unknown) == ((), {}, ())
    assert [one.code for one in found.verdicts] == []
    on_page("21.9625", "39.4625", "40.46", "0.3613", "0.2425")


def test_three_drivers_in_whole_packs(shop: Workshop) -> None:
    """Rings from two suppliers, postage, printing and work."""
    found = bill_of(shop, "stilt/v1", today=TODAY, units=3)
    assert found.shopping is not None
    assert (found.shopping.goods, found.shopping.total) == (102.30, 109.90)
    assert found.shopping.postage == {"Tideline Magnets": 4.0, "Harbour Stores": 3.6, "The boat yard": 0.0}
    rings = {one.offer.supplier: one.packs for one in found.shopping.purchases if one.offer.part_id == "ring"}
    assert rings == {"Tideline Magnets": 1, "Harbour Stores": 1}
    assert found.for_units == pytest.approx(162.40)
    on_page("102.30", "7.60", "162.40")


def test_the_step_with_unglued_parts_only(shop: Workshop) -> None:
    """The glued motor is left over; frame, wire and four screws stay; the pole is turned down."""
    found = carry_over(shop, "stilt/v1", "stilt/v2", units=3, today=TODAY)
    assert fates(found) == {
        "stays": {"screw": 4.0, "wire-02": 10.0, "frame": 50.0}, "reworked": {"pole": 1.0},
        "new": {"magnet": 1.0, "second magnet": 1.0, "back plate": 1.0, "top plate": 1.0, "screw": 2.0, "cone": 6.0,
                "magnet to back plate": SEAM, "second magnet to magnet": SEAM, "top plate to second magnet": SEAM, "cone to frame": 0.4},
        "left over": {"magnet": 1.0, "back plate": 1.0, "top plate": 1.0, "cone": 5.0},
    }  # fmt: skip
    assert found.step.usual == pytest.approx(18.7005, abs=5e-5)
    assert [one.code for one in found.verdicts] == ["glued-together"]
    assert {one.note for one in found.of("left over")} == {
        "glued to back plate, top plate", "glued to magnet, top plate", "glued to magnet, back plate", "",
    }  # fmt: skip
    on_page("18.7005")


def test_the_step_when_all_parts_come_apart(shop: Workshop) -> None:
    """Whole packs for three drivers against three from nothing."""
    found = carry_over(shop, "stilt/v1", "stilt/v2", units=3, today=TODAY, apart="all")
    assert fates(found) == {
        "stays": {"magnet": 1.0, "back plate": 1.0, "top plate": 1.0, "screw": 4.0, "wire-02": 10.0, "frame": 50.0,
                  "magnet to back plate": SEAM},
        "reworked": {"pole": 1.0},
        "new": {"second magnet": 1.0, "screw": 2.0, "cone": 6.0, "second magnet to magnet": SEAM, "top plate to second magnet": SEAM,
                "cone to frame": 0.4},
        "left over": {"cone": 5.0},
    }  # fmt: skip
    assert found.step.usual == pytest.approx(5.6225, abs=5e-5)
    assert found.buy is not None
    assert found.buy_fresh is not None
    assert (found.buy.goods, found.buy.total) == (44.80, 52.40)
    assert (found.buy_fresh.goods, found.buy_fresh.total) == (117.80, 125.40)
    assert (found.to_pay, found.to_pay_fresh) == pytest.approx((58.70, 133.20))
    assert (found.printed_g, found.print_hours) == pytest.approx((18.0, 3.6))
    assert found.worth_left == pytest.approx(0.10)
    assert [one.code for one in found.verdicts] == ["magnets-apart"]
    on_page("5.6225", "44.80", "58.70", "117.80", "133.20")


SEAM = pytest.approx(0.3613, abs=5e-5)


def fates(found) -> dict[str, dict[str, float]]:
    """Amounts by line, by what becomes of them."""
    told: dict[str, dict[str, float]] = {}
    for one in found.lines:
        told.setdefault(one.fate, {})[one.line.key] = one.line.amount
    return told
