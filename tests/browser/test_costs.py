"""Bill and carry-over in a real browser: read, heard, by keyboard, on a phone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Notes, Served, drawn, serving
from tests.browser.manners import can_be_listened_to, fits_a_phone
from tests.builds.by_hand import by_hand

pytestmark = [pytest.mark.usefixtures("patient")]


@pytest.fixture
def stilt(tmp_path: Path) -> Iterator[Served]:
    """A server over the case worked by hand."""
    with serving(by_hand(tmp_path / "shop").folder) as served:
        yield served


def test_costs_are_read_by_keyboard(page: Page, notes: Notes, stilt: Served) -> None:
    """Another number of drivers is typed and sent with Enter; the chart has words; the step is chosen and worked out."""
    page.goto(f"{stilt.address}/bill/stilt/v2")
    expect(page.get_by_role("heading", name="What Stilt v2 costs")).to_be_visible()
    drawn(page)
    can_be_listened_to(page)
    units = page.get_by_label("Drivers to buy for")
    units.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("3")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="To buy for 3 drivers, whole packs")).to_be_visible()
    fits_a_phone(page)
    page.get_by_role("link", name="What carries over from stilt/v1").press("Enter")
    expect(page.get_by_role("heading", name="From Stilt v1 to Stilt v2")).to_be_visible()
    expect(page.get_by_text("glued to back plate, top plate")).to_be_visible()
    can_be_listened_to(page)
    page.get_by_label("What comes off").select_option("all")
    page.get_by_role("button", name="Work it out").press("Enter")
    expect(page.get_by_role("cell", name="58.70")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
