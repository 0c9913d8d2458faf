"""Charts of an impedance and its fit, and ellipses of confidence."""

import math

import numpy as np
import pytest
from scipy.stats import chi2, f

from halfroll.measure.lumped.parameter_types import Estimates, Fit
from halfroll.publish.ellipses import Ellipse, ellipse_chart
from halfroll.publish.parameters import fit_charts
from halfroll.publish.render import to_svg
from halfroll.publish.spec import chart_summary
from halfroll.publish.theme import theme
from tests.publish import svg
from tests.publish.language import assert_valid

LIGHT = theme("light")
COVARIANCE = np.array([[0.04, 0.012], [0.012, 0.01]])


def make_fit(*, phase: bool = True) -> Fit:
    """A fit whose measured points lie 1 % off, one of them an outlier."""
    frequency = np.geomspace(10.0, 20000.0, 300)
    fitted = 6.0 + 30.0 / (1.0 + 3j * (frequency / 55.0 - 55.0 / frequency)) + 1e-3j * frequency
    measured = fitted * (1.0 + 0.01j)
    measured[100] *= 1.3
    weights = np.ones(300)
    weights[100] = 0.0
    return Fit(
        coil="ideal", creep=False, frequency_hz=frequency, measured_ohm=measured, fitted_ohm=fitted, weights=weights,
        phase_known=phase, estimates=Estimates(names=("re_ohm",), values=np.array([6.0]), covariance=np.zeros((1, 1))),
    )  # fmt: skip


def test_measured_points_and_fitted_curve() -> None:
    """Points are thinned, the outlier is a cross and stays; each chart is valid and has words."""
    charts = fit_charts(make_fit(), theme=LIGHT, width_px=700.0)
    assert list(charts) == ["modulus", "phase", "residual"]
    for spec in charts.values():
        assert_valid(spec)
        assert len(chart_summary(spec)) > 40
        assert svg.words(to_svg(spec))
    dots = charts["modulus"]["datasets"]["dots"]
    assert 30 < len(dots) < 150
    assert sum(dot["out"] for dot in dots) == 1
    assert "1 points that hardly count" in " ".join(svg.words(to_svg(charts["modulus"])))


def test_residual_across_is_the_phase() -> None:
    """1 % across the fitted value is 0.57 degrees of phase; along the modulus there is nothing but the outlier."""
    rows = fit_charts(make_fit(), theme=LIGHT, width_px=700.0)["residual"]["datasets"]["curves"]
    along, across = (np.median([r["y"] for r in rows if r["s"] == s]) for s in (0, 1))
    assert along == pytest.approx(0.0, abs=1e-6)
    assert across == pytest.approx(1.0, abs=1e-3)


def test_without_phase() -> None:
    """A curve of moduli has no chart of phase."""
    assert list(fit_charts(make_fit(phase=False), theme=LIGHT, width_px=700.0)) == ["modulus", "residual"]


@pytest.mark.parametrize("dof", [math.inf, 8.0])
def test_an_ellipse_holds_95_percent(dof: float) -> None:
    """On its outline the quadratic form is the 0.95 quantile of chi-squared with 2, or twice that of F with 2 and ν degrees of
    freedom (SciPy); of 40 000 drawn pairs 95 % lie inside.
    """
    ellipse = Ellipse(label="a", centre=(50.0, 0.4), covariance=COVARIANCE, dof=dof)
    away = ellipse.outline() - np.array(ellipse.centre)
    form = np.einsum("ij,jk,ik->i", away, np.linalg.inv(COVARIANCE), away)
    expected = chi2.ppf(0.95, 2) if math.isinf(dof) else 2.0 * f.ppf(0.95, 2, dof)
    np.testing.assert_allclose(form, expected, rtol=1e-9)
    if math.isinf(dof):
        drawn = np.random.default_rng(1).multivariate_normal([0.0, 0.0], COVARIANCE, 40_000)
        inside = np.einsum("ij,jk,ik->i", drawn, np.linalg.inv(COVARIANCE), drawn) < form[0]
        assert np.mean(inside) == pytest.approx(0.95, abs=0.004)
    assert ellipse.correlation == pytest.approx(0.012 / math.sqrt(0.04 * 0.01))


@pytest.mark.parametrize("width", [360.0, 760.0])
def test_ellipse_chart(width: float) -> None:
    """Valid at phone and screen width, names beside or below, each ellipse closed; a degenerate one is only a point."""
    ellipses = [
        Ellipse(label="alone", centre=(50.0, 0.4), covariance=COVARIANCE),
        Ellipse(label="again", centre=(50.3, 0.41), covariance=np.zeros((2, 2))),
    ]
    spec = ellipse_chart(ellipses, x="fs in Hz", y="Qts", theme=LIGHT, width_px=width, title="fs and Qts")
    assert_valid(spec)
    words = svg.words(to_svg(spec))
    assert {"alone", "again"} <= set(words)
    rows = [row for row in spec["datasets"]["ellipses"] if row["s"] == 0]
    assert (rows[0]["x"], rows[0]["y"]) == pytest.approx((rows[-1]["x"], rows[-1]["y"]))
    assert "correlation" in chart_summary(spec)
