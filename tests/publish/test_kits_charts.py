"""Charts of kits and stock: valid by the chart language's schema at every width, points where the numbers are, said in words."""

from pathlib import Path
from typing import Any

import pytest

from halfroll.builds.kits import KitPlan, plan
from halfroll.core.verdicts import Severity
from halfroll.publish.kits_chart import allows_chart
from halfroll.publish.stock_chart import stock_chart
from halfroll.publish.stock_rows import history_rows, worth_words
from halfroll.publish.theme import theme
from halfroll.workshop import Workshop
from halfroll.workshop.standing import Standing
from halfroll.workshop.stock import move, standings
from halfroll.workshop.stock_record import MovementTable
from tests.builds.kit_shop import DAY, kit_shop
from tests.publish.language import assert_valid


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    """The worked case, with movements of the magnet, one of them below zero."""
    shop = kit_shop(tmp_path_factory.mktemp("kits") / "shop")
    rows: list[dict[str, Any]] = [
        {"date": DAY.replace(month=7), "what": "used", "amount": 9},
        {"date": DAY.replace(month=8), "what": "bought", "amount": 12, "paid": 20.0, "currency": "EUR"},
        {"date": DAY.replace(month=9), "what": "counted", "amount": 6},
    ]
    move(shop, *(MovementTable.model_validate({"part": "magnet", **row}) for row in rows), anyway=True)
    return shop


@pytest.fixture(scope="module")
def four(shop: Workshop) -> KitPlan:
    """Four kits planned."""
    return plan(shop, "nest-pair", 4)


@pytest.fixture(scope="module")
def magnets(shop: Workshop) -> Standing:
    """Where the magnets stand."""
    return standings(shop)["magnet"]


@pytest.mark.parametrize(("width", "look"), [(320, "dark"), (1200, "light")])
def test_both_conform_to_the_schema(four: KitPlan, magnets: Standing, width: int, look: str) -> None:
    """On a phone by night and a wide screen by day."""
    assert_valid(allows_chart(four, theme=theme(look), width_px=width))
    assert_valid(stock_chart(magnets, theme=theme(look), width_px=width))


def test_each_part_stands_at_the_kits_it_allows(four: KitPlan) -> None:
    """Fewest first: 3, 3, 3, 6; a line at the four wanted; those below it told apart."""
    spec = allows_chart(four, theme=theme("light"), width_px=900)
    assert [row["x"] for row in spec["datasets"]["allows"]] == [3, 3, 3, 6]
    assert [row["short"] for row in spec["datasets"]["allows"]] == [True, True, True, False]
    assert spec["datasets"]["wanted"][0]["x"] == 4
    assert "the stock allows 3 kits of 4" in spec["description"]


def test_what_allows_more_than_the_scale_stands_at_its_end(tmp_path: Path) -> None:
    """Planned for one: the scale ends at twice the kits that are possible, and the wire allows many more."""
    shop = kit_shop(tmp_path / "shop")
    move(shop, MovementTable(date=DAY, part="wire", what="bought", amount=1000))
    spec = allows_chart(plan(shop, "nest-pair", 1), theme=theme("light"), width_px=900)
    rows = sorted(spec["datasets"]["allows"], key=lambda row: row["y"])
    assert [row["more"] for row in rows] == [False, False, False, True]
    assert [row["x"] for row in rows[:3]] == [2, 3, 3]
    assert 4 <= rows[3]["x"] < 6


def test_the_history_is_drawn_as_steps(magnets: Standing) -> None:
    """From the opening five: -4, 8, 6; the point below zero is marked, the count is filled."""
    spec = stock_chart(magnets, theme=theme("light"), width_px=900)
    assert [row["y"] for row in spec["datasets"]["stock"]] == [5, -4, 8, 6, 6]
    assert [row["low"] for row in spec["datasets"]["movements"]] == [True, False, False]
    assert [row["full"] for row in spec["datasets"]["movements"]] == [False, False, True]
    assert [row["words"] for row in spec["datasets"]["days"]] == ["2026-08", "2026-09"]
    assert magnets.verdicts[0].severity == Severity.NOTE


def test_words_of_a_history(magnets: Standing, shop: Workshop) -> None:
    """Changes with their sign, what was booked below zero is said, and worth by currency."""
    rows = history_rows(magnets).rows
    assert [row[1] for row in rows] == ["used, below zero", "bought", "counted"]
    assert [row[2] for row in rows] == ["−9 pieces", "+12 pieces", "−2 pieces"]
    assert worth_words(standings(shop).values()).endswith("\u202fEUR")
