"""What a measurement teaches, in a real browser: read, heard, on a phone, accepted and put back."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Notes, Served, drawn, serving
from tests.browser.manners import can_be_listened_to, fits_a_phone
from tests.workshop.taught import VERSION, taught_once

pytestmark = [pytest.mark.usefixtures("patient"), pytest.mark.slow]


@pytest.fixture
def taught(shared: Path, tmp_path: Path) -> Iterator[Served]:
    """A server over a workshop whose version was built otherwise than assumed."""
    with serving(Path(shutil.copytree(taught_once(shared)[0], tmp_path / "shop"))) as served:
        yield served


def test_an_update_is_read_and_accepted(page: Page, notes: Notes, taught: Served) -> None:
    """Sentences, charts and tables; a loss is accepted and put back; it can be listened to and fits a phone; no design is said."""
    page.goto(f"{taught.address}/update/{VERSION}")
    expect(page.get_by_role("heading", name="What Knot v1 teaches")).to_be_visible()
    page.get_by_text("The difference by cause").click()
    expect(page.get_by_role("rowheader", name="measured less predicted")).to_be_visible()
    drawn(page)
    can_be_listened_to(page)
    fits_a_phone(page)
    accept = page.locator(".file", has_text="loss factor").get_by_role("button", name="Accept")
    accept.first.click()
    expect(page.get_by_text(re.compile("Accepted before: the loss factor"))).to_be_visible()
    page.get_by_role("button", name="Put back").click()
    expect(page.get_by_text(re.compile("Accepted before"))).to_be_hidden()
