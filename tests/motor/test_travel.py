"""Limits of travel: on curves whose limits are known in closed form, and on the reference motors."""

from __future__ import annotations

import math

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.motor.field.travel import (
    BL_SHARE,
    geometric_travel,
    most_symmetric_shift,
    travel_limits,
    travel_verdicts,
)
from halfroll.motor.results import ForceFactor
from halfroll.motor.types import Gap, Winding
from tests.motor.eddy_motors import reference

X_M = np.linspace(-8e-3, 8e-3, 33)
WIDTH_M = 6e-3


def bell(shift_m: float = 0.0, size: float = 2.0, u: float = 0.0, x_m: np.ndarray = X_M) -> ForceFactor:
    """Bl(x) = size exp(-((x - shift)/width)^2)."""
    return ForceFactor(x_m=x_m, bl=size * np.exp(-(((x_m - shift_m) / WIDTH_M) ** 2)), u=np.full(len(x_m), u))


def test_symmetric_bell() -> None:
    """Both limits at width sqrt(ln(1/0.82))."""
    limits = travel_limits(bell())
    want = WIDTH_M * math.sqrt(math.log(1 / BL_SHARE))
    assert limits.share == 0.82
    assert (limits.outwards.distance_m, limits.inwards.distance_m) == pytest.approx((want, want), rel=2e-3)
    assert limits.peak_m == min(limits.outwards.distance_m, limits.inwards.distance_m)
    assert limits.asymmetry == pytest.approx(0.0, abs=1e-9)
    assert limits.reached
    assert travel_verdicts(limits) == ()


def test_shifted_bell() -> None:
    """Rest 1 mm inside the maximum: ln Bl(x) falls by ln(1/0.82) from its value at rest; it may travel farther outwards."""
    limits = travel_limits(bell(1e-3))
    fall = math.sqrt(math.log(1 / BL_SHARE) + (1e-3 / WIDTH_M) ** 2) * WIDTH_M
    assert limits.outwards.distance_m == pytest.approx(fall + 1e-3, rel=2e-3)
    assert limits.inwards.distance_m == pytest.approx(fall - 1e-3, rel=2e-3)
    assert limits.peak_m == limits.inwards.distance_m
    assert limits.asymmetry > 0
    (verdict,) = travel_verdicts(limits)
    assert verdict.code == "travel-lopsided"
    assert "rest position outwards" in verdict.remedy


@pytest.mark.parametrize("shift", [-1.3e-3, 0.0, 0.7e-3])
def test_most_symmetric_shift(shift: float) -> None:
    """The coil belongs where a symmetric curve has its middle."""
    assert most_symmetric_shift(bell(shift)) == pytest.approx(shift, abs=5e-6)
    assert most_symmetric_shift(bell(shift, size=-2.0)) == pytest.approx(shift, abs=5e-6)


def test_other_share_and_sign() -> None:
    """70.7 % lies farther out; a coil with its leads swapped has the same limits."""
    half = travel_limits(bell(), share=math.sqrt(0.5))
    assert half.peak_m == pytest.approx(WIDTH_M * math.sqrt(math.log(math.sqrt(2))), rel=2e-3)
    assert travel_limits(bell(size=-2.0)).peak_m == pytest.approx(travel_limits(bell()).peak_m, rel=1e-9)
    for wrong in (0.0, 1.0, float("nan")):
        with pytest.raises(InputError):
            travel_limits(bell(), share=wrong)


def test_uncertainty_follows_the_slope() -> None:
    """The limit's uncertainty is that of Bl over the slope there."""
    limits = travel_limits(bell(u=0.01))
    x = limits.outwards.distance_m
    slope = 2 * x / WIDTH_M**2 * 2.0 * math.exp(-((x / WIDTH_M) ** 2))
    assert limits.outwards.u_m == pytest.approx(0.01 / slope, rel=0.02)


def test_not_reached() -> None:
    """A range of ±1 mm ends before the limit: a bound, said so, and no symmetric offset is made up."""
    short = bell(x_m=np.linspace(-1e-3, 1e-3, 9))
    limits = travel_limits(short)
    assert not limits.reached
    assert limits.peak_m == pytest.approx(1e-3)
    (verdict,) = travel_verdicts(limits)
    assert verdict.code == "travel-not-reached"
    assert most_symmetric_shift(short) is None


def test_one_side_only() -> None:
    """Displacements to one side have no limit to the other."""
    with pytest.raises(InputError, match="both sides"):
        travel_limits(bell(x_m=np.linspace(0.0, 5e-3, 9)))


@pytest.mark.parametrize(
    ("coil_mm", "hang", "linear_mm"), [(8.0, "overhung", 2.0), (3.0, "underhung", 0.5), (4.0, "equal", 0.0)]
)
def test_geometry(coil_mm: float, hang: str, linear_mm: float) -> None:
    """Half the difference of coil and gap, 15 % more, a third of the gap more (common practice); the gap is 4 mm high."""
    gap = Gap(inner="", outer="", r_inner=0.01, r_outer=0.0115, z_low=-2e-3, z_high=2e-3)
    half = 0.5e-3 * coil_mm
    coil = Winding(r_inner=0.0103, r_outer=0.0109, z_low=0.2e-3 - half, z_high=0.2e-3 + half, turns=40)
    travel = geometric_travel(gap, coil)
    assert travel.hang == hang
    assert 1e3 * travel.linear_m == pytest.approx(linear_mm, abs=1e-9)
    assert 1e3 * travel.plus_15_percent_m == pytest.approx(1.15 * linear_mm, abs=1e-9)
    assert 1e3 * travel.plus_third_of_gap_m == pytest.approx(linear_mm + 4 / 3)
    assert 1e3 * travel.off_m == pytest.approx(0.2)


@pytest.mark.parametrize("name", ["A1", "A2"])
def test_reference_motors(name: str) -> None:
    """On the stored Bl(x) the limit lies where a straight line through the two nearest points has it, within 0.03 mm, and a
    coil moved by the shift has equal limits.
    """
    stored = reference(name)[0]["results"]
    x, bl = 1e-3 * np.asarray(stored["x_mm"]), np.asarray(stored["Bl_Tm"])
    known = ForceFactor(x_m=x, bl=bl, u=0 * x)
    limits = travel_limits(known)
    aim = BL_SHARE * stored["Bl0_Tm"]
    out, inn = bl[16:], bl[16::-1]
    for side, way in ((out, limits.outwards), (inn, limits.inwards)):
        i = int(np.argmax(side < aim))
        straight = 0.5e-3 * (i - 1 + (side[i - 1] - aim) / (side[i - 1] - side[i]))
        assert way.distance_m == pytest.approx(straight, abs=3e-5)
    shift = most_symmetric_shift(known)
    assert shift is not None
    moved = ForceFactor(x_m=x - shift, bl=bl, u=0 * x)
    assert travel_limits(moved).asymmetry == pytest.approx(0.0, abs=2e-3)
