"""Pictures of a break-up: what is drawn and said, in the chart language's own schema, and that it is well-formed."""

from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from halfroll.publish.diaphragm import mode_svg, response_chart, shown_modes
from halfroll.publish.spec import chart_summary
from halfroll.publish.theme import theme
from halfroll.suspension.diaphragm import break_up
from tests.suspension.diaphragm.drivers import dunlin


@pytest.fixture(scope="module")
def found():
    """The dunlin's break-up."""
    return break_up(dunlin())


@pytest.mark.parametrize("width", [340, 900])
def test_the_chart_conforms_to_the_schema(found, width):
    """Held against the chart language by altair."""
    import altair

    spec = response_chart(found, theme=theme("light"), width_px=width)
    altair.Chart.from_dict(spec)
    said = chart_summary(spec)
    assert "on axis" in said
    assert "rigid piston" in str(spec)
    assert "first break-up" in str(spec)


def test_the_band_moves_frequencies(found):
    """At a peak the band reaches down to the flanks, never above the peak; with no uncertainty there is none."""
    from halfroll.publish.diaphragm import frequency_band

    low, high = frequency_band(found, 0)
    level = found.response_db[0]
    assert (low <= level + 1e-9).all()
    assert (high >= level - 1e-9).all()
    assert high.max() == pytest.approx(level.max(), abs=0.5)
    peak = int(np.argmax(level))
    assert low[peak] < level[peak] - 3.0
    low, high = frequency_band(replace(found, u_relative=0.0), 0)
    assert high == pytest.approx(low)


def test_a_resonance_is_drawn_over_the_section_at_rest(found):
    """Three states of all lines, rings with their diameters on both sides, words for those who do not see it."""
    mode = next(m for m in found.modes if m.frequency_hz == found.first_hz)
    root = ElementTree.fromstring(mode_svg(mode, theme=theme("dark"), width_px=640, name="dunlin A"))
    classes = [one.get("class") for one in root.iter()]
    assert {"rest", "moved", "other", "axis"} <= set(classes)
    from halfroll.suspension.diaphragm.modes import nodal_circles

    assert (
        classes.count("node")
        == 2 * sum(line in ("cone", "dust cap") for line, _, _ in nodal_circles(mode))
        > 0
    )
    words = "".join(root.itertext())
    assert "larger than life" in words
    assert "⌀" in words
    assert root.get("aria-label").startswith("Resonance of dunlin A at")


def test_pictures_are_chosen_by_what_is_heard(found):
    """The first two break-ups are among them; the piston's own resonance is not."""
    chosen = shown_modes(found)
    hz = [mode.frequency_hz for mode in chosen]
    assert found.first_hz in hz
    assert found.second_hz in hz
    assert hz == sorted(hz)
    assert all(mode.kind != "piston" for mode in chosen)


def test_without_a_break_up_the_chart_still_says_how_far_it_is_a_piston(found):
    """No first break-up: the chart is drawn all the same."""
    spec = response_chart(replace(found, first_hz=None, second_hz=None), theme=theme("light"), width_px=640)
    assert "first break-up" not in str(spec)
    assert "of the piston up to" in str(spec)
