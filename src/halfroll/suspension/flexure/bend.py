"""An arm bent over the travel. It is flat, so what it does on one side of rest is the mirror image of the other: one is solved."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.elastic.equilibrium import Hold, NoEquilibriumError, State, between, settle, walk
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.solid import Solid
from halfroll.suspension.elastic.turning import TurningEnd, end_held, end_turning
from halfroll.suspension.flexure.arm import Arm, arm_of
from halfroll.suspension.flexure.cuts import DEFAULT, FlexureSettings, mesh_arm
from halfroll.suspension.study.curves import interpolation_errors

MOST_STRETCH = 0.5
"""By how much of its length an arm may be asked to stretch: own choice, far past what a printed part stands again and again."""


@dataclass(frozen=True, kw_only=True, eq=False)
class BentArm:
    """Equilibria of one arm from rest (first) to the end of the travel; forces and stiffnesses are this arm's.

    `curve_error` is what the force between states may be wrong by, as a share of it; `short` that the travel's end was not reached.
    With the hub free `turning` is the body the states belong to.
    """

    arm: Arm
    solid: Solid
    turning: TurningEnd | None
    states: tuple[State, ...]
    curve_error: float
    short: bool

    @property
    def rest(self) -> State:
        """The state at x = 0."""
        return self.states[0]

    def both_sides(self, arms: int) -> list[State]:
        """States of all arms together, rising in x, rest among them; of force and stiffness only, nodes stay this arm's."""
        up = [
            replace(one, force_n=arms * one.force_n, stiffness_n_per_m=arms * one.stiffness_n_per_m)
            for one in self.states
        ]
        down = [replace(one, x_m=-one.x_m, force_n=-one.force_n) for one in up[:0:-1]]
        return [*down, *up]

    def displacement(self, x_m: float) -> FloatArray:
        """Nodal displacements (size,) of the arm at x, on either side, between states by cubics with their own slopes."""
        q = self._unknowns(abs(x_m))
        u = q if self.turning is None else self.turning.displacement(q)
        return u if x_m >= 0 else mirrored(self.solid, u)

    def turn_rad(self, x_m: float) -> float:
        """The hub's turn about +z at x; the same on either side."""
        return 0.0 if self.turning is None else self.turning.turn_rad(self._unknowns(abs(x_m)))

    def torque_nm(self) -> float:
        """Torque about z that keeps the hub from turning at the end of the travel, of this arm."""
        u = self.states[-1].u
        body, q = (
            (TurningEnd(self.solid, 1.0), np.append(0.0, u)) if self.turning is None else (self.turning, u)
        )
        return body.lever_m * float(body.forces(q)[0][0])

    def _unknowns(self, x_m: float) -> FloatArray:
        return np.asarray(self._cubic(min(x_m, self.states[-1].x_m)))

    @cached_property
    def _cubic(self) -> Callable[[float], FloatArray]:
        from scipy.interpolate import CubicHermiteSpline

        x = np.array([one.x_m for one in self.states])
        u, follow = (np.array([getattr(one, name) for one in self.states]) for name in ("u", "follow"))
        spline: Callable[[float], FloatArray] = CubicHermiteSpline(x, u, follow)
        return spline


def bend_arm(
    design: FlexureDesign,
    material: Elastic,
    travel_m: float,
    settings: FlexureSettings = DEFAULT,
    progress: Progress = silent,
) -> BentArm:
    """Bend one arm of a design by `travel_m` (m).

    Raises
    ------
    InputError
        The travel is not a positive length, or past what the arm can be stretched to.
    CancelledError
        Through `progress`.
    """
    arm = arm_of(design)
    check_travel(design, arm, travel_m)
    solid = Solid(mesh_arm(arm, settings), material)
    turning = TurningEnd(solid, design.inner_radius_m) if design.hub == "free" else None
    body, hold = (solid, end_held(solid)) if turning is None else (turning, end_turning(turning))
    rest = settle(body, hold, 0.0, np.zeros(body.size))
    if rest is None:
        raise InputError(
            "The arm must have a shape that can be solved at rest", found=f"{1e3 * arm.width_m:.3g} mm wide, "
            f"{1e3 * arm.thickness_m:.3g} mm thick", remedy="Make it narrower, thinner or longer",
        )  # fmt: skip
    states, short = [rest], False
    try:
        states += walk(
            body, hold, list(travel_m * np.arange(1, settings.steps + 1) / settings.steps), rest, progress
        )
    except NoEquilibriumError as error:
        states += error.states
        short = True
    left = _fill(body, hold, states, settings, progress)
    return BentArm(arm=arm, solid=solid, turning=turning, states=tuple(states), curve_error=left, short=short)


def check_travel(design: FlexureDesign, arm: Arm, travel_m: float) -> None:
    """Refuse a travel that is no positive length, or that would pull the arm out by half its length."""
    if not (np.isfinite(travel_m) and travel_m > 0):
        raise InputError("The travel must be a positive length", key="travel", found=f"{1e3 * travel_m:g} mm")
    longest = (1 + MOST_STRETCH) * arm.whole_m
    apart = float(np.hypot(*np.ptp(arm.place(np.array([0.0, 1.0]), np.zeros(2), np.zeros(2)), axis=0)[:2]))
    if np.hypot(apart, travel_m) > longest:
        raise InputError(
            "The travel must be within what the arms can be stretched to", key="travel", found=f"{1e3 * travel_m:g} mm",
            allowed=f"up to {1e3 * float(np.sqrt(longest**2 - apart**2)):.3g} mm: an arm is {1e3 * arm.whole_m:.3g} mm long, and half as much again",
            remedy="Give the arms more length, as spirals, or ask for less travel",
        )  # fmt: skip


def mirrored(solid: Solid, u: FloatArray) -> FloatArray:
    """The image (size,) of displacements in the plane z = 0."""
    through = solid.mesh.orders[2] * (len(solid.mesh.cuts[2]) - 1) + 1
    image = u.reshape(-1, through, 3)[:, ::-1] * np.array([1.0, 1.0, -1.0])
    return np.asarray(image.ravel())


def _fill(
    body: Solid | TurningEnd, hold: Hold, states: list[State], settings: FlexureSettings, progress: Progress
) -> float:
    """Put states between neighbours until the cubics between all are good enough; gives what is left, as a share of the force."""
    energy = {one.x_m: body.energy(one.u) for one in states}
    while len(states) > 1:
        force = np.array([one.force_n for one in states[1:]])
        errors = interpolation_errors(states, np.array([energy[one.x_m] for one in states])) / np.abs(force)
        bad = np.flatnonzero(errors > settings.tolerance)
        if len(bad) == 0 or len(states) + len(bad) > settings.most:
            return float(errors.max())
        for at in reversed(bad):
            progress(0.9, "closer where the force bends")
            try:
                middle = between(body, hold, states[at], states[at + 1])
            except NoEquilibriumError:
                return float(errors.max())
            energy[middle.x_m] = body.energy(middle.u)
            states.insert(int(at) + 1, middle)
    return 0.0
