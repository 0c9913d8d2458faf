"""A cabinet in a real browser: begun for a driver, typed, refused, suggested, saved; by a screen reader and on a phone."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from halfroll.workshop import DriverRecord, VersionRecord, Workshop
from halfroll.workshop.cabinets import load_cabinet
from halfroll.workshop.parameters_record import ParametersTable
from tests.browser.conftest import Notes, Served
from tests.browser.manners import can_be_listened_to, fits_a_phone

pytestmark = pytest.mark.usefixtures("patient")


def test_a_cabinet_is_designed(page: Page, notes: Notes, empty: Served) -> None:
    """From an empty list to a saved vented box; a fault keeps the drawing; a suggestion is taken and undone."""
    shop = Workshop.open(empty.folder)
    entered = ParametersTable(
        re_ohm=6.0, bl_n_per_a=6.0, mms_g=12.0, fs_hz=48.0, qms=3.65, le_mh=0.05, travel_mm=4.0
    )
    shop.create_driver("knot", DriverRecord(title="Knot"))
    shop.create_version("knot", "v1", VersionRecord(effective_area_cm2=133.0, parameters=entered))
    page.goto(f"{empty.address}/cabinets")
    page.get_by_role("link", name="Begin a cabinet").click()
    expect(page.locator("svg.half-section").first).to_be_visible()
    page.locator('[name="driver"]').select_option("knot/v1")
    expect(page.locator("dt", has_text="Qtc")).to_be_visible()
    expect(page.locator(".chart").first).to_be_visible()

    page.locator('[name="type"]').select_option("vented")
    page.locator('[name="port.length_mm"]').fill("500")
    expect(page.locator(".design-drawing div.alert")).to_contain_text(
        "The drawing shows the last state that could be built"
    )
    page.locator('[name="port.length_mm"]').fill("90")
    expect(page.locator(".design-drawing div.alert")).to_be_empty()
    expect(page.locator("dt", has_text="Air in the port")).to_be_visible()
    page.locator('svg [data-key="inside.width_mm"] text').click()
    expect(page.locator('[name="inside.width_mm"]')).to_be_focused()

    page.locator('[name="wish.most"]').fill("20")
    page.get_by_role("button", name="Suggest cabinets").click()
    page.get_by_role("button", name="Take 1.").click()
    expect(page.get_by_text("Taken: its volume and port")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.locator('[name="port.length_mm"]')).to_have_value("90")

    page.locator('[name="name"]').fill("reed-box")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("heading", name="reed-box")).to_be_visible()
    expect(page.locator("dt", has_text="Air in the port")).to_be_visible()
    cabinet = load_cabinet(shop, "reed-box")
    assert cabinet.port is not None
    assert cabinet.port.length_m == pytest.approx(0.09)
    can_be_listened_to(page)
    fits_a_phone(page)
