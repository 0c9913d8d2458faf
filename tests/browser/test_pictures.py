"""Pictures and text in a real browser: chosen by keyboard, filmed, stopped, copied, also where copying is not allowed."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from tests.browser.conftest import Notes, Served
from tests.browser.manners import can_be_listened_to

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
