"""A published axisymmetric problem with saturating steel: force, flux and inductance of a lifting magnet at 20 air gaps.

Reference: results of another finite-element program in the Modelica Standard Library (tests/references/lifting_magnet, where the
two dimensions that are our reading are named). Its own points scatter by about 1 %. The steel is 9SMnPb28 by the formula
of Roschke: mu_r = 1 + (mu_i - 1 + c_a b) / (1 + c_b b + b^n), b = B / B_max.
"""

import dataclasses
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from halfroll.materials.steel import MU_0
from halfroll.motor.force.stress import axial_force
from halfroll.motor.types import FieldCoil
from tests.motor.bodies import body, field_of, linear, linkage, ring, steel

FOLDER = Path(__file__).parents[1] / "references" / "lifting_magnet"
TABLE = np.loadtxt(FOLDER / "force_flux_inductance.csv", delimiter=",", skiprows=1)
TURNS, CURRENT_A = 957.0, 12.0 / 10.0
POLE_MM = 3.5 + 6.5


def machining_steel():
    """9SMnPb28."""
    b = np.arange(0.0, 2.4, 0.02)
    share = b / 1.488
    mu_r = 1.0 + (400.0 - 1.0 + 1200.0 * share) / (1.0 + 3.0 * share + share**12.5)
    return steel(tuple(b / (MU_0 * mu_r)), tuple(b))


@cache
def solved(row):
    """The field at one of the published gaps."""
    gap_mm = 1e3 * TABLE[row, 0]
    iron = machining_steel()
    yoke = body("yoke", iron, (0, 0), (15, 0), (15, 35), (5.65, 35), (5.65, 31.5), (13.5, 31.5), (13.5, 3.5), (5, 3.5),
                (5, POLE_MM), (0, POLE_MM))  # fmt: skip
    armature = ring("armature", iron, 0, 5, POLE_MM + gap_mm, POLE_MM + gap_mm + 26)
    coil = ring("coil", FieldCoil(turns=TURNS, current_a=CURRENT_A), 6.5, 13, 4.5, 30.5)
    return field_of(yoke, armature, coil, refinement=2.0)


ROWS = range(len(TABLE))


@pytest.mark.parametrize("row", ROWS)
def test_force_on_the_armature(row):
    """86 N at 0.25 mm, where the armature is full, to 3.6 N at 5 mm: within 3.5 %."""
    assert -axial_force(solved(row), ["armature"]) == pytest.approx(TABLE[row, 1], rel=0.035)


@pytest.mark.parametrize("row", ROWS)
def test_flux_through_the_armature(row):
    """Largest flux through a section of the armature: within 1.5 %."""
    z = 1e-3 * (POLE_MM + 1e3 * TABLE[row, 0] + np.linspace(0.5, 21.0, 80))
    flux = solved(row).flux(np.full_like(z, 4.999e-3), z).max()
    assert flux == pytest.approx(TABLE[row, 2], rel=0.015)


@pytest.mark.parametrize("row", ROWS)
def test_inductance_of_the_coil(row):
    """Flux linkage over current: within 1 %."""
    assert linkage(solved(row), 2) / CURRENT_A == pytest.approx(TABLE[row, 3], rel=0.01)


def test_steel_makes_the_difference():
    """With iron of constant permeability the force at the smallest gap is a fifth too high: the agreement is the steel's law."""
    bodies = [
        dataclasses.replace(part, matter=linear(1000.0)) if part.name != "coil" else part
        for part in solved(0).motor.assembly.bodies
    ]
    assert -axial_force(field_of(*bodies, refinement=2.0), ["armature"]) > 1.2 * TABLE[0, 1]
