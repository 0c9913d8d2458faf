"""The batch of kits worked by hand in docs/how-to/plan-a-batch-of-kits.md: every number of it, and that the page says the same."""

from pathlib import Path

import pytest

from halfroll.builds.kits import KitPlan, pack, plan
from halfroll.workshop.stock import standings
from tests.builds.kit_shop import DAY, KIT, PARTS, VERSION, WORKSHOP, kit_shop

PAGE = Path(__file__).parents[2] / "docs/how-to/plan-a-batch-of-kits.md"


@pytest.fixture(scope="module")
def ten(tmp_path_factory: pytest.TempPathFactory) -> KitPlan:
    """Ten kits planned."""
    return plan(kit_shop(tmp_path_factory.mktemp("kits") / "shop"), "nest-pair", 10)


def test_one_kit_takes_what_two_drivers_take_with_extras_and_spares(ten: KitPlan) -> None:
    """Magnets 2 x 1; plates 2 x 2; wire 2 x 12.5 + 5 g; screws 8 + 10 % of 8 = 0.8, so one more."""
    assert {part.need.part_id: part.need.per_kit for part in ten.parts} == {
        "magnet": 2,
        "plate": 4,
        "wire": 30,
        "screw": 9,
    }


def test_the_stock_allows_two_kits_and_magnets_are_what_is_short(ten: KitPlan) -> None:
    """5 / 2 = 2; 14 / 4 = 3; 200 / 30 = 6; 30 / 9 = 3."""
    assert {part.need.part_id: part.allows for part in ten.parts} == {
        "magnet": 2,
        "plate": 3,
        "wire": 6,
        "screw": 3,
    }
    assert (ten.allowed, ten.limiting) == (2, ("magnet",))


def test_ten_kits_are_bought_for_at_the_lowest_total(ten: KitPlan) -> None:
    """Lacking: 15 magnets, 26 plates, 100 g of wire, 60 screws. See the page for why wire and screws come from Tideline."""
    lacking = {part.need.part_id: part.lacking for part in ten.parts}
    assert lacking == {"magnet": 15, "plate": 26, "wire": 100, "screw": 60}
    bought = {(p.offer.supplier, p.offer.part_id, p.offer.pack_size): p.packs for p in ten.shopping.purchases}
    yard = "Turned at the boat yard"
    assert bought == {
        ("Tideline Magnets", "magnet", 4): 4, ("Tideline Magnets", "wire", 100): 1, ("Tideline Magnets", "screw", 20): 3,
        (yard, "plate", 10): 2, (yard, "plate", 1): 6,
    }  # fmt: skip
    assert dict(ten.shopping.postage) == {"Tideline Magnets": 0.0, yard: 6.5}
    assert (ten.shopping.goods, ten.shopping.total) == (104.7, 111.2)
    assert ten.left_over == {"magnet": 1}


def test_the_price_of_one_kit(ten: KitPlan) -> None:
    """17.33 + 4.50 = 21.83; with 25 % 27.2875; (27.2875 + 4.90) 1.19 = 38.303, to 38.50; 38.50 / 1.19 = 32.35, tax 6.15."""
    price = ten.price
    assert price is not None
    assert {line.key: line.amount for line in price.lines} == {
        "materials": 17.33, "packing": 4.5, "cost": 21.83, "margin": 5.62, "net": 27.45, "postage": 4.9, "tax": 6.15, "total": 38.5,
    }  # fmt: skip
    assert price.margin_of_cost_percent == pytest.approx(100 * 5.62 / 21.83)


def test_what_was_packed_leaves_the_stock(tmp_path: Path) -> None:
    """Two kits: one magnet, six plates, 140 g and twelve screws stay."""
    shop = kit_shop(tmp_path / "shop")
    pack(shop, "nest-pair", 2, date=DAY)
    assert {part: one.amount for part, one in standings(shop).items()} == {
        "magnet": 1,
        "plate": 6,
        "wire": 140,
        "screw": 12,
    }


@pytest.mark.parametrize(
    "said",
    ["111.20", "104.70", "38.50", "27.45", "5.62", "21.83", "17.33", "6.15", "51.90", "59.30", "57.70"],
)
def test_the_page_says_the_same(said: str) -> None:
    """Each sum stands in it."""
    assert said in PAGE.read_text(encoding="utf-8")


def test_the_page_has_these_very_files() -> None:
    """Workshop, parts, version and kit."""
    text = PAGE.read_text(encoding="utf-8")
    for content in (WORKSHOP, VERSION, KIT, *PARTS.values()):
        assert content.strip() in text
