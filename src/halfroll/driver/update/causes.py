"""Which few assumptions explain the data: every small set is weighed by its evidence.

Around the most probable point the problem is linear with normal errors, so the evidence of a set S, everything outside it as assumed, has
a closed form: with the slopes G and the data y over the covariance of noise and scales, M = 1 + G_SᵀG_S and b = G_Sᵀy,

    2 ln evidence = bᵀM⁻¹b - ln det M + a constant.

Ratios are Bayes factors (R. E. Kass and A. E. Raftery, "Bayes Factors", J. Am. Stat. Assoc. 90, 1995: below 3 "not worth more than a
bare mention"). Averaging over sets: J. A. Hoeting et al., "Bayesian Model Averaging", Statistical Science 14(4), 1999.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray

MOST_SHARE, EXPECTED = 0.2, 3.0
"""How probable it is beforehand that an assumption is among those that moved: so that three are expected, at most one in five (own choice).
It makes few causes likelier than many.
"""

ALIKE_FACTOR = 3.0
"""Bayes factor below which two sets explain equally well (Kass and Raftery 1995)."""

LARGEST_SET = 4
MOST_SETS = 30_000


@dataclass(frozen=True, kw_only=True, eq=False)
class Linear:
    """The linear problem: `inner` = GᵀG (a, a), `lever` = Gᵀy (a,)."""

    inner: FloatArray
    lever: FloatArray

    @classmethod
    def of(cls, slopes: FloatArray, missing: FloatArray, u: FloatArray, scales: FloatArray) -> Linear:
        """From slopes (m, a), what is missing with nothing moved (m,), uncertainties (m,) and scale columns (m, k)."""
        white = np.hstack([slopes, missing[:, None], scales]) / u[:, None]
        k = scales.shape[1]
        left, shared = white[:, : white.shape[1] - k], white[:, white.shape[1] - k :]
        product = left.T @ left
        if k:
            cross = shared.T @ left
            product = product - cross.T @ np.linalg.solve(np.eye(k) + shared.T @ shared, cross)
        return cls(inner=product[:-1, :-1], lever=product[:-1, -1])

    def evidence(self, sets: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Of sets of one size, indices (s, q): log evidence over that of nothing moved (s,), means (s, q), covariances (s, q, q)."""
        sets = np.asarray(sets, dtype=int)
        size = sets.shape[1]
        if size == 0:
            return np.zeros(len(sets)), np.zeros((len(sets), 0)), np.zeros((len(sets), 0, 0))
        whole = self.inner[sets[:, :, None], sets[:, None, :]] + np.eye(size)
        lever = self.lever[sets]
        covariance = np.linalg.inv(whole)
        mean = np.einsum("sij,sj->si", covariance, lever)
        log = 0.5 * (np.einsum("si,si->s", mean, lever) - np.linalg.slogdet(whole)[1])
        return log, mean, covariance


@dataclass(frozen=True, kw_only=True, eq=False)
class Sets:
    """Every set that was weighed: members, log evidence, log of evidence times prior, means and standard uncertainties, the most probable first."""

    members: tuple[tuple[int, ...], ...]
    evidence: FloatArray
    weight: FloatArray
    means: tuple[FloatArray, ...]
    covariances: tuple[FloatArray, ...]

    @property
    def probability(self) -> FloatArray:
        """Of each set among all."""
        raised = np.exp(self.weight - self.weight.max())
        return np.asarray(raised / raised.sum())

    def place(self, members: tuple[int, ...]) -> int | None:
        """Where a set stands; None when it was not weighed."""
        return next((at for at, one in enumerate(self.members) if one == members), None)


def moved_share(count: int) -> float:
    """Prior probability that one of so many assumptions is among those that moved."""
    return min(MOST_SHARE, EXPECTED / max(count, 1))


def weigh(linear: Linear) -> Sets:
    """Weigh every set up to the largest that can be afforded, then all that lie around the best, until none of those is more probable."""
    count = len(linear.lever)
    share = moved_share(count)
    prior = math.log(share / (1.0 - share))
    found: list[tuple[tuple[int, ...], float, FloatArray, FloatArray]] = []

    def add(sets: list[tuple[int, ...]]) -> None:
        at = np.array(sets, dtype=int).reshape(len(sets), len(sets[0]))
        log, mean, covariance = linear.evidence(at)
        found.extend(zip(sets, log.tolist(), mean, covariance, strict=True))

    for size in range(min(LARGEST_SET, count) + 1):
        if math.comb(count, size) > MOST_SETS:
            break
        add(list(itertools.combinations(range(count), size)))
    while True:
        best = max(found, key=lambda one: one[1] + prior * len(one[0]))[0]
        known = {one[0] for one in found}
        fresh = [one for one in _neighbours(best, count) if one not in known]
        if not fresh:
            break
        for size in sorted({len(one) for one in fresh}):
            add([one for one in fresh if len(one) == size])
        if max(found, key=lambda one: one[1] + prior * len(one[0]))[0] == best:
            break
    found.sort(key=lambda one: -(one[1] + prior * len(one[0])))
    return Sets(
        members=tuple(one[0] for one in found),
        evidence=np.array([one[1] for one in found]),
        weight=np.array([one[1] + prior * len(one[0]) for one in found]),
        means=tuple(one[2] for one in found),
        covariances=tuple(one[3] for one in found),
    )


def _neighbours(best: tuple[int, ...], count: int) -> set[tuple[int, ...]]:
    """Sets with one or two more (a heavier cone keeps its resonance only with something stiffer), one less, or one exchanged."""
    rest = [i for i in range(count) if i not in best]
    more = {tuple(sorted((*best, *some))) for size in (1, 2) for some in itertools.combinations(rest, size)}
    less = {tuple(i for i in best if i != gone) for gone in best}
    return more | less | {tuple(sorted((*one, i))) for one in less for i in rest}


def averaged(sets: Sets, count: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Of every assumption over all sets that hold it: mean and standard uncertainty (a,); and the probability of them together (a,)."""
    share = sets.probability
    whole, first, second = np.zeros(count), np.zeros(count), np.zeros(count)
    for members, weight, mean, covariance in zip(
        sets.members, share, sets.means, sets.covariances, strict=True
    ):
        at = list(members)
        whole[at] += weight
        first[at] += weight * mean
        second[at] += weight * (np.diag(covariance) + mean**2)
    safe = np.where(whole > 0.0, whole, 1.0)
    mean = first / safe
    spread = np.sqrt(np.maximum(second / safe - mean**2, 0.0))
    return np.where(whole > 0.0, mean, 0.0), np.where(whole > 0.0, spread, 1.0), whole


def swaps(sets: Sets, best: tuple[int, ...], count: int) -> list[tuple[int, int, float]]:
    """(member, other, Bayes factor of the set with the other in its place) where that is no worse than `ALIKE_FACTOR`."""
    at = sets.place(best)
    if at is None:
        return []
    places = {members: number for number, members in enumerate(sets.members)}
    found = []
    for member in best:
        for other in set(range(count)) - set(best):
            changed = tuple(sorted({*best, other} - {member}))
            if changed in places:
                odds = math.exp(min(sets.evidence[places[changed]] - sets.evidence[at], 50.0))
                if odds * ALIKE_FACTOR > 1.0:
                    found.append((member, other, odds))
    return sorted(found, key=lambda one: -one[2])


def as_good(sets: Sets, most: int = 6) -> list[int]:
    """Places of the sets whose probability is within `ALIKE_FACTOR` of the best, without it; one that only adds to the best is left out."""
    best = set(sets.members[0])
    near = [
        at
        for at in range(1, len(sets.members))
        if sets.weight[at] > sets.weight[0] - math.log(ALIKE_FACTOR) and not best < set(sets.members[at])
    ]
    return near[:most]
