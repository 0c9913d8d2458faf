"""Motors for the tests of eddy currents: a stored reference and pieces to build plain ones from."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from halfroll.materials.steel import MU_0
from halfroll.materials.types import Conductor, MagnetGrade, Origin, Steel
from halfroll.motor.types import Assembly, Body, Gap, Magnet, Matter, Ring, SoftSteel, Winding

REFERENCES = Path(__file__).parents[1] / "references" / "motor"
OF_TEST = Origin(source="made up for a test", support="own")
COPPER = Conductor(
    key="copper", title="copper", resistivity_ohm_m=1.0 / 58e6, alpha_per_k=3.93e-3, density_kg_m3=8890.0,
    specific_heat_j_kg_k=385.0, expansion_per_k=17e-6, origin=OF_TEST,
)  # fmt: skip


def steel(h_a_m: tuple[float, ...], b_t: tuple[float, ...], conductivity_s_m: float) -> Steel:
    """A steel by its magnetisation curve."""
    return Steel(
        key="steel", title="steel", h_a_m=h_a_m, b_t=b_t, conductivity_s_m=conductivity_s_m, density_kg_m3=7850.0,
        origin=OF_TEST,
    )  # fmt: skip


def linear_steel(mu_r: float, conductivity_s_m: float) -> Steel:
    """A metal whose permeability is the same at any field."""
    b = (0.0, 1.0, 2.0)
    return steel(tuple(x / (MU_0 * mu_r) for x in b), b, conductivity_s_m)


def ferrite(br_t: float, mu_rec: float, conductivity_s_m: float = 0.0) -> MagnetGrade:
    """A magnet's grade by its remanence."""
    return MagnetGrade(
        key="m", title="m", family="ferrite", br_t=br_t, br_u_t=0.0, hcb_a_m=2e5, hcj_a_m=2.5e5, mu_rec=mu_rec,
        alpha_br_per_k=0.0, beta_hcj_per_k=0.0, highest_c=200.0, lowest_c=-40.0, density_kg_m3=4900.0,
        conductivity_s_m=conductivity_s_m, origin=OF_TEST,
    )  # fmt: skip


def rectangle_body(name: str, r0: float, r1: float, z0: float, z1: float, matter: Matter) -> Body:
    """A disc or ring (m)."""
    return Body(name=name, outline=((r0, z0), (r1, z0), (r1, z1), (r0, z1)), matter=matter)


def reference(name: str = "A1") -> tuple[dict[str, Any], Assembly]:
    """A stored reference and the motor it is of."""
    stored = json.loads((REFERENCES / f"{name}.json").read_text(encoding="utf-8"))
    table, magnet = stored["steel"], stored["magnets"]["magnet"]
    iron = SoftSteel(steel=steel(tuple(table["H"]), tuple(table["B"]), 5.8e6))
    hard = Magnet(grade=ferrite(magnet["Br"], magnet["mu"]), direction=(0.0, magnet["sign"]))
    names = ("pole", "back plate", "magnet", "top plate")
    bodies = tuple(
        Body(name=part, outline=_corners(q), matter=iron if q["material"] == "steel" else hard)
        for part, q in zip(names, stored["rectangles"], strict=True)
    )
    gap, coil = stored["gap"], stored["coil"]
    return stored, Assembly(
        bodies=bodies,
        gap=Gap(inner="pole", outer="top plate", r_inner=1e-3 * gap["r0"], r_outer=1e-3 * gap["r1"],
                z_low=1e-3 * gap["z0"], z_high=1e-3 * gap["z1"]),
        winding=Winding(r_inner=1e-3 * coil["r0"], r_outer=1e-3 * coil["r1"], z_low=-0.5e-3 * coil["height"],
                        z_high=0.5e-3 * coil["height"], turns=coil["turns"]),
    )  # fmt: skip


def _corners(q: dict[str, float]) -> tuple[tuple[float, float], ...]:
    r0, r1, z0, z1 = (1e-3 * q[side] for side in ("r0", "r1", "z0", "z1"))
    return (r0, z0), (r1, z0), (r1, z1), (r0, z1)


def with_body(assembly: Assembly, body: Body) -> Assembly:
    """The motor with one more body."""
    return replace(assembly, bodies=(*assembly.bodies, body))


def with_matter(assembly: Assembly, name: str, matter: Matter) -> Assembly:
    """The motor with a body made of something else."""
    return replace(
        assembly, bodies=tuple(replace(b, matter=matter) if b.name == name else b for b in assembly.bodies)
    )


def copper_ring(name: str, r0: float, r1: float, z0: float, z1: float) -> Body:
    """A ring of copper (m)."""
    return rectangle_body(name, r0, r1, z0, z1, Ring(conductor=COPPER))
