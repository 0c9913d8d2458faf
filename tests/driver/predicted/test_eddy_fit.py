"""A blocked impedance as an inductance with branches: checked values, what is put in is found again, and how it changes with x."""

from __future__ import annotations

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.driver.predicted.eddy_fit import EddyFit, fit_between, fit_blocked, fit_rest
from halfroll.motor.results import BlockedImpedance

F = np.array([20.0, 50.0, 100.0, 200.0, 500.0, 1e3, 2e3, 5e3, 1e4, 2e4])
X = np.linspace(-4e-3, 4e-3, 7)


def test_one_branch_is_the_lr2_model() -> None:
    """Re 6, Le 0.3 mH, L2 0.5 mH, R2 8 ohm at 1 kHz: 7.06887 + j4.60680 ohm, computed by hand from the model (IEC 62458 practice)."""
    fit = EddyFit(le=(0.3e-3,), branches=((0.5e-3, 8.0),), follows=False, misfit=0.0, misfit_x=0.0)
    assert 6.0 + fit.impedance(np.array([1e3]))[0] == pytest.approx(7.06887 + 4.60680j, abs=1e-5)


def test_what_is_put_in_is_found() -> None:
    """Two branches with corners two octaves and more apart come out as they went in, within rounding."""
    le, branches = 0.2e-3, ((0.9e-3, 3.0), (0.3e-3, 30.0))
    given = EddyFit(le=(le,), branches=branches, follows=False, misfit=0.0, misfit_x=0.0)
    found_le, found, misfit = fit_rest(F, given.impedance(F))
    assert misfit < 1e-6
    assert found_le == pytest.approx(le, rel=1e-4)
    assert np.array(found) == pytest.approx(np.array(branches), rel=1e-4)


def test_semi_inductance_of_solid_iron() -> None:
    """K sqrt(jw), Vanderkooy 1989, over three decades: three branches meet it within 8 %, and every further one comes nearer."""
    z = 0.05 * np.sqrt(2j * np.pi * F)
    misfits = [fit_rest(F, z, most=count)[2] for count in (1, 2, 3)]
    assert misfits[0] > misfits[1] > misfits[2]
    assert misfits[2] < 0.08


@pytest.mark.parametrize("follows", [True, False])
def test_how_it_changes_with_displacement(follows: bool) -> None:
    """A curve of Le(x) comes out, and whether the branches go with it."""
    le = np.array([0.3e-3, -0.03, 1.5])
    curve = np.polynomial.polynomial.polyval(X, le)
    given = EddyFit(le=tuple(le), branches=((0.5e-3, 8.0),), follows=follows, misfit=0.0, misfit_x=0.0)
    z = np.array([given.impedance(F, x) for x in X])
    found = fit_blocked(F, X, z.imag / (2 * np.pi * F), z.real)
    assert found.follows is follows
    assert np.polynomial.polynomial.polyval(X, found.le) == pytest.approx(curve, rel=1e-4)
    assert found.misfit_x < 1e-5


def test_between_two_permeabilities() -> None:
    """Reversible inductances a fifth lower: the middle is taken, and the spread is that of an even distribution, ln 1.25 / sqrt 12."""
    given = EddyFit(le=(0.3e-3,), branches=((0.5e-3, 8.0),), follows=False, misfit=0.0, misfit_x=0.0)
    z = np.tile(given.impedance(F), (3, 1))
    inductance, resistance = z.imag / (2 * np.pi * F), z.real
    found = fit_between(BlockedImpedance(
        frequency_hz=F, x_m=np.array([-1e-3, 0.0, 1e-3]), inductance_h=inductance, resistance_ohm=resistance, u_rel=0.0,
        low_level_inductance_h=0.8 * inductance, low_level_resistance_ohm=0.8 * resistance,
    ))  # fmt: skip
    assert found.le[0] == pytest.approx(0.3e-3 * np.sqrt(0.8), rel=1e-4)
    assert np.array(found.between) == pytest.approx(np.log(0.8) / np.sqrt(12.0), rel=1e-3)


def test_the_coil_moved() -> None:
    """Resting 1 mm farther inwards: what was at x - 1 mm is now at x, branches that follow with it."""
    given = EddyFit(le=(0.3e-3, -0.03), branches=((0.5e-3, 8.0),), follows=True, misfit=0.0, misfit_x=0.0)
    moved = given.moved(1e-3)
    for x in (-2e-3, 0.0, 2e-3):
        assert moved.impedance(F, x) == pytest.approx(given.impedance(F, x - 1e-3), rel=1e-12)


def test_rest_must_be_known() -> None:
    """A blocked impedance of displacements to one side only."""
    with pytest.raises(InputError, match="at rest"):
        fit_blocked(F, np.array([1e-3, 2e-3]), np.ones((2, 10)), np.ones((2, 10)))
