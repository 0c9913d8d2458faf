"""The worked case of docs/how-to/what-a-version-costs.md as a workshop: its files are taken from that page."""

from __future__ import annotations

import re
from pathlib import Path

from halfroll.workshop import Workshop

PAGE = Path(__file__).parents[2] / "docs/how-to/what-a-version-costs.md"
BLOCK = re.compile(r"<!-- write: by-hand/(\S+) -->\n```toml\n(.*?)```", re.DOTALL)


def files() -> dict[str, str]:
    """The files that stand on the page, by their places in the workshop."""
    return dict(BLOCK.findall(PAGE.read_text(encoding="utf-8")))


def by_hand(folder: Path) -> Workshop:
    """The workshop of the page: stilt v1 and v2."""
    for name, content in files().items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="utf-8")
    return Workshop.open(folder)
