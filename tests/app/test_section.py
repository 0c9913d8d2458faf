"""The drawing of a version without a design: to scale, dashed, and said in words."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from halfroll.publish.outline import half_section

SVG = "{http://www.w3.org/2000/svg}"


def _drawing(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def _dimension_ends(svg: str) -> tuple[float, float]:
    """Left and right end of the dimension line on the sheet."""
    line = next(p for p in _drawing(svg).iter(f"{SVG}path") if p.get("class") == "narrow")
    match = re.search(r"M(-?[\d.]+) -?[\d.]+H(-?[\d.]+)$", line.get("d", ""))
    assert match is not None
    return float(match[1]), float(match[2])


def test_two_drivers_on_one_scale() -> None:
    """Half the effective radius is drawn half as wide when both share a sheet."""
    large = _dimension_ends(half_section(0.06, largest_m=0.06, name="Avocet v1"))
    small = _dimension_ends(half_section(0.03, largest_m=0.06, name="Dunlin v1"))
    assert large == pytest.approx((-100, 100))
    assert small == pytest.approx((-50, 50))


def test_dimension_is_the_effective_diameter_in_millimetres() -> None:
    """ISO 129-1: a diameter sign and millimetres; 52 mm radius is ⌀ 104."""
    drawing = _drawing(half_section(0.052, name="Avocet v1"))
    assert drawing.find(f"{SVG}text").text == "⌀ 104"  # type: ignore[union-attr]


def test_unknown_size_has_no_dimension() -> None:
    """A size nobody recorded is not written."""
    drawing = _drawing(half_section(None, name="Curlew v1"))
    assert drawing.find(f"{SVG}text") is None
    assert "size unknown" in drawing.get("aria-label", "")


def test_name_is_escaped() -> None:
    """A title with angle brackets and quotes stays text."""
    drawing = _drawing(half_section(0.05, name='<b>"A" & B</b>'))
    assert drawing.get("aria-label", "").startswith('<b>"A" & B</b>: outline only')


def test_line_types_are_told_apart() -> None:
    """Outline, hatching, centre line and dimension line each have their own class, so that CSS gives ISO 128 lines."""
    classes = {p.get("class") for p in _drawing(half_section(0.05, name="x")).iter(f"{SVG}path")}
    assert classes == {"outline", "hatch", "centre", "narrow", "arrow"}


def test_drawing_stays_on_its_sheet() -> None:
    """Nothing is cut off at the sheet's edge, also for a radius larger than the sheet was laid out for."""
    for radius, largest in ((0.05, 0.05), (0.05, 0.03), (0.02, 0.08)):
        drawing = _drawing(half_section(radius, largest_m=largest, name="x"))
        left, top, width, height = (float(v) for v in drawing.get("viewBox", "").split())
        for path in drawing.iter(f"{SVG}path"):
            if path.get("class") in ("outline", "hatch", "centre"):
                points = re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.get("d", ""))
                assert points
                for x, y in points:
                    assert left <= float(x) <= left + width
                    assert top <= float(y) <= top + height
