"""A person's walk through the app in a real browser: first take, comparison, curves, dark, paper."""

from __future__ import annotations

import re
import time
from pathlib import Path

from playwright.sync_api import Page, expect

from halfroll.workshop import Workshop
from tests.app.samples import audio_file
from tests.app.test_import import TYPED
from tests.browser.conftest import Notes, Served, drawn

THREE = "v=godwit/v1&v=godwit/v2&v=godwit/v3"


def test_first_take_by_upload(page: Page, notes: Notes, empty: Served, tmp_path: Path) -> None:
    """From an empty workshop to the response of the first take; a reload in between loses nothing."""
    page.goto(empty.address)
    page.get_by_role("link", name="Add the first take").click()
    audio_file(tmp_path / "first run.wav")
    page.locator("#files").set_input_files(tmp_path / "first run.wav")
    expect(page.get_by_text("2 channels, 24000 samples a second")).to_be_visible()
    for key, value in TYPED.items():
        control = page.locator(f'[name="{key}"]')
        if control.evaluate("box => box.tagName") == "SELECT":
            control.select_option(value)
        elif control.input_value() != value:
            control.fill(value)
    expect(page.locator('[name="rig_title"]')).to_have_value("Bench")
    page.reload()
    expect(page.locator('[name="driver_title"]')).to_have_value("Knot")
    expect(page.locator('[name="sweep_duration_s"]')).to_have_value(TYPED["sweep_duration_s"])
    expect(page.get_by_text("first run.wav")).to_be_visible()
    page.get_by_role("button", name="Add the take").click()
    page.wait_for_url(re.compile("/takes/knot/v1/01/"))
    expect(page.get_by_text("Counts in the figures.")).to_be_visible()
    drawn(page)
    assert page.locator(".chart svg path").count() > 20
    assert len(Workshop.open(empty.folder).take_ids()) == 1


def test_file_is_dropped(page: Page, notes: Notes, empty: Served, tmp_path: Path) -> None:
    """A recording dropped on the field is taken in; one dropped beside it does not replace the page."""
    content = list(audio_file(tmp_path / "dropped.wav").read_bytes())
    page.goto(f"{empty.address}/import")
    page.wait_for_selector(".drop")
    give = """([content, place]) => {
        const carried = new DataTransfer();
        carried.items.add(new File([new Uint8Array(content)], "dropped.wav", { type: "audio/wav" }));
        const dropped = new DragEvent("drop", { dataTransfer: carried, bubbles: true, cancelable: true });
        document.querySelector(place).dispatchEvent(dropped);
        return dropped.defaultPrevented;
    }"""
    assert page.evaluate(give, [content[:100], "h1"])
    assert page.evaluate(give, [content, ".drop"])
    expect(page.get_by_text("2 channels, 24000 samples a second")).to_have_count(1)


def test_fast_typing_is_kept(page: Page, notes: Notes, empty: Served) -> None:
    """Letters typed faster than the page is redrawn are not lost or turned round."""
    page.goto(f"{empty.address}/import")
    text = "Softer surround, 0.6 mm, TPU 85A; two lines of the nozzle"
    page.locator('[name="version_what"]').press_sequentially(text)
    page.locator('[name="driver"]').focus()
    expect(page.locator('[name="version_what"]')).to_have_value(text)
    until = time.monotonic() + 20.0  # a busy machine takes a while to keep every letter
    while not any(text in draft.read_text() for draft in empty.folder.glob("drafts/*.json")):
        assert time.monotonic() < until, "the draft never held the whole text"
        time.sleep(0.1)
    page.reload()
    expect(page.locator('[name="version_what"]')).to_have_value(text)


def test_three_versions_compared_by_keyboard(page: Page, notes: Notes, small: Served) -> None:
    """Tick three versions with the space bar, press Compare, read the findings; the address can be kept."""
    page.goto(f"{small.address}/compare")
    for version in ("v1", "v2", "v3"):
        box = page.locator(f'input[value="godwit/{version}"]')
        box.focus()
        page.keyboard.press("Space")
        expect(box).to_be_checked()
    page.get_by_role("button", name="Compare", exact=True).focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Findings")).to_be_visible()
    expect(page.get_by_text("octaves deeper").first).to_be_visible()
    assert "v=godwit" in page.url
    drawn(page)
    address = page.url
    page.goto("about:blank")
    page.goto(address)
    expect(page.get_by_role("heading", name="Findings")).to_be_visible()


def test_curve_is_read_with_pointer_and_keys(page: Page, notes: Notes, small: Served) -> None:
    """The pointer over a curve brings out frequency and values; the arrow keys do the same and speak it."""
    page.goto(f"{small.address}/compare?{THREE}&base=first")
    drawn(page)
    chart = page.locator(".chart", has=page.locator('[aria-label^="Level: Sound"]')).first
    chart.scroll_into_view_if_needed()
    box = chart.bounding_box()
    assert box is not None
    before = chart.locator("svg").text_content() or ""
    page.mouse.move(box["x"] + box["width"] * 0.3, box["y"] + box["height"] * 0.5)
    page.mouse.move(box["x"] + box["width"] * 0.35, box["y"] + box["height"] * 0.5, steps=4)
    expect(chart.locator("svg")).to_contain_text(re.compile(r"\d+(\.\d+)? ± \d+\.\d dB"))
    read = (chart.locator("svg").text_content() or "").replace(before, "")
    assert re.search(r"\d k?Hz", read)
    chart.locator('[role="img"]').focus()
    page.keyboard.press("End")
    page.keyboard.press("ArrowLeft")
    spoken = chart.locator("[aria-live]")
    expect(spoken).to_contain_text(re.compile(r"^[\d.]+: v1.* dB; v2.* dB; v3.* dB"))


def test_dark_is_remembered(page: Page, notes: Notes, small: Served) -> None:
    """The switch turns page and charts dark, and the browser remembers it."""
    page.emulate_media(color_scheme="light")
    page.goto(f"{small.address}/compare?{THREE}")
    drawn(page)
    paper = "getComputedStyle(document.body).backgroundColor"
    assert page.evaluate(paper) == "rgb(250, 246, 236)"
    page.get_by_role("button", name="Show dark pages").click()
    assert page.evaluate(paper) == "rgb(28, 36, 40)"
    page.wait_for_function(
        "[...document.querySelectorAll('.chart[data-drawn]')].every(c => c.dataset.drawn.endsWith('true'))"
    )
    page.reload()
    drawn(page)
    assert page.evaluate(paper) == "rgb(28, 36, 40)"
    page.get_by_role("button", name="Show light pages").click()
    assert page.evaluate(paper) == "rgb(250, 246, 236)"


def test_system_dark_is_followed(page: Page, notes: Notes, small: Served) -> None:
    """Without a choice of the person the page follows the system."""
    page.emulate_media(color_scheme="dark")
    page.goto(small.address)
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"
    page.emulate_media(color_scheme="light")
    page.wait_for_function("document.documentElement.dataset.theme === 'light'")


def test_sheet_is_printed(page: Page, notes: Notes, small: Served) -> None:
    """The button hands out the sheet of this comparison as a PDF."""
    page.goto(f"{small.address}/compare?{THREE}")
    link = page.get_by_role("link", name="Print the sheet (PDF)")
    expect(link).to_be_visible()
    answer = page.request.get(f"{small.address}{link.get_attribute('href')}")
    assert answer.status == 200
    assert answer.body().startswith(b"%PDF")
    with page.expect_download() as download:
        page.get_by_role("link", name="SVG").first.click()
    assert Path(download.value.path()).read_text().startswith("<svg")
