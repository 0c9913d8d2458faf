"""An impedance in a real browser: dropped, fitted, drawn."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page, expect

from halfroll.workshop import UnitRecord, VersionRecord, Workshop
from halfroll.workshop.records import DriverRecord
from tests.browser.conftest import Notes, Served, drawn
from tests.workshop.test_impedance_runs import table


def test_impedance_by_upload(page: Page, notes: Notes, empty: Served, tmp_path: Path) -> None:
    """Two tables, alone and with a mass, become the moving mass; charts are drawn; nothing runs off a phone's side."""
    shop = Workshop.open(empty.folder)
    shop.create_driver("knot", DriverRecord(title="Knot"))
    shop.create_version("knot", "v1", VersionRecord(effective_area_cm2=125.0, rated_impedance_ohm=6.0))
    shop.create_unit("knot/v1", "01", UnitRecord())
    page.goto(f"{empty.address}/parameters/knot/v1/01")
    expect(page.get_by_text("No impedance was measured yet")).to_be_visible()
    page.locator("#files").set_input_files(table(tmp_path / "alone.csv"))
    expect(page.get_by_text("240 points")).to_be_visible()
    page.get_by_role("button", name="Add it").click()
    expect(page.get_by_role("heading", name="Impedance 2026-04-01-alone")).to_be_visible()
    drawn(page)
    expect(page.get_by_text("Stick a known mass to the cone")).to_be_visible()
    page.locator("#files").set_input_files(table(tmp_path / "putty.csv", 0.005, 2))
    expect(page.get_by_text("240 points")).to_be_visible()
    page.locator('[name="what"]').select_option("mass")
    page.locator('[name="added_mass_g"]').fill("5")
    page.get_by_role("button", name="Add it").click()
    expect(page.get_by_role("columnheader", name="by added mass")).to_be_visible()
    page.set_viewport_size({"width": 390, "height": 844})
    drawn(page)
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
