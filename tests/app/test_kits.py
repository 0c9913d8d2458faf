"""The pages of stock and kits: the worked case planned, papers handed out, bookings made and taken back, faults under their fields."""

from __future__ import annotations

import io
from pathlib import Path

import pypdf
import pytest
from nicegui.testing import User

from halfroll.workshop import Workshop
from halfroll.workshop.kits import kit_ids, load_kit
from halfroll.workshop.stock import standings
from tests.app.conftest import until, visiting
from tests.builds.kit_shop import kit_shop


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """The workshop of the worked case."""
    return kit_shop(tmp_path / "shop")


def stock(shop: Workshop, part: str) -> float | None:
    """What there is of a part."""
    return standings(shop)[part].amount


async def test_an_empty_workshop_shows_the_way(newcomer: User) -> None:
    """No kits, no versions, no parts: where to begin is said."""
    await newcomer.open("/kits")
    for words in ("A kit is a bag of parts", "begin one", "Stock"):
        await newcomer.should_see(words)
    await newcomer.open("/stock")
    await newcomer.should_see("There are no parts of your own yet")


async def test_a_batch_is_planned_and_its_papers_are_handed_out(shop: Workshop) -> None:
    """The numbers of the worked case; both papers; what cannot be is said with its status."""
    async with visiting(shop) as user:
        await user.open("/kits")
        await user.should_see("Nest box pair")
        await user.open("/kits/nest-pair?n=10")
        for words in ("The stock allows 2 kits of 10; Neodymium disc", "111.20\u202fEUR", "38.50\u202fEUR", "21.83\u202fEUR", "26 pieces",
                      "The builder prints basket", "Left over afterwards: 1 piece", "swallowed", "Kits the stock allows by part"):  # fmt: skip
            await user.should_see(words)
        pick = await user.http_client.get("/kits/nest-pair/pick-list.pdf?n=10")
        assert pick.headers["content-type"] == "application/pdf"
        assert "40 pieces" in pypdf.PdfReader(io.BytesIO(pick.content)).pages[0].extract_text()
        labels = await user.http_client.get("/kits/nest-pair/labels.pdf?n=10&columns=2&rows=7&skip=1")
        assert len(pypdf.PdfReader(io.BytesIO(labels.content)).pages) == 3
        for path, status, words in (
            ("/kits/nest-pair?n=0", 422, "1 to 10000"), ("/kits/nest-pair?n=ten", 422, "whole number"), ("/kits/nest-pear", 404, "nest-pair"),
            ("/kits/nest-pair/labels.pdf?n=1&columns=9", 422, "1 to 6 columns"), ("/kits/no/labels.pdf?n=1", 404, "no such kit"),
            ("/stock?part=magnit", 404, "magnet"),
        ):  # fmt: skip
            answer = await user.http_client.get(path)
            assert (answer.status_code, words in answer.text) == (status, True), (path, answer.text)


async def test_packed_kits_are_booked_and_taken_back(shop: Workshop) -> None:
    """Two are booked without a question; three are too many, and booked only when that is said."""
    async with visiting(shop) as user:
        await user.open("/kits/nest-pair?n=2")
        user.find(marker="date").trigger("entered", "soon")
        user.find(marker="book").click()
        await user.should_see("This must be a day; found soon.")
        user.find(marker="date").trigger("entered", "2026-10-03")
        user.find(marker="book").click()
        await until(lambda: stock(shop, "magnet") == 1)
        await user.should_see("3 movements with it")
        user.find(marker="undo").click()
        await until(lambda: stock(shop, "magnet") == 5)
        await user.open("/kits/nest-pair?n=3")
        user.find(marker="book").click()
        await user.should_see("Not so much is in stock: magnet would stand at −1 piece")
        assert stock(shop, "magnet") == 5
        user.find(marker="book-anyway").click()
        await until(lambda: stock(shop, "magnet") == -1)
        await user.should_see("went below zero")


async def test_movements_are_booked(shop: Workshop) -> None:
    """Faults stand under their fields; what was bought has its price; the history and its chart follow."""
    async with visiting(shop) as user:
        await user.open("/stock?part=magnet")
        user.find(marker="amount").trigger("entered", "two")
        user.find(marker="book").click()
        await user.should_see("found 'two'")
        user.find(marker="amount").trigger("entered", "0,5")
        user.find(marker="book").click()
        await user.should_see("whole pieces")
        for key, value in {"amount": "8", "paid": "18,00", "supplier": "Tideline Magnets"}.items():
            user.find(marker=key).trigger("entered", value)
        user.find(marker="book").click()
        await until(lambda: stock(shop, "magnet") == 13)
        await user.should_see("Stock of magnet after each movement")
        await user.should_see("Tideline Magnets, 18.00\u202fEUR")
        user.find(marker="what").trigger("entered", "used")
        user.find(marker="amount").trigger("entered", "20")
        user.find(marker="book").click()
        await user.should_see("Not so much is in stock")
        user.find(marker="what").trigger("entered", "counted")
        user.find(marker="amount").trigger("entered", "12")
        user.find(marker="book").click()
        await until(lambda: stock(shop, "magnet") == 12)
        await user.open("/parts/magnet")
        await user.should_see("12")


async def test_a_kit_is_made(shop: Workshop) -> None:
    """Faults under their fields, then its page opens."""
    async with visiting(shop) as user:
        await user.open("/kits")
        user.find(marker="keep-kit").click()
        await user.should_see("The new kit needs a name.")
        for key, value in {
            "id": "Single",
            "title": "One driver",
            "currency": "eur",
            "margin_percent": "-5",
        }.items():
            user.find(marker=key).trigger("entered", value)
        user.find(marker="keep-kit").click()
        await user.should_see("found -5")
        assert kit_ids(shop) == ["nest-pair"]
        user.find(marker="margin_percent").trigger("entered", "30")
        user.find(marker="keep-kit").click()
        await until(lambda: kit_ids(shop) == ["nest-pair", "single"])
        record = load_kit(shop, "single").record
        assert record.price is not None
        assert (record.drivers[0].version, record.price.currency, record.price.margin_percent) == (
            "dunlin/v1",
            "EUR",
            30,
        )
        await user.should_see("One driver")


async def test_books_with_a_fault_are_shown_as_far_as_they_go(shop: Workshop) -> None:
    """The fault is named with file and line, the rest still stands."""
    path = shop.folder / "stock" / "2026.toml"
    path.parent.mkdir()
    path.write_text(
        'format = 1\n[[movements]]\ndate = 2026-01-02\npart = "magnit"\nwhat = "bought"\namount = 2\n',
        encoding="utf-8",
    )
    async with visiting(shop) as user:
        for page_of in ("/stock", "/parts"):
            await user.open(page_of)
            await user.should_see("2026.toml:4")
            await user.should_see("screw")
        answer = await user.http_client.get("/kits/nest-pair")
        assert (answer.status_code, "2026.toml:4" in answer.text) == (422, True)
