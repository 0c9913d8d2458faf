"""The page of sliders in a real browser: learnt, dragged and estimated, let go and solved, kept; empty where there is no design."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.workshop import Workshop
from tests.browser.conftest import Notes, Served
from tests.browser.manners import can_be_listened_to
from tests.study.shop import VERSION, predicted

KEY = "surround.thickness_mm"
PATIENCE_MS = 120_000

pytestmark = pytest.mark.usefixtures("patient")


def fits_a_phone(page: Page) -> None:
    """Nothing reaches out of a window of 390 px; the page has drawings and no chart to wait for."""
    page.set_viewport_size({"width": 390, "height": 844})
    page.wait_for_timeout(500)
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    page.set_viewport_size({"width": 1280, "height": 900})


@pytest.mark.slow
def test_a_dimension_is_dragged_and_let_go(page: Page, notes: Notes, empty: Served, shared: Path) -> None:
    """A slider that is looked at is learnt first; while it is dragged an estimate stands there, let go it is solved and the estimate's
    error is said; by the keyboard alike; the address holds it; it is kept as a draft and as a version.
    """
    shop = predicted(Workshop.open(empty.folder), shared)
    page.goto(f"{empty.address}/what-if/{VERSION}")
    state = page.locator(".design-drawing p.lead")
    expect(state).to_contain_text("As saved.", timeout=PATIENCE_MS)
    slider = page.locator(f'input[name="{KEY}"]')
    slider.focus()
    note = page.locator(".slider", has=slider).locator(".hint")
    expect(note).to_contain_text("more:", timeout=PATIENCE_MS)

    # Dragged: an estimate, nothing solved; then let go.
    slider.scroll_into_view_if_needed()
    box = slider.bounding_box()
    assert box is not None
    before = float(slider.input_value())
    low, high = (float(slider.get_attribute(end) or "nan") for end in ("min", "max"))
    x = box["x"] + 8 + (box["width"] - 16) * (before - low) / (high - low)
    y = box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 12, y, steps=4)
    expect(state).to_contain_text("Estimated")
    expect(page.locator('svg[aria-label*="estimated"]')).to_be_visible()
    page.mouse.up()
    expect(state).to_contain_text("Solved. The estimate was off by", timeout=PATIENCE_MS)
    expect(page.locator('svg[aria-label*="solved"]')).to_be_visible()
    assert float(slider.input_value()) > before
    expect(page).to_have_url(re.compile(r"\?surround\.thickness_mm=[\d.]+$"))

    # By the keyboard: Enter solves at once.
    slider.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(state).to_contain_text("Solved.", timeout=PATIENCE_MS)
    value = float(slider.input_value())

    # Kept as a draft, and as a version that notes the change.
    page.get_by_role("button", name="Keep as a draft").click()
    expect(page.get_by_text("Kept as a draft")).to_be_visible()
    assert SuspensionDraft(shop, VERSION).value(KEY) == pytest.approx(value)
    can_be_listened_to(page)
    fits_a_phone(page)
    page.get_by_text("Make a new version of it").click()
    page.locator('[name="new-version"]').fill("v2")
    page.get_by_role("button", name="Make the new version").click()
    expect(page).to_have_url(re.compile("/drivers/knot/v2$"))
    record = shop.version("knot/v2").record
    assert record.parent == VERSION
    assert record.surround is not None
    assert record.surround.thickness_mm == pytest.approx(value)
    assert record.changes[0].what == "thickness of the surround"


def test_without_a_design(page: Page, notes: Notes, empty: Served) -> None:
    """A version without motor or moving parts shows the way to them."""
    from tests.app.samples import knot_with_motor

    knot_with_motor(Workshop.open(empty.folder))
    page.goto(f"{empty.address}/what-if/{VERSION}")
    expect(page.get_by_text("This version has not all that a driver follows from")).to_be_visible()
    expect(page.get_by_role("link", name="moving parts")).to_be_visible()
    fits_a_phone(page)
