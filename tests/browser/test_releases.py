"""Releases in a real browser: the timeline, a bundle built by keyboard and downloaded, one of somebody else sent and brought in."""

from __future__ import annotations

import shutil
from pathlib import Path

from playwright.sync_api import Page, expect

from halfroll.workshop import Workshop
from halfroll.workshop.bundle import check_bundle
from tests.browser.conftest import Notes, serving
from tests.browser.manners import can_be_listened_to
from tests.publish.release_shop import RELEASE, add_release, analysed
from tests.workshop.bundles import bundle, release_files


def test_releases(page: Page, notes: Notes, patient: None, tmp_path: Path) -> None:
    """Built, downloaded and sound; then a bundle is chosen as a file, checked, brought in, and found as a version."""
    shop = add_release(Workshop.open(Path(shutil.copytree(analysed(tmp_path.parent), tmp_path / "shop"))))
    theirs = tmp_path / "theirs.zip"
    theirs.write_bytes(bundle(release_files()))
    with serving(shop.folder) as served:
        page.goto(f"{served.address}/releases")
        page.get_by_role("link", name="Find what stands behind a printed number").focus()
        for _ in range(40):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.id") == "bundle":
                break
        chooser = page.locator("label[for=bundle]")  # its input is unseen, so the label shows the focus
        assert chooser.evaluate("one => getComputedStyle(one).outlineStyle") == "solid"
        page.locator("#bundle").set_input_files(theirs)
        expect(page.get_by_role("heading", name="This bundle is sound")).to_be_visible()
        can_be_listened_to(page)
        fits(page)
        page.get_by_label("What its driver is called here").fill("ruff")
        page.get_by_role("button", name="Bring it in").click()
        expect(page.get_by_role("link", name="ruff/v2")).to_be_visible()
        expect(page.get_by_role("list").filter(has_text="Today")).to_be_visible()
        page.get_by_role("link", name="Godwit v2").first.click()
        expect(page.get_by_text("octaves deeper").first).to_be_visible()
        page.get_by_label("For whom").first.select_option("supporters")
        page.get_by_role("button", name="Build the bundle").focus()
        page.keyboard.press("Enter")
        link = page.get_by_role("link", name="Download the bundle")
        expect(link).to_be_visible()
        can_be_listened_to(page)
        fits(page)
        with page.expect_download() as waiting:
            link.click()
        waiting.value.save_as(tmp_path / "ours.zip")
        page.goto("about:blank")
    assert waiting.value.suggested_filename == f"{RELEASE}-supporters.zip"
    assert check_bundle(tmp_path / "ours.zip").sound
    assert shop.version("ruff/v2").record.origin is not None


def fits(page: Page) -> None:
    """Nothing reaches out of a telephone's window."""
    page.set_viewport_size({"width": 390, "height": 844})
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
