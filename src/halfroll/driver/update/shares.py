"""Measured less predicted, split into what each assumption that moved brings, what the scales bring, and what is left.

The share of an assumption is its slope averaged along the straight way from nothing moved to the explanation, times how far it moved;
these add up to the whole change however curved the way is (R. J. Aumann and L. S. Shapley, "Values of Non-Atomic Games", Princeton
1974). What the quadrature misses goes into the remainder, so that everything adds up to the difference.
"""

from __future__ import annotations

import numpy as np

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.update.forward import predicted_values
from halfroll.driver.update.problem import Problem
from halfroll.driver.update.types import NEPER_DB, Residual

KNOTS = 5
"""Points of the Gauss-Legendre rule along the way; a resonance that moves by a third of an octave is split within 0.05 dB."""


BEYOND = "beside the assumptions"
"""Name of the share of what first order misses, and of the coil's inductance beside the assumptions."""


def residuals(problem: Problem, z: FloatArray, n: FloatArray, keys: FloatArray) -> tuple[Residual, ...]:
    """Residual by cause of every observation for assumptions at z (a,) and scales at n (k,); `keys` are the places of those that moved."""
    knots, weights = np.polynomial.legendre.leggauss(KNOTS)
    slopes = sum(
        0.5 * weight * problem.jacobian(0.5 * (1.0 + knot) * z)
        for knot, weight in zip(knots, weights, strict=True)
    )
    ways = np.asarray(slopes) * z
    shares, beyond = ways[:, keys], ways[:, problem.count :].sum(axis=1)
    by_scale = problem.all_scales * n
    difference = problem.all_data - problem.all_expected
    remainder = difference - shares.sum(axis=1) - beyond - by_scale.sum(axis=1)
    model, found, at = problem.model(z), [], 0
    for one in problem.observations:
        rows = slice(at, at + (2 * len(one.values) if one.kind == "impedance" else len(one.values)))
        at = rows.stop
        size = np.full(rows.stop - rows.start, NEPER_DB)
        if one.kind == "impedance":
            size[len(one.values) :] = 180.0 / np.pi
        named = [
            (problem.predicted.assumptions[key].key, shares[rows, place] * size)
            for place, key in enumerate(keys)
        ]
        named.append((BEYOND, beyond[rows] * size))
        named += [
            (name, by_scale[rows, place] * size)
            for place, name in enumerate(problem.scale_names)
            if np.any(problem.all_scales[rows, place])
        ]
        before = predicted_values(problem.predicted.model, one, problem.air)
        found.append(Residual(
            observation=one, difference=difference[rows] * size, shares=tuple(named), remainder=remainder[rows] * size, before=before,
            after=predicted_values(model, one, problem.air), u=size * np.sqrt(problem.all_u[rows] ** 2 + np.sum(problem.all_scales[rows] ** 2, axis=1)),
        ))  # fmt: skip
    return tuple(found)


def rms(values: FloatArray | ComplexArray) -> float:
    """Root of the mean square."""
    return float(np.sqrt(np.mean(np.abs(values) ** 2)))
