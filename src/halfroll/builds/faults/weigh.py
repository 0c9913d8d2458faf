"""How well each supposition meets what was read, and what remains probable (Bayes' rule over suppositions and sizes).

The density of readings under a supposition is the mean over its drawn sizes of a Student t with the spread of good units, the model's doubt and
the reading's own uncertainty together: its tails are those of a hand that errs now and then. An unknown telephone's bass filter is summed over.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from halfroll.builds.faults.ensemble import Supposition, alike
from halfroll.builds.faults.observe import KEYS
from halfroll.core.levels import FloatArray

TAILS = 9.0
"""Degrees of freedom of the t (own choice)."""

MISTAKEN = 0.02
"""How often somebody mistakes which way a cone moves (own choice)."""


LEAST_OWN = 0.2
"""Share of a reading's standard uncertainty that no bass filter explains, at least."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Read:
    """What was read: `at` the columns of `KEYS` with a number, `values` and `u` (m,) in their scales, and what is seen: by key.

    `cuts` (c, m): what each bass filter that the telephone may have adds to the readings, all as probable; `u` holds their mean square too.
    """

    at: tuple[int, ...]
    values: FloatArray
    u: FloatArray
    seen: Mapping[str, float]
    cuts: FloatArray | None = None

    @property
    def added(self) -> FloatArray:
        """`cuts`, or nothing added once, (c, m)."""
        return np.zeros((1, len(self.at))) if self.cuts is None else self.cuts

    @property
    def own_u(self) -> FloatArray:
        """Standard uncertainty beside the filter, (m,)."""
        return np.asarray(
            np.sqrt(np.maximum(self.u**2 - np.mean(self.added**2, axis=0), (LEAST_OWN * self.u) ** 2))
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Weighed:
    """Probability of each supposition (h,), and within each the weights of its draws, (s,) summing to 1."""

    probability: FloatArray
    weights: tuple[FloatArray, ...]


def weigh(read: Read, supposed: Sequence[Supposition]) -> Weighed:
    """What remains probable after the readings."""
    logs, weights = [], []
    error = error_of(read)
    roots: dict[int, FloatArray] = {}  # pairs share one spread
    for one in supposed:
        spread = id(one.covariance)
        if spread not in roots:
            roots[spread] = _root(read, one, error)
        log = _log_density(read, one, roots[spread])
        top = float(log.max())
        raw = np.exp(log - top)
        logs.append(math.log(one.prior) + top + math.log(raw.mean()))
        weights.append(raw / raw.sum())
    total = np.array(logs)
    probability = np.exp(total - total.max())
    return Weighed(probability=probability / probability.sum(), weights=tuple(weights))


def error_of(read: Read) -> FloatArray:
    """Covariance (m, m) of the errors of reading beside the telephone's bass filter."""
    u = np.zeros(len(KEYS))
    u[list(read.at)] = read.own_u
    return np.asarray(alike(u)[np.ix_(read.at, read.at)])


def doubt_of(read: Read) -> FloatArray:
    """The same with the filter."""
    off = read.added - read.added.mean(axis=0)
    return np.asarray(error_of(read) + off.T @ off / len(off))


def distance_of(read: Read, one: Supposition) -> float:
    """How far the readings lie from the nearest drawn size of a supposition: square of standard deviations, with the filter that suits best."""
    if not read.at:
        return 0.0
    return float(np.min(_distances(read, one, _root(read, one, error_of(read)))))


def log_density(read: Read, one: Supposition, error: FloatArray) -> FloatArray:
    """Logarithm of the density of the readings at each drawn size, (s,)."""
    return _log_density(read, one, _root(read, one, error))


def _root(read: Read, one: Supposition, error: FloatArray) -> FloatArray:
    """Inverse of the Cholesky root of the spread of readings, (m, m)."""
    root = np.linalg.cholesky(one.covariance[np.ix_(read.at, read.at)] + error)
    return np.asarray(np.linalg.inv(root))


def _log_density(read: Read, one: Supposition, inverse: FloatArray) -> FloatArray:
    found = seen_log(read.seen, one)
    if not read.at:
        return found
    m, distance = len(read.at), _distances(read, one, inverse)
    size = math.lgamma(0.5 * (TAILS + m)) - math.lgamma(0.5 * TAILS) - 0.5 * m * math.log(TAILS * math.pi)
    each = -0.5 * (TAILS + m) * np.log1p(distance / TAILS)
    top = each.max(axis=0)
    over_filters = top + np.log(np.mean(np.exp(each - top), axis=0))
    return np.asarray(found + size + np.sum(np.log(np.diag(inverse))) + over_filters)


def _distances(read: Read, one: Supposition, inverse: FloatArray) -> FloatArray:
    """Squared, for each filter and drawn size, (c, s)."""
    off = (read.values - read.added[:, None, :] - one.expected[:, read.at]) @ inverse.T
    return np.asarray(np.sum(off**2, axis=2))


def seen_log(seen: Mapping[str, float], one: Supposition) -> FloatArray:
    """The same of what is seen, felt or heard; a value between 0 and 1 is a doubt."""
    found = np.zeros(len(one.polarity))
    if "polarity" in seen:
        right = one.polarity * seen["polarity"] > 0.0
        found += np.log(np.where(right, 1.0 - MISTAKEN, MISTAKEN))
    for key, chance in (("rub", one.rub), ("leak", one.leak)):
        if key in seen:
            yes = min(max(seen[key], 0.0), 1.0)
            found += np.log(yes * chance + (1.0 - yes) * (1.0 - chance))
    return found
