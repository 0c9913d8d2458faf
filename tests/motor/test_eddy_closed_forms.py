"""Coils near metal against closed forms: in air, over a half space, around a rod (Dodd and Deeds 1968)."""

from __future__ import annotations

import numpy as np
import pytest

from halfroll.motor.coil.inductance import layered
from halfroll.motor.eddy.blocked import blocked_impedance
from halfroll.motor.types import Assembly, Body, Filler, Gap, Matter, Ring, SoftSteel, Winding
from tests.motor.coil_near_metal import Coil, around_rod, in_air, over_half_space
from tests.motor.eddy_motors import COPPER, linear_steel, rectangle_body

MM = 1e-3
FREQUENCIES = np.array([100.0, 1e3, 5e3, 20e3])
COIL = Coil(r1=13.0 * MM, r2=13.8 * MM, low=1.0 * MM, high=6.0 * MM, turns=60.0)
WINDING = Winding(r_inner=COIL.r1, r_outer=COIL.r2, z_low=COIL.low, z_high=COIL.high, turns=COIL.turns)
GAP = Gap(inner="a", outer="b", r_inner=12.0 * MM, r_outer=14.5 * MM, z_low=0.0, z_high=7.0 * MM)


def _beside(body: Body) -> Assembly:
    """The coil and one body."""
    return Assembly(bodies=(body,), gap=GAP, winding=WINDING)


def _metal(mu_r: float, sigma: float) -> Matter:
    """Copper, or a steel of constant permeability."""
    return Ring(conductor=COPPER) if mu_r == 1.0 else SoftSteel(steel=linear_steel(mu_r, sigma))


def test_in_air() -> None:
    """Against the project's layers of Nagaoka solenoids, forty for the block, and against the integral."""
    spacer = Filler(title="printed", density_kg_m3=1250.0)
    found = blocked_impedance(_beside(rectangle_body("spacer", 0.0, 12 * MM, 0.0, 1 * MM, spacer)), [1e3])
    radii = COIL.r1 + (COIL.r2 - COIL.r1) * (np.arange(40) + 0.5) / 40
    nagaoka = layered(list(radii), [COIL.turns / 40] * 40, COIL.high - COIL.low)
    assert in_air(COIL) == pytest.approx(nagaoka, rel=3e-4)
    assert found.inductance_h[0, 0] == pytest.approx(nagaoka, rel=3e-3)
    assert found.inductance_h[0, 0] == pytest.approx(in_air(COIL), rel=5e-4)
    assert abs(found.resistance_ohm[0, 0]) < 1e-9


@pytest.mark.parametrize(("mu_r", "sigma"), [(1.0, 58e6), (50.0, 6e6), (500.0, 6e6)])
def test_over_a_half_space(mu_r: float, sigma: float) -> None:
    """A disc of 300 mm stands for the half space under a coil of 27 mm. Copper and two steels; L falls to 65 % over copper."""
    found = blocked_impedance(
        _beside(rectangle_body("plate", 0.0, 150 * MM, -30 * MM, 0.0, _metal(mu_r, sigma))), FREQUENCIES
    )
    omega = 2.0 * np.pi * FREQUENCIES
    exact = in_air(COIL) + np.array([over_half_space(COIL, w, sigma, mu_r) for w in omega])
    assert found.inductance_h[0] == pytest.approx(exact.real, rel=1e-3)
    assert found.resistance_ohm[0] == pytest.approx(-omega * exact.imag, rel=4e-3)


@pytest.mark.parametrize(
    ("mu_r", "sigma", "from_hz", "tolerance"),
    [(1.0, 58e6, 100.0, 2e-3), (50.0, 6e6, 100.0, 6e-3), (500.0, 6e6, 5e3, 2e-3)],
)
def test_around_a_rod(mu_r: float, sigma: float, from_hz: float, tolerance: float) -> None:
    """A rod of 300 mm stands for the endless one; at high permeability its ends are felt at low frequencies, left out here."""
    frequencies = FREQUENCIES[from_hz <= FREQUENCIES]
    rod = rectangle_body("rod", 0.0, 12 * MM, -150 * MM, 150 * MM, _metal(mu_r, sigma))
    found = blocked_impedance(_beside(rod), frequencies)
    omega = 2.0 * np.pi * frequencies
    exact = in_air(COIL) + np.array([around_rod(COIL, 12 * MM, w, sigma, mu_r) for w in omega])
    assert found.inductance_h[0] == pytest.approx(exact.real, rel=2e-3)
    assert found.resistance_ohm[0] == pytest.approx(-omega * exact.imag, rel=tolerance)
