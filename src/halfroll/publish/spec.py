"""One specification of a chart, for screen, file and print."""

from __future__ import annotations

from typing import Any

from halfroll.publish.frame import Frame
from halfroll.publish.parts import Part
from halfroll.publish.theme import Theme

Spec = dict[str, Any]
"""A Vega-Lite specification that carries its data."""

SCHEMA = "https://vega.github.io/schema/vega-lite/v6.json"
"""Names the language and its version; an identifier, nothing is fetched from it."""


def specification(frame: Frame, parts: list[Part], *, summary: str) -> Spec:
    """Stack parts into a specification with a fixed picture size; `summary` is the text alternative."""
    margins = frame.margins
    layers = [layer for part in parts for layer in part.layers] + [
        layer for part in parts for layer in part.over
    ]
    return {
        "$schema": SCHEMA,
        "description": summary,
        "width": frame.width,
        "height": frame.height,
        "autosize": {"type": "none"},
        "padding": {
            "left": margins.left,
            "right": margins.right,
            "top": margins.top,
            "bottom": margins.bottom,
        },
        "layer": layers,
        "resolve": {"scale": dict.fromkeys(("stroke", "fill", "strokeDash", "shape"), "independent")},
        "datasets": {name: rows for part in parts for name, rows in part.data.items()},
        "config": _config(frame.look),
    }


def chart_summary(spec: Spec) -> str:
    """The chart in a few sentences, for people who do not see it; computed from its numbers."""
    return str(spec["description"])


def picture_size(spec: Spec) -> tuple[float, float]:
    """Width and height of the whole picture (px)."""
    pad = spec["padding"]
    return spec["width"] + pad["left"] + pad["right"], spec["height"] + pad["top"] + pad["bottom"]


def _config(look: Theme) -> dict[str, Any]:
    palette, sizes = look.palette, look.sizes
    return {
        "background": palette.paper,
        "font": f"{look.family}, sans-serif",
        "mark": {"aria": False},  # the description speaks for them; thousands of points would not
        "view": {"stroke": palette.line, "strokeWidth": sizes.hair},
        "axis": {
            "domain": False,
            "ticks": False,
            "tickRound": False,
            "gridColor": palette.grid,
            "gridWidth": sizes.hair,
            "labelColor": palette.quiet,
            "labelFontSize": sizes.small,
            "labelPadding": 0.4 * sizes.text,
            "labelOverlap": False,
            "titleColor": palette.quiet,
            "titleFontSize": sizes.text,
            "titleFontWeight": 400,
            "titlePadding": 0.35 * sizes.text,
        },
    }
