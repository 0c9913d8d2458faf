"""Strips that bend far, against published values and an independent boundary-value solver."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from halfroll.core.errors import InputError
from halfroll.materials.calibrate.elastica import fixed_free, three_point

MATTIASSON = {1.0: 0.30172, 2.0: 0.49346, 5.0: 0.71379, 10.0: 0.81061}
"""w/L over P L²/EI: K. Mattiasson, Int. J. Num. Meth. Eng. 17, 145-153, 1981."""

ELLIPTIC = {0.2: 0.06636, 0.8: 0.24945, 3.0: 0.60325, 4.0: 0.66996, 8.0: 0.78498}
"""The same by elliptic integrals, not printed there."""


@pytest.mark.parametrize(("load", "reach"), (MATTIASSON | ELLIPTIC).items())
def test_a_tip_load_bends_a_strip_as_published(load: float, reach: float) -> None:
    """All five printed digits."""
    assert fixed_free(np.array([load]))[0] == pytest.approx(reach, abs=6e-6)


def test_small_loads_follow_the_beam_formulas() -> None:
    """P L³/3EI, q L⁴/8EI and P L³/48EI (Roark, Table 8.1)."""
    assert fixed_free(np.array([1e-4]))[0] == pytest.approx(1e-4 / 3, rel=1e-6)
    assert fixed_free(np.array([0.0]), 1e-4)[0] == pytest.approx(1e-4 / 8, rel=1e-6)
    assert three_point(np.array([1e-4]))[0] == pytest.approx(1e-4 / 3, rel=1e-6)


@pytest.mark.parametrize(("alpha", "beta", "over"), [(0.0, 6.0, 0.0), (2.0, 3.0, 0.0), (1.0, 2.0, 0.25)])
def test_its_own_weight_against_a_boundary_value_solver(alpha: float, beta: float, over: float) -> None:
    """SciPy's solve_bvp on the same strip in slope and moment, with height integrated along."""

    def slopes(s: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.array([y[1], -(alpha + beta * (1 + over - s)) * np.cos(y[0]), np.sin(y[0])])

    def ends(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        return np.array([a[0], b[1] - 0.5 * beta * over**2 * np.cos(b[0]), a[2]])

    s = np.linspace(0, 1, 60)
    found = solve_bvp(slopes, ends, s, np.array([s, 1 - s, s**2]), tol=1e-9)
    assert found.success
    assert fixed_free(np.array([alpha]), beta, over)[0] == pytest.approx(found.y[2, -1], rel=1e-7)


@pytest.mark.parametrize("load", [0.3, 0.6, 0.75])
def test_two_supports_against_a_boundary_value_solver(load: float) -> None:
    """The strip slides on its supports: its length between them and its slope there are found with it."""

    def slopes(s: np.ndarray, y: np.ndarray, p: np.ndarray) -> np.ndarray:
        length, end = p
        return length * np.array([y[1], -load * np.cos(y[0] - end) / np.cos(end), np.cos(y[0]), np.sin(y[0])])

    def ends(a: np.ndarray, b: np.ndarray, p: np.ndarray) -> np.ndarray:
        return np.array([a[0], a[2], a[3], b[1], b[0] - p[1], b[2] - 1.0])

    s = np.linspace(0, 1, 60)
    start = np.array([0.5 * load * s, 1 - s, s, s**2])
    found = solve_bvp(slopes, ends, s, start, p=[1.0, 0.5 * load], tol=1e-9)
    assert found.success
    assert three_point(np.array([load]))[0] == pytest.approx(found.y[3, -1], rel=1e-6)


def test_a_load_no_strip_bears_is_refused() -> None:
    """Beyond its largest load the strip slips through the supports."""
    with pytest.raises(InputError, match="cannot bend so far"):
        three_point(np.array([1.2]))
