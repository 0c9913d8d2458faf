"""The charts of force per ampere for currents of both signs, and of the pull on parts while a motor is put together."""

import numpy as np
import pytest

from halfroll.motor.results import AssemblyForce, Modulation
from halfroll.publish.motor_extra import force_per_current_chart, pull_chart
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


def pull(body, force_n):
    """Force at 0.1 to 10 mm."""
    n = len(force_n)
    return AssemblyForce(
        body=body, distance_m=1e-4 * 10.0 ** np.arange(n), force_n=np.array(force_n, dtype=float), u_rel=0.01
    )


def test_pull_of_two_parts_and_what_hurts():
    """Names, the line at 140 N where it is near, and the computed points on the curve; a part without values is left out."""
    parts = [pull("magnet", [100.0, 30.0, 3.0]), pull("pole plate", [40.0, -8.0, -1.0]), pull("lid", [])]
    spec = pull_chart(parts, theme=theme("light"), width_px=860.0)
    assert_valid(spec)
    words = svg.words(to_svg(spec))
    for name in ("magnet", "pole plate", "hurts a finger", "above 0", "Distance still to go"):
        assert any(name in word for word in words)
    assert not any("lid" in word for word in words)
    rows = [row for row in spec["datasets"]["curves"] if row["s"] == 0]
    at_1_mm = min(rows, key=lambda row: abs(np.log(row["x"])))
    assert at_1_mm["y"] == pytest.approx(30.0, rel=0.03)


def test_weak_pull_needs_no_warning_line():
    """A few newtons, two points."""
    spec = pull_chart([pull("magnet", [4.0, 1.0])], theme=theme("dark"), width_px=390.0)
    assert_valid(spec)
    assert not any("finger" in word for word in svg.words(to_svg(spec)))
