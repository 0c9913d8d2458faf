"""Rules of travel on curves of which the answer is known by hand."""

import math

import pytest

from halfroll.driver.limits.travel import by_compliance, by_force_factor, by_geometry, travel_limits
from tests.driver.limits.bench import motor, w1


@pytest.mark.parametrize(
    ("coil_mm", "gap_mm", "offset_mm", "low_mm", "high_mm"),
    [(12.0, 6.0, 0.0, -3.0, 3.0), (4.0, 10.0, 0.0, -3.0, 3.0), (12.0, 6.0, 0.5, -3.5, 2.5)],
)
def test_geometric(coil_mm: float, gap_mm: float, offset_mm: float, low_mm: float, high_mm: float) -> None:
    """Half the difference of the heights, overhung and underhung (common practice), the rest position counted."""
    parts = motor(coil_mm, gap_mm, offset_mm)
    assert parts.winding is not None
    found = by_geometry(parts.winding, parts.gap)
    assert 1e3 * found.low_m == pytest.approx(low_mm)
    assert 1e3 * found.high_m == pytest.approx(high_mm)


def test_shares_of_parabolas() -> None:
    """Bl(0)(1 - x²/a²) is 82 % at a √0.18; K(0)(1 + x²/a²) has 75 % of its compliance at a/√3 (D-32: Klippel 2003, IEC 62458)."""
    a = 8e-3
    driver = w1(Bl=(6.0, 0.0, -6.0 / a**2), K=(1100.0, 0.0, 1100.0 / a**2), x_range=(-6e-3, 6e-3))
    force, compliance = by_force_factor(driver), by_compliance(driver)
    assert force.high_m == pytest.approx(a * math.sqrt(0.18), rel=1e-4)
    assert force.low_m == pytest.approx(-a * math.sqrt(0.18), rel=1e-4)
    assert compliance.each_way_m == pytest.approx(a / math.sqrt(3.0), rel=1e-4)


def test_what_is_not_met_is_left_out() -> None:
    """A straight driver meets no rule of its curves; without a motor there is no geometric one and no stop."""
    assert travel_limits(w1()) == ()
    keys = [one.key for one in travel_limits(w1(), motor(12.0, 6.0, room_mm=7.0))]
    assert keys == ["travel-geometric", "travel-stop"]
    stop = travel_limits(w1(), motor(12.0, 6.0, room_mm=7.0))[-1]
    assert stop.low_m == pytest.approx(-7e-3)
    assert stop.high_m == math.inf
