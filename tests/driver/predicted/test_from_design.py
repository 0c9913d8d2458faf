"""A model put together from ingredients: air load, losses, creep, curves."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from halfroll.core.errors import InputError
from halfroll.driver.lumped import small_signal
from halfroll.driver.predicted.from_design import build, knudsen
from halfroll.measure.lumped.impedance_model import creep_compliance
from tests.driver.predicted.parts import AIR, holder, ingredients


def test_air_load_of_a_piston_in_a_baffle() -> None:
    """(16/3) rho a³ of both sides: 0.800 g for a radius of 50 mm (Beranek, "Acoustics", 1954)."""
    found = build(ingredients(holder("surround", 1000.0, loss=0.05), area_m2=math.pi * 0.05**2)).model
    assert found.Mms - 0.0102 == pytest.approx(0.8e-3, rel=1e-9)


def test_loss_factors_make_the_quality() -> None:
    """A spring K(1 + j tan d) under a mass has Q = 1/tan d (any textbook of vibration); two springs by their share of the stiffness."""
    two = (holder("surround", 900.0, loss=0.08), holder("spider", 300.0, loss=0.04))
    built = build(ingredients(*two))
    sound = dict(built.rms_parts)["radiation"]
    omega = math.sqrt(1200.0 / built.model.Mms)
    assert omega * built.model.Mms / (built.model.Rms - sound) == pytest.approx(
        1200.0 / (900.0 * 0.08 + 300.0 * 0.04)
    )
    assert built.rms == pytest.approx(built.model.Rms)


def test_radiation_at_low_frequencies() -> None:
    """R1(2ka) is (ka)²/2 for small ka (Kinsler and Frey), on both sides: ρ c Sd (ka)²."""
    built = build(ingredients(holder("surround", 1000.0, loss=0.05)))
    omega = math.sqrt(1000.0 / built.model.Mms)
    ka = omega / 343.0 * math.sqrt(0.0133 / math.pi)
    assert dict(built.rms_parts)["radiation"] == pytest.approx(1.2 * 343.0 * 0.0133 * ka**2, rel=0.005)


def test_creep_in_time_and_over_frequency_say_the_same() -> None:
    """The Laplace transform of a deflection that grows by c J(1 s) per decade is C(s)/s with Knudsen and Jensen's C (by quadrature)."""
    c, omega = 0.05, 2.0 * math.pi * 60.0
    lam = knudsen(c, omega)
    first = (
        1.0 / (1.0 + lam * -0.0) * (1.0 + lam * (math.log10(omega) + 0.5772156649 / math.log(10.0)))
    )  # J(1 s) over C0
    assert c * first == pytest.approx(lam)
    for s in (0.5, 3.0, 40.0):
        whole = quad(
            lambda t, s=s: math.exp(-s * t) * first * (1.0 + c * math.log10(t)), 0.0, 60.0 / s, limit=400
        )[0]
        assert whole == pytest.approx((1.0 - lam * math.log10(s / omega)) / s, rel=1e-6)


def test_creep_over_frequency() -> None:
    """λ 0.1 a decade under the resonance: C/C0 = 1.1 - j0.0682188 (Knudsen and Jensen, JAES 41(1/2), 1993)."""
    assert creep_compliance(6.0, 60.0, 0.1).item() == pytest.approx(1.1 - 0.0682188j, abs=1e-7)


def test_creep_takes_its_part_of_the_loss() -> None:
    """With creep the model's own resistance is less by what creep loses, so that the quality stays what the loss factors say."""
    plain = build(ingredients(holder("surround", 1000.0, loss=0.1))).model
    creeping = build(ingredients(holder("surround", 1000.0, loss=0.1, creep=0.03))).model
    assert creeping.creep > 0.03
    assert creeping.Rms < plain.Rms
    assert small_signal(creeping, AIR).Qms == pytest.approx(small_signal(plain, AIR).Qms)


def test_more_creep_than_loss_is_said() -> None:
    """Creep that would lose more than the loss factors allow leaves a tenth of their resistance, and shows among the parts."""
    built = build(ingredients(holder("surround", 1000.0, loss=0.01, creep=0.05)))
    parts = dict(built.rms_parts)
    assert parts["creep beyond the loss factors"] > 0.0
    assert built.rms == pytest.approx(built.model.rms_at_resonance)


def test_creep_that_cannot_be() -> None:
    """So much creep that nothing stiff is left at the resonance."""
    with pytest.raises(InputError, match="small share"):
        knudsen(0.4, 400.0)


def test_curves() -> None:
    """K(x) = F/x and Bl(x) come out as polynomials: the cubic spring's square, and the parabola."""
    built = build(ingredients(holder("surround", 1000.0, harder=4e7, loss=0.1)))
    model = built.model
    assert model.K[0] == pytest.approx(1000.0)
    x = np.linspace(-4e-3, 4e-3, 9)
    assert np.polynomial.polynomial.polyval(x, model.K) == pytest.approx(1000.0 + 4e7 * x**2, rel=1e-6)
    assert np.polynomial.polynomial.polyval(x, model.Bl) == pytest.approx(
        6.0 * (1.0 - (x / 9e-3) ** 2), rel=1e-3
    )
    assert max(built.misfits) < 1e-3
