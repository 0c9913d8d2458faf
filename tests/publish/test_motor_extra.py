"""The chart of force per ampere for currents of both signs."""

import numpy as np
import pytest

from halfroll.motor.results import Modulation
from halfroll.publish.motor_extra import force_per_current_chart
from halfroll.publish.render import to_svg
from halfroll.publish.spec import chart_summary
from halfroll.publish.theme import theme
from tests.publish import svg
from tests.publish.language import assert_valid

X_M = 1e-3 * np.array([-4.0, -2.0, 0.0, 2.0, 4.0])


def found(x_m=X_M):
    """Bl falls to both sides; at 5 A the coil pulls itself inwards with 0.5 N everywhere."""
    bl = 2.0 - 0.05 * (1e3 * x_m) ** 2
    pull = np.array([np.zeros_like(x_m), np.full_like(x_m, -0.5)])
    return Modulation(
        current_a=np.array([0.0, 5.0]),
        x_m=x_m,
        bl=np.array([bl, 0.99 * bl]),
        reluctance_n=pull,
        inductance_h=0 * pull,
    )


@pytest.mark.parametrize("look", ["light", "dark"])
def test_three_curves_with_their_currents(look):
    """A valid specification that names its curves and what it leaves out."""
    spec = force_per_current_chart(found(), theme=theme(look), width_px=860.0)
    assert_valid(spec)
    words = svg.words(to_svg(spec))
    for name in ("+5", "0", "−5", "Force with current", "eddy currents"):
        assert any(name in word for word in words)
    assert "N/A" in chart_summary(spec)


def test_curves_are_force_over_signed_current():
    """At +5 A: 0.99 * 2 - 0.5/5 = 1.88 N/A in the middle; at -5 A 2.08."""
    rows = force_per_current_chart(found(), theme=theme("light"), width_px=860.0)["datasets"]["curves"]
    middle = {row["s"]: row["y"] for row in rows if abs(row["x"]) < 0.01}
    assert [middle[s] for s in range(3)] == pytest.approx([1.88, 2.0, 2.08], abs=1e-3)


def test_few_positions_are_joined_straight():
    """Three points make no spline."""
    assert_valid(force_per_current_chart(found(X_M[:3]), theme=theme("light"), width_px=390.0))
