"""Releases in a real browser: the timeline, a bundle built and downloaded, and the same bundle sent to another workshop by hand."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page, expect

from halfroll.compare.recipe import compare_versions
from halfroll.workshop.bundle import check_bundle
from tests.app.samples import empty_workshop
from tests.browser.conftest import Notes, serving
from tests.browser.manners import can_be_listened_to
from tests.publish.release_shop import RELEASE, add_release, release_workshop


def test_a_release_goes_from_one_workshop_to_another(
    page: Page, notes: Notes, patient: None, tmp_path: Path
) -> None:
    """Built by keyboard, downloaded, chosen as a file elsewhere, checked, brought in, and found as a version there."""
    shop = add_release(release_workshop(tmp_path / "ours"))
    compare_versions(shop, ["godwit"], with_curves=False)
    with serving(shop.folder) as served:
        page.goto(f"{served.address}/releases")
        expect(page.get_by_role("list").filter(has_text="Today")).to_be_visible()
        can_be_listened_to(page)
        fits(page)
        page.get_by_role("link", name="Godwit v2").first.click()
        expect(page.get_by_text("octaves deeper").first).to_be_visible()
        page.get_by_label("For whom").first.select_option("supporters")
        build = page.get_by_role("button", name="Build the bundle")
        build.focus()
        page.keyboard.press("Enter")
        link = page.get_by_role("link", name="Download the bundle")
        expect(link).to_be_visible()
        can_be_listened_to(page)
        fits(page)
        with page.expect_download() as waiting:
            link.click()
        waiting.value.save_as(tmp_path / "theirs.zip")
        page.goto("about:blank")
    assert waiting.value.suggested_filename == f"{RELEASE}-supporters.zip"
    assert check_bundle(tmp_path / "theirs.zip").sound
    other = empty_workshop(tmp_path / "other")
    with serving(other.folder) as served:
        page.goto(f"{served.address}/releases")
        page.locator("#bundle").set_input_files(tmp_path / "theirs.zip")
        expect(page.get_by_role("heading", name="This bundle is sound")).to_be_visible()
        can_be_listened_to(page)
        fits(page)
        page.get_by_label("What its driver is called here").fill("bar-tailed")
        page.get_by_role("button", name="Bring it in").click()
        page.get_by_role("link", name="bar-tailed/v2").click()
        expect(page.get_by_text("Brought in")).to_be_visible()
        page.goto("about:blank")
    assert other.version_ids() == ["bar-tailed/v2"]


def fits(page: Page) -> None:
    """Nothing reaches out of a telephone's window."""
    page.set_viewport_size({"width": 390, "height": 844})
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
