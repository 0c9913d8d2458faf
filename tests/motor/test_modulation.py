"""The force factor under the coil's own current: split of force, linear limit, energy, saturation.

Outside: the published forces of a moving-coil actuator at -3 to 3 A, iron of constant permeability, and its inductance over
position (Modelica Standard Library, tests/references/lifting_magnet), and virtual work on the co-energy.
"""

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import CancelToken, silent
from halfroll.materials.catalogue import catalogue
from halfroll.materials.steel import MU_0
from halfroll.motor.coil.inductance import layered
from halfroll.motor.field.magnetostatics import solve
from halfroll.motor.field.mesh import MeshSettings, mesh_of
from halfroll.motor.force.modulation import modulation, split
from halfroll.motor.force.stress import axial_force, winding_force
from halfroll.motor.types import Assembly, Gap, SoftSteel, Winding
from tests.motor.bodies import down, linear, ring

FOLDER = Path(__file__).parents[1] / "references" / "lifting_magnet"


def motor(soft, br_t=0.38, mu_rec=1.06):
    """A ring-magnet motor, as shared oracle A1, with its coil."""
    bodies = (ring("pole", soft, 0, 12.5, -16, 2), ring("back plate", soft, 12.5, 30, -16, -12),
              ring("magnet", down(br_t, mu_rec), 16, 30, -12, -2), ring("top plate", soft, 14, 25, -2, 2))  # fmt: skip
    gap = Gap(inner="pole", outer="top plate", r_inner=12.5e-3, r_outer=14e-3, z_low=-2e-3, z_high=2e-3)
    winding = Winding(r_inner=12.9e-3, r_outer=13.5e-3, z_low=-4e-3, z_high=4e-3, turns=50)
    return Assembly(bodies=bodies, gap=gap, winding=winding)


def mild():
    """A saturating steel."""
    return SoftSteel(steel=catalogue().steels["steel-1010"])


def test_published_forces_of_a_linear_actuator_split_as_defined():
    """13 published forces: one Bl for all currents within 0.2 %, and a reluctance force i^2/2 dL/dx of the published inductance
    within 1.5 %, which is the last digit of the latter.
    """
    force = np.loadtxt(FOLDER / "moving_coil_forces.csv", delimiter=",", skiprows=1)
    stroke = np.loadtxt(FOLDER / "moving_coil_stroke.csv", delimiter=",", skiprows=1)
    slope = np.polyfit(stroke[:, 0], stroke[:, 1], 3)[-2]
    by_current = dict(force)
    found = [split(by_current[i], by_current[-i], i) for i in (1.0, 1.5, 2.0, 2.5, 3.0)]
    assert [bl for bl, _ in found] == pytest.approx([found[-1][0]] * 5, rel=0.002)
    assert [f for _, f in found] == pytest.approx(
        [0.5 * i * i * slope for i in (1.0, 1.5, 2.0, 2.5, 3.0)], rel=0.03
    )
    assert found[-1][1] == pytest.approx(4.5 * slope, rel=0.015)


def test_without_saturation_only_the_reluctance_force_is_left():
    """Iron of constant permeability: Bl does not depend on the current, the rest is i^2/2 dL/dx from the inductance of five places."""
    x = 1e-3 * np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
    found = modulation(motor(linear(500.0)), [8.0], x)
    assert found.current_a == pytest.approx([0.0, 8.0])
    assert found.bl[1] == pytest.approx(found.bl[0], rel=1e-5)
    slope = np.polyfit(x, found.inductance_h[0], 4)[-2]
    assert found.reluctance_n[1, 2] == pytest.approx(32.0 * slope, rel=0.01)
    assert found.reluctance_n[1, 2] < 0
    assert (found.reluctance_n[0] == 0).all()


def test_without_steel_the_current_changes_nothing():
    """A magnet in air: no reluctance force, and the inductance is that of 24 sheets by Nagaoka's and Maxwell's formulas."""
    found = modulation(motor(linear(1.0), mu_rec=1.0), [10.0], [0.0, 2e-3])
    assert found.bl[1] == pytest.approx(found.bl[0], rel=1e-7)
    assert np.abs(found.reluctance_n).max() < 1e-4 * abs(found.bl).max() * 10.0
    radii = 12.9e-3 + 0.6e-3 * (np.arange(24) + 0.5) / 24
    assert found.inductance_h[1, 0] == pytest.approx(layered(radii, [50 / 24] * 24, 8e-3), rel=0.003)
    assert found.verdicts == ()


def test_force_factor_without_current_is_that_of_the_static_field():
    """Two ways to the same number: the force at a small current, and the flux through the winding without one."""
    assembly = motor(mild())
    found = modulation(assembly, [4.0], [-2e-3, 0.0, 3e-3])
    static = solve(mesh_of(assembly)).force_factor(assembly.winding, found.x_m)
    assert found.bl[0] == pytest.approx(static, rel=2e-3)
    assert found.u_rel < 2e-3


def test_force_is_the_slope_of_the_co_energy():
    """Virtual work: force on the coil at +6 and -6 A against the change of co-energy over 0.4 mm, the field without current taken
    off on each mesh. Within 1 % of Bl i.
    """
    assembly, current, step = motor(mild()), 6.0, 0.2e-3
    for sign in (1.0, -1.0):
        gained = []
        for x in (-step, step):
            mesh = mesh_of(assembly, MeshSettings(cut_winding_at_m=x))
            idle, driven = solve(mesh), solve(mesh, current_a=sign * current)
            gained.append(-(driven.energy_j - idle.energy_j))
        middle = solve(mesh_of(assembly, MeshSettings(cut_winding_at_m=0.0)), current_a=sign * current)
        work = (gained[1] - gained[0]) / (2 * step)
        assert winding_force(middle) == pytest.approx(work, rel=0.01)
        rest = axial_force(middle, [body.name for body in assembly.bodies])
        assert rest == pytest.approx(-winding_force(middle), rel=0.002)


def test_a_strong_current_fills_the_steel():
    """Where the pole is nearly full, current of one sign fills it and of the other frees it: Bl and inductance fall with current."""
    thin = dataclasses.replace(motor(mild(), 0.42).bodies[0], outline=((0, -16e-3), (12.5e-3, -16e-3), (12.5e-3, 2e-3),
                               (7e-3, 2e-3), (7e-3, -16e-3 + 4e-3), (0, -12e-3)))  # fmt: skip
    assembly = motor(mild(), 0.42)
    assembly = dataclasses.replace(assembly, bodies=(thin, *assembly.bodies[1:]))
    found = modulation(assembly, [10.0, 40.0], [0.0])
    assert found.inductance_h[2, 0] < 0.999 * found.inductance_h[0, 0]
    assert abs(found.bl[2, 0] / found.bl[0, 0] - 1) > 5 * abs(found.bl[1, 0] / found.bl[0, 0] - 1) > 0
    assert found.verdicts[0].data["current_a"] == 40.0


def test_bad_questions():
    """What is asked wrongly is said, and a stop is obeyed."""
    assembly = motor(mild())
    with pytest.raises(InputError, match="one current above 0"):
        modulation(assembly, [0.0], [0.0])
    with pytest.raises(InputError, match="must ascend"):
        modulation(assembly, [1.0], [1e-3, 0.0])
    with pytest.raises(InputError, match="must have a coil"):
        modulation(dataclasses.replace(assembly, winding=None), [1.0], [0.0])
    token = CancelToken()
    token.cancel()
    with pytest.raises(CancelledError):
        modulation(assembly, [1.0], [0.0], progress=token.wrap(silent))


def test_permeability_of_one_is_air():
    """The helper that makes iron of permeability 1 really makes air: H = B / mu0."""
    assert linear(1.0).steel.h_a_m[-1] == pytest.approx(3.0 / MU_0)
