"""A specification as SVG, PNG or PDF, and what a browser needs to draw it; nothing is fetched from anywhere."""

from __future__ import annotations

import json
import re
from functools import cache
from typing import Any, Literal
from xml.sax.saxutils import escape
from zlib import crc32

from halfroll.publish.lines import HOVERING
from halfroll.publish.spec import Spec, chart_summary, picture_size
from halfroll.publish.theme import font_directory

OutputFormat = Literal["pdf", "png", "svg"]

EMBED_OPTIONS: dict[str, Any] = {"actions": False, "renderer": "svg", "mode": "vega-lite"}
"""Options for ``vegaEmbed``; add ``formatLocale`` for a decimal comma."""


def still(spec: Spec) -> Spec:
    """The specification without what only a pointer brings out."""
    layers = [_unhovered(layer) for layer in spec["layer"] if layer["data"]["name"] != "hover"]
    data = {name: rows for name, rows in spec["datasets"].items() if name != "hover"}
    return {**spec, "layer": layers, "datasets": data}


def to_svg(spec: Spec) -> str:
    """The chart as SVG with real text in the house font; other sans-serif fonts stand in where it is missing."""
    import vl_convert

    _register_fonts()
    svg = _own_names(vl_convert.vegalite_to_svg(still(spec), allowed_base_urls=[]))
    start = svg.index(">") + 1
    return f"{svg[:start]}<desc>{escape(chart_summary(spec))}</desc>{svg[start:]}"


def to_png(spec: Spec, width_px: int) -> bytes:
    """The chart as PNG exactly `width_px` wide."""
    width, height = picture_size(spec)
    tall = float(round(height / width * width_px))
    return drawing_as(to_svg(spec), float(width_px), tall, "png", chart_summary(spec))


def to_pdf(spec: Spec) -> bytes:
    """The chart as a PDF page of its own size (96 px to the inch), with its text alternative."""
    width, height = picture_size(spec)
    return drawing_as(to_svg(spec), 0.75 * width, 0.75 * height, "pdf", chart_summary(spec))


@cache
def browser_bundle() -> str:
    """JavaScript that defines ``window.vegaEmbed`` and nothing else; serve it from a local route, UTF-8, 0.9 MB."""
    import vl_convert

    return f"(() => {{{vl_convert.javascript_bundle('window.vegaEmbed = vegaEmbed;')}}})();"


def typeset(template: str, inputs: dict[str, str], format: OutputFormat, *, ppi: float = 72.0) -> bytes:
    """Set a document in the house font; `inputs` reach it as data, never as markup. Of an SVG or PNG the first page."""
    return typeset_pages(template, inputs, format, ppi=ppi)[0]


def typeset_pages(
    template: str, inputs: dict[str, str], format: OutputFormat, *, ppi: float = 72.0
) -> list[bytes]:
    """The same with every page as a file of its own where the format has no pages (SVG, PNG)."""
    import typst

    made: Any = typst.compile(template.encode(), format=format, ppi=ppi, sys_inputs=inputs, **_fonts())
    return [bytes(one) for one in made] if isinstance(made, list) else [bytes(made)]


def page_count(template: str, inputs: dict[str, str]) -> int:
    """Pages of a document that labels its own count ``<pages>``."""
    import typst

    answer = typst.query(template.encode(), "<pages>", field="value", one=True, sys_inputs=inputs, **_fonts())
    return int(json.loads(answer))


def drawing_as(
    svg: str,
    width_pt: float,
    height_pt: float,
    format: OutputFormat,
    summary: str,
    *,
    see_through: bool = False,
) -> bytes:
    """A drawing of any origin as a page or raster of its size: one point is one pixel; `see_through` leaves the ground out."""
    template = (
        "#set document(date: none)\n"
        "#set page(width: float(sys.inputs.width) * 1pt, height: float(sys.inputs.height) * 1pt, margin: 0pt, "
        'fill: if sys.inputs.through == "1" { none } else { white })\n'
        '#image(bytes(sys.inputs.svg), format: "svg", width: 100%, height: 100%, fit: "stretch", alt: sys.inputs.alt)\n'
    )
    inputs = {"svg": svg, "width": f"{width_pt:.4f}", "height": f"{height_pt:.4f}", "alt": summary}
    return typeset(template, {**inputs, "through": "1" if see_through else "0"}, format)


def _fonts() -> dict[str, Any]:
    return {"font_paths": [str(font_directory())], "ignore_system_fonts": True}


def _own_names(svg: str) -> str:
    """The picture with names of clip paths that come from its content: the same each time, and no other picture's."""
    counted = list(dict.fromkeys(re.findall(r'id="(clip\d+)"', svg)))
    own = crc32(re.sub(r"clip\d+", "clip", svg).encode())
    for i, name in enumerate(counted):
        svg = re.sub(rf"\b{name}\b", f"c{own:08x}-{i}", svg)
    return svg


def _unhovered(layer: dict[str, Any]) -> dict[str, Any]:
    if HOVERING not in str(layer["encoding"].get("opacity")):
        return layer
    return {**layer, "encoding": {k: v for k, v in layer["encoding"].items() if k != "opacity"}}


@cache
def _register_fonts() -> None:
    import vl_convert

    vl_convert.register_font_directory(str(font_directory()))
