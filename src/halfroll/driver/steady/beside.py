"""Steady tones of many drivers that are a little different from one: its Jacobians, inverted once, correct the answers of all.

From the solution of the one the step y <- y - J⁻¹ r(y) with the residual r of the other is repeated (the chord method: Ortega and Rheinboldt,
"Iterative Solution of Nonlinear Equations", 1970, from memory). Where it contracts, the eigenvalues of J⁻¹ times the other's Jacobian lie
within 1 of 1, so both determinants have one sign: no fold and no branch lies between the two. Tones where it does not are raised from
silence as ever.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.acoustics.load import AcousticLoad
from halfroll.core.levels import FloatArray
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.balance import Balance, times
from halfroll.driver.steady.curves import Curves
from halfroll.driver.steady.follow import Ended
from halfroll.driver.steady.newton import relative
from halfroll.driver.steady.paths import BEYOND, DONE, LOST, sampled, tail, travel
from halfroll.driver.steady.solve import collected, raised
from halfroll.driver.steady.types import SteadyTones

MOST_STEPS = 12
ENOUGH = 1e-6
"""Last change over the size of the solution, for a contraction of a half or less about what is left."""

SLOWEST = 0.7
"""Greatest ratio of one change to the one before with which the steps go on."""

TAIL = 1e-7
"""Highest harmonics over the largest that the other driver's answer may have."""


@dataclass(frozen=True, kw_only=True, eq=False)
class _Group:
    """Tones at one number of points: which they are, x and i (n, 2N), and the inverted Jacobian (n, 2N, 2N)."""

    which: NDArray[np.intp]
    points: int
    y: FloatArray
    inverse: FloatArray


class Beside:
    """The tones of a driver, kept to find those of others beside it: same frequencies, load and series resistance, `orders` harmonics told."""

    def __init__(
        self, driver: DriverModel, voltage_v: float, frequency_hz: FloatArray, *, load: AcousticLoad | None = None,
        series_ohm: float = 0.0, orders: int = 10,
    ) -> None:  # fmt: skip
        self.frequency_hz, self.load, self.series_ohm, self.orders = frequency_hz, load, series_ohm, orders
        ended = self._raised(driver, self._spectrum(voltage_v), np.arange(len(frequency_hz)))
        self._groups = [_inverted(group) for group in ended if (group.standing == DONE).any()]

    def tones(self, driver: DriverModel, voltage_v: float) -> SteadyTones:
        """What `solve.steady_tones` gives for a driver like this one, to about `ENOUGH`."""
        spectrum, curves = self._spectrum(voltage_v), Curves(driver, "both")
        found = [self._moved(driver, curves, group, spectrum) for group in self._groups]
        left = np.setdiff1d(
            np.arange(len(self.frequency_hz)),
            np.concatenate([np.empty(0, dtype=np.intp), *(one.which for one in found)]),
        )
        if left.size:
            found += self._raised(driver, spectrum, left)
        volts = np.full(len(self.frequency_hz), voltage_v)
        return collected(driver, found, self.frequency_hz, volts, load=self.load, series_ohm=self.series_ohm,
                         orders=self.orders, air=STANDARD_AIR)  # fmt: skip

    def _spectrum(self, voltage_v: float) -> NDArray[np.complex128]:
        return np.tile(
            np.array([0.0, math.sqrt(2.0) * voltage_v], dtype=np.complex128), (len(self.frequency_hz), 1)
        )

    def _raised(
        self, driver: DriverModel, spectrum: NDArray[np.complex128], which: NDArray[np.intp]
    ) -> list[Ended]:
        """Some tones raised from silence."""
        ended = raised(
            driver, spectrum[which], self.frequency_hz[which], load=self.load, series_ohm=self.series_ohm, orders=self.orders
        )  # fmt: skip
        for group in ended:
            group.which = which[group.which]
        return ended

    def _moved(
        self, driver: DriverModel, curves: Curves, group: _Group, spectrum: NDArray[np.complex128]
    ) -> Ended:
        """The tones of a group that another driver's answer is found for."""
        balance = Balance(
            driver, self.frequency_hz[group.which], self.load, self.series_ohm, group.points, curves
        )
        y, settled = _corrected(balance, group, sampled(spectrum[group.which], group.points))
        members = np.flatnonzero(settled)
        rows = y[members].reshape(-1, 2, group.points)
        good = tail(rows) < TAIL
        members, rows = members[good], rows[good]
        standing = np.full(len(members), DONE)
        if members.size:
            low, high = travel(rows[:, 0])
            standing[(low < driver.x_range[0]) | (high > driver.x_range[1])] = BEYOND
            if curves.powers > 1:
                ops = balance.operators.of(members)
                standing[balance.inductance(ops, rows[:, 0], rows[:, 1]).min(axis=1) <= 0.0] = LOST
        return Ended(
            which=group.which[members], members=members, y=rows, standing=standing, balance=balance
        )  # fmt: skip


def _inverted(ended: Ended) -> _Group:
    """The tones of a group that were solved, with their Jacobians inverted."""
    done = np.flatnonzero(ended.standing == DONE)
    ops, y = ended.balance.operators.of(ended.members[done]), ended.y[done]
    jacobian = ended.balance.jacobian(ops, ended.balance.point(ops, y[:, 0], y[:, 1]), y[:, 1])
    points = ended.balance.points
    return _Group(
        which=ended.which[done], points=points, y=y.reshape(-1, 2 * points), inverse=np.linalg.inv(jacobian)
    )


def _corrected(balance: Balance, group: _Group, source: FloatArray) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Answers (n, 2N) of another driver's balance, and which of them are any (n,)."""
    n, ops, y = group.points, balance.operators, group.y.copy()
    going, settled = np.ones(len(y), dtype=np.bool_), np.zeros(len(y), dtype=np.bool_)
    last = np.full(len(y), np.inf)
    for _ in range(MOST_STEPS):
        with np.errstate(all="ignore"):
            point = balance.point(ops, y[:, :n], y[:, n:])
            change = -times(group.inverse, balance.residual(ops, point, y[:, n:], source))
        y[going] += change[going]
        size = relative(change, y)
        settled |= going & (size < ENOUGH)
        going &= np.isfinite(size) & (size > ENOUGH) & (size < SLOWEST * last)
        last = size
        if not going.any():
            break
    return y, settled
