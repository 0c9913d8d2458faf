"""How sure what follows from a predicted driver is: by first order, or by playing many drivers.

First order: JCGM 100:2008, 5.1. Monte Carlo: JCGM 101:2008, each assumption drawn from a normal distribution, of its logarithm where it
moves by ratio; the packed model moves along its slopes, and everything after it goes through the formulas as they are.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.packing import pack, unpack
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.driver.predicted.worked import values_of

FEWEST, MOST = 10, 100_000
_STEP = 0.25

Of = Callable[[DriverModel], Mapping[str, float]]
"""What of a driver is asked for, by key."""


@dataclass(frozen=True, kw_only=True, eq=False)
class MonteCarlo:
    """What many drawn drivers gave.

    Parameters
    ----------
    keys, samples
        What was asked for, and its values, (drivers, keys).
    refused
        How many drawings made no driver and were left out.
    """

    keys: tuple[str, ...]
    samples: FloatArray
    refused: int

    def u(self, key: str) -> float:
        """Standard deviation."""
        return float(np.std(self._column(key), ddof=1))

    def mean(self, key: str) -> float:
        """Mean."""
        return float(np.mean(self._column(key)))

    def interval(self, key: str, coverage: float = 0.95) -> tuple[float, float]:
        """Between which values that share of the drivers lies, as many below as above."""
        low, high = np.quantile(self._column(key), [0.5 * (1.0 - coverage), 0.5 * (1.0 + coverage)])
        return float(low), float(high)

    def _column(self, key: str) -> FloatArray:
        return self.samples[:, self.keys.index(key)]


def monte_carlo(
    predicted: PredictedDriver, n: int, seed: int = 1, of: Of = values_of, progress: Progress = silent
) -> MonteCarlo:
    """Values of n drivers drawn within the assumptions.

    Parameters
    ----------
    predicted
        With its assumptions and slopes.
    n
        How many, 10 to 100 000.
    seed
        The same seed gives the same drivers.
    of
        What of each driver is asked for.

    Raises
    ------
    InputError
        n is none of these, or not even a tenth of the drawings made a driver.
    """
    if not FEWEST <= n <= MOST:
        raise InputError(
            "The number of drivers to draw must be possible",
            key="--monte-carlo",
            found=str(n),
            allowed=f"{FEWEST} to {MOST}",
        )
    centre, rng = pack(predicted.model), np.random.default_rng(seed)
    steps = rng.standard_normal((n, len(predicted.assumptions))) @ predicted.slopes
    keys, rows = tuple(of(predicted.model)), []
    for number, step in enumerate(steps):
        if number % 100 == 0:
            progress(number / n, "drawing drivers")
        try:
            found = of(unpack(centre + step, predicted.model))
        except InputError:
            continue
        rows.append([found[key] for key in keys])
    if len(rows) < 0.1 * n:
        raise InputError("Too few of the drawn drivers can be", found=f"{len(rows)} of {n}",
                         remedy="The assumptions spread too far; make the widest surer first")  # fmt: skip
    return MonteCarlo(keys=keys, samples=np.array(rows), refused=n - len(rows))


def first_order(predicted: PredictedDriver, of: Of = values_of) -> dict[str, tuple[float, float]]:
    """Value and first-order standard uncertainty by key of anything that can be asked of a driver."""
    centre, values = pack(predicted.model), of(predicted.model)
    total = dict.fromkeys(values, 0.0)
    for slope in predicted.slopes:
        low, high = (of(unpack(centre + sign * _STEP * slope, predicted.model)) for sign in (-1.0, 1.0))
        for key in total:
            total[key] += ((high[key] - low[key]) / (2.0 * _STEP)) ** 2
    return {key: (value, total[key] ** 0.5) for key, value in values.items()}
