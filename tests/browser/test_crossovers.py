"""A crossover in a real browser: drawn, changed, found by its drawing, tuned, saved."""

from __future__ import annotations

import shutil
from pathlib import Path

from playwright.sync_api import Page, expect

from halfroll.workshop import Workshop
from halfroll.workshop.crossovers import crossover_record
from tests.browser.conftest import Notes, drawn, serving
from tests.browser.manners import can_be_listened_to, fits_a_phone
from tests.crossover_shop import with_crossover


def test_a_crossover(page: Page, notes: Notes, patient: None, analysed: Path, tmp_path: Path) -> None:
    """Circuit and curves are drawn; an element leads to its field; a value changes the curve; tuning fills it; Save keeps it."""
    shop = with_crossover(Workshop.open(Path(shutil.copytree(analysed, tmp_path / "shop"))))
    with serving(shop.folder) as served:
        page.goto(f"{served.address}/crossovers")
        page.get_by_role("link", name="One capacitor").click()
        expect(page.locator("svg.circuit [data-part='C1']")).to_be_visible()
        drawn(page)
        can_be_listened_to(page)
        numbers = page.locator(".standing")
        before = numbers.inner_text()
        page.locator("svg.circuit [data-part='C1']").click()
        value = page.locator('[name="1.0.value"]')
        expect(value).to_be_focused()
        value.fill("22")
        expect(page.get_by_text("Not saved yet.")).to_be_visible()
        expect(numbers).not_to_have_text(before)
        expect(page.locator("svg.circuit")).to_contain_text("22")
        page.locator('[name="tune_to"]').fill("4000")
        page.get_by_role("button", name="Tune", exact=True).click()
        expect(page.get_by_text("dB r.m.s.").first).to_be_visible()
        page.get_by_role("button", name="Save", exact=True).click()
        expect(page.get_by_text("Saved in crossovers/pair.toml")).to_be_visible()
        fits_a_phone(page)
    assert crossover_record(shop, "pair").record.ways[1].elements[0].capacitance_uf not in (6.8, 22.0)
