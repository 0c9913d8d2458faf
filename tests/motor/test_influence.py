"""How Bl answers to what is not known: against exact proportions, against fields solved anew on the fine mesh, against co-energy."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from halfroll.materials.catalogue import catalogue
from halfroll.motor.field.influence import GAP_U_M, field_influences, with_gap_wider, with_material_moved
from halfroll.motor.field.magnetostatics import solve
from halfroll.motor.field.mesh import MeshSettings, mesh_of
from halfroll.motor.force.modulation import modulation
from halfroll.motor.types import Assembly, Magnet, SoftSteel
from tests.motor.bodies import linear
from tests.motor.test_modulation import mild, motor

X = 1e-3 * np.array([-2.0, 0.0, 2.0])


def unsure(assembly: Assembly, br_u: float = 0.01, h_u: float = 0.3) -> Assembly:
    """The motor with its magnet's remanence and its steel's field strength unsure."""

    def spread(body):
        matter = body.matter
        if isinstance(matter, Magnet):
            return dataclasses.replace(
                body, matter=dataclasses.replace(matter, grade=dataclasses.replace(matter.grade, br_u_t=br_u))
            )
        if isinstance(matter, SoftSteel):
            return dataclasses.replace(
                body, matter=SoftSteel(steel=dataclasses.replace(matter.steel, h_factor_u=h_u))
            )
        return body

    return dataclasses.replace(assembly, bodies=tuple(spread(body) for body in assembly.bodies))


def bl(assembly: Assembly, refinement: float = 1.0):
    """Bl on a mesh of its own."""
    field = solve(mesh_of(assembly, MeshSettings(refinement=refinement, travel_m=2e-3)))
    return field.force_factor(assembly.winding, X)


def by_name(found, name: str):
    """The change by one of the things."""
    return found.change[found.names.index(name)]


def test_without_saturation_bl_goes_with_the_remanence() -> None:
    """Iron of constant permeability: every flux is proportional to Br, so one standard uncertainty changes Bl by br_u/br of itself."""
    found = field_influences(unsure(motor(linear(2000.0)), br_u=0.0038), X)
    grade = next(
        body.matter.grade for body in motor(linear(2000.0)).bodies if isinstance(body.matter, Magnet)
    )
    assert by_name(found, f"magnet.{grade.key}.remanence") == pytest.approx(0.01 * found.bl, rel=1e-3)


def test_against_fields_solved_anew() -> None:
    """A saturating motor on the fine mesh, remanence, steel and gap moved up by their standard uncertainty: within 5 % of the change,
    plus what the second order makes of the widest.
    """
    assembly = unsure(motor(mild()))
    found = field_influences(assembly, X)
    before = bl(assembly)
    magnet = next(body.matter.grade for body in assembly.bodies if isinstance(body.matter, Magnet))
    for kind, key, what in (("magnet", magnet.key, "remanence"), ("steel", "steel-1010", "field")):
        name = f"{kind}.{key}.{what}"
        up, down = (bl(with_material_moved(assembly, kind, key, z)) for z in (1.0, -1.0))
        second = np.abs(0.5 * (up + down) - before)
        assert by_name(found, name) == pytest.approx(
            up - before, rel=0.05, abs=1.5 * float(second.max()) + 2e-4
        ), name
    step = 5.0 * GAP_U_M  # far above the difference between meshes
    wider, narrower = (bl(with_gap_wider(assembly, sign * step), 0.7) for sign in (1.0, -1.0))
    assert by_name(found, "gap.width") == pytest.approx((wider - narrower) / 10.0, rel=0.06)


def test_flux_and_force_with_current_belong_together() -> None:
    """By co-energy L1'(x), read off the force, is the slope of L1(x), read off the flux linkage: over 2 mm within 6 %.

    Both are differences of some 1e-5 of what they come from; between meshes of half the size they move by half a per cent, and by a fifth on
    the coarse one that predictions use, where they matter to nobody.
    """
    x = 1e-3 * np.array([-1.0, 0.0, 1.0])
    found = modulation(motor(mild()), (4.0,), x, 1.0, judge=False)
    assert np.isnan(found.u_rel)
    assert found.even_linkage_wb is not None
    by_flux = (found.even_linkage_wb[1, 2] - found.even_linkage_wb[1, 0]) / 16.0
    slope = 3.0 * (found.bl[1] - found.bl[0]) / 16.0
    by_force = 1e-3 * (slope[0] + 4.0 * slope[1] + slope[2]) / 3.0
    assert by_flux == pytest.approx(by_force, rel=0.06)


def test_only_what_is_unsure_is_moved() -> None:
    """A catalogue steel with a curve of its own stays; gap and winding always move."""
    known = motor(SoftSteel(steel=dataclasses.replace(catalogue().steels["steel-1010"], h_factor_u=0.0)))
    found = field_influences(unsure(known, h_u=0.0), X)
    assert [name.split(".")[0] for name in found.names] == ["magnet", "gap", "coil"]
