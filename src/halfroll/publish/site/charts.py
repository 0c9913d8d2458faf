"""Charts of a site: SVG in the page for everybody, and beside it what a script needs to make them live, in two looks and some widths."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from typing import Any

from halfroll.publish.render import to_svg
from halfroll.publish.spec import Spec, chart_summary
from halfroll.publish.theme import Theme, theme

LIVE_PX = (320, 520, 720, 980)
"""Widths a live chart is made for; the widest that fits is shown."""

STILL_PX = {"narrow": 320, "wide": 860}
"""Widths of the pictures shown without scripts; the narrow one on a phone."""

Make = Callable[[Theme, int], Spec]


@dataclass(frozen=True, kw_only=True)
class SiteChart:
    """One chart: its name in the page, markup of its pictures, JSON of its live forms, its text alternative, its series."""

    name: str
    title: str
    pictures: str
    live: str
    words: str
    series: tuple[str, ...]


def site_chart(name: str, title: str, make: Make, series: tuple[str, ...]) -> SiteChart:
    """A chart of a page; `make` draws it for a look and a width."""
    light = theme("light")
    words = chart_summary(make(light, STILL_PX["wide"]))
    pictures = "".join(
        f'<div class="still {size}">{_inline(to_svg(make(light, width)), words)}</div>'
        for size, width in STILL_PX.items()
    )
    return SiteChart(name=name, title=title, pictures=pictures, live=_live(make), words=words, series=series)


def _live(make: Make) -> str:
    """All forms as JSON: data that several share stands once. ``</`` cannot end the element it stands in."""
    pool: list[Any] = []
    places: dict[str, int] = {}
    forms: list[dict[str, Any]] = []
    for width in LIVE_PX:
        for look in ("light", "dark"):
            spec = make(theme(look), width)
            data = {}
            for key, rows in spec["datasets"].items():
                text = json.dumps(rows, sort_keys=True)
                if text not in places:
                    places[text] = len(pool)
                    pool.append(rows)
                data[key] = places[text]
            forms.append(
                {
                    "look": look,
                    "width": width,
                    "data": data,
                    "spec": {k: v for k, v in spec.items() if k != "datasets"},
                }
            )
    text = json.dumps({"pool": pool, "forms": forms}, separators=(",", ":"), ensure_ascii=False)
    return text.replace("</", "<\\/").replace("<!--", "<\\u0021--")


def _inline(svg: str, words: str) -> str:
    """A picture inside a page: it fits its place, has its text alternative, and takes the colours of the page."""
    head, _, rest = svg.partition(">")
    size = re.search(r'width="([\d.]+)" height="([\d.]+)"', head)
    box = "" if "viewBox" in head or size is None else f' viewBox="0 0 {size[1]} {size[2]}"'
    head = re.sub(r'\s(role|aria-\w+)="[^"]*"', "", head)
    return f'{head}{box} role="img" aria-label="{escape(words)}">{rest}'


def look_rules(name: str) -> str:
    """Style-sheet rules that give inline pictures drawn for the light look the colours of another."""
    light, other = theme("light"), theme(name)
    pairs = {
        getattr(light.palette, key): getattr(other.palette, key)
        for key in ("paper", "raised", "ink", "quiet", "line", "grid", "hatch", "grey", "accent", "on_accent")
    }
    pairs |= {one.colour: same.colour for one, same in zip(light.series, other.series, strict=True)}
    return "\n".join(
        f'.still [stroke="{old}" i] {{ stroke: {new}; }} .still [fill="{old}" i] {{ fill: {new}; }}'
        for old, new in pairs.items()
        if old != new
    )
