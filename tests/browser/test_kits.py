"""Kits and stock in a real browser: read, heard, by keyboard, on a phone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Notes, Served, drawn, serving
from tests.browser.manners import can_be_listened_to, fits_a_phone
from tests.builds.kit_shop import kit_shop

pytestmark = [pytest.mark.usefixtures("patient")]


@pytest.fixture
def nest(tmp_path: Path) -> Iterator[Served]:
    """A server over the worked case."""
    with serving(kit_shop(tmp_path / "shop").folder) as served:
        yield served


def test_kits_are_planned_packed_and_taken_back_by_keyboard(page: Page, notes: Notes, nest: Served) -> None:
    """From the list to a batch of ten, its chart in words; two are booked and taken back; a movement that is too large is told."""
    page.goto(f"{nest.address}/kits")
    can_be_listened_to(page)
    page.get_by_role("link", name="Nest box pair").press("Enter")
    number = page.get_by_label("Kits", exact=True)
    number.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("10")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="To buy for 10 kits, at the lowest total")).to_be_visible()
    drawn(page)
    expect(page.get_by_role("img", name="Kits the stock allows by part")).to_be_visible()
    can_be_listened_to(page)
    fits_a_phone(page)
    assert "/labels.pdf" in (page.locator("form[action]").get_attribute("action") or "")
    page.get_by_role("button", name="Book 10 packed kits", exact=True).press("Enter")
    expect(page.get_by_role("alert").filter(has_text="Not so much is in stock")).to_be_visible()
    page.get_by_role("button", name="Book them although it goes below zero").press("Enter")
    expect(page.get_by_role("heading", name="Stock", exact=True)).to_be_visible()
    can_be_listened_to(page)
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    page.get_by_role("button", name="Take it back").press("Enter")
    expect(page.get_by_text("Booked last:")).to_have_count(0)
    page.get_by_label("Part", exact=True).select_option("screw")
    page.get_by_label("What happened").select_option("counted")
    expect(page.get_by_label("Supplier")).to_be_hidden()
    page.get_by_label("Amount").fill("28")
    page.get_by_role("button", name="Book it", exact=True).press("Enter")
    expect(page.get_by_role("heading", name="screw", exact=True)).to_be_visible()
    drawn(page)
    can_be_listened_to(page)
