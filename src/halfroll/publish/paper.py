"""Papers of several pages in one look: a template of its own behind what all share, words as data, pictures as vectors."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from halfroll.publish.render import OutputFormat, page_count, typeset_pages
from halfroll.publish.theme import theme


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A drawing for a paper: SVG with plain width and height, its size in px, and its text alternative."""

    svg: str
    size: tuple[float, float]
    alt: str


def paper(
    template: str, data: Mapping[str, Any], *, title: str, date: str, subtitle: str = "", foot: str = "",
    pictures: Mapping[str, Picture] | None = None, format: OutputFormat = "pdf", ppi: float = 144.0,
) -> bytes:  # fmt: skip
    """A paper set from ``publish/<template>.typ``, which follows ``paper.typ`` and finds `data` as ``paper``.

    The same arguments give the same bytes: no clock is looked at, `date` is printed as given. Of an SVG or PNG it is the first page.
    """
    set_ = set_up(template, data, title=title, date=date, subtitle=subtitle, foot=foot, pictures=pictures)
    return set_.pages(format, ppi)[0]


@dataclass(frozen=True, kw_only=True)
class SetPaper:
    """A paper ready to be printed: its whole template, and what it finds."""

    template: str
    inputs: Mapping[str, str]

    def pages(self, format: OutputFormat = "pdf", ppi: float = 144.0) -> list[bytes]:
        """The PDF, or every page as a file of its own."""
        return typeset_pages(self.template, dict(self.inputs), format, ppi=ppi)

    def length(self) -> int:
        """Pages it takes; pictures count with their size, so this is quick."""
        blank = {name: _BLANK for name in self.inputs if name != "paper"}
        return page_count(self.template, {**self.inputs, **blank})


_BLANK = '<svg xmlns="http://www.w3.org/2000/svg" width="8" height="8"></svg>'


def set_up(
    template: str, data: Mapping[str, Any], *, title: str, date: str, subtitle: str = "", foot: str = "",
    pictures: Mapping[str, Picture] | None = None,
) -> SetPaper:  # fmt: skip
    """A paper before it is printed; see `paper`."""
    drawn = dict(pictures or {})
    look = theme("print")
    inputs = {
        **data,
        "look": {**asdict(look.palette), "family": look.family},
        "title": title, "date": date, "subtitle": subtitle, "foot": foot or title,
        "size": {name: list(one.size) for name, one in drawn.items()},
        "alt": {name: one.alt for name, one in drawn.items()},
    }  # fmt: skip
    return SetPaper(
        template=_template("paper") + _template(template),
        inputs={"paper": json.dumps(inputs), **{name: one.svg for name, one in drawn.items()}},
    )


@cache
def _template(name: str) -> str:
    return files("halfroll.publish").joinpath(f"{name}.typ").read_text(encoding="utf-8")
