"""The guide and a unit's page in a browser: read by keyboard, judged, kept; a photograph sent and seen; named controls; a phone's width."""

from __future__ import annotations

from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, expect

from halfroll.workshop import UnitRecord, Workshop
from halfroll.workshop.prediction import EXAMPLE
from halfroll.workshop.records import DriverRecord, VersionRecord
from tests.browser.conftest import Notes, Served, drawn
from tests.browser.manners import can_be_listened_to, fits_a_phone


def test_from_the_guide_to_the_unit(page: Page, notes: Notes, empty: Served, tmp_path: Path) -> None:
    """Ticked and typed by keyboard, judged, kept with the unit; a photograph is sent and shown; names for every control; a phone is wide enough."""
    shop = Workshop.open(empty.folder)
    shop.create_driver("knot", DriverRecord(title="Knot"))
    path = shop.create_version("knot", "v1", VersionRecord()).path
    path.write_text(path.read_text() + EXAMPLE)
    shop.create_unit("knot/v1", "01", UnitRecord())
    page.goto(f"{empty.address}/guide/knot/v1")
    expect(page.get_by_role("heading", name="4. Acceptance")).to_be_visible()
    can_be_listened_to(page)
    page.get_by_role("checkbox", name="2. Leads and terminals").focus()
    page.keyboard.press("Space")
    expect(page.get_by_role("checkbox", name="2. Leads and terminals")).to_be_checked()
    read = page.get_by_role(
        "textbox", name="Read, Ω: DC resistance at the terminals, step Leads and terminals"
    )
    read.focus()
    page.keyboard.type("9.3")
    expect(page.get_by_text("✕ outside.")).to_be_visible()
    read.fill("6.02")
    expect(page.get_by_text("✓ good. DC resistance Re")).to_be_visible()
    page.set_viewport_size({"width": 390, "height": 844})
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    page.locator('[name="guide-unit"]').fill("01")
    page.get_by_role("button", name="Keep them").press("Enter")
    page.get_by_role("link", name="See the unit.").click()
    expect(page.get_by_text("6.02 Ω")).to_be_visible()
    page.set_viewport_size({"width": 1440, "height": 1000})
    page.get_by_text("Note what was built").click()
    Image.new("RGB", (40, 30), "tan").save(tmp_path / "stack.jpg")
    page.locator("#photographs").set_input_files(tmp_path / "stack.jpg")
    expect(page.get_by_text("JPEG, 40 by 30 pixels")).to_be_visible()
    page.locator('[name="shows"]').fill("The stack without its top plate.")
    page.get_by_role("button", name="Add the photograph").click()
    seen = page.get_by_role("img", name="The stack without its top plate.")
    expect(seen).to_be_visible()
    seen.scroll_into_view_if_needed()
    page.wait_for_function("document.querySelector('.photographs img').naturalWidth === 40")
    drawn(page)
    page.get_by_text("Note what was built").click()
    can_be_listened_to(page)
    fits_a_phone(page)
