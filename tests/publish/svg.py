"""Reading an SVG as a person with a ruler would: where lines and words stand, in px of the whole picture."""

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Thing:
    """One element with its place after all shifts of its groups."""

    tag: str
    x: float
    y: float
    text: str
    attributes: dict[str, str]
    role: str


def things(svg: str) -> list[Thing]:
    """All lines, paths and words; raises when the text is not well-formed XML."""
    found: list[Thing] = []
    _walk(ET.fromstring(svg), 0.0, 0.0, "", found)
    return found


def words(svg: str) -> list[str]:
    """All words, in drawing order."""
    return [t.text for t in things(svg) if t.tag == "text"]


def place_of_word(svg: str, word: str) -> tuple[float, float]:
    """Where a word stands; it must stand once."""
    places = [(t.x, t.y) for t in things(svg) if t.tag == "text" and t.text == word]
    assert len(places) == 1, (word, places)
    return places[0]


def grid(svg: str, direction: str) -> list[float]:
    """Places of the grid lines: ``x`` gives those that mark frequencies, ``y`` those that mark values."""
    lines = [t for t in things(svg) if t.tag == "line" and "role-axis-grid" in t.role]
    upright = [t for t in lines if float(t.attributes.get("x2", 0)) == 0.0]
    level = [t for t in lines if float(t.attributes.get("y2", 0)) == 0.0]
    return sorted({round(t.x, 6) for t in upright} if direction == "x" else {round(t.y, 6) for t in level})


def _walk(element: ET.Element, x: float, y: float, role: str, found: list[Thing]) -> None:
    shift = re.match(r"translate\(([-\d.e]+)[, ]+([-\d.e]+)\)", element.get("transform", ""))
    if shift is not None:
        x, y = x + float(shift.group(1)), y + float(shift.group(2))
    role = f"{role} {element.get('class', '')}"
    tag = element.tag.removeprefix(SVG)
    if tag in ("line", "path", "text"):
        found.append(Thing(tag, x, y, "".join(element.itertext()), dict(element.attrib), role))
    for child in element:
        _walk(child, x, y, role, found)
