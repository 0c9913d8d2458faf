"""Makes cone_shell.json: resonances of a cone as an axisymmetric solid with NGSolve, to hold the shell of lines against.

Run with NGSolve 6.2.2608; 10 seconds. Units mm, N, MPa, t. Two bodies:

free   a straight cone, middle line (10, 0) to (30, 12), 0.6 thick, both edges free
whole  the same cone with a former (tube 9.7 to 10.3 about radius 10, from -14 to 0), a cap (part of a sphere, rim at radius 14 on the
       cone, 4 high) and a half roll (circle about (35, 12), radius 5, 0.8 thick) clamped at radius 40

Cone, former, cap: E 3500, nu 0.36, 1.24e-9; roll: E 26, nu 0.45, 1.2e-9. One body; where cone and roll overlap it is cone.
"""

import json
from pathlib import Path

import netgen.occ as occ
import numpy as np
from ngsolve import (
    BilinearForm,
    CoefficientFunction,
    Grad,
    GridFunction,
    IfPos,
    InnerProduct,
    Integrate,
    LinearForm,
    Mesh,
    VectorH1,
    ds,
    dx,
    sqrt,
    x,
    y,
)
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import eigsh, spsolve

LOSSES = (0.05, 0.15)
SHAKEN_HZ = (300.0, 700.0, 1600.0, 2600.0, 4400.0)
PLACES = ((10.0, -13.999), (20.0, 6.0), (29.9, 11.94), (0.001, 6.75))
"""Foot of the former, middle and edge of the cone, top of the cap (mm)."""

STIFF, SOFT = (3500.0, 0.36, 1.24e-9), (26.0, 0.45, 1.2e-9)


def band(curve, thickness, pieces=60):
    """A wall about a middle line curve(s) -> (r, z, r', z'), as a face."""
    s = np.linspace(0, 1, pieces + 1)
    r, z, r1, z1 = curve(s)
    length = np.hypot(r1, z1)
    up = np.column_stack([r - z1 / length * thickness / 2, z + r1 / length * thickness / 2])
    down = np.column_stack([r + z1 / length * thickness / 2, z - r1 / length * thickness / 2])
    corners = [(float(max(a, 0.0)), float(b), 0.0) for a, b in np.vstack([up, down[::-1]])]
    edges = [
        occ.Segment(p, q)
        for p, q in zip(corners, corners[1:] + corners[:1], strict=True)
        if np.hypot(p[0] - q[0], p[1] - q[1]) > 1e-9
    ]
    return occ.Face(occ.Wire(edges))


def straight(a, b):
    """A straight middle line."""
    return lambda s: (
        a[0] + (b[0] - a[0]) * s,
        a[1] + (b[1] - a[1]) * s,
        0 * s + b[0] - a[0],
        0 * s + b[1] - a[1],
    )


def arc(r0, z0, radius, first, last):
    """Part of a circle between two angles."""
    turn = last - first
    return lambda s: (
        r0 + radius * np.cos(first + turn * s), z0 + radius * np.sin(first + turn * s),
        -radius * turn * np.sin(first + turn * s), radius * turn * np.cos(first + turn * s),
    )  # fmt: skip


def faces(which):
    """The half-section as one face."""
    cone = band(straight((10, 0), (30, 12)), 0.6, 1)
    if which == "free":
        return cone
    former = band(straight((10, -14), (10, 0.2)), 0.3, 1)
    rim, height = 14.0, 4.0
    radius = (rim**2 + height**2) / 2 / height
    seat = 12 / 20 * 4 + 0.35
    cap = band(arc(0, seat + height - radius, radius, np.pi / 2, np.arcsin((radius - height) / radius)), 0.6)
    roll = band(arc(35, 12, 5, np.pi, 0), 0.8)
    return cone + former + cap + roll


class Solid:
    """A body meshed, with its stiffness and mass over the free degrees of freedom, all over 2 pi."""

    def __init__(self, which, size, order, losses=(0.0, 0.0)):
        shape = faces(which)
        for edge in shape.edges:
            middle = edge.center
            if which == "whole" and abs(middle.x - 40) < 1e-3 and abs(middle.y - 12) < 1e-3:
                edge.name = "clamp"
            elif abs(middle.x) < 1e-6:
                edge.name = "axis"
            elif abs(middle.y + 14) < 1e-3:
                edge.name = "foot"
        self.mesh = Mesh(occ.OCCGeometry(shape, dim=2).GenerateMesh(maxh=size))
        assert which == "free" or {"clamp", "axis", "foot"} <= set(self.mesh.GetBoundaries())
        self.space = VectorH1(self.mesh, order=order, dirichlet="clamp", dirichletx="clamp|axis")
        # One face, so that all is joined; soft is what lies in the roll's band over its clamps, and not in the cone's.
        in_roll = IfPos(0.41 - sqrt((sqrt((x - 35) ** 2 + (y - 12) ** 2) - 5) ** 2), IfPos(y - 12, 1, 0), 0)
        in_cone = IfPos(
            0.3 - sqrt((3 * (x - 10) - 5 * y) ** 2 / 34), IfPos(5 * (x - 30) + 3 * (y - 12), 0, 1), 0
        )
        soft = in_roll * (1 - in_cone) if which == "whole" else CoefficientFunction(0)
        young, nu, rho = (soft * SOFT[i] + (1 - soft) * STIFF[i] for i in range(3))
        self.free = np.flatnonzero(np.array(list(self.space.FreeDofs())))
        self.stiffness = self._elastic(young, nu)
        lossy = young * (soft * losses[1] + (1 - soft) * losses[0])
        self.loss = self._elastic(lossy, nu) if any(losses) else None
        u, v = self.space.TnT()
        self.mass = self._matrix(BilinearForm(rho * InnerProduct(u, v) * x * dx))

    def _elastic(self, young, nu):
        def strains(w):
            g = Grad(w)
            return g[0, 0], g[1, 1], w[0] / x, g[0, 1] + g[1, 0]

        mu, lam = young / 2 / (1 + nu), young * nu / (1 + nu) / (1 - 2 * nu)
        u, v = self.space.TnT()
        a, b = strains(u), strains(v)
        density = (
            2 * mu * sum(a[i] * b[i] for i in range(3)) + lam * sum(a[:3]) * sum(b[:3]) + mu * a[3] * b[3]
        )
        return self._matrix(BilinearForm(density * x * dx(bonus_intorder=2)))

    def _matrix(self, form):
        form.Assemble()
        rows, columns, values = form.mat.COO()
        whole = csc_matrix(
            (np.array(values), (np.array(rows), np.array(columns))), shape=(self.space.ndof,) * 2
        )
        return whole[self.free][:, self.free]


def solve(which, size, order):
    """The lowest nine resonances (Hz)."""
    body = Solid(which, size, order)
    squared = eigsh(body.stiffness, k=9, M=body.mass, sigma=-1e4, return_eigenvectors=False)
    return [round(float(f), 2) for f in np.sqrt(np.maximum(np.sort(squared), 0)) / 2 / np.pi]


def shake(size, order):
    """Complex u_z (mm/N) of the whole, lossy body at `PLACES` for a force of 1 N spread over the former's foot, by frequency (Hz)."""
    body = Solid("whole", size, order, losses=LOSSES)
    _, v = body.space.TnT()
    load = LinearForm(body.space)
    load += v[1] * x * ds("foot")
    load.Assemble()
    around = Integrate(x * ds("foot"), body.mesh)
    right = np.array(load.vec.FV().NumPy())[body.free] / (2 * np.pi * around)
    field, found = GridFunction(body.space), {}
    for hz in SHAKEN_HZ:
        matrix = body.stiffness + 1j * body.loss - (2 * np.pi * hz) ** 2 * body.mass
        moved = spsolve(matrix.tocsc(), right.astype(complex))
        at = []
        for part in (moved.real, moved.imag):
            field.vec.FV().NumPy()[:] = 0.0
            field.vec.FV().NumPy()[body.free] = part
            at.append([field(body.mesh(*place))[1] for place in PLACES])
        found[f"{hz:g}"] = [[round(re, 10), round(im, 10)] for re, im in zip(*at, strict=True)]
    return found


if __name__ == "__main__":
    meshes = ((0.6, 3), (0.3, 4))
    result = {
        which: {f"{size} mm, order {order}": solve(which, size, order) for size, order in meshes}
        for which in ("free", "whole")
    }
    result["shaken"] = {f"{size} mm, order {order}": shake(size, order) for size, order in meshes}
    Path(__file__).with_suffix(".json").write_text(json.dumps(result, indent=1) + "\n")
