"""Coil temperature against published tables of wire, and the test for a warming coil."""

import math

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.measure.heat.coil_temperature import (
    from_impedance,
    from_resistance,
    level_change_db,
    linear_drift,
    resistance_factor,
)

# IEC 60228, annex on the correction of measured resistance to 20 °C: constants 234.5 (copper) and 228 (aluminium), that
# is R(t)/R20 = (234.5 + t)/254.5 and (228 + t)/248. Seen in a secondary transcription that also states 0.00393 and 0.00403.
IEC_60228 = {"copper": 234.5, "aluminium": 228.0}


@pytest.mark.parametrize("metal", IEC_60228)
@pytest.mark.parametrize("t", [0.0, 40.0, 75.0, 120.0, 180.0])
def test_factor_is_that_of_iec_60228(metal, t):
    """Within 0.03 % over the whole range; the two roundings of one law differ by that much."""
    k = IEC_60228[metal]
    assert resistance_factor(t, 20.0, metal) == pytest.approx((k + t) / (k + 20.0), rel=3e-4)


@pytest.mark.parametrize(
    ("t", "factor"),
    [(40, 1.058), (50, 1.096), (75, 1.193), (100, 1.289), (130, 1.404), (150, 1.482), (200, 1.674)],
)
def test_factor_is_that_of_a_printed_table(t, factor):
    """Factors for copper re 25 °C as printed in a public table of conductors.

    The table reckons with 0.00385 at 25 °C, rounded from 0.003854: up to 0.0009 at its end.
    """
    assert resistance_factor(t, 25.0) == pytest.approx(factor, abs=5e-4 + 5e-6 * (t - 25.0))


@pytest.mark.parametrize(
    ("t", "alpha"), [(0, 0.00427), (15, 0.00401), (25, 0.00385), (30, 0.00378), (50, 0.00352)]
)
def test_coefficient_at_other_temperatures(t, alpha):
    """NBS Handbook 100, Copper Wire Tables (1966), annealed copper of 100 % conductivity (values from memory)."""
    slope = (resistance_factor(t + 1.0) - resistance_factor(t - 1.0)) / 2.0 / resistance_factor(t)
    assert slope == pytest.approx(alpha, abs=6e-6)


def test_hundred_kelvin():
    """Copper warmed from 20 °C by 100 K: 1.393 times the resistance, 2.879 dB less at constant voltage."""
    assert resistance_factor(120.0) == pytest.approx(1.393)
    assert level_change_db(100.0) == pytest.approx(-2.879, abs=1e-3)
    found = from_resistance(6.0, 6.0 * 1.393)
    assert found.temperature_c == pytest.approx(120.0)
    assert found.rise_k == pytest.approx(100.0)


def test_rotating_machines_reckon_alike():
    """IEC 60034-1 (from memory): t2 = (R2/R1)(235 + t1) - 235 for copper; within 0.3 K at 25 °C and 30 % more."""
    by_machines = 1.3 * (235.0 + 25.0) - 235.0
    assert from_resistance(5.0, 6.5, reference_c=25.0).temperature_c == pytest.approx(by_machines, abs=0.3)


def test_uncertainty_by_chance():
    """The stated uncertainty is the scatter of 20 000 draws of ratio, coefficient and air temperature, within 3 %."""
    rng = np.random.default_rng(3)
    ratio = 1.25 * (1 + 0.003 * rng.standard_normal(20_000))
    alpha = 0.00393 * (1 + 0.01 * rng.standard_normal(20_000))
    air = 18.0 + 1.5 * rng.standard_normal(20_000)
    drawn = 20.0 + (ratio * (1 + alpha * (air - 20.0)) - 1.0) / alpha
    found = from_resistance(5.0, 6.25, reference_c=18.0, u_ratio=0.003, u_reference_k=1.5)
    assert found.temperature_c == pytest.approx(drawn.mean(), abs=0.2)
    assert found.u_k == pytest.approx(drawn.std(), rel=0.03)


def test_impedance_gives_what_the_wire_gained():
    """Motion and inductance stay: only Re grows. A ratio of moduli would give 73 K instead of 100 K."""
    re, rest = 4.0, complex(0.9, 1.6)
    cold, hot = re + rest, re * 1.393 + rest
    found = from_impedance(cold, hot, re)
    assert found.rise_k == pytest.approx(100.0)
    assert (abs(hot) / abs(cold) - 1) / 0.00393 < 80.0


@pytest.mark.parametrize(("cold", "hot"), [(0.0, 5.0), (5.0, -1.0), (5.0, 50.0), (5.0, 2.0), (5.0, math.inf)])
def test_readings_of_no_coil_are_refused(cold, hot):
    """A slipped decimal point or swapped readings are answered with a sentence."""
    with pytest.raises(InputError):
        from_resistance(cold, hot)


def test_trend_against_scipy():
    """Slope, its uncertainty and the verdict of a straight line equal SciPy's linregress."""
    from scipy.stats import linregress

    rng = np.random.default_rng(5)
    t = np.arange(8) * 60.0
    y = 80.0 - 1e-4 * t + 0.01 * rng.standard_normal(8)
    found, peer = linear_drift(t, y), linregress(t, y)
    assert found.change == pytest.approx(peer.slope * 420.0)
    assert found.u == pytest.approx(peer.stderr * 420.0)
    assert found.significant == (peer.pvalue < 0.05)


def test_false_alarms_are_as_rare_as_said():
    """Repeats that only scatter give a trend in 5 % of cases (1000 series of five; 3.4 to 6.8 % is within chance)."""
    rng = np.random.default_rng(11)
    found = [linear_drift(range(5), row).significant for row in rng.standard_normal((1000, 5))]
    assert 0.034 <= np.mean(found) <= 0.068


def test_a_trend_needs_three_repeats():
    """Two points always lie on a line."""
    with pytest.raises(InputError, match="three repeats"):
        linear_drift([0.0, 1.0], [90.0, 89.0])


def test_a_line_without_scatter_of_its_own_is_judged_by_that_of_others():
    """Three rounded readings on one exact line: with a scatter of 0.1 known from elsewhere 0.2 is no trend.

    By hand: u of the change over three equal steps is scatter times 2/sqrt(2).
    """
    found = linear_drift([0.0, 1.0, 2.0], [90.0, 90.1, 90.2])
    assert found.significant
    judged = found.with_scatter(0.1, 20)
    assert judged.u == pytest.approx(0.1 * math.sqrt(2.0))
    assert not judged.significant
