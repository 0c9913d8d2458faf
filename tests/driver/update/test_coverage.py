"""Synthetic drivers with wrong assumptions: are they found within the uncertainty that is stated, and does it say when it cannot tell?

The synthetic truth is not the update's own forward: the driver is composed anew (`story`), its impedance comes from mesh equations, its
distortion from the time-domain solver.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chi2, kstest

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.driver.predicted.packing import pack, unpack
from halfroll.driver.update.problem import SECOND_ORDER
from halfroll.driver.update.solve import update
from halfroll.driver.update.types import Observation
from tests.driver.update import story

CURVE_HZ = np.geomspace(20.0, 8000.0, 48)
LEVEL_HZ = np.array([125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0])
VOLTS = 2.83
CURRENT_U, MICROPHONE_U, VOLTAGE_U = 0.006, 0.045, 0.004


def measured(model, rng, *, mass_u=0.015):
    """A measurement with noise and with the errors of its scales."""
    current, microphone, voltage = rng.normal(size=3) * (CURRENT_U, MICROPHONE_U, VOLTAGE_U)
    impedance, _ = story.circuit(model, CURVE_HZ)
    noise = rng.normal(size=(2, len(CURVE_HZ))) @ np.eye(len(CURVE_HZ)) * 0.01
    impedance = impedance * np.exp(voltage + current + noise[0] + 1j * noise[1])
    level = story.level(model, LEVEL_HZ, VOLTS) + 8.685889638 * (microphone + voltage)
    level = level + rng.normal(size=len(LEVEL_HZ)) * 0.2
    scales = (("current", CURRENT_U), ("voltage", VOLTAGE_U))
    found = [
        Observation(kind="impedance", label="Impedance", values=impedance, u=np.full(len(CURVE_HZ), 0.01), frequency_hz=CURVE_HZ,
                    scales=scales),
        Observation(kind="level", label="Level", values=level, u=np.full(len(LEVEL_HZ), 0.2), frequency_hz=LEVEL_HZ, drive_v=VOLTS,
                    scales=(("microphone", MICROPHONE_U), ("voltage", VOLTAGE_U))),
    ]  # fmt: skip
    if mass_u:
        air = 16.0 / 3.0 * STANDARD_AIR.density * (model.Sd / np.pi) ** 1.5
        weighed = (model.Mms - air) * np.exp(rng.normal() * mass_u)
        found.append(
            Observation(
                kind="value",
                name="moving_mass_kg",
                label="Moving mass",
                values=np.array([weighed]),
                u=np.array([mass_u]),
            )
        )
    return found


def trial(predicted, rng, wrong):
    """Z of the truth, composed anew, and what the update finds."""
    keys = [one.key for one in predicted.assumptions]
    z = {keys[i]: float(rng.normal()) for i in rng.choice(len(keys), wrong, replace=False)}
    return z, update(predicted, measured(story.driver(z), rng))


def drawn(predicted, rng):
    """Everything drawn from the priors the update states: all assumptions, and what first order misses."""
    z = rng.normal(size=len(predicted.assumptions))
    beyond = rng.normal(size=predicted.slopes.shape[1]) * np.minimum(
        0.5 * np.sum(predicted.slopes**2, axis=0), SECOND_ORDER
    )
    model = unpack(pack(predicted.model) + z @ predicted.slopes + beyond, predicted.model)
    keys = [one.key for one in predicted.assumptions]
    return dict(zip(keys, z.tolist(), strict=True)), update(predicted, measured(model, rng))


@pytest.mark.slow
def test_three_wrong_assumptions_are_found_within_the_stated_uncertainty():
    """95 % intervals of the three that truly moved, 200 trials, each trial with other ones and other noise."""
    rng, predicted = np.random.default_rng(20061), story.prediction()
    inside = []
    for _ in range(200):
        z, found = trial(predicted, rng, 3)
        for key, truth in z.items():
            one = found.cause(key)
            inside.append(abs(one.z_few - truth) < 1.96 * one.u_few)
    assert 0.92 <= np.mean(inside) <= 0.98


@pytest.mark.slow
def test_with_everything_drawn_from_its_prior_the_whole_posterior_covers():
    """Each 95 % interval, the 95 % ellipsoid of all together (chi-squared quantile of SciPy), and the misfit's probability is uniform."""
    rng, predicted = np.random.default_rng(7), story.prediction()
    inside, joint, chance = [], [], []
    for _ in range(200):
        z, found = drawn(predicted, rng)
        inside += [abs(found.cause(key).z - truth) < 1.96 * found.cause(key).u for key, truth in z.items()]
        off = np.array([found.cause(key).z - truth for key, truth in z.items()])
        joint.append(off @ np.linalg.solve(found.covariance, off) < chi2.ppf(0.95, len(off)))
        chance.append(found.misfit.probability)
    assert 0.92 <= np.mean(inside) <= 0.98
    assert 0.92 <= np.mean(joint) <= 0.98
    assert kstest(chance, "uniform").pvalue > 0.01
