"""Combined and expanded uncertainty: where it comes from, how well each source is known.

JCGM 100:2008 (GUM), clause 5 and Annex G. Correlation is carried by the `uncertainties` library: a source that two
quantities share cancels in their difference.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable
from functools import lru_cache
from typing import Any

Quantity = Any
"""A value of the `uncertainties` library: a nominal value and its dependence on sources."""


def welch_satterthwaite(parts: Iterable[tuple[float, float]]) -> float:
    """Effective degrees of freedom of a combined uncertainty: u⁴ / Σ (uᵢ⁴/νᵢ), JCGM 100 G.4.1.

    Parameters
    ----------
    parts
        (uᵢ, νᵢ), each uᵢ already multiplied by its sensitivity coefficient; the parts must be independent.

    Returns
    -------
    float
        Infinite when every part that matters is known without doubt.
    """
    known = [(u, dof) for u, dof in parts if u > 0.0]
    doubt = sum(u**4 / dof for u, dof in known)
    return math.inf if doubt == 0.0 else sum(u**2 for u, _ in known) ** 2 / doubt


@lru_cache(maxsize=4096)
def coverage_factor(dof: float, probability: float = 0.95) -> float:
    """Student's t that covers a two-sided probability at these degrees of freedom, JCGM 100 Table G.2.

    Degrees of freedom are not cut to a whole number (JCGM 100 G.4.1 allows either).
    """
    from scipy.special import ndtri, stdtrit

    upper = 0.5 * (1.0 + probability)
    return float(ndtri(upper) if math.isinf(dof) else stdtrit(dof, upper))


class Sources:
    """The independent sources of uncertainty of one comparison, each made once and then shared.

    A source has mean 0 and standard deviation 1; a quantity takes it up with a coefficient in its own unit.
    Sources with the same `estimate` take their size from the same data, so their degrees of freedom count once.
    """

    def __init__(self) -> None:
        self._sources: dict[Hashable, Quantity] = {}
        self._known_from: dict[Quantity, tuple[Hashable, float]] = {}

    def source(self, name: Hashable, *, dof: float = math.inf, estimate: Hashable = None) -> Quantity:
        """The source of this name; made at the first call, the same object ever after."""
        if name not in self._sources:
            from uncertainties import ufloat

            made = ufloat(0.0, 1.0)
            self._sources[name] = made
            self._known_from[made] = (name if estimate is None else estimate, dof)
        return self._sources[name]

    def dof(self, quantity: Quantity) -> float:
        """Effective degrees of freedom of a quantity made from these sources."""
        variance: dict[Hashable, float] = {}
        known: dict[Hashable, float] = {}
        for source, part in quantity.error_components().items():
            estimate, dof = self._known_from[source]
            variance[estimate] = variance.get(estimate, 0.0) + part**2
            known[estimate] = dof
        return welch_satterthwaite((math.sqrt(v), known[estimate]) for estimate, v in variance.items())
