"""The still picture of models on their plate."""

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from halfroll.publish.printing.isometric import in_words, isometric_svg, size_words
from halfroll.publish.theme import theme
from halfroll.suspension.models.build import models_of
from tests.suspension.models import parts


@pytest.fixture(scope="module")
def models():
    """Everything of a driver, coarse."""
    return models_of(parts.moving(), jig=parts.jig(), within_m=1e-4)


@pytest.mark.parametrize("look", [None, theme("print"), theme("dark")])
def test_picture_is_whole_and_says_what_it_shows(models, look):
    """Well-formed, every face inside the sheet, each part's name and size in it, colours of the look or of the page."""
    text = isometric_svg(models, look=look)
    picture = ET.fromstring(text)
    left, top, wide, high = (float(value) for value in picture.get("viewBox").split())
    points = np.array([(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", " ".join(path.get("d") for path in picture.iter("{http://www.w3.org/2000/svg}path")))])  # fmt: skip
    assert (points.min(axis=0) >= [left, top]).all()
    assert (points.max(axis=0) <= [left + wide, top + high]).all()
    words = " ".join("".join(one.itertext()) for one in picture.iter("{http://www.w3.org/2000/svg}text"))
    for model in models:
        assert model.words in words
        assert size_words(model) in words
    assert "layers" in words
    assert picture.get("aria-label") == in_words(models)
    assert ("var(--ink)" in text) == (look is None)
    assert len(text) < 300_000


def test_isometric_axes_are_alike(models):
    """ISO 5456-3: the three axes 120° apart and to one scale, so a square plate is a rhombus of 2 to 2 times cos 60°/cos 30°."""
    text = isometric_svg(models[:1], bed_m=(0.2, 0.2, 0.2), look=theme("print"))
    plate = np.array([[float(x), float(y)] for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", re.search(r'class="plate" d="([^"]+)"', text)[1])])  # fmt: skip
    sides = np.hypot(*(np.roll(plate, -1, axis=0) - plate).T)
    assert sides == pytest.approx([200.0] * 4, abs=0.2)
    assert np.ptp(plate[:, 0]) / np.ptp(plate[:, 1]) == pytest.approx(np.sqrt(3.0), rel=1e-3)


def test_size_in_words(models):
    """Round parts by diameter, plates by three sides."""
    sizes = {model.name: size_words(model) for model in models}
    assert sizes["surround"] == "⌀ 110.1 × 6.3 mm" or sizes["surround"].startswith("⌀ 110")
    assert sizes["jig-outer"].endswith("× 0.2 mm")
