"""Sideways stiffness, own resonances and wrinkling of a half roll, against three-dimensional elements.

The numbers are NGSolve's, a general-purpose library, on tetrahedra: tests/references/suspension_solid, with the script that made them.
"""

import json
from pathlib import Path

import numpy as np
import pytest
from scipy.sparse.linalg import eigsh

from halfroll.suspension.elastic.equilibrium import walk
from halfroll.suspension.elastic.harmonic import (
    as_sparse,
    edge_stiffness,
    first_unstable,
    own_resonances,
    waves_about,
)
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.midline import MidLine, Profile
from halfroll.suspension.elastic.ring import Ring
from halfroll.suspension.elastic.strip import mesh_strip

HERE = Path(__file__).parents[1] / "references" / "suspension_solid"
SOLID = json.loads((HERE / "half_roll_3d.json").read_text())
RUBBER = Elastic(modulus_pa=26e6, poisson=0.45, density_kg_m3=1200.0)
BENT_MM = (-2.0, -4.0, -5.0, -5.2, -5.3, -5.4)


def half_roll(thickness):
    """The roll of the reference, meshed."""

    def curve(s):
        c, d, p = np.cos(np.pi * s), np.sin(np.pi * s), np.pi
        a = 5e-3
        return MidLine(
            r=35e-3 - a * c, z=a * d, r1=a * p * d, z1=a * p * c, r2=a * p**2 * c, z2=-a * p**2 * d
        )

    profile = Profile(
        title="half roll", curve=curve, thickness=lambda s: (np.full_like(s, thickness), np.zeros_like(s))
    )
    inner = np.linspace(0, 1, 33)
    ends = np.array([0.1, 0.4]) / 32
    return Ring(mesh_strip(profile, np.sort(np.concatenate([inner, ends, 1 - ends]))), RUBBER)


@pytest.fixture(scope="module")
def resting():
    """Waves about the thick roll at rest."""
    ring = half_roll(0.8e-3)
    return waves_about(ring, np.zeros(ring.size))


@pytest.fixture(scope="module")
def pushed():
    """The thin roll and its states."""
    ring = half_roll(0.3e-3)
    return ring, walk(ring, ring.clamps(), [1e-3 * x for x in BENT_MM])


def test_sideways_and_tilting_stiffness(resting):
    """Shift within 0.2 %, tilt within 0.1 %, their coupling within 0.2 %."""
    there = SOLID["linear"]["1.2 mm, order 4"]
    found = edge_stiffness(resting, 0.0)
    assert found[0, 0] == pytest.approx(1e3 * there["shift_n_per_mm"], rel=2e-3)
    assert found[1, 1] == pytest.approx(1e-3 * there["tilt_n_mm"], rel=1e-3)
    assert found[0, 1] == pytest.approx(there["cross_n"], rel=2e-3)


def test_own_resonances(resting):
    """The lowest five, each with another number of nodal diameters, within 0.6 %: the solid's still fall with its mesh."""
    found = sorted(float(own_resonances(resting, n)[0][0]) for n in range(5))
    there = SOLID["linear"]["1.2 mm, order 4"]["own_hz"]
    assert found == pytest.approx(there, rel=6e-3)
    assert all(one < other for one, other in zip(found, there, strict=True))


def test_the_force_on_the_way_in(pushed):
    """Within 0.2 %."""
    there = [row["force_n"] for row in SOLID["wrinkling"]["1.0 mm, order 4"]]
    assert [state.force_n for state in pushed[1]] == pytest.approx(there, rel=2e-3)


def lowest(ring, state):
    """The lowest eigenvalue (MPa/mm²) of the tangent with 16 waves, against the mass of unit density."""
    waves = waves_about(ring, state.u)
    free = np.setdiff1d(np.arange(waves.size), waves.clamped)
    stiffness = as_sparse(waves.tangent(16))[free][:, free].tocsc()
    mass = as_sparse(waves.mass / RUBBER.density_kg_m3)[free][:, free].tocsc()
    found = eigsh(stiffness, k=1, M=mass, sigma=-1e9, v0=np.ones(len(free)), return_eigenvectors=False)
    return 1e-12 * float(found[0])


def test_where_it_wrinkles(pushed):
    """The eigenvalue of 16 waves falls as the solid's does, within 0.0003 MPa/mm², and both cross zero within 0.01 mm of travel.

    Earlier on, the solid's lowest eigenvalue belongs to 0 or 32 waves, so only the last four displacements are compared.
    """
    ring, states = pushed
    there = np.array([row["lowest"] for row in SOLID["wrinkling"]["1.0 mm, order 4"]])[2:]
    found = np.array([lowest(ring, state) for state in states[2:]])
    assert found == pytest.approx(there, abs=3e-4)
    crossings = [np.interp(0.0, values[::-1], BENT_MM[:1:-1]) for values in (found, there)]
    assert crossings[0] == pytest.approx(crossings[1], abs=0.01)
    assert [first_unstable(waves_about(ring, state.u), [16]) for state in states] == [None] * 5 + [16]
