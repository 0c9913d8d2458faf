"""Builders in a real browser: a reading answered while it is typed, a recording dropped, kept, all by keyboard, on a phone."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page, expect

from halfroll.workshop.builders import load_check
from tests.browser.conftest import Notes, drawn, serving
from tests.browser.manners import can_be_listened_to, fits_a_phone
from tests.workshop.builders_shop import FS_HZ, VERSION, builders_shop, recorded


def test_a_builder_is_answered(page: Page, notes: Notes, patient: None, tmp_path: Path) -> None:
    """From the list to the form by keyboard; a slip is told; recordings are dropped; the answer is drawn; it is kept and closed."""
    shop = builders_shop(tmp_path / "shop")
    good = recorded(tmp_path / "good.flac")
    stiff = recorded(tmp_path / "stiff.m4a", fs_hz=1.6 * FS_HZ, q=1.28)
    with serving(shop.folder) as served:
        page.goto(f"{served.address}/builders")
        expect(page.get_by_text("No check yet")).to_be_visible()
        can_be_listened_to(page)
        page.get_by_role("link", name="Check a unit").focus()
        page.keyboard.press("Enter")
        page.wait_for_url("**/builders/new")
        page.get_by_label("Version").select_option(VERSION)
        page.get_by_label("DC resistance, ohm").focus()
        page.keyboard.type("0.0064")
        expect(page.get_by_text("write 6.4 ohm")).to_be_visible()
        page.keyboard.press("Control+A")
        page.keyboard.type("6.4")
        page.keyboard.press("Tab")
        expect(page.get_by_label("Polarity")).to_be_focused()
        page.keyboard.type("ri")
        page.get_by_label("The driver sat").select_option("baffle")
        page.get_by_label("Builder", exact=True).fill("tern")
        page.set_input_files("#recording-file", stiff)
        page.set_input_files("#reference-file", good)
        expect(page.get_by_role("heading", name="The recording and a good unit")).to_be_visible()
        expect(page.get_by_role("heading", name="What it may be")).to_be_visible()
        drawn(page)
        can_be_listened_to(page)
        fits_a_phone(page)
        page.get_by_role("button", name="Keep the check").focus()
        page.keyboard.press("Enter")
        page.wait_for_url("**/builders/tern")
        expect(page.get_by_role("heading", name="To send to the builder")).to_be_visible()
        drawn(page)
        can_be_listened_to(page)
        page.get_by_label("Status").select_option("mended")
        page.get_by_label("It was").select_option("stiff-print")
        page.get_by_role("button", name="Save", exact=True).click()
        expect(page.locator("dl.facts").get_by_text("mended")).to_be_visible()
        fits_a_phone(page)
    record = load_check(shop, "tern").record
    assert record.found_fault == "stiff-print"
    assert record.reading("polarity").value == 1.0  # type: ignore[union-attr]
    assert record.recording is not None
    assert record.recording.file == "recording.m4a"
