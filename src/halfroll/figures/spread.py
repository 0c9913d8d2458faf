"""Two-level spread: takes within a unit, units within a version.

One-way analysis of variance with random effects, as in JCGM 100:2008 H.5. The mean of a version is the unweighted mean
of its units' means; the variance of that mean is estimated without bias by the variance of the unit means over their
number, also when units have unlike numbers of takes.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class TwoLevel:
    """Values of one figure in takes of several units.

    Parameters
    ----------
    unit_means
        Mean of each unit's takes, by unit.
    counts
        Takes of each unit, in the same order.
    within
        Standard deviation of repeated takes, pooled over units; None without repeats.
    within_dof
        Its degrees of freedom.
    between
        Standard deviation of the unit means; None with one unit.
    """

    unit_means: Mapping[str, float]
    counts: tuple[int, ...]
    within: float | None
    within_dof: int
    between: float | None

    @property
    def mean(self) -> float:
        """Mean of the unit means."""
        return statistics.fmean(self.unit_means.values())

    @property
    def n_units(self) -> int:
        """Number of units."""
        return len(self.counts)

    @property
    def mean_inverse_count(self) -> float:
        """Mean over units of 1/(number of takes): the share of the within-unit variance in a unit mean."""
        return statistics.fmean(1.0 / k for k in self.counts)

    @property
    def component(self) -> float | None:
        """Standard deviation between units with the takes' share taken off; None when it cannot be told."""
        if self.between is None or self.within is None:
            return None
        return math.sqrt(max(0.0, self.between**2 - self.within**2 * self.mean_inverse_count))


@dataclass(frozen=True, kw_only=True)
class PooledSpread:
    """Spread shared by several versions: of takes within a unit and of units, each with its degrees of freedom.

    `within` and `component` are relative to the mean where the pooling was.
    """

    within: float
    component: float
    dof: int

    def u_of_mean(self, level: TwoLevel) -> float:
        """Standard uncertainty of a version's mean with this spread, in the unit in which the spread was pooled."""
        return math.sqrt((self.component**2 + self.within**2 * level.mean_inverse_count) / level.n_units)


def two_level(values: Mapping[str, Sequence[float]]) -> TwoLevel:
    """Unit means and spreads of values by unit; every unit has at least one value."""
    means = {unit: sum(v) / len(v) for unit, v in values.items()}
    counts = tuple(len(v) for v in values.values())
    within_dof = sum(counts) - len(counts)
    squares = sum((x - means[unit]) ** 2 for unit, v in values.items() for x in v)
    return TwoLevel(
        unit_means=means,
        counts=counts,
        within=math.sqrt(squares / within_dof) if within_dof else None,
        within_dof=within_dof,
        between=_deviation(list(means.values())) if len(means) > 1 else None,
    )


def pool(levels: Iterable[TwoLevel], *, relative: bool) -> PooledSpread | None:
    """Pooled estimate over versions (JCGM 100:2008, 4.2.4): variances weighted with their degrees of freedom.

    None when no version has two units, because then nothing is known of the spread between units.
    """
    kept = list(levels)
    scale = [level.mean if relative else 1.0 for level in kept]
    between = [
        (level.n_units - 1, (level.between / s) ** 2, level.mean_inverse_count)
        for level, s in zip(kept, scale, strict=True)
        if level.between is not None
    ]
    within = [
        (level.within_dof, (level.within / s) ** 2)
        for level, s in zip(kept, scale, strict=True)
        if level.within is not None
    ]
    dof = sum(n for n, _, _ in between)
    if not dof:
        return None
    of_means = sum(n * v for n, v, _ in between) / dof
    share = sum(n * inverse for n, _, inverse in between) / dof
    of_takes = sum(n * v for n, v in within) / sum(n for n, _ in within) if within else 0.0
    component = max(0.0, of_means - of_takes * share)
    return PooledSpread(within=math.sqrt(of_takes), component=math.sqrt(component), dof=dof)


def _deviation(values: Sequence[float]) -> float:
    mean = statistics.fmean(values)
    return math.sqrt(sum((x - mean) ** 2 for x in values) / (len(values) - 1))
