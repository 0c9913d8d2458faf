"""Moduli on one scale, and the set-up of a strip test as a drawing."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from halfroll.materials.catalogue import catalogue
from halfroll.publish.calibrations import pascals, range_words
from halfroll.publish.moduli import filament_row, moduli_chart
from halfroll.publish.spec import chart_summary, picture_size
from halfroll.publish.strip_drawing import SetupDrawing, setup_svg
from halfroll.publish.theme import theme


def test_a_modulus_in_words() -> None:
    """Three digits, GPa from 1000 MPa on, one unit where both ends share it."""
    assert pascals(85.83e6) == "85.8\u202fMPa"
    assert pascals(2.1e9) == "2.10\u202fGPa"
    assert range_words((72.8e6, 101e6)) == "72.8 to 101\u202fMPa (95 %)"
    assert range_words((904e6, 1.59e9)) == "904\u202fMPa to 1.59\u202fGPa (95 %)"


@pytest.mark.parametrize("width", [360.0, 900.0])
def test_all_filaments_on_one_scale(width: float) -> None:
    """Every point and every drawn interval lies inside the axis, whatever the width; the summary names each."""
    rows = [filament_row(one) for one in catalogue().filaments.values()]
    spec = moduli_chart(rows, theme=theme("light"), width_px=width)
    assert picture_size(spec)[0] == pytest.approx(width)
    low, high = spec["layer"][-1]["encoding"]["x"]["scale"]["domain"]
    for row in spec["datasets"]["rows"]:
        assert low <= row["low"] <= row["x"] <= row["high"] <= high
    assert "TPU 95A: 123" in chart_summary(spec)


@pytest.mark.parametrize("setup", ["fixed-free", "three-point"])
@pytest.mark.parametrize("reach", [0.001, 0.12, 0.85])
def test_the_drawing_stays_in_its_picture(setup: str, reach: float) -> None:
    """However far the strip bends; and its letters are those of the form."""
    svg = setup_svg(
        SetupDrawing(setup=setup, length="60", sinks="51", load="9", reach=reach),
        theme=theme("dark"),
        width_px=380.0,
    )  # type: ignore[arg-type]
    root = ET.fromstring(svg)
    width, height = float(root.attrib["width"]), float(root.attrib["height"])
    for line in root.iter("{http://www.w3.org/2000/svg}polyline"):
        for point in line.attrib["points"].split():
            x, y = (float(part) for part in point.split(","))
            assert 0 <= x <= width
            assert 0 <= y <= height
    words = {text.text for text in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"L 60", "w 51", "m 9 g", "b", "t"} <= words
