"""The estimator against general-purpose references: SciPy's weighted least squares, generalised least squares in closed form, evidence by
numerical integration.
"""

from __future__ import annotations

import numpy as np
from scipy.integrate import dblquad
from scipy.optimize import curve_fit
from scipy.stats import multivariate_normal

from halfroll.driver.update.causes import Linear, weigh
from halfroll.driver.update.estimate import estimate
from halfroll.driver.update.problem import Problem
from halfroll.driver.update.types import Observation
from tests.driver.update import story
from tests.driver.update.test_coverage import measured


def test_the_whole_estimate_is_that_of_curve_fit():
    """`scipy.optimize.curve_fit` on data, priors and scales as pseudo-observations: the same point and covariance."""
    predicted = story.prediction()
    problem = Problem(predicted, measured(story.driver({"moving.glue": 1.3}), np.random.default_rng(1)))
    found = estimate(problem)
    count = problem.size + len(problem.scale_names)

    def expected(_, *x):
        z, n = np.array(x[: problem.size]), np.array(x[problem.size :])
        return np.concatenate([problem.expected(z) + problem.scales @ n, x])

    data = np.concatenate([problem.data, np.zeros(count)])
    sigma = np.concatenate([problem.u, np.ones(count)])
    x, covariance = curve_fit(expected, np.arange(len(data)), data, p0=np.zeros(count), sigma=sigma, absolute_sigma=True, method="trf", jac="3-point", ftol=1e-12, xtol=1e-12)  # fmt: skip
    np.testing.assert_allclose(found.z, x[: problem.size], atol=0.01)  # of a standard uncertainty
    np.testing.assert_allclose(np.sqrt(np.diag(found.covariance)), np.sqrt(np.diag(covariance)), rtol=5e-3)


def test_single_values_are_updated_as_generalised_least_squares_says():
    """Ln Re is linear in its assumption: posterior by the textbook formula for one normal prior and one normal datum."""
    predicted = story.prediction(("coil.resistance",))
    prior, u = 0.01, 0.004
    datum = Observation(
        kind="value",
        name="re_ohm",
        label="DC resistance",
        values=np.array([6.3 * np.exp(0.018)]),
        u=np.array([u]),
    )
    found = estimate(Problem(predicted, [datum]))
    beyond = 0.5 * prior**2  # what first order may miss
    gain = prior / (prior**2 + u**2 + beyond**2)
    assert np.isclose(found.z[0], gain * 0.018, rtol=1e-6)
    assert np.isclose(found.covariance[0, 0], 1.0 - gain * prior, rtol=1e-6)


def test_evidence_is_the_integral_of_likelihood_times_prior():
    """Two causes, five data with a shared scale, integrated by `scipy.integrate.dblquad` over the two (scale in the covariance)."""
    rng = np.random.default_rng(4)
    slopes, data, u, scale = (
        rng.normal(size=(5, 2)),
        rng.normal(size=5),
        np.full(5, 0.7),
        rng.normal(size=(5, 1)),
    )
    noise = multivariate_normal(np.zeros(5), np.diag(u**2) + scale @ scale.T)
    whole, _ = dblquad(
        lambda b, a: noise.pdf(data - slopes @ [a, b]) * np.exp(-0.5 * (a * a + b * b)) / (2 * np.pi), -8, 8, -8, 8, epsabs=1e-10
    )  # fmt: skip
    log, mean, _ = Linear.of(slopes, data, u, scale).evidence(np.array([[0, 1]]))
    assert np.isclose(log[0], np.log(whole / noise.pdf(data)), rtol=1e-6)
    upper, _ = dblquad(
        lambda b, a: a * noise.pdf(data - slopes @ [a, b]) * np.exp(-0.5 * (a * a + b * b)) / (2 * np.pi), -8, 8, -8, 8, epsabs=1e-10
    )  # fmt: skip
    assert np.isclose(mean[0, 0], upper / whole, rtol=1e-5)


def test_sets_grow_beyond_the_largest_that_is_enumerated():
    """Six causes of forty, each seen by a datum of its own at six standard uncertainties: all six are the explanation."""
    slopes = np.eye(40) * 10.0
    data = np.zeros(40)
    data[[1, 5, 11, 20, 30, 39]] = 60.0
    best = weigh(Linear.of(slopes, data, np.ones(40), np.zeros((40, 0)))).members[0]
    assert best == (1, 5, 11, 20, 30, 39)
