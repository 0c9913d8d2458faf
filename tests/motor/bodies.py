"""Bodies of revolution for tests, lengths in millimetres."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np

from halfroll.materials.steel import MU_0
from halfroll.materials.types import MagnetGrade, Origin, Steel
from halfroll.motor.field.free_mesh import free_mesh
from halfroll.motor.field.magnetostatics import StaticField, solve
from halfroll.motor.types import Body, FieldCoil, Magnet, Matter, SoftSteel

ORIGIN = Origin(source="test", support="own")


def grade(br_t: float, mu_rec: float = 1.0) -> MagnetGrade:
    """A magnet with a straight demagnetisation line."""
    return MagnetGrade(
        key="test", title="test", family="neodymium", br_t=br_t, br_u_t=0.0, hcb_a_m=9e5, hcj_a_m=1e6,
        mu_rec=mu_rec, alpha_br_per_k=0.0, beta_hcj_per_k=0.0, highest_c=80.0, lowest_c=-40.0, density_kg_m3=7500.0,
        conductivity_s_m=0.0, origin=ORIGIN,
    )  # fmt: skip


def steel(h_a_m: Sequence[float], b_t: Sequence[float]) -> SoftSteel:
    """Steel by its table."""
    return SoftSteel(
        steel=Steel(
            key="test",
            title="test",
            h_a_m=tuple(h_a_m),
            b_t=tuple(b_t),
            conductivity_s_m=6e6,
            density_kg_m3=7850.0,
            origin=ORIGIN,
        )
    )


def linear(mu_r: float, up_to_t: float = 3.0) -> SoftSteel:
    """Matter of constant permeability up to a flux density."""
    return steel((0.0, up_to_t / (MU_0 * mu_r)), (0.0, up_to_t))


def up(br_t: float, mu_rec: float = 1.0) -> Magnet:
    """Magnet matter, magnetised outwards along the axis."""
    return Magnet(grade=grade(br_t, mu_rec), direction=(0.0, 1.0))


def down(br_t: float, mu_rec: float = 1.0) -> Magnet:
    """Magnet matter, magnetised inwards along the axis."""
    return Magnet(grade=grade(br_t, mu_rec), direction=(0.0, -1.0))


def body(name: str, matter: Matter, *corners_mm: tuple[float, float]) -> Body:
    """A body by its corners (r, z) in mm, anticlockwise."""
    return Body(name=name, outline=tuple((1e-3 * r, 1e-3 * z) for r, z in corners_mm), matter=matter)


def ring(name: str, matter: Matter, r0: float, r1: float, z0: float, z1: float) -> Body:
    """A ring, or a disc when `r0` is 0, in mm."""
    return body(name, matter, (r0, z0), (r1, z0), (r1, z1), (r0, z1))


def sphere(name: str, matter: Matter, radius: float, sides: int) -> Body:
    """A sphere of `radius` mm as a polygon of `sides` chords from pole to pole."""
    angle = np.linspace(-0.5 * math.pi, 0.5 * math.pi, sides + 1)
    inner = [(radius * math.cos(a), radius * math.sin(a)) for a in angle[1:-1]]
    return body(name, matter, (0.0, -radius), *inner, (0.0, radius))


def lifted(part: Body, dz_mm: float) -> Body:
    """The body farther up."""
    return dataclasses.replace(part, outline=tuple((r, z + 1e-3 * dz_mm) for r, z in part.outline))


def field_of(*bodies: Body, refinement: float = 1.0) -> StaticField:
    """The static field of bodies without a coil gap."""
    return solve(free_mesh(bodies, refinement))


def mean_over(field: StaticField, index: int, what: object) -> float:
    """Mean of a coefficient function over the volume of a body."""
    import ngsolve as ng

    region = field.motor.mesh.Materials(f"body{index}")
    whole = ng.Integrate(ng.x, field.motor.mesh, definedon=region)
    return float(ng.Integrate(ng.x * what, field.motor.mesh, order=6, definedon=region) / whole)


def linkage(field: StaticField, index: int) -> float:
    """Flux linkage (Wb) of a field coil."""
    import ngsolve as ng

    matter = field.motor.assembly.bodies[index].matter
    assert isinstance(matter, FieldCoil)
    region = field.motor.mesh.Materials(f"body{index}")
    area = ng.Integrate(ng.CF(1.0), field.motor.mesh, definedon=region)
    around = ng.Integrate(2.0 * math.pi * ng.x * field.potential, field.motor.mesh, order=6, definedon=region)
    return float(matter.turns / area * around)
