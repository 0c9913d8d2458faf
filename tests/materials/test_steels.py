"""Magnetisation curves: published values, the way to saturation, and tables that cannot be."""

import math

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import catalogue
from halfroll.materials.check import check_bh_table
from halfroll.materials.fit import LATEST_JOIN_T, SATURATION_T, RoschkeFit, tabulate
from halfroll.materials.steel import MU_0, curve

STEELS = catalogue().steels
FITS = {
    "steel-1008": RoschkeFit(mu_i=200, b_my_max_t=1.17, c_a=8100, c_b=2.59, n=10),
    "steel-12l14": RoschkeFit(mu_i=10, b_my_max_t=0.94, c_a=5900, c_b=4.19, n=6.4),
    "steel-dc01": RoschkeFit(mu_i=5, b_my_max_t=1.1, c_a=6450, c_b=3.65, n=7.7),
}


def test_team_13_above_its_table():
    """Its formula, B = mu0 H + a H² + b H + c, at 20 kA/m: 1.98529 T; above 2.22 T, B = mu0 H + 2.16 T."""
    law = curve(STEELS["steel-team13"])
    assert float(law.b(20e3)) == pytest.approx(1.98529, abs=1e-5)
    for h in (12e3, 17e3, 28e3, 42e3):
        formula = MU_0 * h - 2.381e-10 * h * h + 2.327e-5 * h + 1.590
        assert float(law.b(h)) == pytest.approx(formula, rel=1e-3)  # between stored points too
    assert float(law.b(100e3)) == pytest.approx(MU_0 * 100e3 + 2.16, rel=1e-4)


@pytest.mark.parametrize(
    ("b", "mu_r"), [(0.5, 1738.3), (1.0, 2082.4), (1.5, 649.6), (1.8, 160.7), (2.0, 65.3)]
)
def test_permeability_of_1008(b, mu_r):
    """The published fit at five flux densities, worked out apart from this code; the tabulated curve follows within 1 %."""
    assert FITS["steel-1008"].mu_r(b) == pytest.approx(mu_r, abs=0.06)
    assert curve(STEELS["steel-1008"]).mu_r(b) == pytest.approx(mu_r, rel=0.01)


def test_mild_steels_differ_as_published():
    """At 1.5 T by a factor of three, at 1.8 T by a third; the unknown washer is read as the middle, with half of it as u."""
    at = {key: float(curve(STEELS[key]).h(1.5)) for key in ("steel-team13", "steel-1008", "steel-1010")}
    assert at["steel-team13"] == pytest.approx(933.0)
    assert at["steel-1008"] == pytest.approx(1837.5, rel=1e-3)
    assert at["steel-1010"] == pytest.approx(2994.0, rel=0.02)  # 2994 with straight lines between its points
    high = [float(curve(STEELS[key]).h(1.8)) for key in at]
    assert max(high) / min(high) < 1.35
    unknown, low, best = (STEELS[f"steel-unknown{end}"] for end in ("", "-low", "-high"))
    assert unknown.h_factor_u == 0.5
    assert (unknown.h_a_m, low.h_a_m, best.h_a_m) == tuple(
        STEELS[k].h_a_m for k in ("steel-1008", "steel-1010", "steel-team13")
    )


@pytest.mark.parametrize("key", FITS)
def test_a_fit_goes_on_to_saturation(key):
    """Value and slope go on where the law of approach takes over, at 1.8 to 2 T; J rises to 2.15 T and never above it."""
    h, b = (np.array(values) for values in tabulate(FITS[key]))
    assert (STEELS[key].h_a_m, STEELS[key].b_t) == (tuple(h), tuple(b))
    j = b - MU_0 * h
    assert np.all(np.diff(j) > 0)
    assert j[-1] == pytest.approx(SATURATION_T, rel=3e-3)
    assert np.all(j < SATURATION_T)
    join = len(h) - 13
    assert 1.8 < b[join] <= LATEST_JOIN_T
    a = h[join] * (1 - j[join] / SATURATION_T)
    assert np.allclose(j[join:], SATURATION_T * (1 - a / h[join:]), atol=2e-6)
    fit, step = FITS[key], 1e-4
    rise = (2 * step) / (fit.h_a_m(b[join] + step) - fit.h_a_m(b[join] - step)) - MU_0
    assert rise == pytest.approx(SATURATION_T * a / h[join] ** 2, rel=0.03)


def rising(rows):
    """A good table with some rows changed."""
    h, b = [0.0, 100.0, 300.0, 900.0, 5e3, 20e3], [0.0, 0.5, 1.0, 1.5, 1.7, 1.95]
    for row, (new_h, new_b) in rows.items():
        h[row], b[row] = new_h, new_b
    return h, b


@pytest.mark.parametrize(("rows", "words", "line"), [
    ({0: (1.0, 0.0)}, "Row 1 of the B-H table must be 0 A/m, 0 T", 2),
    ({0: (0.0, 0.01)}, "Row 1 .* beginning of the curve; found 0 A/m, 0.01 T", 2),
    ({2: (100.0, 1.0)}, "Row 3 .* larger field strength than the row before; found 100 A/m, 1 T after 100 A/m, 0.5 T", 4),
    ({3: (900.0, 1.0)}, "Row 4 .* larger flux density than the row before", 5),
    ({3: (900.0, 0.9), 4: (800.0, 1.7)}, "Row 4 ", 5),  # the first of two
    ({5: (2e6, 1.95)}, "Row 6 .* less than vacuum does", 7),
    ({1: (math.nan, 0.5)}, "Row 2 .* two numbers; found nan A/m", 3),
    ({1: (100.0, math.inf)}, "Row 2 .* two numbers", 3),
    ({5: (20e3, 19500.0)}, "Row 6 .* must stay below .* in other units", 7),
])  # fmt: skip
def test_a_table_that_cannot_be_is_refused_at_its_first_wrong_row(rows, words, line):
    """Row, what was found, what came before, and file and line where they are known."""
    h, b = rising(rows)
    with pytest.raises(InputError, match=words) as caught:
        check_bh_table(h, b, lines=range(2, 8), file="bar.csv")
    assert (caught.value.place.file, caught.value.place.line) == ("bar.csv", line)


def test_too_few_points_or_uneven_columns():
    """Said before any row is looked at; a good table passes."""
    h, b = rising({})
    check_bh_table(h, b)
    with pytest.raises(InputError, match="enough points to show knee and saturation; found 5"):
        check_bh_table(h[:5], b[:5], key="steel.b_t")
    with pytest.raises(InputError, match="6 of h_a_m, 5 of b_t"):
        check_bh_table(h, b[:5])
