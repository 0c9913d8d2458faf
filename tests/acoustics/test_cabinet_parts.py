"""Ports, walls and stuffing of cabinets against closed forms and independent solutions."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from halfroll.acoustics.air import Air
from halfroll.acoustics.cabinet import walls
from halfroll.acoustics.cabinet.port import END_SUMS, FLANGED_PISTON, FREE, Port, length_for, tuning_hz
from halfroll.acoustics.cabinet.stuffing import AIR_DIFFUSIVITY_M2_S, Stuffing
from halfroll.core.errors import InputError

AIR = Air(1.2, 343.0)


@pytest.mark.parametrize(
    ("end_sum", "length_mm"),
    [(FLANGED_PISTON + FREE, 107.925), (1.464, 107.879), (2 * FLANGED_PISTON, 102.037), (0.0, 144.479)],
)
def test_port_length(end_sum: float, length_mm: float) -> None:
    """20 l, 50 mm round, 45 Hz: the textbook's formula (Small 1973; 1.46 r and "0.732 d" are both in print; two flanged ends 2 x 8/(3π) r)."""
    found = length_for(0.02, 45.0, math.pi * 0.025**2, end_sum=end_sum, air=AIR)
    assert 1e3 * found == pytest.approx(length_mm, abs=1.1e-3)
    port = Port.round(0.05, found, end_sum=end_sum)
    assert tuning_hz(0.02, port, AIR) == pytest.approx(45.0, rel=1e-12)


def test_end_corrections() -> None:
    """0.8216 (exact flange), 8/(3π) = 0.8488 (piston), 0.6133 (free), one of each 1.462 as Small takes it."""
    assert END_SUMS["one end flanged, one free"] == 1.462
    assert END_SUMS["both ends flanged"] == pytest.approx(2 * 0.8216)
    assert END_SUMS["both flanged, as pistons"] == pytest.approx(1.6977, abs=1e-4)
    assert END_SUMS["both ends free"] == pytest.approx(1.2266)


def test_several_ports() -> None:
    """Two ports of half the area and the same effective length tune alike."""
    one = Port.round(0.05, 0.1, end_sum=0.0)
    two = Port.round(0.05 / math.sqrt(2.0), 0.1, count=2, end_sum=0.0)
    assert tuning_hz(0.02, two, AIR) == pytest.approx(tuning_hz(0.02, one, AIR), rel=1e-12)


def test_pipe_and_reynolds() -> None:
    """Half a wave along the effective length: 1187 Hz for Leff 144.479 mm; Re = v d/ν of a round pipe."""
    port = Port.round(0.05, 0.107929)
    assert port.pipe_resonance_hz(AIR) == pytest.approx(343.0 / (2 * 0.144479), rel=1e-5)
    assert port.reynolds(10.0) == pytest.approx(10.0 * 0.05 / 1.51e-5)


def test_port_too_narrow() -> None:
    """A tuning that the ends alone spoil is refused, and what helps is said."""
    with pytest.raises(InputError, match="Widen the port"):
        length_for(0.02, 200.0, math.pi * 0.01**2, air=AIR)


def test_clamped_panels() -> None:
    """λ² of clamped plates, first mode (Leissa, NASA SP-160): square 35.99, sides 1.5 60.77, 2 98.31 (over the longer side squared); within 1 %."""
    plate = walls.Walls(thickness_m=1e-3, modulus_pa=12e9 * (1 - 0.09), poisson=0.3, density_kg_m3=1000.0)
    assert plate.bending == pytest.approx(1.0)
    for ratio, value in ((1.0, 35.99), (1.5, 60.77), (2.0, 98.31)):
        found = 2.0 * math.pi * walls.clamped_hz(plate, ratio, 1.0) * ratio**2
        assert found == pytest.approx(value, rel=0.01)


def test_supported_panels() -> None:
    """Simply supported square: λ² = 2π² = 19.739, and centre deflection 0.00406 q a⁴/D goes with a volume of 0.001706 q a⁶/D.

    The deflection is Timoshenko and Woinowsky-Krieger's, table 8; the volume is worked out from Levy's single series here.
    """
    plate = walls.Walls(thickness_m=1e-3, modulus_pa=12e9 * (1 - 0.09), poisson=0.3, density_kg_m3=1000.0)
    assert 2.0 * math.pi * walls.supported_hz(plate, 1.0, 1.0) == pytest.approx(19.7392, rel=1e-5)
    assert walls.supported_volume(plate, 1.0, 1.0) == pytest.approx(_levy_volume(), rel=1e-4)


def test_clamped_volume() -> None:
    """Ritz's one term against a finite-difference solution of the clamped square made here, extrapolated in the mesh: within 4 %."""
    plate = walls.Walls(thickness_m=1e-3, modulus_pa=12e9 * (1 - 0.09), poisson=0.3, density_kg_m3=1000.0)
    coarse, fine = _clamped_square(24), _clamped_square(48)
    exact = fine + (fine - coarse) / 3.0
    assert walls.clamped_volume(plate, 1.0, 1.0) == pytest.approx(exact, rel=0.04)


def _clamped_square(n: int) -> float:
    """Volume under a clamped unit square plate with q = D = 1: thirteen-point biharmonic stencil, mirrored points for the slope."""
    import scipy.sparse as sparse
    from scipy.sparse.linalg import spsolve

    second = sparse.diags([1.0, -2.0, 1.0], [-1, 0, 1], shape=(n - 1, n - 1))
    fourth = (second @ second).tolil()
    fourth[0, 0] += 2.0
    fourth[-1, -1] += 2.0
    one = sparse.eye(n - 1)
    operator = sparse.kron(fourth, one) + sparse.kron(one, fourth) + 2.0 * sparse.kron(second, second)
    return float(spsolve(operator.tocsc() * n**4, np.ones((n - 1) ** 2)).sum()) / n**2


def _levy_volume() -> float:
    """∫∫ w of a unit square by Levy's solution, w = Σ (4/(π⁵m⁵)) [1 - (2 + β tanh β)/(2 cosh β) cosh(2βy) + 2βy sinh(2βy)/(2 cosh β)] sin mπx."""
    y = np.linspace(-0.5, 0.5, 4001)
    total = 0.0
    for m in range(1, 40, 2):
        beta = m * math.pi / 2.0
        shape = (
            1.0
            - (2 + beta * math.tanh(beta)) / (2 * math.cosh(beta)) * np.cosh(2 * beta * y)
            + beta * 2 * y / (2 * math.cosh(beta)) * np.sinh(2 * beta * y)
        )
        total += 4.0 / (math.pi**5 * m**5) * 2.0 / (m * math.pi) * float(np.trapezoid(shape, y))
    return total


def test_round_panel() -> None:
    """Clamped disc of PLA, radius 50 mm, 1 mm thick, E 3.5 GPa, ν 0.36, ρ 1240: 338.08 Hz (Leissa's λ² 10.2158)."""
    plate = walls.Walls(thickness_m=1e-3, modulus_pa=3.5e9, poisson=0.36, density_kg_m3=1240.0)
    assert walls.round_hz(plate, 0.05)[1] == pytest.approx(338.08, abs=0.01)
    supported, held = walls.round_volume(plate, 0.05)
    assert supported / held == pytest.approx(7.36 / 1.36)
    assert walls.round_hz(plate, 0.05)[0] == pytest.approx(338.08 * 4.935 / 10.2158, rel=1e-4)


def test_stuffing_time() -> None:
    """The relaxation time against a numerical solution of steady heat conduction in the cell (SciPy's collocation), to the model's own order."""
    stuffing = Stuffing(packing_kg_m3=8.0)
    inner = stuffing.fibre_radius_m
    outer = inner / math.sqrt(stuffing.fibre_share)

    def heat(r: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.vstack([y[1], -1.0 - y[1] / r])

    grid = np.linspace(1.0, outer / inner, 400)
    solved = solve_bvp(
        heat, lambda a, b: np.array([a[0], b[1]]), grid, np.zeros((2, grid.size)), tol=1e-8, max_nodes=20000
    )
    r = solved.x
    mean = float(np.trapezoid(solved.y[0] * r, r) / np.trapezoid(r, r))
    expected = mean * inner**2 / AIR_DIFFUSIVITY_M2_S
    assert stuffing.time_s == pytest.approx(
        expected, rel=2.5 * stuffing.fibre_share * math.log(outer / inner) + 0.01
    )


def test_stuffing_limits() -> None:
    """Dense enough it makes the air isothermal: compliance up by γ - 1 = 0.4; the fibres take their own room."""
    dense = Stuffing(packing_kg_m3=60.0)
    assert 0.38 < dense.gain < 0.4
    assert dense.air_share == pytest.approx(1 - 60 / 1380)
    assert Stuffing(packing_kg_m3=8.0, share=0.5).gain == pytest.approx(
        0.5 * Stuffing(packing_kg_m3=8.0).gain
    )
    with pytest.raises(InputError, match=r"nine tenths.*11 % fibre"):
        Stuffing(packing_kg_m3=150.0)
