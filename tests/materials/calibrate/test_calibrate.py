"""Modulus from resonance, curve and ringing, creep, and several of them together."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq

from halfroll.core.errors import InputError
from halfroll.materials.calibrate.combine import combine
from halfroll.materials.calibrate.creep import creep_slope
from halfroll.materials.calibrate.curve import CurvePair, curve_modulus
from halfroll.materials.calibrate.resonance import Resonance, resonance_modulus
from halfroll.materials.calibrate.ring import FIRST_MODE, Ringing, ring_modulus
from halfroll.materials.calibrate.types import Estimate, Strip
from halfroll.materials.catalogue import catalogue
from halfroll.materials.printed import in_print

RELAXATION = Path(__file__).parents[2] / "references" / "viscoelastic_example" / "relaxation_18c.csv"
TPU, PETG = catalogue().filaments["tpu-95a"], catalogue().filaments["petg"]


def codes(found: object) -> list[str]:
    """Codes of all verdicts."""
    return [one.code for one in found.verdicts]  # type: ignore[attr-defined]


def estimate(modulus_pa: float, u: float, **more: object) -> Estimate:
    """A modulus as a strip gives it."""
    return Estimate(method="strip", modulus_pa=modulus_pa, log_u=u, **more)  # type: ignore[arg-type]


def test_a_resonance_by_the_parameters_of_a_worked_driver() -> None:
    """A resonance of 48.42931 Hz and Mms 12 g make Cms 0.90 mm/N, Qms 3.651484 (Thiele, Small). Predicted 1000 N/m at 100 MPa: 111.11 MPa, loss 1/Qms."""
    found = resonance_modulus(
        Resonance(
            resonance_hz=48.42931,
            moving_mass_kg=12e-3,
            predicted_n_m=1000.0,
            reference_pa=100e6,
            qms=3.651484,
        )
    )
    assert found.modulus_pa == pytest.approx(100e6 / 0.9, rel=1e-6)
    assert found.loss_factor == pytest.approx(1 / 3.651484)
    assert found.log_u == pytest.approx(math.sqrt(0.04**2 + 0.03**2 + 0.12**2))
    assert codes(found) == ["resonance-modulus"]


def test_what_other_parts_hold_is_taken_off() -> None:
    """A paper spider of 400 N/m leaves 711.1 N/m of 1111.1 N/m for the printed surround; the uncertainty of fs then counts 1.5625 times."""
    reading = Resonance(
        resonance_hz=48.42931, moving_mass_kg=12e-3, predicted_n_m=1000.0, reference_pa=100e6, rest_n_m=400.0
    )
    found = resonance_modulus(reading)
    assert found.modulus_pa == pytest.approx(71.111e6, rel=1e-4)
    assert found.budget["resonance"] == pytest.approx(0.04 * 1111.11 / 711.11, rel=1e-4)
    with pytest.raises(InputError, match="softer than the whole suspension"):
        resonance_modulus(replace(reading, rest_n_m=1200.0))
    assert "resonance-minor-part" in codes(resonance_modulus(replace(reading, rest_n_m=700.0)))


def test_a_curve_of_the_predicted_shape_is_scaled() -> None:
    """Least squares through the origin by hand: y = (2.1, 3.9, 6.2) over (1, 2, 3), equal weights, is 28.5/14."""
    pair = CurvePair(x_m=np.array([1e-3, 2e-3, 3e-3]), measured=np.array([2.1, 3.9, 6.2]), predicted_x_m=np.array([0.0, 1e-3, 2e-3, 3e-3]),
                     predicted=np.array([0.0, 1.0, 2.0, 3.0]), reference_pa=50e6, u=np.full(3, 0.2))  # fmt: skip
    found = curve_modulus(pair)
    assert found.modulus_pa == pytest.approx(50e6 * 28.5 / 14)
    assert found.budget["readings"] == pytest.approx(0.2 / math.sqrt(14) / (28.5 / 14))
    assert codes(found) == ["curve-shape-agrees"]


def test_a_curve_of_another_shape_is_said_and_widens_the_interval() -> None:
    """A suspension that stiffens where it was predicted not to."""
    x = np.linspace(-5e-3, 5e-3, 11)
    predicted = np.full(11, 900.0)
    measured = 1000.0 * (1 + (x / 5e-3) ** 2)
    found = curve_modulus(
        CurvePair(x_m=x, measured=measured, predicted_x_m=x, predicted=predicted, reference_pa=1e8)
    )
    assert codes(found) == ["curve-shape-disagrees"]
    assert found.budget["readings"] > 0.05
    assert abs(found.verdicts[0].data["worst_at_mm"]) == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("x", "y", "message"),
    [([0, 1e-3], [1, 2], "three points"), ([0, 1e-3, 9e-3], [1, 2, 3], "beyond the predicted travel"),
     ([0, 1e-3, 2e-3], [-1, -1, -1], "same sign"), ([0, 1e-3, 2e-3], [0, 0, 0], "not all zero")],
)  # fmt: skip
def test_a_curve_that_cannot_be_is_refused(x: list[float], y: list[float], message: str) -> None:
    """What was found and what is allowed."""
    travel = np.array([-5e-3, 0.0, 5e-3])
    with pytest.raises(InputError, match=message):
        curve_modulus(
            CurvePair(
                x_m=np.array(x),
                measured=np.array(y, float),
                predicted_x_m=travel,
                predicted=np.array([2.0, 1.0, 2.0]),
                reference_pa=1e8,
            )
        )


def test_the_eigenvalue_of_a_strip_that_rings() -> None:
    """Root of cos a cosh a = -1 (Blevins, Table 8-1: 1.87510407), squared."""
    root = brentq(lambda a: math.cos(a) * math.cosh(a) + 1.0, 1.0, 3.0, xtol=1e-13)
    assert root == pytest.approx(1.87510407, abs=1e-8)
    assert pytest.approx(root**2, rel=1e-9) == FIRST_MODE


def test_a_strip_that_rings_by_hand() -> None:
    """PLA, 3.5 GPa, 1240 kg/m³, 60 x 10 x 1 mm: sqrt(E/rho) t/(sqrt 12 L²) 3.516/2 pi = 75.4 Hz; half the amplitude in 10 cycles is a loss of 0.02206."""
    strip = Strip(setup="fixed-free", length_m=60e-3, width_m=10e-3, thickness_m=1e-3, density_kg_m3=1240)
    found = ring_modulus(strip, Ringing(frequency_hz=75.38777, fall=2.0, cycles=10))
    assert found.modulus_pa == pytest.approx(3.5e9, rel=1e-5)
    assert found.loss_factor == pytest.approx(math.log(2) / (10 * math.pi))
    assert codes(found) == ["ring-modulus"]
    with pytest.raises(InputError, match="amplitude must fall"):
        ring_modulus(strip, Ringing(frequency_hz=75.0, fall=0.5, cycles=10))
    with pytest.raises(InputError, match="held at one end"):
        ring_modulus(replace(strip, setup="three-point"), Ringing(frequency_hz=75.0))


def test_log_creep_of_a_polymer_that_was_measured() -> None:
    """Relaxation of a polymer at 18 °C from 0.01 to 10 s (NREL, open data): its compliance grows by 4.7 % of the first per decade, as its ends
    say by hand ((6766.96/5983.47 - 1)/3 = 4.36 %), and no reading lies farther than 2 % from the line.
    """
    with RELAXATION.open() as file:
        rows = [(float(row["time_s"]), float(row["relaxation_modulus_mpa"])) for row in csv.DictReader(file)]
    t, compliance = np.array([row[0] for row in rows]), np.array([1e3 / row[1] for row in rows])
    found = creep_slope(t, compliance)
    assert found.per_decade == pytest.approx((6766.961727 / 5983.471376 - 1) / 3, rel=0.10)
    line = compliance[0] * (1 + found.per_decade * np.log10(t / t[0]))
    assert np.abs(line / compliance - 1).max() < 0.02
    assert found.per_decade_u < 0.1 * found.per_decade


def test_creep_that_is_not_logarithmic_and_creep_read_too_short() -> None:
    """A deflection that grows with the square root of time speeds up; five readings in a minute tell little of a week."""
    t = np.array([1.0, 10.0, 100.0, 1000.0, 1e4, 1e5])
    assert "creep-not-log" in codes(creep_slope(t, 1 + 1e-3 * np.sqrt(t)))
    assert codes(creep_slope(t, 1 + 0.05 * np.log10(t))) == []
    assert "creep-short" in codes(creep_slope([2.0, 4.0, 8.0], [1.0, 1.01, 1.02]))
    assert codes(creep_slope(t, 1 - 0.01 * np.log10(t))) == ["creep-backwards"]
    with pytest.raises(InputError, match="Times must rise"):
        creep_slope([0.0, 1.0, 2.0], [1.0, 1.0, 1.0])
    with pytest.raises(InputError, match="three readings"):
        creep_slope([1.0, 2.0], [1.0, 1.0])


def test_two_calibrations_are_weighed_by_their_uncertainty() -> None:
    """By hand: 100 and 104 MPa, each 4 %, with a starting value so unsure that it does not count: their geometric mean and 4 %/sqrt 2."""
    start = replace(TPU, modulus_u_pa=30 * TPU.modulus_pa)
    found = combine(start, [estimate(100e6, 0.04, lines="crossed"), estimate(104e6, 0.04, lines="crossed")])
    assert found.filament.modulus_pa == pytest.approx(math.sqrt(100 * 104) * 1e6, rel=1e-4)
    assert found.filament.modulus_u_pa / found.filament.modulus_pa == pytest.approx(
        0.04 / math.sqrt(2), rel=1e-3
    )
    assert found.weights == pytest.approx((0.5, 0.5), abs=1e-3)
    assert found.widened == 1.0
    assert found.filament.calibrated == "strip"


def test_a_starting_value_counts_by_its_spread_and_is_left_out_when_contradicted() -> None:
    """Near it, it pulls the result by its weight; half of it is another plastic."""
    near = combine(TPU, [estimate(118e6, 0.10, lines="crossed")])
    share = 0.10**-2 / (0.10**-2 + (TPU.modulus_u_pa / TPU.modulus_pa) ** -2)
    expected = math.exp(share * math.log(118e6) + (1 - share) * math.log(TPU.modulus_pa))
    assert near.filament.modulus_pa == pytest.approx(expected, rel=1e-4)
    assert near.start_weight == pytest.approx(1 - share, abs=1e-3)
    far = combine(TPU, [estimate(55e6, 0.06, lines="crossed")])
    assert far.filament.modulus_pa == pytest.approx(55e6, rel=1e-6)
    assert (far.start_weight, codes(far)) == (0.0, ["starting-value-left"])


def test_calibrations_that_contradict_each_other_widen_the_result() -> None:
    """Birge's ratio: 100 and 130 MPa, 3 % each, lie 6.2 standard uncertainties apart."""
    start = replace(TPU, modulus_pa=10e6, modulus_u_pa=1e6)
    found = combine(start, [estimate(100e6, 0.03, lines="crossed"), estimate(130e6, 0.03, lines="crossed")])
    assert found.widened == pytest.approx(math.log(1.3) / (0.03 * math.sqrt(2)), rel=0.02)
    assert codes(found) == ["starting-value-left", "calibrations-disagree"]
    mixed = [
        estimate(60e6, 0.03, lines="crossed"),
        replace(estimate(110e6, 0.05, lines="crossed"), method="resonance"),
    ]
    assert "slow bending" in combine(start, mixed).verdicts[1].text


def test_strips_of_both_directions_give_the_across_factor() -> None:
    """2.4 GPa along, 1.8 GPa across: 0.75, and a print is predicted in either direction as it was measured."""
    start = replace(PETG, modulus_u_pa=30 * PETG.modulus_pa, across_factor_u=10.0)
    found = combine(start, [estimate(2.4e9, 0.05), estimate(1.8e9, 0.06, lines="across")]).filament
    assert found.across_factor == pytest.approx(0.75, rel=2e-3)
    across, along = in_print(found, raster="around"), in_print(found, raster="radial")
    assert (along.modulus_pa, across.modulus_pa) == pytest.approx((2.4e9, 1.8e9), rel=2e-3)
    solid = 1.5 * 0.02
    assert across.modulus_u_pa / across.modulus_pa == pytest.approx(math.hypot(0.06, solid), rel=0.02)
    assert along.modulus_u_pa / along.modulus_pa == pytest.approx(math.hypot(0.05, solid), rel=0.02)


def test_a_strip_across_the_lines_is_not_reduced_a_second_time() -> None:
    """It was measured as the print is loaded, so the factor does not enter, nor its uncertainty."""
    found = combine(
        replace(PETG, modulus_u_pa=30 * PETG.modulus_pa), [estimate(1.7e9, 0.05, lines="across")]
    ).filament
    print_ = in_print(found, raster="around")
    assert print_.modulus_pa == pytest.approx(1.7e9, rel=2e-3)
    assert print_.modulus_u_pa / print_.modulus_pa == pytest.approx(math.hypot(0.05, 0.03), rel=0.02)


def test_nothing_measured_is_the_starting_value() -> None:
    """And creep alone changes creep alone."""
    assert combine(TPU, []).filament == TPU
    creep = creep_slope([1.0, 10.0, 100.0, 1000.0], [10.0, 10.52, 10.98, 11.51])
    found = combine(TPU, [], [creep]).filament
    assert found.creep_per_decade == pytest.approx(0.05, rel=0.02)
    assert found.modulus_pa == TPU.modulus_pa
