"""A prediction in a real browser: asked for, stopped, computed, looked at on a phone, in the dark, and beside the version."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.app.suspension_start import former_mm, start
from halfroll.workshop import Workshop
from tests.app.samples import knot_with_motor
from tests.browser.conftest import Notes, Served, drawn
from tests.browser.manners import can_be_listened_to, fits_a_phone

VERSION = "knot/v1"

pytestmark = [pytest.mark.usefixtures("patient"), pytest.mark.slow]


def _knot(served: Served) -> Workshop:
    """A version with a motor and moving parts, nothing built."""
    shop = knot_with_motor(Workshop.open(served.folder))
    draft = SuspensionDraft(shop, VERSION)
    draft.change(lambda data: data.update(start("roll", former_mm(draft.record))))
    draft.save()
    return shop


def test_a_design_is_predicted(page: Page, notes: Notes, empty: Served) -> None:
    """Stopped, asked for again, and then kept: the version and the overview show it at once, marked in words."""
    _knot(empty)
    page.goto(f"{empty.address}/drivers/{VERSION}")
    page.get_by_role("link", name="Predict it from its design").click()
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_text("Stopped. What was finished is kept")).to_be_visible()
    page.reload()
    expect(page.get_by_role("heading", name="What makes it uncertain")).to_be_visible()
    expect(page.get_by_text("Sensitivity, predicted")).to_be_visible()
    drawn(page)
    can_be_listened_to(page)
    fits_a_phone(page)
    page.goto(f"{empty.address}/drivers/{VERSION}")
    expect(page.get_by_text("Nothing was measured of it")).to_be_visible()
    page.goto(empty.address)
    expect(page.get_by_text("only predicted: from its design, not built")).to_be_visible()
