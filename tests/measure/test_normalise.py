"""Drive, distance and space: the conversions of IEC 60268-5 and Keele's near field, and the refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfroll.core.conditions import Space
from halfroll.core.errors import RefusedError
from halfroll.measure.analysis.normalise import (
    TRADE_VOLTAGE_V,
    at_reference,
    one_watt_caution,
    require_comparable,
    voltage_for,
    voltage_step_db,
)
from tests.figures.make import make_response


@pytest.mark.parametrize(("rated", "volts"), [(8, 2.8284), (6, 2.4495), (4, 2.0), (16, 4.0)])
def test_voltage_for_one_watt(rated: float, volts: float) -> None:
    """U_p = sqrt(R · 1 W), IEC 60268-5 cl. 20.3.2."""
    assert voltage_for(1.0, rated) == pytest.approx(volts, abs=5e-5)


@pytest.mark.parametrize(("rated", "step"), [(8, 0.0), (4, 3.010), (6, 1.249), (16, -3.010)])
def test_one_watt_against_the_trade_voltage(rated: float, step: float) -> None:
    """L(2.83 V) - L(1 W) = 10 lg(8/R); the two coincide for 8 ohm only."""
    assert voltage_step_db(rated) == pytest.approx(step, abs=5e-4)
    assert 20 * math.log10(TRADE_VOLTAGE_V / voltage_for(1.0, rated)) == pytest.approx(step, abs=5e-4)


def test_caution_for_four_ohm() -> None:
    """A 4 ohm driver gets 2 W from 2.83 V; with 8 ohm there is nothing to say."""
    assert "is 2 W" in one_watt_caution(4.0).replace("\u202f", " ")
    assert "3.01 dB above" in one_watt_caution(4.0)
    assert "below" in one_watt_caution(16.0)
    assert one_watt_caution(8.0) == ""


@pytest.mark.parametrize(
    ("drive_factor", "distance", "expected"), [(1.0, 1.0, 90.0), (2.0, 1.0, 83.98), (2.0, 2.0, 90.0)]
)
def test_characteristic_sensitivity_rule(drive_factor: float, distance: float, expected: float) -> None:
    """90 dB measured at sqrt(R) V and 1 m is 90.00; with U doubled 83.98; with d and U doubled 90.00 (IEC 60268-5
    cl. 20.3, 20.4).
    """
    response = make_response(90.0, drive_v=2.0 * drive_factor, distance_m=distance)
    level = at_reference(response, drive_v=voltage_for(1.0, 4.0)).level_db
    assert level == pytest.approx(expected, abs=5e-3)


def test_distance_of_0_316_m() -> None:
    """0.316 m to 1 m is -10.006 dB."""
    found = at_reference(make_response(90.0, drive_v=1.0, distance_m=0.316), drive_v=1.0)
    assert found.level_db == pytest.approx(90.0 - 10.006, abs=5e-4)


def test_near_field_to_one_metre() -> None:
    """Keele: a = 50 mm to 1 m is -32.0412 dB in half space, up to ka = 1.643 (1794 Hz, c = 343 m/s) for 1 dB."""
    near = make_response(110.0, drive_v=1.0, distance_m=0.003, space=Space.NEAR, radius_m=0.05)
    found = at_reference(near, drive_v=1.0)
    shortfall = 20 * math.log10(
        (math.hypot(0.003, 0.05) - 0.003) / 0.05
    )  # 3 mm before the cone, exact on the axis
    assert found.level_db == pytest.approx(110.0 - 32.0412 - shortfall, abs=1e-4)
    assert found.space is Space.HALF
    assert found.valid_hz[1] == pytest.approx(1794.0, rel=0.01)
    assert not found.cautions


def test_near_field_without_radius_is_refused() -> None:
    """Without the cone's radius there is no way to 1 m, and the remedy says what to state."""
    near = make_response(110.0, distance_m=0.003, space=Space.NEAR, radius_m=None)
    with pytest.raises(RefusedError, match=r"only with the cone's radius.*State the effective piston area"):
        at_reference(near, drive_v=1.0)


def test_near_field_from_too_far_is_cautioned() -> None:
    """Keele: within 1 dB only up to 0.11 radii."""
    near = make_response(110.0, distance_m=0.02, space=Space.NEAR, radius_m=0.05)
    (caution,) = at_reference(near, drive_v=1.0).cautions
    assert caution.code == "near-field-too-far"


def test_too_near_for_the_far_field_is_refused() -> None:
    """At one radius from the cone the 1/r law is off by 1.6 dB (Rayleigh's piston), so nothing is converted."""
    with pytest.raises(RefusedError, match="far field"):
        at_reference(make_response(110.0, distance_m=0.05, radius_m=0.05), drive_v=1.0)


def test_far_field_ends_at_high_frequency() -> None:
    """At 0.2 m from a 50 mm cone the piston formula leaves 1/r by 0.5 dB where kΔ/2 with Δ = sqrt(r²+a²) - r makes
    sin(y)/y times 2rΔ/a² that much less.
    """
    found = at_reference(make_response(110.0, distance_m=0.2, radius_m=0.05), drive_v=1.0)
    delta = math.hypot(0.2, 0.05) - 0.2
    y = math.pi * found.valid_hz[1] / 343.99 * delta
    error = 20 * math.log10(2 * 0.2 * delta / 0.05**2 * math.sin(y) / y)
    assert found.valid_hz[1] < 20000.0
    assert error == pytest.approx(-0.5, abs=0.02)


def test_unknown_radius_is_cautioned() -> None:
    """Without a radius the far field is assumed and that is said."""
    (caution,) = at_reference(make_response(90.0, distance_m=0.5, radius_m=None), drive_v=1.0).cautions
    assert caution.code == "far-field-assumed"


@pytest.mark.parametrize("space", list(Space))
def test_a_space_compares_with_itself(space: Space) -> None:
    """Nothing stands between takes of one space."""
    require_comparable(space, space)


def test_near_field_compares_with_half_space() -> None:
    """Because it is converted to it."""
    require_comparable(Space.NEAR, Space.HALF)


@pytest.mark.parametrize(
    ("one", "other", "reason"),
    [
        (Space.HALF, Space.FREE, "baffle"),
        (Space.NEAR, Space.FREE, "baffle"),
        (Space.CABINET, Space.HALF, "cabinet"),
        (Space.FREE, Space.CABINET, "cabinet"),
    ],
)
def test_refused_pairs(one: Space, other: Space, reason: str) -> None:
    """Half and free space differ by the baffle step, a cabinet is part of its result; either order is refused."""
    for pair in ((one, other), (other, one)):
        with pytest.raises(RefusedError, match=reason):
            require_comparable(*pair)


@given(st.floats(0.3, 5.0), st.floats(0.1, 20.0))
def test_level_does_not_depend_on_how_it_was_taken(distance: float, drive: float) -> None:
    """A source with 1/r and a linear drive gives one level at 1 m and 1 V, wherever and however it was taken."""
    level = 80.0 + 20 * np.log10(drive) - 20 * np.log10(distance)
    response = make_response(level, drive_v=drive, distance_m=distance, radius_m=0.02)
    assert at_reference(response, drive_v=1.0).level_db == pytest.approx(80.0, abs=1e-9)
