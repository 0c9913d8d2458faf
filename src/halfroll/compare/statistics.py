"""The difference of two figures with its 95 % interval, and whether it may be claimed.

Two means with their own spreads are compared as in Welch's test (Biometrika 34, 28, 1947): the variances of the means
add, the degrees of freedom follow Welch and Satterthwaite. What both share cancels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfroll.core.uncertainty import Quantity, Sources, coverage_factor
from halfroll.figures.combine import Estimate
from halfroll.figures.rules import DifferenceUnit
from halfroll.figures.types import Bound, Figure


@dataclass(frozen=True, kw_only=True)
class Contrast:
    """Version minus base.

    Parameters
    ----------
    value
        In the difference's unit.
    u, dof, expanded
        Standard uncertainty, effective degrees of freedom, 95 % half-width; None when a spread is unknown.
    bound
        The difference is at most or at least `value`.
    distinct
        Whether it is larger than its uncertainty; None when that cannot be told.
    """

    value: float
    u: float | None = None
    dof: float | None = None
    expanded: float | None = None
    bound: Bound | None = None
    distinct: bool | None = None


def contrast(version: Estimate, base: Estimate, unit: DifferenceUnit, sources: Sources) -> Contrast:
    """The difference of two figures that both have a value."""
    a, b = version.figure, base.figure
    assert a.value is not None
    assert b.value is not None
    value = _difference(a.value, b.value, unit)
    if a.bound is not None or b.bound is not None:
        return Contrast(value=value, bound=_bound(a.bound, b.bound), distinct=_apart(a, b))
    if version.quantity is None or base.quantity is None:
        return Contrast(value=value)
    difference = _quantity_difference(version.quantity, base.quantity, unit)
    u, dof = float(difference.std_dev), sources.dof(difference)
    expanded = coverage_factor(dof) * u
    told = speaks_for_version(a) and speaks_for_version(b)
    return Contrast(
        value=value, u=u, dof=dof, expanded=expanded, distinct=abs(value) > expanded if told else None
    )


def speaks_for_version(figure: Figure) -> bool:
    """Whether the uncertainty of a figure covers the spread between units; that of a prediction covers what was assumed."""
    told = figure.spread in ("known", "pooled", "assumptions") or figure.source == "published"
    return figure.u is not None and told


def ratio_of(version: float, base: float, unit: DifferenceUnit) -> float | None:
    """Version over base; for levels the ratio of powers; None when the base is 0."""
    if unit == "dB":
        return float(10.0 ** ((version - base) / 10.0))
    return version / base if base else None


def _difference(a: float, b: float, unit: DifferenceUnit) -> float:
    if unit == "percent":
        return 100.0 * (a / b - 1.0)
    return math.log2(a / b) if unit == "octaves" else a - b


def _quantity_difference(a: Quantity, b: Quantity, unit: DifferenceUnit) -> Quantity:
    if unit == "percent":
        return 100.0 * (a / b - 1.0)
    if unit != "octaves":
        return a - b
    from uncertainties.umath import log

    return (log(a) - log(b)) / math.log(2.0)


def _bound(a: Bound | None, b: Bound | None) -> Bound | None:
    """Which way the difference a - b is bounded; None when both bounds pull apart and nothing is known."""
    of_b: Bound | None = {"upper": "lower", "lower": "upper", None: None}[b]
    sides = {side for side in (a, of_b) if side is not None}
    return sides.pop() if len(sides) == 1 else None


def _apart(a: Figure, b: Figure) -> bool | None:
    """True when the ranges in which the two can lie do not meet; None otherwise, because a bound shows no sameness."""
    a_range, b_range = _span(a), _span(b)
    if a_range is None or b_range is None:
        return None
    return True if a_range[1] < b_range[0] or b_range[1] < a_range[0] else None


def _span(figure: Figure) -> tuple[float, float] | None:
    """Where a figure can lie with 95 %; None when its units do not tell. A bound reaches its units' scatter beyond."""
    assert figure.value is not None
    if figure.bound is None:
        half = figure.expanded if speaks_for_version(figure) else None
        return None if half is None else (figure.value - half, figure.value + half)
    if figure.source == "predicted":
        return (-math.inf, figure.value) if figure.bound == "upper" else (figure.value, math.inf)
    if figure.spread_between is None:
        return None
    reach = coverage_factor(figure.n_units - 1) * figure.spread_between / math.sqrt(figure.n_units)
    if figure.bound == "upper":
        return -math.inf, figure.value + reach
    return figure.value - reach, math.inf
