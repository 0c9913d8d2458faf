"""The differential reluctivity of steel by its two laws, and the depth of the skin."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from halfroll.materials.steel import MU_0, curve
from halfroll.motor.eddy.skin import differential, reversible_shares, skin_depth
from tests.motor.eddy_motors import linear_steel, reference


def test_skin_depth_of_copper() -> None:
    """Handbook value for copper (58 MS/m): 9.35 mm at 50 Hz, 2.09 mm at 1 kHz."""
    assert 1e3 * skin_depth(50.0, 58e6, MU_0) == pytest.approx(9.35, abs=0.01)
    assert 1e3 * skin_depth(1e3, 58e6, MU_0) == pytest.approx(2.09, abs=0.01)


def test_tangent_is_the_slope_of_the_curve() -> None:
    """Integrated over B, the reluctivity along gives back H of the table; across it is H/B."""
    stored, assembly = reference()
    law = differential(assembly.body("pole").matter.steel)  # type: ignore[union-attr]
    table = stored["steel"]
    for b, h in zip(table["B"][4:], table["H"][4:], strict=True):
        keep = law.b_t <= b + 1e-12
        assert np.trapezoid(law.along[keep], law.b_t[keep]) == pytest.approx(h, rel=0.01)
        assert np.interp(b, law.b_t, law.across) == pytest.approx(h / b, rel=1e-9)


def test_linear_steel_is_the_same_in_all_directions() -> None:
    """Along and across."""
    law = differential(linear_steel(200.0, 6e6))
    below = law.b_t < 2.0  # where the table ends
    assert np.allclose(law.along[below], 1.0 / (200.0 * MU_0))
    assert np.allclose(law.across[below], 1.0 / (200.0 * MU_0))


def _langevin(y: float) -> float:
    return 1.0 / math.tanh(y) - 1.0 / y


@pytest.mark.parametrize("y", [0.01, 0.3, 1.0, 3.0, 20.0])
def test_reversible_by_turning_moments(y: float) -> None:
    """What Brown's law stands for: free moments in a field, M/Ms = <cos>, so that a small field along adds the variance of
    the cosine and one across adds <sin²>/2, each three times over the initial susceptibility. Averages by quadrature.
    """
    weight = quad(lambda c: math.exp(y * (c - 1.0)), -1.0, 1.0, epsabs=1e-14)[0]
    mean = quad(lambda c: c * math.exp(y * (c - 1.0)), -1.0, 1.0, epsabs=1e-14)[0] / weight
    square = quad(lambda c: c * c * math.exp(y * (c - 1.0)), -1.0, 1.0, epsabs=1e-14)[0] / weight
    along, across = reversible_shares(np.array([_langevin(y)]))
    assert along[0] == pytest.approx(3.0 * (square - mean**2), rel=2e-4)
    assert across[0] == pytest.approx(1.5 * (1.0 - square), rel=2e-4)


def test_reversible_begins_at_the_initial_permeability_and_ends_at_that_of_air() -> None:
    """The first slope of the table at no field, the magnetic constant when nothing is left to turn."""
    steel = reference()[1].body("pole").matter.steel  # type: ignore[union-attr]
    law, table = differential(steel, "reversible"), curve(steel)
    initial = table.b_t[1] / table.h_a_m[1]
    assert law.along[0] == pytest.approx(1.0 / initial) == law.across[0]
    assert law.along[-1] == pytest.approx(1.0 / MU_0, rel=0.01)
    # it falls all the way, while the curve's slope first rises (Bozorth, Ferromagnetism, 1951, chapter on reversible permeability)
    assert (np.diff(law.along[: np.searchsorted(law.b_t, 2.0)]) > 0).all()
    assert law.largest_permeability < 0.1 * differential(steel).largest_permeability
