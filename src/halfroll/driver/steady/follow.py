"""Following the steady state from silence up to the level asked for, so that the answer is the one a driver at rest is brought to.

A nonlinear driver can have several steady states at one level (Duffing's oscillator is the model case: Nayfeh and Mook, "Nonlinear
Oscillations", 1979, chapter 4). Newton's method finds any of them. So the level is raised in steps; each point is predicted from
the two before and their tangents, and a step is halved where the correction is not small against the solution, does not converge,
or turns the sign of the Jacobian's determinant, which tells a fold or a branch between the two points (natural-parameter continuation:
Allgower and Georg, "Numerical Continuation Methods", 1990, from memory). Where steps become too short the path folds back: from there the
driver jumps, and no answer is given.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.steady.balance import Balance, Operators
from halfroll.driver.steady.curves import read
from halfroll.driver.steady.newton import Corrected, correct, orientation, solve
from halfroll.driver.steady.paths import BEYOND, DONE, LOST, MOVING, Path, sampled, tail, travel

POINTS = (13, 25, 37, 49, 65, 81, 97, 129, 161, 193, 257, 321, 385, 449, 577, 705)
"""Points of a period that are tried, odd so that every harmonic has its pair."""

MOST_OFF = 0.1
"""Share of the solution by which a prediction may miss."""

STRAIGHT = 0.1
"""How far spring and force factor may bend, as shares, within the first step."""

AIM = 0.02
"""Share by which the next prediction should miss."""

SHORTEST = 1.0 / 2048.0
"""Step in level, as a share of the level asked for, below which the path is taken to fold back."""

NEAR = 0.2
"""Share of the displacement within which its extremes are looked for between the points."""

TAIL = 1e-9
SURE_TAIL = 1e-7
WAY_TAIL = 1e-4
"""Highest harmonics of acceleration and current over the largest, in the answer, in a rough one that is sure to need more points, and on the way."""


@dataclass(kw_only=True, eq=False)
class Ended:
    """Tones that ended at one number of points: which they are, which of the balance's, x and i (n, 2, N), and how they stand."""

    which: NDArray[np.intp]
    members: NDArray[np.intp]
    y: FloatArray
    standing: NDArray[np.int64]
    balance: Balance


def follow(
    balance_of: Callable[[FloatArray, int], Balance],
    base_hz: FloatArray,
    spectrum: ComplexArray,
    x_range: tuple[float, float],
    *,
    least_points: int,
    told: Callable[[float], None],
) -> list[Ended]:
    """Raise every tone from silence to its full level: periods of `base_hz` (n,), peak harmonics of the voltage `spectrum` (n, h).

    `balance_of` makes the equations of some tones at a number of points; `least_points` is the least number an answer is told at.
    """
    ladder = [p for p in POINTS if p >= 4 * spectrum.shape[1] + 5]
    finish = next((p for p in ladder if p >= least_points), ladder[-1])
    waiting = {ladder[0]: (np.arange(len(base_hz)), Path.at_rest(base_hz, spectrum, ladder[0]))}
    ended: list[Ended] = []
    for points in ladder:
        if points not in waiting:
            continue
        which, path = waiting.pop(points)
        balance = balance_of(path.base_hz, points)
        need = _Ascent(balance, path, x_range, may_end=points >= finish, last=points == ladder[-1]).climb()
        over = need == 0
        ended.append(
            Ended(
                which=which[over],
                members=np.flatnonzero(over),
                y=path.y[over],
                standing=path.standing[over],
                balance=balance,
            )
        )
        told(sum(one.which.size for one in ended) / len(base_hz))
        goals = np.array(
            [next((p for p in ladder if p >= n and p > points), ladder[-1]) for n in np.maximum(need, 1)]
        )
        goals = np.where((path.level >= 1.0) & (goals < finish), finish, goals)
        for goal in np.unique(goals[~over]):
            some = np.flatnonzero(~over & (goals == goal))
            _join(waiting, int(goal), which[some], path.some(some, int(goal)))
    return ended


def _join(
    waiting: dict[int, tuple[NDArray[np.intp], Path]], points: int, which: NDArray[np.intp], path: Path
) -> None:
    """Put tones among those that wait for a number of points."""
    if points in waiting:
        others, there = waiting[points]
        which = np.concatenate([others, which])
        both = {f.name: np.concatenate([getattr(there, f.name), getattr(path, f.name)]) for f in fields(Path)}
        path = Path(**both)
    waiting[points] = (which, path)


class _Ascent:
    """Raising the tones of one path at one number of points; the path changes in place."""

    def __init__(
        self, balance: Balance, path: Path, x_range: tuple[float, float], *, may_end: bool, last: bool
    ) -> None:
        self.balance, self.path, self.x_range = balance, path, x_range
        self.may_end, self.last = may_end, last
        self.points = balance.points
        # Several tones make products in clusters: a gap between two clusters is not the end of the series.
        self.width = max(2, path.spectrum.shape[1] - 1)
        self.whole = sampled(path.spectrum, self.points)
        self.need = np.zeros(len(path.level), dtype=np.int64)

    def climb(self) -> NDArray[np.int64]:
        """Number of points each tone needs to go on, 0 where it has ended."""
        self._start()
        while True:
            on = np.flatnonzero((self.path.standing == MOVING) & (self.need == 0))
            if not on.size:
                return self.need
            arrived = self.path.level[on] >= 1.0
            if arrived.any():
                self._finish(on[arrived])
            if not arrived.all():
                self._step(on[~arrived])

    def _rows(self, y: FloatArray) -> FloatArray:
        return y.reshape(len(y), 2 * self.points)

    def _start(self) -> None:
        """Linear response and sign of the determinant at rest, for tones that have not begun."""
        new = np.flatnonzero(self.path.sign == 0.0)
        if not new.size:
            return
        ops, n = self.balance.operators.of(new), self.points
        nought = np.zeros((len(new), n))
        jacobian = self.balance.jacobian(ops, self.balance.point(ops, nought, nought), nought)
        right = np.concatenate([self.whole[new], nought], axis=1)[:, :, None]
        self.path.slope[new] = solve(jacobian, right)[:, :, 0].reshape(-1, 2, n)
        self.path.sign[new] = np.linalg.slogdet(jacobian).sign
        self.path.step[new] = self._first(np.abs(self.path.slope[new, 0]).max(axis=1))

    def _first(self, peak: FloatArray) -> FloatArray:
        """First steps (n,): halved from the whole level until the linear motion, of some peak at full level (m), sees nearly straight curves."""
        curves, steps = self.balance.curves, 0.5 ** np.arange(6)
        x = steps[:, None] * peak * np.array([[[-1.0]], [[1.0]]])
        spring, moving = read(curves.spring[:1], x)[0] / x, read(curves.moving[:1], x)[0]
        bent = np.abs(spring / curves.spring[0, 1] - 1.0) + np.abs(moving / curves.moving[0, 0] - 1.0)
        straight = bent.max(axis=0) <= STRAIGHT
        straight[-1] = True
        return np.asarray(steps[straight.argmax(axis=0)])

    def _predicted(self, on: NDArray[np.intp], level: FloatArray) -> FloatArray:
        """Cubic through the last two points and their tangents, drawn on; the tangent alone from rest, shape (m, 2, N)."""
        p = self.path
        width = p.level[on] - p.before[on]
        t = ((level - p.before[on]) / np.where(width > 0.0, width, 1.0))[:, None, None]
        h = width[:, None, None]
        cubic = (
            (1 + 2 * t) * (1 - t) ** 2 * p.y_before[on] + t * (1 - t) ** 2 * h * p.slope_before[on]
            + t**2 * (3 - 2 * t) * p.y[on] + t**2 * (t - 1) * h * p.slope[on]
        )  # fmt: skip
        straight = p.y[on] + (level - p.level[on])[:, None, None] * p.slope[on]
        return np.where(h > 0.0, cubic, straight)

    def _step(self, on: NDArray[np.intp]) -> None:
        """One step up for some tones."""
        p = self.path
        level = np.minimum(p.level[on] + p.step[on], 1.0)
        guess = self._predicted(on, level)
        ops = self.balance.operators.of(on)
        found = correct(
            self.balance, ops, self._rows(guess), level[:, None] * self.whole[on], self.whole[on],
            fine=False, most_off=MOST_OFF,
        )  # fmt: skip
        good = found.converged
        if good.any():
            kept = np.flatnonzero(good)
            good[kept] = orientation(self.balance, ops.of(kept), found.y[kept]) == p.sign[on[kept]]
        self._accept(on[good], level[good], found, good, ops)
        short = on[~good]
        p.step[short] *= 0.4
        p.standing[short[p.step[short] < SHORTEST]] = LOST

    def _accept(
        self,
        on: NDArray[np.intp],
        level: FloatArray,
        found: Corrected,
        good: NDArray[np.bool_],
        ops: Operators,
    ) -> None:
        if not on.size:
            return
        p = self.path
        p.before[on], p.y_before[on], p.slope_before[on] = p.level[on], p.y[on], p.slope[on]
        p.level[on] = level
        p.y[on] = found.y[good].reshape(-1, 2, self.points)
        p.slope[on] = found.slope[good].reshape(-1, 2, self.points)
        with np.errstate(all="ignore"):
            p.step[on] *= np.clip((AIM / found.off[good]) ** 0.3, 0.5, 4.0)
        self._judge(on, ops.of(np.flatnonzero(good)))
        self._refine(on, tail(p.y[on], self.width), WAY_TAIL)

    def _finish(self, on: NDArray[np.intp]) -> None:
        """Tones at their full level: solved to the end, or sent on to more points."""
        p = self.path
        if not self.may_end:
            self.need[on] = 1
        height = tail(p.y[on], self.width)
        if not self.last:
            self._refine(on, height, TAIL if not self.may_end else SURE_TAIL)
        on = on[self.need[on] == 0]
        if not on.size:
            return
        ops = self.balance.operators.of(on)
        found = correct(
            self.balance,
            ops,
            self._rows(p.y[on]),
            self.whole[on],
            self.whole[on],
            fine=True,
            most_off=MOST_OFF,
        )
        p.standing[on] = np.where(found.converged, DONE, LOST)
        p.y[on], p.slope[on] = (one.reshape(-1, 2, self.points) for one in (found.y, found.slope))
        kept = on[found.converged]
        self._judge(kept, self.balance.operators.of(kept))
        self._refine(kept, tail(p.y[kept], self.width), TAIL)

    def _refine(self, on: NDArray[np.intp], height: FloatArray, most: float) -> None:
        """Ask for more points where the series has not died away, as many as its decay so far tells."""
        here = self.path.standing[on]
        rough = (height > most) & ((here == MOVING) | (here == DONE))
        if self.last:
            self.path.standing[on[rough]] = LOST
            return
        decay = np.log(np.minimum(height[rough], 0.3))
        self.need[on[rough]] = np.ceil(self.points * np.minimum(np.log(most) / decay, 2.5)).astype(np.int64)
        self.path.standing[on[rough]] = MOVING

    def _judge(self, on: NDArray[np.intp], ops: Operators) -> None:
        """Tones that leave what the model holds for have ended."""
        y, standing = self.path.y[on], self.path.standing
        x = y[:, 0]
        if self.balance.curves.powers > 1:
            standing[on[self.balance.inductance(ops, y[:, 0], y[:, 1]).min(axis=1) <= 0.0]] = LOST
        room = np.min([x.min(axis=1) - self.x_range[0], self.x_range[1] - x.max(axis=1)], axis=0)
        near = np.flatnonzero(room < NEAR * np.abs(x).max(axis=1))  # between points it may be out
        if near.size:
            low, high = travel(x[near])
            standing[on[near[(low < self.x_range[0]) | (high > self.x_range[1])]]] = BEYOND
