"""A strip bent over its travel: equilibria at few displacements, more where the force between them is not yet sure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.suspension.elastic import basis
from halfroll.suspension.elastic.equilibrium import NoEquilibriumError, State, settle, walk
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.elastic.ring import Ring
from halfroll.suspension.elastic.strip import mesh_strip
from halfroll.suspension.profile.folds import check_wall
from halfroll.suspension.study.curves import columns, interpolation_errors
from halfroll.suspension.study.cuts import MeshSettings, cuts_of, lengths
from halfroll.suspension.types import SuspensionPart


@dataclass(frozen=True, kw_only=True)
class TravelSettings:
    """How a strip is meshed and walked: `steps` equilibria on each side, and more until the force between any two of them is known to
    `tolerance` of the largest on that side. `most` is how many there may be.
    """

    mesh: MeshSettings = field(default_factory=MeshSettings)
    steps: int = 5
    tolerance: float = 2e-4
    most: int = 60


STANDARD = TravelSettings()

MOST_STRETCH = 0.5
"""By how much of its length a strip may be asked to stretch: own choice, far past what a printed part stands again and again."""

_LEAST_LENGTH = 3.0
_RUNAWAY = 0.01
"""Error between two states, as a share of the largest force, that tells of a force about to jump."""
_CLOSE = 50.0
"""States nearer than the travel over this are close enough to tell a force that runs away from one that only bends."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Bent:
    """Equilibria of a strip, rising in x with rest among them; what the force between them may be wrong by, as a share of the
    largest; and the sides (-1, 1) on which the travel's end was not reached.
    """

    ring: Ring
    states: tuple[State, ...]
    curve_error: float
    short: tuple[int, ...] = ()

    @property
    def rest(self) -> State:
        """The state at x = 0."""
        return min(self.states, key=lambda one: abs(one.x_m))

    def at(self, x_m: FloatArray) -> FloatArray:
        """Nodal displacements (len(x), size) between the states: cubics with the states' own slopes."""
        from scipy.interpolate import CubicHermiteSpline

        x = np.array([one.x_m for one in self.states])
        u, follow = (np.array([getattr(one, name) for one in self.states]) for name in ("u", "follow"))
        return np.asarray(CubicHermiteSpline(x, u, follow)(x_m))


def bend(
    strip: SuspensionPart, travel_m: float, settings: TravelSettings = STANDARD, progress: Progress = silent
) -> Bent:
    """Bend a strip both ways.

    Raises
    ------
    InputError
        The travel is not a positive length, or past what the strip can be stretched to; the wall folds over itself, or is hardly longer than thick.
    CancelledError
        Through `progress`.
    """
    check_wall(strip.profile, strip.name)
    check_long(strip.profile)
    check_travel(strip.profile, travel_m)
    ring = ring_of(strip, settings.mesh)
    rest = settle(ring, ring.clamps(), 0.0, np.zeros(ring.size))
    if rest is None:
        raise InputError(
            "The wall must have a shape that can be solved at rest", found=strip.profile.title,
            remedy="Its middle line folds, or its wall is too thick for its tightest bend: make it thinner or rounder",
        )  # fmt: skip
    states, short = [rest], []
    for number, side in enumerate((1, -1)):
        told = part(progress, 0.35 * number, 0.35 * (number + 1))
        stops = [side * travel_m * k / settings.steps for k in range(1, settings.steps + 1)]
        try:
            states += walk(ring, ring.clamps(), stops, rest, told)
        except NoEquilibriumError as ended:
            states += ended.states
            short.append(side)
    if len(states) == 1:
        raise InputError(
            "The wall must give way when its inner edge is moved", found=f"no equilibrium at {1e3 * travel_m:.3g} mm or a part of it",
            remedy="Give it more roll, or a thinner wall",
        )  # fmt: skip
    states.sort(key=lambda one: one.x_m)
    error = _fill(ring, states, short, settings, part(progress, 0.7, 1.0))
    return Bent(ring=ring, states=tuple(states), curve_error=error, short=tuple(short))


def ring_of(strip: SuspensionPart, mesh: MeshSettings) -> Ring:
    """The strip as finite elements."""
    return Ring(mesh_strip(strip.profile, cuts_of(strip.profile, mesh), mesh.order), strip.material)


def check_long(profile: Profile) -> None:
    """Refuse a strip that is hardly longer than thick: all of it would be within a thickness of a clamp."""
    length, h = strip_length(profile), float(profile.thickness(np.linspace(0, 1, 101))[0].max())
    if length < _LEAST_LENGTH * h:
        raise InputError(
            "The wall must be longer between its clamps than it is thick", key="thickness",
            found=f"{1e3 * h:.3g} mm thick and {1e3 * length:.3g} mm long", allowed=f"at least {_LEAST_LENGTH:g} times as long as thick",
            remedy="Make it wider or thinner",
        )  # fmt: skip


def check_travel(profile: Profile, travel_m: float) -> None:
    """Refuse a travel that is no positive length, or at which the clamps are farther apart than the strip can be stretched."""
    if not (np.isfinite(travel_m) and travel_m > 0):
        raise InputError("The travel must be a positive length", key="travel", found=f"{1e3 * travel_m:g} mm")
    length = strip_length(profile)
    for side in (-1, 1):
        apart = clamps_apart(profile, side * travel_m)
        if apart > (1 + MOST_STRETCH) * length:
            raise InputError(
                "The travel must be within what the wall can be stretched to", key="travel",
                found=f"{1e3 * travel_m:g} mm, where the clamps are {1e3 * apart:.3g} mm apart",
                allowed=f"{1e3 * (1 + MOST_STRETCH) * length:.3g} mm between clamps: the wall is {1e3 * length:.3g} mm long, and half as much again",
                remedy="Give it more roll or more width, or ask for less travel",
            )  # fmt: skip


def strip_length(profile: Profile) -> float:
    """Length (m) of a strip's middle line."""
    return float(lengths(profile, np.linspace(0, 1, 2001))[-1])


def clamps_apart(profile: Profile, x_m: float) -> float:
    """Straight distance (m) between the clamps' middles with the inner one moved by x."""
    ends = profile.curve(np.array([0.0, 1.0]))
    return float(np.hypot(ends.r[1] - ends.r[0], ends.z[1] - ends.z[0] - x_m))


def _fill(
    ring: Ring, states: list[State], short: Sequence[int], settings: TravelSettings, progress: Progress
) -> float:
    """Put states between neighbours until the cubics between all are good enough; gives what is left, as a share.

    An end that was not meant to be one is taken off when the force still runs away between it and a state close by.
    """
    energy = {one.x_m: ring.energy(one.u) for one in states}
    close = max(abs(one.x_m) for one in states) / _CLOSE
    while True:
        errors = interpolation_errors(states, np.array([energy[one.x_m] for one in states])) / _largest(
            states
        )
        bad = np.flatnonzero(errors > settings.tolerance)
        full = len(states) + len(bad) > settings.most
        ends = [(0 if side < 0 else len(states) - 1, 0 if side < 0 else len(errors) - 1) for side in short]
        for state, interval in ends:
            if len(states) > 2 and errors[interval] > _RUNAWAY and (full or _apart(states, interval) < close):
                states.pop(state)
                break
        else:
            if len(bad) == 0 or full:
                return float(errors.max(initial=0.0))
            progress(len(states) / settings.most, "closer where the force bends")
            for at in reversed(bad):
                between = _between(ring, states[at], states[at + 1])
                if between is None:
                    return float(errors.max())
                energy[between.x_m] = ring.energy(between.u)
                states.insert(int(at) + 1, between)


def _apart(states: Sequence[State], interval: int) -> float:
    """Displacement (m) between two neighbours."""
    return states[interval + 1].x_m - states[interval].x_m


def _largest(states: Sequence[State]) -> FloatArray:
    """Largest force (N) on the side of rest where each interval lies: the other side may be a hundred times as stiff."""
    x, force, _ = columns(states)
    low, high = (float(np.abs(force[x * side > 0]).max(initial=0.0)) or 1.0 for side in (-1, 1))
    return np.where(x[1:] <= 0, low, high)


def _between(ring: Ring, one: State, other: State) -> State | None:
    start, end = sorted((one, other), key=lambda state: abs(state.x_m))
    try:
        return walk(ring, ring.clamps(), [0.5 * (start.x_m + end.x_m)], start)[0]
    except NoEquilibriumError:
        return None


def mesh_error(strip: SuspensionPart, bent: Bent, settings: TravelSettings = STANDARD) -> float:
    """How far the elements' own error may move the force at either end, as a share of the largest.

    Half of what the force changes by when the elements are one order lower; on the strips of the tests that is four to six times
    the true error. Where the lower order finds no equilibrium, the next state towards rest is judged.
    """
    mesh = bent.ring.mesh
    coarse = Ring(mesh_strip(strip.profile, mesh.cuts, mesh.order - 1), strip.material)
    largest = float(np.abs(columns(bent.states)[1]).max()) or 1.0
    worst = 0.0
    for side in sides(bent.states):
        found = (
            change for state in reversed(side) if (change := _change(bent.ring, coarse, state)) is not None
        )
        worst = max(worst, next(found, 0.0) / largest / 2)
    return worst


def _change(fine: Ring, coarse: Ring, state: State) -> float | None:
    order = coarse.mesh.order
    values, _ = basis.values(order + 1, basis.nodes(order))
    shape = np.einsum("qa,pb->qpab", values, values).reshape((order + 1) ** 2, -1)
    guess = np.zeros((coarse.size // 2, 2))
    guess[coarse.mesh.elements] = fine.moved(shape, state.u)
    found = settle(coarse, coarse.clamps(), state.x_m, guess.ravel())
    return None if found is None else abs(found.force_n - state.force_n)


def sides(states: Sequence[State]) -> tuple[list[State], list[State]]:
    """States below and above rest, each away from it."""
    ordered = sorted(states, key=lambda one: abs(one.x_m))
    return [one for one in ordered if one.x_m < 0], [one for one in ordered if one.x_m > 0]
