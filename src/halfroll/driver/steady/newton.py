"""Newton's method on the balance of a batch of tones, with the tangent of the solution by level at no extra cost."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.driver.steady.balance import Balance, Matrices, Operators

MOST_STEPS = 8
"""Newton's steps before a guess is given up."""

FINE = 1e-7
COARSE = 1e-3
"""Last change over the size of the solution at which an answer, and a point on the way to it, is taken as converged: convergence is quadratic, so that
what is left is far smaller (about the square)."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Corrected:
    """Where Newton's method ended: x and i in one row (n, 2N), their slope by level (n, 2N), which converged (n,), and by how
    much the guess was off as a share of the solution (n,); inf where it did not converge.
    """

    y: FloatArray
    slope: FloatArray
    converged: NDArray[np.bool_]
    off: FloatArray


def correct(
    balance: Balance, ops: Operators, guess: FloatArray, source: FloatArray, whole: FloatArray, *,
    fine: bool, most_off: float = np.inf,
) -> Corrected:  # fmt: skip
    """Solve the balance from a guess, shape (n, 2N), with the source (V) at this level and its slope by level `whole`, (n, N).

    A guess that turns out to be further off than `most_off` is given up at once: the path is to be followed in shorter steps.
    """
    n = balance.points
    y, slope = guess.copy(), np.zeros_like(guess)
    off, converged = np.full(len(y), np.inf), np.zeros(len(y), dtype=np.bool_)
    active, last = np.arange(len(y)), np.full(len(y), np.inf)
    here = ops
    for step in range(MOST_STEPS):
        x, i = y[active, :n], y[active, n:]
        with np.errstate(all="ignore"):
            point = balance.point(here, x, i)
            right = np.zeros((len(active), 2 * n, 2))
            right[:, :, 0] = -balance.residual(here, point, i, source[active])
            right[:, :n, 1] = whole[active]
            found = solve(balance.jacobian(here, point, i), right)
        y[active] += found[:, :, 0]
        slope[active] = found[:, :, 1]
        change = relative(found[:, :, 0], y[active])
        if step == 0:
            off[active] = change
        done = change < (FINE if fine else COARSE)
        # Quadratic convergence makes the step after this one far smaller than the bound.
        converged[active[done]] = True
        hopeless = ~np.isfinite(change) | (off[active] > most_off) | (change > 2.0 * last[active])
        last[active] = change
        keep = ~done & ~hopeless
        if not keep.any():
            break
        if not keep.all():
            active = active[keep]
            here = ops.of(active)
    off[~converged] = np.inf
    return Corrected(y=y, slope=slope, converged=converged, off=off)


def relative(change: FloatArray, y: FloatArray) -> FloatArray:
    """Greatest change of displacement or current as a share of its greatest value, shape (n,)."""
    halves = (len(y), 2, y.shape[1] // 2)
    with np.errstate(all="ignore"):
        shares = np.abs(change).reshape(halves).max(axis=2) / np.abs(y).reshape(halves).max(axis=2)
    return np.asarray(shares.max(axis=1))


def solve(matrices: Matrices, right: NDArray[Any]) -> NDArray[Any]:
    """Solutions of a stack of systems; NaN where one is singular."""
    try:
        return np.asarray(np.linalg.solve(matrices, right))
    except np.linalg.LinAlgError:
        found = np.full_like(right, np.nan)
        for k, (matrix, column) in enumerate(zip(matrices, right, strict=True)):
            try:
                found[k] = np.linalg.solve(matrix, column)
            except np.linalg.LinAlgError:
                continue
        return found


def orientation(balance: Balance, ops: Operators, y: FloatArray) -> FloatArray:
    """Sign of the determinant of the Jacobian, shape (n,): it changes where the solution folds back or branches."""
    n = balance.points
    with np.errstate(all="ignore"):
        point = balance.point(ops, y[:, :n], y[:, n:])
        return np.asarray(np.linalg.slogdet(balance.jacobian(ops, point, y[:, n:])).sign)
