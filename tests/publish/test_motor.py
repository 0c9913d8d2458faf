"""The charts of a motor, against curves whose limits are known by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from halfroll.motor.field.travel import geometric_travel, travel_limits
from halfroll.motor.results import ForceFactor
from halfroll.publish.motor import Measured, force_factor_chart, gap_chart
from halfroll.publish.render import to_svg
from halfroll.publish.spec import chart_summary
from halfroll.publish.theme import theme
from tests.publish import svg
from tests.publish.language import assert_valid
from tests.publish.test_section import motor, uniform

X = np.linspace(-6e-3, 6e-3, 33)
PARABOLA = ForceFactor(x_m=X, bl=5.0 * (1.0 - (X / 10e-3) ** 2), u=np.full(33, 0.05))
"""Falls to 82 % at 10 mm times the root of 0.18, 4.243 mm."""


@pytest.mark.parametrize("look", ["light", "dark", "print"])
def test_force_factor_with_its_limits(look: str) -> None:
    """Hatching begins where a parabola has fallen to 82 % on both sides; the words say what the points are."""
    assembly = motor()
    assert assembly.winding is not None
    chart = force_factor_chart(
        PARABOLA, travel_limits(PARABOLA), theme=theme(look), width_px=640,
        geometric=geometric_travel(assembly.gap, assembly.winding), measured=Measured(bl=4.8, u=0.1, of="2 units"),
    )  # fmt: skip
    assert_valid(chart)
    upright = [row["x"] for row in chart["datasets"]["limits"] if row["x"] == row["x2"]]
    assert sorted(upright) == pytest.approx([-10 * math.sqrt(0.18), 10 * math.sqrt(0.18)], abs=0.03)
    words = " ".join(svg.words(to_svg(chart)))
    assert "82\u202f% of Bl at rest" in words
    assert "circles: geometric travel ±2\u202fmm, half of coil less gap" in words
    assert "measured on 2 units" in words
    assert "highest 5\u202fN/A at 0\u202fmm" in chart_summary(chart)


def test_points_lie_on_the_curve() -> None:
    """The geometric limits, 2 mm to both sides, stand on the parabola; the measured value where it was measured."""
    assembly = motor()
    assert assembly.winding is not None
    chart = force_factor_chart(
        PARABOLA, travel_limits(PARABOLA), theme=theme(), width_px=640, geometric=geometric_travel(assembly.gap, assembly.winding),
        measured=Measured(bl=4.0, u=0.1, of="1 unit"),
    )  # fmt: skip
    dots = {row["x"]: (row["y"], row["out"]) for row in chart["datasets"]["dots"]}
    assert dots[2.0][0] == pytest.approx(5.0 * 0.96, rel=1e-3)
    assert dots[-2.0][0] == pytest.approx(5.0 * 0.96, rel=1e-3)
    assert dots[0.0] == (4.0, True)


def test_gap_chart_is_valid() -> None:
    """By the schema of the language; the ends of gap and winding are marked."""
    result = uniform(0.7)
    z = np.linspace(-12e-3, 12e-3, 49)
    wide = type(result)(**{**vars(result), "gap_z_m": z, "gap_b_t": 0.7 * np.exp(-((z / 4e-3) ** 2))})
    chart = gap_chart(wide, motor(), theme=theme(), width_px=600)
    assert_valid(chart)
    assert sorted(row["x"] for row in chart["datasets"]["dots"]) == [-4.0, -2.0, 2.0, 4.0]
