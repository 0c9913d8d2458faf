"""The curves of a driver with their slopes, all read at once: for a few tones most of the time goes into calls, not into numbers."""

from __future__ import annotations

from typing import Literal

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.driver.loops import all_branches
from halfroll.driver.lumped import DriverModel

Acting = Literal["both", "voltage", "force"]
"""Where the change of inductance with travel acts: in both equations as it does, or, to find its part in distortion, in only one of them."""

Coefficients = tuple[float, ...]


class Curves:
    """The polynomials of a driver, lowest power first, and how many of each.

    Rows of `moving` (read at x): Bl, Bl', Le, then for each power of the current L_k and L_k' as they make the flux, and L_k', L_k'' as they pull:
    of one co-energy, unless `acting` keeps them apart. Rows of `spring` (read at x): force and stiffness of the suspension.
    """

    def __init__(self, driver: DriverModel, acting: Acting = "both") -> None:
        whole = (driver.Le, *driver.Le_i)
        flux = [one[:1] for one in whole] if acting == "force" else list(whole)
        pulls = [] if acting == "voltage" else [_slope(one) for one in whole]
        force = (0.0, *driver.K)
        self.spring = _table([force, _slope(force)])
        self.moving = _table([
            driver.Bl, _slope(driver.Bl), driver.Le, *flux, *(_slope(one) for one in flux), *pulls, *(_slope(one) for one in pulls),
        ])  # fmt: skip
        self.powers, self.pulls = len(flux), len(pulls)
        self.rest = driver.Le[0]
        self.branches = all_branches(driver) if driver.eddy_follows else ()


def _slope(coefficients: Coefficients) -> Coefficients:
    return tuple(k * one for k, one in enumerate(coefficients))[1:] or (0.0,)


def _table(rows: list[Coefficients]) -> FloatArray:
    """Rows of coefficients, filled up with zeros."""
    table = np.zeros((len(rows), max(len(row) for row in rows)))
    for place, row in zip(table, rows, strict=True):
        place[: len(row)] = row
    return table


def read(table: FloatArray, x: FloatArray) -> FloatArray:
    """Every row of a table at x (n, N), shape (rows, n, N)."""
    powers = np.empty((table.shape[1], *x.shape))
    powers[0] = 1.0
    for k in range(1, len(powers)):
        np.multiply(powers[k - 1], x, out=powers[k])
    return np.asarray((table @ powers.reshape(len(powers), -1)).reshape(-1, *x.shape))
