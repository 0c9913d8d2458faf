"""How far the summed response may lie from the drawn one because parts are not what is printed on them."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Literal

import numpy as np

from halfroll.core.levels import ComplexArray, FloatArray, db
from halfroll.driver.crossover.circuit import Circuit
from halfroll.driver.crossover.network import solve
from halfroll.driver.crossover.summing import contributions, total

Method = Literal["monte-carlo", "worst-case"]
REALISATIONS = 200
MOST_FOR_CORNERS = 8
"""Up to so many elements every combination of their ends is tried in the worst case."""

_SEED = 20_150_401  # any: the band must come out the same every time


def factors_of(
    circuit: Circuit, method: Method = "monte-carlo", realisations: int = REALISATIONS
) -> dict[str, FloatArray]:
    """Relative values of each element, shape (n,).

    Monte Carlo: independent, evenly distributed over the tolerance (JCGM 100:2008, 4.3.7: only the ends are known). Worst case:
    every combination of the ends, or as many drawn ones beyond `MOST_FOR_CORNERS` elements.
    """
    spreads = np.array([element.spread for element in circuit.elements])
    draw = np.random.default_rng(_SEED)
    if method == "worst-case" and len(spreads) <= MOST_FOR_CORNERS:
        moves = np.array(list(itertools.product((-1.0, 1.0), repeat=len(spreads))))
    elif method == "worst-case":
        moves = draw.choice([-1.0, 1.0], size=(2**MOST_FOR_CORNERS, len(spreads)))
    else:
        moves = draw.uniform(-1.0, 1.0, size=(realisations, len(spreads)))
    return {element.name: 1.0 + moves[:, i] * spreads[i] for i, element in enumerate(circuit.elements)}


def band_db(
    circuit: Circuit, frequency_hz: FloatArray, loads_ohm: Mapping[str, ComplexArray], heard: Mapping[str, ComplexArray],
    method: Method = "monte-carlo", realisations: int = REALISATIONS,
) -> tuple[FloatArray, FloatArray]:  # fmt: skip
    """Lower and upper edge of the level of the sum (dB re 1 Pa/V), shape (f,): 95 % of the realisations, or the extremes.

    The drivers' own spread is not in it.
    """
    if not circuit.elements:
        level = db(total(contributions(heard, solve(circuit, frequency_hz, loads_ohm))))
        return level, level
    solved = solve(circuit, frequency_hz, loads_ohm, factors_of(circuit, method, realisations))
    levels = db(total(contributions(heard, solved)))
    if method == "worst-case":
        return np.asarray(levels.min(axis=0)), np.asarray(levels.max(axis=0))
    low, high = np.percentile(levels, [2.5, 97.5], axis=0)
    return np.asarray(low), np.asarray(high)
