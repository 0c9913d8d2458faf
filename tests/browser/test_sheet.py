"""Data sheet and marks in a real browser; the pages of a site opened from a folder with the network off."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from halfroll.publish.site import build_site
from halfroll.workshop import Workshop
from tests.browser.conftest import Notes, Served, drawn
from tests.browser.manners import LEVELS, UNNAMED, can_be_listened_to, fits_a_phone


def test_from_a_number_to_its_takes(page: Page, notes: Notes, small: Served) -> None:
    """The sheet is read, heard, fits a phone; by keyboard from a number to what stands behind it, and to the take."""
    page.goto(f"{small.address}/sheet/godwit/v3")
    expect(page.get_by_role("heading", name="Godwit v3 Trial 3: data sheet")).to_be_visible()
    drawn(page)
    can_be_listened_to(page)
    link = page.get_by_role("link", name=re.compile("What stands behind Sensitivity, measured"))
    link.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name=re.compile("Sensitivity: "))).to_be_visible()
    expect(page.get_by_text("Unchanged.")).to_be_visible()
    page.set_viewport_size({"width": 390, "height": 844})
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    page.locator("a[href^='/takes/godwit/v3/01/']").first.click()
    expect(page).to_have_url(re.compile("/takes/godwit/v3/01/"))
    page.goto(f"{small.address}/sheet/godwit/v3")
    drawn(page)
    fits_a_phone(page)
    page.goto(f"{small.address}/site")
    can_be_listened_to(page)


@pytest.fixture(scope="module")
def folder(analysed: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A site of the small workshop's bass."""
    shop = Workshop.open(analysed)
    return build_site(
        shop, tmp_path_factory.mktemp("site") / "pages", versions=["godwit"], date="2026-05-02"
    ).folder


def test_a_site_needs_no_server_and_no_network(browser: Browser, folder: Path) -> None:
    """From a folder: nothing leaves, nothing is complained about, values are read by pointer and keys, versions are taken out."""
    context = browser.new_context(offline=True, color_scheme="dark", viewport={"width": 1200, "height": 900})
    page = context.new_page()
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto((folder / "index.html").as_uri())
    page.get_by_role("link", name="Compare its versions").click()
    drawn(page, "figure")
    chart = page.locator("figure[data-chart='level'] .live")
    curves = chart.locator("svg .mark-line path").count()
    chart.scroll_into_view_if_needed()
    box = chart.bounding_box()
    assert box is not None
    before = chart.locator("svg").inner_html()
    page.mouse.move(box["x"] + 0.3 * box["width"], box["y"] + 0.4 * box["height"])
    page.wait_for_function(
        "(was) => document.querySelector(\"figure[data-chart='level'] .live svg\").innerHTML !== was",
        arg=before,
    )
    chart.focus()
    page.keyboard.press("End")
    expect(page.locator("figure[data-chart='level'] [aria-live]")).to_contain_text("dB")
    page.get_by_role("checkbox", name=re.compile("v1 Trial 1")).uncheck()
    page.wait_for_function("document.querySelector('figure').dataset.drawn.includes('godwit/v1')")
    assert chart.locator("svg .mark-line path").count() < curves
    assert page.evaluate(UNNAMED) == []
    assert page.evaluate(LEVELS).count(1) == 1
    for name in (
        "index.html",
        "versions/godwit--v3.html",
        "marks/godwit--v3.html",
        "changes.html",
        "parts.html",
        "compare/godwit.html",
    ):
        page.set_viewport_size({"width": 390, "height": 844})
        page.goto((folder / name).as_uri())
        assert page.evaluate(
            "document.documentElement.scrollWidth <= document.documentElement.clientWidth"
        ), name
    assert said == []
    assert all(url.startswith((folder.as_uri(), "data:")) for url in asked)
    context.close()


def test_a_site_reads_without_scripts(browser: Browser, folder: Path) -> None:
    """The pictures of the curves stand in the page."""
    context = browser.new_context(offline=True, java_script_enabled=False)
    page = context.new_page()
    page.goto((folder / "versions/godwit--v3.html").as_uri())
    expect(page.locator(".still.wide svg").first).to_be_visible()
    expect(page.locator(".still.narrow svg").first).to_be_hidden()
    page.get_by_role("link", name=re.compile("What stands behind Sensitivity")).click()
    expect(page.locator("section:target h2")).to_contain_text("Sensitivity")
    context.close()
