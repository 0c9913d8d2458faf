"""What every page owes those who listen to it, and those who hold a phone."""

from __future__ import annotations

from itertools import pairwise

from playwright.sync_api import Page

from tests.browser.conftest import drawn

UNNAMED = """() => [...document.querySelectorAll('input, select, textarea, button, a[href]')].filter((box) => {
  const text = box.getAttribute('aria-label') || box.textContent.trim() || [...(box.labels || [])].map(l => l.textContent).join('');
  return box.checkVisibility() && !text.trim();
}).map((box) => box.outerHTML)"""

LEVELS = """() => [...document.querySelectorAll('h1, h2, h3')].map((head) => Number(head.tagName[1]))"""


def can_be_listened_to(page: Page) -> None:
    """One main heading, headings without a gap, a name for every control, words for every chart."""
    levels = page.evaluate(LEVELS)
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    assert page.evaluate(UNNAMED) == []
    words = "all => all.map(e => e.getAttribute('aria-label'))"
    for label in page.locator('[role="img"]').evaluate_all(words):
        assert len(label or "") > 10


def fits_a_phone(page: Page) -> None:
    """Drawn anew for 390 px, nothing reaches out of the window."""
    page.set_viewport_size({"width": 390, "height": 844})
    drawn(page)
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
