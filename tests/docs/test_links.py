"""No page is lost and no link leads nowhere."""

import re
from pathlib import Path

import pytest

from tests.docs.pages import DOCS, pages

LINK = re.compile(r"\[[^\]]+\]\(([^)\s]+)\)")
PAGES = pages()


def anchors(path: Path) -> set[str]:
    """Anchors of a page's headings, as the usual renderers of Markdown make them."""
    text = re.sub(r"^```.*?^```", "", path.read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL)
    heads = re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).strip().replace(" ", "-") for head in heads}


@pytest.mark.parametrize("path", PAGES, ids=[p.relative_to(DOCS).as_posix() for p in PAGES])
def test_links_lead_somewhere(path: Path) -> None:
    """Every relative link meets a file of the project, and every anchor a heading."""
    for target in LINK.findall(path.read_text(encoding="utf-8")):
        assert not target.startswith("http"), f"{target}: the documentation stands on its own"
        file, _, anchor = target.partition("#")
        there = (path.parent / file).resolve() if file else path
        assert there.exists(), target
        if anchor:
            assert anchor in anchors(there), target


def test_every_page_is_in_the_index() -> None:
    """docs/README.md leads to every page."""
    index = DOCS / "README.md"
    linked = {
        (DOCS / target.partition("#")[0]).resolve()
        for target in LINK.findall(index.read_text(encoding="utf-8"))
    }
    assert {p for p in PAGES if p != index} <= linked


def test_anchors_are_made_as_renderers_make_them(tmp_path: Path) -> None:
    """Small letters, spaces to hyphens, marks left out; headings in code blocks are none."""
    page = tmp_path / "page.md"
    page.write_text("# How `it` works, briefly\n```sh\n# no heading\n```\n### take: [[audio]]\n")
    assert anchors(page) == {"how-it-works-briefly", "take-audio"}
