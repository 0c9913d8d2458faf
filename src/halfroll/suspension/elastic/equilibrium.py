"""Equilibrium of a body whose edge is moved step by step: damped Newton on a banded tangent, steps halved where it fails.

The edge's displacement is prescribed, never its force, so a force that falls with displacement is passed as well. The tangent
gives the stiffness dF/dx exactly at every step. A tangent that is no longer positive definite while the edge is held tells that
the shape is unstable there: left alone, it would jump (snap through) to another.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Protocol

import numpy as np

from halfroll.core.errors import RefusedError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.suspension.elastic.strip import IntArray

LEAST_MOVE_M = 1e-10
"""Displacements below this are rounding, so a shape at rest is found at once even where its forces do not cancel to the last bit."""

TOLERANCE = 1e-7
"""A correction below this share of the largest displacement is the last one: Newton's next would be its square."""
UNMOVED = 1e-9
"""A correction below this share leaves the tangent as it is."""
MOST_ITERATIONS = 25
MOST_HALVINGS = 8
LARGEST_MISMATCH = 0.1
"""Share of a step's way by which it may differ from the mean speed at its ends; usual steps differ by 0.1 to 4 %."""


class Body(Protocol):
    """A discrete body: forces and tangent of its nodes at a displacement.

    Degrees of freedom are numbered so that the tangent has `band` diagonals on each side of the main one.
    """

    size: int
    band: int

    def forces(self, u: FloatArray) -> tuple[FloatArray, float]:
        """Internal forces (size,) (N), and the largest force of any single element, which tells rounding; nan when inverted."""

    def tangent(self, u: FloatArray) -> FloatArray:
        """The tangent's lower band (band + 1, size) (N/m): entry [k, j] is K[j + k, j]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Hold:
    """What is held: degrees of freedom `fixed`, and what each of them does per metre of the edge's displacement."""

    fixed: IntArray
    motion: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class State:
    """Equilibrium at one displacement x (m): nodal displacements (size,), force on the moved edge (N) and its slope (N/m),
    `follow` what the nodes do per metre of x; `stable` False where the shape would jump if it could.
    """

    x_m: float
    u: FloatArray
    force_n: float
    stiffness_n_per_m: float
    follow: FloatArray
    stable: bool


class NoEquilibriumError(RefusedError):
    """Beyond some displacement no equilibrium was found; `last_m` is the last one that was."""

    def __init__(self, last_m: float, wanted_m: float, states: Sequence[State] = ()) -> None:
        super().__init__(
            f"No equilibrium was found beyond {1e3 * last_m:.3g} mm of travel",
            found=f"{1e3 * wanted_m:.3g} mm asked for",
            remedy="The profile is pulled straight, folds or jumps there: ask for less travel, or give it more roll",
        )
        self.last_m = last_m
        self.states = tuple(states)


def walk(
    body: Body, hold: Hold, stops: Sequence[float], start: State | None = None, progress: Progress = silent
) -> list[State]:
    """Equilibria at `stops` (m), in the order given, from rest or from `start`, on one branch: a step that lands on another is halved.

    Raises
    ------
    NoEquilibriumError
        A step failed after `MOST_HALVINGS` halvings; carries the states found before, the last one with them.
    """
    at = start if start is not None else settle(body, hold, 0.0, np.zeros(body.size))
    if at is None:
        raise NoEquilibriumError(0.0, 0.0)
    found: list[State] = []
    for number, stop in enumerate(stops):
        told = partial(progress, number / len(stops), f"bending to {1e3 * stop:.1f} mm")
        at = _step(body, hold, at, stop, found, told)
        found.append(at)
    return found


def between(body: Body, hold: Hold, start: State, end: State) -> State:
    """The equilibrium half way between two on one branch, from the cubic through both.

    Raises
    ------
    NoEquilibriumError
        None was found, not by small steps from the first either.
    """
    width = end.x_m - start.x_m
    guess = 0.5 * (start.u + end.u) + 0.125 * width * (start.follow - end.follow)
    x_m = start.x_m + 0.5 * width
    found = settle(body, hold, x_m, guess)
    if found is not None and not _jumped(start, found) and not _jumped(found, end):
        return found
    return walk(body, hold, [x_m], start)[0]


def _step(
    body: Body, hold: Hold, start: State, stop: float, found: Sequence[State], told: Callable[[], None]
) -> State:
    at, step = start, stop - start.x_m
    least = abs(step) / 2**MOST_HALVINGS
    while at.x_m != stop:
        told()
        target = stop if abs(stop - at.x_m) <= abs(step) * 1.000001 else at.x_m + step
        reached = settle(body, hold, target, at.u + (target - at.x_m) * at.follow)
        if reached is not None and not _jumped(at, reached):
            at = reached
        else:
            step /= 2
            if abs(step) < least:
                raise NoEquilibriumError(at.x_m, stop, [*found, at] if at is not start else found)
    return at


def _jumped(start: State, end: State) -> bool:
    """Whether Newton fell onto another branch: then the nodes went elsewhere than their speeds at both ends say."""
    way = end.u - start.u
    told = 0.5 * (end.x_m - start.x_m) * (start.follow + end.follow)
    return float(np.linalg.norm(way - told)) > LARGEST_MISMATCH * float(np.linalg.norm(way))


def settle(body: Body, hold: Hold, x_m: float, guess: FloatArray) -> State | None:
    """Newton's method from a guess with the edge at x (m); None when it does not converge."""
    u = guess.copy()
    u[hold.fixed] = x_m * hold.motion
    forces, largest = body.forces(u)
    done = False
    for _ in range(MOST_ITERATIONS):
        tangent = body.tangent(u)
        change = -forces
        change[hold.fixed] = 0.0
        solver = factor(tangent, hold.fixed)
        if solver is None:
            return None
        if done:
            return _state(body, hold, x_m, u, forces, tangent, solver)
        before = u
        u, forces, largest = _damped(body, hold, u, solver.solve(change), _free(forces, hold))
        if not np.isfinite(largest):
            return None
        moved = float(np.abs(u - before).max()) / max(float(np.abs(u).max()), LEAST_MOVE_M)
        if moved <= UNMOVED:
            return _state(body, hold, x_m, u, forces, tangent, solver)
        done = moved <= TOLERANCE
    return None


def _damped(
    body: Body, hold: Hold, u: FloatArray, change: FloatArray, before: float
) -> tuple[FloatArray, FloatArray, float]:
    """The full step, or the first of its halves that turns no element inside out and does not blow the residual up."""
    share = 1.0
    for _ in range(6):
        trial = u + share * change
        forces, largest = body.forces(trial)
        if np.isfinite(largest) and (_free(forces, hold) < 10 * before or share < 0.1):
            return trial, forces, largest
        share /= 2
    return trial, forces, float("nan")


def _free(forces: FloatArray, hold: Hold) -> float:
    left = forces.copy()
    left[hold.fixed] = 0.0
    return float(np.abs(left).max())


def _state(
    body: Body,
    hold: Hold,
    x_m: float,
    u: FloatArray,
    forces: FloatArray,
    tangent: FloatArray,
    solver: Factored,
) -> State:
    edge = np.zeros(body.size)
    edge[hold.fixed] = hold.motion
    load = multiply(tangent, edge)
    free = -load
    free[hold.fixed] = 0.0
    follow = edge + solver.solve(free)
    stiffness = float(edge @ multiply(tangent, follow))
    return State(
        x_m=x_m, u=u, force_n=float(edge @ forces), stiffness_n_per_m=stiffness, follow=follow, stable=solver.definite
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True, eq=False)
class Factored:
    """A factored tangent with its held degrees of freedom taken out; `definite` when it is positive definite."""

    band: FloatArray
    cholesky: FloatArray | None
    full: tuple[FloatArray, IntArray] | None
    definite: bool

    def solve(self, load: FloatArray) -> FloatArray:
        """Displacements (size,) or (size, n) for loads that are zero on what is held."""
        from scipy.linalg import cho_solve_banded, get_lapack_funcs

        if self.cholesky is not None:
            return np.asarray(cho_solve_banded((self.cholesky, True), load, check_finite=False))
        assert self.full is not None
        lu, pivots = self.full
        width = (lu.shape[0] - 1) // 3
        (gbtrs,) = get_lapack_funcs(("gbtrs",), (lu, load))
        return np.asarray(gbtrs(lu, width, width, load, pivots)[0])


def factor(tangent: FloatArray, fixed: IntArray) -> Factored | None:
    """Factor a lower band with rows and columns of `fixed` replaced by those of the unit matrix; None when singular."""
    from scipy.linalg import LinAlgError, cholesky_banded, get_lapack_funcs

    held = _without(tangent, fixed)
    if not np.isfinite(held).all():
        return None
    try:
        found = cholesky_banded(held, lower=True, check_finite=False)
        return Factored(band=held, cholesky=found, full=None, definite=True)
    except LinAlgError:
        pass
    width = len(held) - 1
    general = np.zeros((3 * width + 1, held.shape[1]))
    for k in range(width + 1):
        general[2 * width + k, : held.shape[1] - k] = held[k, : held.shape[1] - k]
        general[2 * width - k, k:] = held[k, : held.shape[1] - k]
    (gbtrf,) = get_lapack_funcs(("gbtrf",), (general,))
    lu, pivots, info = gbtrf(general, width, width)
    return None if info != 0 else Factored(band=held, cholesky=None, full=(lu, pivots), definite=False)


def _without(tangent: FloatArray, fixed: IntArray) -> FloatArray:
    held = tangent.copy(order="K")
    width = len(held) - 1
    scale = float(np.abs(tangent[0]).max()) or 1.0
    held[:, fixed] = 0.0
    for k in range(1, width + 1):
        rows = fixed[fixed >= k]
        held[k, rows - k] = 0.0
    held[0, fixed] = scale
    return held


def multiply(tangent: FloatArray, vector: FloatArray) -> FloatArray:
    """The full symmetric matrix of a lower band, times a vector (size,)."""
    from scipy.linalg.blas import dsbmv

    return np.asarray(dsbmv(len(tangent) - 1, 1.0, tangent, vector, lower=1))
