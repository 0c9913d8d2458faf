"""The picture of a bent flexure: well-formed, all arms in it, what is known in words, the hub's mark where the hub turned to."""

import math
import re
import xml.etree.ElementTree as Xml

import numpy as np
import pytest

from halfroll.publish.flexure import ABOVE, bent_arm_svg, seen
from halfroll.publish.theme import theme
from halfroll.suspension.flexure import study_flexure
from halfroll.suspension.flexure.cuts import FlexureSettings
from tests.suspension.flexure.arms import design

QUICK = FlexureSettings(orders=(3, 2, 2), steps=2)
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def free():
    """S4 with a free hub, and its study."""
    one = design("S4", hub="free")
    return one, study_flexure(one, 5e-3, settings=QUICK)


@pytest.mark.parametrize("look", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 720])
def test_every_arm_is_drawn_once_bent_and_once_at_rest(free, look, width):
    """Three arms of a well-formed picture that stays on its sheet; patches are coloured, their colours differ."""
    one, part = free
    root = Xml.fromstring(bent_arm_svg(one, part, 5e-3, theme=theme(look), width_px=width))
    kinds = [path.get("class") for path in root.iter(f"{SVG}path")]
    assert kinds.count("arm") == kinds.count("rest") == 3
    assert kinds.count("ring") == 2
    fills = {path.get("fill") for path in root.iter(f"{SVG}path")} - {"none", None}
    assert len(fills) > 10
    height = float(root.get("height", "0"))
    for path in root.iter(f"{SVG}path"):
        if path.get("class") in ("arm", "ring"):
            points = np.array(re.findall(r"[ML]([-\d.]+) ([-\d.]+)", path.get("d", "")), dtype=float)
            assert points.min() >= 0
            assert points[:, 0].max() <= width
            assert points[:, 1].max() <= height


def test_the_mark_on_the_hub_stands_where_the_hub_turned_to(free):
    """The mark's tip in the picture is the turned place on the hub's circle, raised by x; the turn is said in words."""
    one, part = free
    text = bent_arm_svg(one, part, 5e-3, theme=theme(), width_px=600)
    turn = float(part.hub_turn_rad[-1])
    assert f"{abs(math.degrees(turn)):.2f}°" in text
    mark = next(path for path in Xml.fromstring(text).iter(f"{SVG}path") if path.get("class") == "mark")
    (x0, y0), (x1, y1) = np.array(re.findall(r"[ML]([-\d.]+) ([-\d.]+)", mark.get("d", "")), dtype=float)
    assert math.atan2(-(y1 - y0) / math.sin(ABOVE), x1 - x0) == pytest.approx(turn, abs=2e-3)


def test_seen_from_above_up_is_up():
    """A place farther back and one higher are both seen higher, by the sine and the cosine of the view."""
    np.testing.assert_allclose(seen(np.array([0.0, 1.0, 0.0])), [0.0, math.sin(ABOVE)])
    np.testing.assert_allclose(seen(np.array([0.0, 0.0, 1.0])), [0.0, math.cos(ABOVE)])


def test_a_held_hub_and_a_part_without_arms_are_said(free):
    """Words instead of a picture where no arms are known."""
    from dataclasses import replace

    one, part = free
    held = replace(part, hub_turn_rad=None)
    assert "held from turning" in bent_arm_svg(one, held, 0.0, theme=theme(), width_px=600)
    nothing = replace(part, arm_shapes=())
    assert "No bent arms are known" in bent_arm_svg(one, nothing, 0.0, theme=theme(), width_px=600)
