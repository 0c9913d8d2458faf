"""Meshes that lost something are found out, and thin joints lose nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfroll.materials.steel import MU_0
from halfroll.motor.field.cutting import is_whole
from halfroll.motor.field.magnetostatics import solve
from halfroll.motor.field.mesh import MeshSettings, mesh_of
from halfroll.motor.types import Assembly, Body, Magnet
from tests.motor.eddy_motors import reference

_, MOTOR = reference("A1")
SQUARE = Body(
    name="square", outline=((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)), matter=MOTOR.bodies[0].matter
)
POINTS = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
HALVES = np.array([[0, 1, 2], [0, 2, 3]])
AROUND = np.array([[0, 1], [1, 2], [2, 3]])


def test_a_whole_mesh_and_three_broken_ones():
    """Two halves of a square; with one lost; with one double; with one counted to another region."""
    region, names = np.array([0, 0]), ["body0", "air"]
    assert is_whole(POINTS, HALVES, region, names, AROUND, [SQUARE])
    assert not is_whole(POINTS, HALVES[:1], region[:1], names, AROUND, [SQUARE])
    assert not is_whole(POINTS, HALVES[[0, 1, 1]], np.array([0, 0, 1]), names, AROUND, [SQUARE])
    assert not is_whole(POINTS, HALVES, np.array([0, 1]), names, AROUND, [SQUARE])


def _with_joint(joint_m: float) -> Assembly:
    """A1 with air between back plate and all that stands on it; the top plate stays, so the gap does too."""
    pole, plate, magnet, top = MOTOR.bodies
    lifted = [
        replace(body, outline=tuple((r, z + joint_m if z < -11.9e-3 else z) for r, z in body.outline))
        for body in (replace(pole, outline=tuple((r, max(z, -12e-3)) for r, z in pole.outline)), magnet)
    ]
    foot = replace(plate, outline=((0.0, -16e-3), *plate.outline[1:3], (0.0, -12e-3)))
    return replace(MOTOR, bodies=(lifted[0], foot, lifted[1], top))


@pytest.mark.parametrize("joint_um", [2.0, 5.0, 10.0, 20.0, 50.0])
def test_a_thin_joint_costs_what_its_reluctance_asks(joint_um: float):
    """Bl with a joint of g under magnet and pole lies below that of touching parts, by no more than a series circuit loses.

    In series with the magnet (length L, area A_m) and the pole (area A_p) joints of g take g (1/A_m + 1/A_p) of
    reluctance more; the magnet alone has L/(mu_rec A_m), the gap adds to that, so the loss is below their ratio.
    """
    assert MOTOR.winding is not None
    settings = MeshSettings(travel_m=1e-3)
    joint = _with_joint(1e-6 * joint_um)
    bl, tight = (
        float(solve(mesh_of(motor, settings)).force_factor(MOTOR.winding, np.zeros(1))[0])
        for motor in (joint, _with_joint(0.0))
    )
    magnet = joint.bodies[2]
    assert isinstance(magnet.matter, Magnet)
    area_magnet, area_pole = np.pi * (30e-3**2 - 16e-3**2), np.pi * 12.5e-3**2
    of_joint = 1e-6 * joint_um / MU_0 * (1.0 / area_magnet + 1.0 / area_pole)
    of_magnet = 10e-3 / (MU_0 * magnet.matter.grade.mu_rec * area_magnet)
    noise = 2e-4  # two meshes
    assert -of_joint / of_magnet - noise < bl / tight - 1.0 < noise
