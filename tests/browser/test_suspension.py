"""Moving parts in a real browser: typed and dragged, bent beside the page, played and paused, stopped, refused, saved."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.app.suspension_start import former_mm, start
from halfroll.suspension.design import StripDesign
from halfroll.workshop import Workshop
from halfroll.workshop.suspensions import load_moving
from tests.app.samples import knot_with_motor
from tests.browser.conftest import Notes, Served
from tests.browser.manners import can_be_listened_to, fits_a_phone
from tests.workshop.taught import lend, taught_once

VERSION = "knot/v1"
EARLIER = "These results are of the earlier dimensions"


pytestmark = pytest.mark.usefixtures("patient")


def _knot(served: Served, key: str = "roll", shared: Path | None = None) -> Workshop:
    """A version with a motor and moving parts; with what was worked out of them once for all workers, if that is given."""
    shop = knot_with_motor(Workshop.open(served.folder))
    draft = SuspensionDraft(shop, VERSION)
    draft.change(lambda data: data.update(start(key, former_mm(draft.record))))
    draft.save()
    return lend(shop, taught_once(shared)[0]) if shared else shop


def _handle(page: Page, key: str) -> Locator:
    return page.locator(f'.handle[data-key="{key}"]')


def _figure(page: Page, name: str) -> Locator:
    return page.locator("dt", has_text=name).locator("xpath=following-sibling::dd")


def test_moving_parts_are_designed(page: Page, notes: Notes, empty: Served) -> None:
    """Dimensions by hand, by arrow key and by pointer; a dimension in the drawing leads to its field; results stay till new ones come; a
    fault keeps the drawing; saving writes the file; no side scroll on a phone.
    """
    shop = _knot(empty)
    page.goto(f"{empty.address}/suspension/{VERSION}")
    expect(page.locator("svg.half-section").first).to_be_visible()
    expect(page.get_by_text("The cone moves as one piece up to")).to_be_visible()
    first = _figure(page, "Stiffness Kms at rest").inner_text()

    # Typed: the drawing at once, the figures when they are there, with what became of them.
    page.locator('[name="surround.thickness_mm"]').fill("0.6")
    expect(page.locator('[data-key="surround.thickness_mm"]')).to_contain_text("0.6 thick")
    expect(page.get_by_text(EARLIER)).to_be_visible()
    expect(page.get_by_text(EARLIER)).to_be_hidden()
    assert _figure(page, "Stiffness Kms at rest").inner_text() != first
    expect(_figure(page, "Stiffness Kms at rest")).to_contain_text("was ")

    # By the keyboard, 0.1 mm at a time, and with shift 1 mm.
    depth = _handle(page, "cone.depth_mm")
    before = float(page.locator('[name="cone.depth_mm"]').input_value())
    depth.focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Shift+ArrowUp")
    expect(page.locator('[name="cone.depth_mm"]')).to_have_value(f"{before + 1.1:g}")
    expect(depth).to_be_focused()

    # By the pointer: the outer edge follows it, its diameter grows by twice the way.
    edge = _handle(page, "surround.outer_mm")
    wide = float(page.locator('[name="surround.outer_mm"]').input_value())
    scale = float(page.locator("svg.half-section").first.get_attribute("data-px-per-mm") or "nan")
    edge.scroll_into_view_if_needed()
    box = edge.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + scale, y, steps=4)
    page.mouse.up()
    expect(page.locator('[name="surround.outer_mm"]')).not_to_have_value(f"{wide:g}")
    assert abs(float(page.locator('[name="surround.outer_mm"]').input_value()) - wide - 2.0) < 0.5

    # A dimension in the drawing leads to its field.
    page.locator('svg [data-key="spider.thickness_mm"] text').click()
    expect(page.locator('[name="spider.thickness_mm"]')).to_be_focused()

    # A fault: said, the last good drawing stays, nothing can be saved.
    page.locator('[name="surround.inner_mm"]').fill("300")
    expect(page.locator(".design-drawing div.alert")).to_contain_text("smaller than its outer one")
    expect(page.get_by_role("button", name="Save", exact=True)).to_be_disabled()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("The drawing shows the last state that could be built.")).to_be_hidden()

    # Kept in the file.
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("The design is saved.")).to_be_visible()
    found = load_moving(shop, VERSION).surround
    assert isinstance(found, StripDesign)
    assert abs(found.thickness_m - 0.6e-3) < 1e-9
    expect(page.get_by_text("The cone moves as one piece up to")).to_be_visible()
    expect(page.get_by_text(EARLIER)).to_be_hidden()
    can_be_listened_to(page)
    fits_a_phone(page)


def _seen_x(page: Page) -> list[str]:
    return page.locator("svg.motion g.frame:not([visibility])").evaluate_all(
        "all => all.map(e => e.dataset.x)"
    )


def test_the_motion_is_played_and_paused(page: Page, notes: Notes, empty: Served, shared: Path) -> None:
    """Nothing moves before it is asked to; Play runs, Pause holds; the slider by arrow keys shows the next frame, and the strain follows."""
    _knot(empty, shared=shared)
    page.goto(f"{empty.address}/suspension/{VERSION}")
    expect(page.locator("svg.motion")).to_be_visible()
    expect(page.get_by_text("together, Mms")).to_be_visible()
    assert _seen_x(page) == ["0"]
    page.get_by_role("button", name="Play").click()
    page.wait_for_function("document.querySelector('svg.motion g.frame:not([visibility])').dataset.x !== '0'")
    page.get_by_role("button", name="Pause").click()
    held = _seen_x(page)
    assert len(held) == 1
    page.wait_for_timeout(400)
    assert _seen_x(page) == held
    slider = page.get_by_role("slider", name="Displacement")
    slider.focus()
    page.keyboard.press("End")
    expect(slider).to_have_attribute("aria-valuetext", re.compile(r"^\+4"))
    assert _seen_x(page) == ["4"]
    expect(page.locator("svg.strained").first).to_contain_text("x = +4")
    expect(page).to_have_url(re.compile(r"\?x=4#bent$"))
    page.keyboard.press("Home")
    expect(page.locator("svg.strained").first).to_contain_text("x = −4")


def test_without_motion_it_steps(page: Page, notes: Notes, empty: Served, shared: Path) -> None:
    """For those who want no motion Play shows one end, then the other, then rest, one at a press."""
    _knot(empty, shared=shared)
    page.emulate_media(reduced_motion="reduce")
    page.goto(f"{empty.address}/suspension/{VERSION}")
    expect(page.locator("svg.motion")).to_be_visible()
    expect(page.get_by_text("together, Mms")).to_be_visible()
    seen = []
    for _ in range(3):
        page.get_by_role("button", name="Play").click()
        seen += _seen_x(page)
    assert seen == ["4", "-4", "0"]


def test_slow_bending_is_stopped_and_the_page_goes_on(page: Page, notes: Notes, empty: Served) -> None:
    """Spiral arms take long: the bar says what is done, Stop stops it, and the dimensions can be changed all the while."""
    _knot(empty, "arms")
    page.goto(f"{empty.address}/suspension/{VERSION}")
    expect(page.get_by_text("Bending the spider")).to_be_visible()
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_text("The computation was stopped.")).to_be_visible()
    expect(page.get_by_role("button", name="Compute it again")).to_be_visible()
    page.get_by_label("Family").nth(1).select_option("flat")
    expect(page.get_by_text("together, Mms")).to_be_visible()
    expect(page.get_by_text("The computation was stopped.")).to_be_hidden()


def test_in_the_motor_and_by_night(page: Page, notes: Notes, empty: Served, shared: Path) -> None:
    """The drawing stands in the motor when wanted, which the address keeps; by night it is made anew on slate."""
    _knot(empty, shared=shared)
    page.goto(f"{empty.address}/suspension/{VERSION}")
    expect(page.locator("svg.half-section").first).to_be_visible()
    page.get_by_label("in the motor").check()
    expect(page.locator("svg [data-body]").first).to_be_visible()
    expect(page).to_have_url(re.compile("view=motor"))
    page.reload()
    expect(page.locator("svg [data-body]").first).to_be_visible()
    page.locator("button.theme").click()
    expect(page.locator('svg.half-section [stroke="#ede8dc"]').first).to_be_attached()
