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
    IfPos,
    InnerProduct,
    Mesh,
    VectorH1,
    dx,
    sqrt,
    x,
    y,
)
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import eigsh

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


def solve(which, size, order):
    """The lowest nine resonances (Hz)."""
    shape = faces(which)
    for edge in shape.edges:
        middle = edge.center
        if which == "whole" and abs(middle.x - 40) < 1e-3 and abs(middle.y - 12) < 1e-3:
            edge.name = "clamp"
        elif abs(middle.x) < 1e-6:
            edge.name = "axis"
    mesh = Mesh(occ.OCCGeometry(shape, dim=2).GenerateMesh(maxh=size))
    assert which == "free" or {"clamp", "axis"} <= set(mesh.GetBoundaries())
    space = VectorH1(mesh, order=order, dirichlet="clamp", dirichletx="clamp|axis")
    # One face, so that all is joined; soft is what lies in the roll's band over its clamps, and not in the cone's.
    in_roll = IfPos(0.41 - sqrt((sqrt((x - 35) ** 2 + (y - 12) ** 2) - 5) ** 2), IfPos(y - 12, 1, 0), 0)
    in_cone = IfPos(0.3 - sqrt((3 * (x - 10) - 5 * y) ** 2 / 34), IfPos(5 * (x - 30) + 3 * (y - 12), 0, 1), 0)
    soft = in_roll * (1 - in_cone) if which == "whole" else CoefficientFunction(0)
    young, nu, rho = (soft * SOFT[i] + (1 - soft) * STIFF[i] for i in range(3))
    mu, lam = young / 2 / (1 + nu), young * nu / (1 + nu) / (1 - 2 * nu)
    (u, v) = space.TnT()

    def strains(w):
        g = Grad(w)
        return g[0, 0], g[1, 1], w[0] / x, g[0, 1] + g[1, 0]

    a, b = strains(u), strains(v)
    k = BilinearForm(
        (2 * mu * sum(a[i] * b[i] for i in range(3)) + lam * sum(a[:3]) * sum(b[:3]) + mu * a[3] * b[3])
        * x
        * dx(bonus_intorder=2)
    )
    m = BilinearForm(rho * InnerProduct(u, v) * x * dx)
    k.Assemble()
    m.Assemble()
    free = np.flatnonzero(np.array(list(space.FreeDofs())))

    def matrix(form):
        rows, columns, values = form.mat.COO()
        return csc_matrix(
            (np.array(values), (np.array(rows), np.array(columns))), shape=(space.ndof, space.ndof)
        )[free][:, free]

    squared = eigsh(matrix(k), k=9, M=matrix(m), sigma=-1e4, return_eigenvectors=False)
    return [round(float(f), 2) for f in np.sqrt(np.maximum(np.sort(squared), 0)) / 2 / np.pi]


if __name__ == "__main__":
    found = {
        which: {
            f"{size} mm, order {order}": solve(which, size, order) for size, order in ((0.6, 3), (0.3, 4))
        }
        for which in ("free", "whole")
    }
    Path(__file__).with_suffix(".json").write_text(json.dumps(found, indent=1) + "\n")
