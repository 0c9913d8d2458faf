"""A dark casing under letters and lines, so that they read on any film.

Film is bright here and dark there.  Light lines on a dark casing read on both: against a dark picture by themselves, against
a bright one by the casing; the letters' contrast to their casing does not depend on the film at all.
"""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"

WIDTH = 0.1
"""Width of the casing on each side, in text heights."""

HAIR = 0.35
"""The casing of a hair line, as a share of that of a curve: hatching must stay lighter than what it lies under."""

FULL_PX = 5.0
"""Lines from this width (px) on have the whole casing."""

UNCASED = ("mark-area", "role-axis-grid")
"""What stays as it is: bands are see-through, and a cased grid would be louder than the curves."""

_INVISIBLE = ("", "none", "transparent")


def cased(body: str, colour: str, *, text_px: float) -> str:
    """The drawing with a copy of it in one colour under it, every stroke and letter wider by the casing.

    Parameters
    ----------
    body
        Elements of SVG 1.1, made here.
    colour
        Of the casing.
    text_px
        Text height that the casing's width follows.
    """
    ET.register_namespace("", SVG)
    ET.register_namespace("xlink", XLINK)
    tree = ET.fromstring(f'<g xmlns="{SVG}" xmlns:xlink="{XLINK}">{body}</g>')
    _under(tree, colour, WIDTH * text_px, {})
    under = ET.tostring(tree, encoding="unicode")
    under = re.sub(r' xmlns(:xlink)?="[^"]*"', "", under)
    under = re.sub(r"<(?:title|desc)>.*?</(?:title|desc)>", "", under, flags=re.DOTALL)
    return f'<g class="casing" aria-hidden="true">{re.sub(CLIPS, "", under, flags=re.DOTALL)}</g>{body}'


CLIPS = r"<defs>.*?</defs>"
"""The copy cuts with the clip paths of the drawing itself."""


def _under(node: ET.Element, colour: str, by: float, inherited: dict[str, str]) -> None:
    for child in list(node):
        own = {
            **inherited,
            **{k: child.get(k, "") for k in ("stroke", "fill", "stroke-width") if child.get(k) is not None},
        }
        kind = child.tag.rpartition("}")[2]
        if any(name in (child.get("class") or "") for name in UNCASED):
            node.remove(child)
        elif kind == "g":
            _under(child, colour, by, own)
        elif kind in ("path", "line", "rect", "text"):
            _case(child, kind, colour, by, own)


def _case(leaf: ET.Element, kind: str, colour: str, by: float, own: dict[str, str]) -> None:
    filled = own.get("fill", "black") not in _INVISIBLE
    stroked = own.get("stroke", "none") not in _INVISIBLE
    if not (filled or stroked):
        return
    width = float(own.get("stroke-width", "1") or 1.0) if stroked else 0.0
    for name in ("stroke-dasharray", "stroke-dashoffset", "stroke-opacity"):
        leaf.attrib.pop(name, None)
    share = 1.0 if filled else max(HAIR, min(1.0, width / FULL_PX))
    leaf.set("stroke", colour)
    leaf.set("stroke-width", f"{width + 2.0 * share * by:g}")
    leaf.set("stroke-linejoin", "round")
    if kind != "text":
        leaf.set("stroke-linecap", "round")
    if filled:
        leaf.set("fill", colour)
