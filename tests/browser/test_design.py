"""A design in a real browser: typed and dragged, computed beside the page, stopped, refused, saved."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from halfroll.workshop import Workshop
from halfroll.workshop.motors import load_motor
from tests.app.samples import knot_with_motor
from tests.browser.conftest import Notes, Served, drawn
from tests.browser.manners import can_be_listened_to, fits_a_phone

VERSION = "knot/v1"


pytestmark = pytest.mark.usefixtures("patient")


def _knot(served: Served) -> Workshop:
    """A version with a ring magnet around a pole."""
    return knot_with_motor(Workshop.open(served.folder))


def _handle(page: Page, key: str) -> Locator:
    return page.locator(f'.handle[data-key="{key}"]')


def _bl(page: Page) -> str:
    return (
        page.locator("dt", has_text="Force factor Bl at rest")
        .locator("xpath=following-sibling::dd")
        .inner_text()
    )


def test_a_motor_is_designed(page: Page, notes: Notes, empty: Served) -> None:
    """Dimensions by hand, by arrow key and by pointer; results stay till new ones come; a collision keeps the drawing; saving writes the
    file; no side scroll on a phone.
    """
    shop = _knot(empty)
    page.goto(f"{empty.address}/design/{VERSION}")
    expect(page.locator("svg.half-section image")).to_be_visible()
    drawn(page)
    first = _bl(page)

    # Typed: the drawing at once, the figures when they are there.
    page.locator('[name="motor.parts[3].inner_mm"]').fill("23.2")
    expect(page.locator('svg.half-section [data-dimension="gap-width"]')).to_contain_text("1.6")
    expect(page.get_by_text("These results are of the earlier dimensions")).to_be_visible()
    assert _bl(page) == first
    expect(page.get_by_text("These results are of the earlier dimensions")).to_be_hidden()
    assert _bl(page) != first

    # By the keyboard, 0.1 mm at a time, and with shift 1 mm.
    offset = _handle(page, "coil.offset_mm")
    offset.focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Shift+ArrowUp")
    expect(page.locator('[name="coil.offset_mm"]')).to_have_value("1.1")
    expect(offset).to_be_focused()
    expect(offset).to_have_attribute("aria-valuetext", "1.1 mm")

    # By the pointer: the outer edge of the magnet follows it, its diameter grows by twice the way.
    edge = _handle(page, "motor.parts[2].outer_mm")
    scale = float(page.locator("svg.half-section").get_attribute("data-px-per-mm") or "nan")
    box = edge.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + scale, y, steps=4)
    page.mouse.move(x + 2 * scale, y, steps=4)
    page.mouse.up()
    expect(page.locator('[name="motor.parts[2].outer_mm"]')).to_have_value(re.compile("^6[34](\\.\\d+)?$"))

    # A collision: both names beside the field, the last good drawing stays, nothing can be saved.
    page.locator('[name="motor.parts[4].outer_mm"]').fill("24")
    expect(page.locator(".design-drawing div.alert")).to_contain_text("pole")
    expect(page.locator(".design-drawing div.alert")).to_contain_text("top plate")
    expect(page.locator("svg.half-section")).to_contain_text("⌀20")
    expect(page.get_by_role("button", name="Save", exact=True)).to_be_disabled()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("The drawing shows the last state that could be built.")).to_be_hidden()

    # Kept in the file.
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("The design is saved.")).to_be_visible()
    saved = load_motor(shop, VERSION).design
    assert saved.coil is not None
    assert abs(saved.coil.offset_m - 1.1e-3) < 1e-9
    can_be_listened_to(page)
    fits_a_phone(page)


def test_slow_work_is_stopped_and_the_page_goes_on(page: Page, notes: Notes, empty: Served) -> None:
    """The inductance is asked for and stopped; dimensions can be changed all the while, and the field comes after."""
    _knot(empty)
    page.goto(f"{empty.address}/design/{VERSION}")
    expect(page.locator("svg.half-section image")).to_be_visible()
    drawn(page)
    section = page.locator(
        "section", has=page.get_by_role("heading", name="Inductance and eddy-current loss")
    )
    section.get_by_role("button", name="Compute the inductance").click()
    stop = section.get_by_role("button", name="Stop")
    expect(stop).to_be_visible()
    stop.click()
    expect(stop).to_be_hidden()
    first = _bl(page)
    page.locator('[name="coil.turns"]').fill("50")
    expect(
        page.locator("dt", has_text="Force factor Bl at rest").locator("xpath=following-sibling::dd")
    ).not_to_have_text(first)


def test_the_drawing_follows_the_look(page: Page, notes: Notes, empty: Served) -> None:
    """By night the drawing is made anew on slate; field and lines are switched off by hand, which the address says."""
    _knot(empty)
    page.goto(f"{empty.address}/design/{VERSION}")
    expect(page.locator("svg.half-section image")).to_be_visible()
    page.locator("button.theme").click()
    expect(page.locator('svg.half-section text[stroke="#1c2428"]').first).to_be_attached()
    page.get_by_label("field", exact=True).uncheck()
    expect(page.locator("svg.half-section image")).to_have_count(0)
    expect(page).to_have_url(re.compile(r"hide=field$"))
