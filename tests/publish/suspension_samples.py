"""Bent parts for the tests of charts and drawings: a half-roll surround and a corrugated spider, computed by the solver itself
(its numbers are checked elsewhere; here only what is drawn of them matters).
"""

from __future__ import annotations

import functools

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.equilibrium import walk
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.midline import MidLine, Profile
from halfroll.suspension.elastic.ring import Ring
from halfroll.suspension.elastic.strip import mesh_strip
from halfroll.suspension.results import (
    BentShape,
    PartResult,
    Rocking,
    StiffnessCurve,
    SuspensionResult,
    TravelRange,
)

TRAVEL_M = 5e-3


def half_roll() -> Profile:
    """A half-ellipse between radii of 30 and 40 mm, 5 mm high, 0.8 mm thick."""

    def curve(s: FloatArray) -> MidLine:
        c, w = np.cos(np.pi * s), np.sin(np.pi * s)
        p = np.pi
        return MidLine(
            r=35e-3 - 5e-3 * c,
            z=5e-3 * w,
            r1=5e-3 * p * w,
            z1=5e-3 * p * c,
            r2=5e-3 * p * p * c,
            z2=-5e-3 * p * p * w,
        )

    return Profile(
        title="half roll", curve=curve, thickness=lambda s: (np.full_like(s, 0.8e-3), np.zeros_like(s))
    )


def waves() -> Profile:
    """Three waves of 1.5 mm amplitude between radii of 12 and 28 mm, 0.45 mm thick, 12 mm below."""
    w = 6 * np.pi

    def curve(s: FloatArray) -> MidLine:
        a = 1.5e-3
        return MidLine(r=12e-3 + 16e-3 * s, z=a * np.sin(w * s) - 12e-3, r1=np.full_like(s, 16e-3), z1=a * w * np.cos(w * s),
                       r2=np.zeros_like(s), z2=-a * w * w * np.sin(w * s))  # fmt: skip

    return Profile(
        title="corrugated", curve=curve, thickness=lambda s: (np.full_like(s, 0.45e-3), np.zeros_like(s))
    )


def part(name: str, profile: Profile, material: Elastic, u: float, thickness_m: float) -> PartResult:
    """A part bent both ways, with shapes at seven displacements."""
    body = Ring(mesh_strip(profile, np.linspace(0, 1, 17)), material)
    hold = body.clamps()
    stops = np.linspace(0, TRAVEL_M, 13)
    out, back = walk(body, hold, stops), walk(body, hold, -stops[1:])
    states = [*reversed(back), *out]
    x = np.array([state.x_m for state in states])
    force = np.array([state.force_n for state in states])
    tangent = np.array([state.stiffness_n_per_m for state in states])
    with np.errstate(divide="ignore", invalid="ignore"):
        kms = np.where(x == 0, tangent, force / x)
    shapes = [_shape(body, state.x_m, state.u, thickness_m) for state in states]
    limit = np.flatnonzero(kms[12] / kms > 0.75)
    with np.errstate(all="ignore"):
        strain = np.array([np.nanmax(shape.strain) for shape in shapes])
        hoop = np.array([np.nanmin(shape.hoop_strain) for shape in shapes])
    return PartResult(
        name=name, curve=StiffnessCurve(x_m=x, force_n=force, tangent_n_per_m=tangent, kms_n_per_m=kms, u_relative=u),
        asymmetry=float((kms[-1] - kms[0]) / (kms[-1] + kms[0])),
        limit=TravelRange(low_m=float(x[limit[0]]), high_m=float(x[limit[-1]]), full_low=limit[0] == 0, full_high=limit[-1] == 24),
        strain=strain, stress_pa=strain * material.modulus_pa, hoop_strain=hoop, mass_kg=1.6e-3, moving_kg=0.7e-3, area_m2=1.1e-3,
        radial_n_per_m=3000.0, tilt_nm_per_rad=0.2, cross_n_per_rad=0.0, own_hz=((410.0, 0), (455.0, 1)), shapes=tuple(shapes[::4]),
        mesh_error=1e-3, reached_m=(-TRAVEL_M, TRAVEL_M),
    )  # fmt: skip


def _shape(body: Ring, x_m: float, u: FloatArray, thickness_m: float) -> BentShape:
    mesh = body.mesh
    r, z = mesh.r + u[0::2], mesh.z + u[1::2]
    across, along = mesh.across, len(r) // mesh.across
    number = np.arange(len(r)).reshape(along, across)
    edge = np.concatenate([number[:, 0], number[-1, 1:], number[::-1, -1][1:], number[0, ::-1][1:-1]])
    a, b, c, d = number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]
    triangles = np.concatenate(
        [np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)]
    )
    points = np.column_stack([mesh.at_r.ravel(), mesh.at_z.ravel()])
    f = body.gradient(u).reshape(-1, 3, 3)
    green = 0.5 * (np.einsum("nki,nkj->nij", f, f) - np.eye(3))
    most = np.linalg.eigvalsh(green)[:, -1]
    nodes = np.column_stack([mesh.r, mesh.z])
    from scipy.spatial import cKDTree

    _, near = cKDTree(points).query(nodes)
    strain, hoop = most[near], green[:, 2, 2][near]
    clamp = (np.arange(along) < 2 * thickness_m / 1e-3 * 2)[:, None] | (
        np.arange(along) > along - 1 - 4 * thickness_m / 1e-3
    )[:, None]
    blank = np.broadcast_to(clamp, (along, across)).ravel()
    return BentShape(
        x_m=x_m, outline_m=np.column_stack([r[edge], z[edge]]), places_m=np.column_stack([r, z]), triangles=triangles,
        strain=np.where(blank, np.nan, strain), hoop_strain=np.where(blank, np.nan, hoop),
    )  # fmt: skip


@functools.cache
def suspension() -> SuspensionResult:
    """Surround and spider together."""
    surround = part("surround", half_roll(), Elastic(modulus_pa=26e6, poisson=0.45), 0.18, 0.8e-3)
    spider = part("spider", waves(), Elastic(modulus_pa=60e6, poisson=0.4), 0.12, 0.45e-3)
    a, b = surround.curve, spider.curve
    kms = a.kms_n_per_m + b.kms_n_per_m
    whole = StiffnessCurve(x_m=a.x_m, force_n=a.force_n + b.force_n, tangent_n_per_m=a.tangent_n_per_m + b.tangent_n_per_m,
                           kms_n_per_m=kms, u_relative=0.13)  # fmt: skip
    inside = np.flatnonzero(kms[12] / kms > 0.75)
    return SuspensionResult(
        parts=(surround, spider), curve=whole, asymmetry=float((kms[-1] - kms[0]) / (kms[-1] + kms[0])),
        limit=TravelRange(low_m=float(a.x_m[inside[0]]), high_m=float(a.x_m[inside[-1]]), full_low=inside[0] == 0, full_high=inside[-1] == 24),
        moving_kg=12e-3, moving_u_kg=0.3e-3, resonance_hz=92.0, resonance_u_hz=6.0, sag_m=40e-6, sag_later_m=52e-6,
        rocking=Rocking(rocking_hz=160.0, rocking_u_hz=12.0, pivot_m=3e-3, shift_hz=310.0),
    )  # fmt: skip
