"""Pictures and text in a real browser: chosen by keyboard, filmed, stopped, copied, also where copying is not allowed."""

from __future__ import annotations

import itertools
import re

from playwright.sync_api import Page, expect

from halfroll.publish.screens.draw import screen_svg
from halfroll.publish.screens.layout import screen
from tests.browser.conftest import Notes, Served
from tests.browser.manners import can_be_listened_to
from tests.publish import samples

TWO = "v=godwit/v1&v=godwit/v3"


def test_picture_and_film(page: Page, notes: Notes, small: Served) -> None:
    """Another chart and ground by keyboard; the picture is there at its size; a film is stopped, then made and played."""
    page.goto(f"{small.address}/pictures?v=godwit/v3&finding=no")
    page.get_by_label("Chart").focus()
    page.get_by_label("Chart").select_option("strip:lower_limit_hz")
    page.get_by_label("Ground").select_option("dark")
    page.get_by_role("button", name="Show it").focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**ground=dark**")
    picture = page.get_by_role("img", name="Lower limit: Godwit v3.")
    expect(picture).to_be_visible()
    page.wait_for_function("document.querySelector('figure.screen img').naturalWidth === 960")
    can_be_listened_to(page)
    page.get_by_label("Time for each version, s").fill("30")
    make = page.get_by_role("button", name="Make the build-up")
    make.focus()
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_role("alert").get_by_text("was stopped")).to_be_visible()
    page.get_by_label("Time for each version, s").fill("0.5")
    page.get_by_label("Time the whole picture stands, s").fill("0")
    page.get_by_label("Kind").select_option(".webm")
    page.get_by_label("Frames a second").select_option("24")
    make.click()
    expect(page.get_by_role("link", name="Keep the WebM film")).to_be_visible()
    page.wait_for_function("document.querySelector('video').videoWidth === 1920")
    page.set_viewport_size({"width": 390, "height": 844})
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def test_text_is_copied_or_selected(page: Page, notes: Notes, small: Served) -> None:
    """With permission it is in the clipboard and that is said; without, the text is selected and what to press is said."""
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.goto(f"{small.address}/compare?{TWO}&base=first")
    page.get_by_text("Findings and figures as text to paste").click()
    page.get_by_role("button", name="Write as Markdown").focus()
    page.keyboard.press("Enter")
    box = page.get_by_label("Text", exact=True)
    expect(box).to_have_value(re.compile(r"\| Figure \| Version \| Value \| Against the base \| Mark \|"))
    copy = page.get_by_role("button", name="Copy the text")
    copy.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("Copied.")).to_be_visible()
    assert page.evaluate("navigator.clipboard.readText()") == box.input_value()
    page.evaluate("() => { navigator.clipboard.writeText = () => Promise.reject(new Error('not allowed')); }")
    copy.click()
    expect(page.get_by_text("The text is selected")).to_be_visible()
    assert page.evaluate(
        "(b => b.value.slice(b.selectionStart, b.selectionEnd) === b.value)(document.activeElement)"
    )


def test_words_of_an_svg_stay_inside_and_apart(page: Page, notes: Notes) -> None:
    """Set by Chromium with the font it carries: no line reaches into the margin, no line of words lies over another."""
    page.set_viewport_size({"width": 1920, "height": 1080})
    for chart in ("level", "figures"):
        drawing = screen_svg(
            screen(samples.comparison(8), chart, source="Saltmarsh Workshop", date="2026-11-26")
        )
        page.set_content(f"<body style='margin:0'>{drawing}</body>")
        page.evaluate("document.fonts.ready")
        assert page.evaluate("[...document.fonts].filter((f) => f.status === 'loaded').length") >= 2
        boxes = page.evaluate(
            "() => [...document.querySelectorAll('text')].map((t) => t.getBoundingClientRect()).map((r) => [r.left, r.right, r.top, r.bottom])"
        )
        assert len(boxes) > 20
        assert min(box[0] for box in boxes) >= 95.0
        assert max(box[1] for box in boxes) <= 1825.0
        lines = sorted((box for box in boxes if box[1] - box[0] > 500), key=lambda box: box[2])
        assert all(
            after[2] >= before[3] - 0.25 * (before[3] - before[2])
            for before, after in itertools.pairwise(lines)
        )
