"""How sure a flexure's stiffness is: by the elements, by the plastic, and by how thick the print turns out."""

from __future__ import annotations

import math

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.elastic import basis
from halfroll.suspension.elastic.equilibrium import Hold, NoEquilibriumError, settle, walk
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.solid import BarMesh, Solid
from halfroll.suspension.elastic.turning import TurningEnd, end_held, end_turning
from halfroll.suspension.flexure.arm import arm_of
from halfroll.suspension.flexure.bend import BentArm
from halfroll.suspension.flexure.cuts import FlexureSettings, mesh_arm
from halfroll.suspension.study.spread import THICKNESS_U_M, power_of


def mesh_error(bent: BentArm, settings: FlexureSettings) -> float:
    """How far the elements may move the force at the travel's end, as a share of it.

    Half of what the force changes by when the elements are one order lower along and across the arm; on the arms of the tests that is
    more than the true error. nan when the coarser arm finds no equilibrium.
    """
    state = bent.states[-1]
    if state is bent.rest:
        return float("nan")
    coarse = Solid(mesh_arm(bent.arm, settings.coarser()), bent.solid.material)
    held = state.u if bent.turning is None else state.u[1:]
    guess = carried(bent.solid.mesh, coarse.mesh, held)
    if bent.turning is None:
        force = _force(coarse, end_held(coarse), state.x_m, guess)
    else:
        body = TurningEnd(coarse, bent.turning.lever_m)
        force = _force(body, end_turning(body), state.x_m, np.append(state.u[0], guess))
    return 0.5 * abs(force / state.force_n - 1)


def _force(body: Solid | TurningEnd, hold: Hold, x_m: float, guess: FloatArray) -> float:
    """Force (N) at x: from a guess, which at a clamp's corner may be a bad one, or step by step."""
    found = settle(body, hold, x_m, guess)
    if found is None:
        try:
            found = walk(body, hold, list(x_m * np.arange(1, 5) / 4))[-1]
        except NoEquilibriumError:
            return float("nan")
    return found.force_n


def stiffness_spread(
    design: FlexureDesign, material: Elastic, modulus_u: float, settings: FlexureSettings
) -> float:
    """Relative standard uncertainty of the whole stiffness curve: modulus, thickness and width of the printed arm.

    The powers with which thickness and width enter are those at rest.
    """
    power = power_of(lambda factor: _at_rest(design, material, factor, settings.coarser()))
    arm = arm_of(design)
    return math.hypot(modulus_u, power * THICKNESS_U_M / arm.thickness_m, THICKNESS_U_M / arm.width_m)


def _at_rest(design: FlexureDesign, material: Elastic, thicker: float, settings: FlexureSettings) -> float:
    solid = Solid(mesh_arm(arm_of(design, thicker), settings), material)
    rest = settle(solid, end_held(solid), 0.0, np.zeros(solid.size))
    assert rest is not None
    return rest.stiffness_n_per_m


def carried(mesh: BarMesh, onto: BarMesh, u: FloatArray) -> FloatArray:
    """Displacements of a mesh at the nodes of another one of the same elements and other orders."""
    at = [basis.nodes(order) for order in onto.orders]
    values, _, _ = mesh.sample((at[0], at[1], at[2]))
    out = np.zeros((len(onto.nodes), 3))
    out[onto.elements] = values @ u.reshape(-1, 3)[mesh.elements]
    return out.ravel()
