"""Makes half_roll_3d.json: a half roll of revolution in three dimensions with NGSolve, to hold the semi-analytical strip against.

Run with NGSolve 6.2.2608; 2 minutes. Units mm, N, MPa, t. Half roll of circular section between radii 30 and 40, isotropic.
Linear: half a turn, radial shift, tilt about the line through the clamps, own frequencies. Wrinkling: half a wave of 16 around the turn,
neo-Hooke, thin wall; the lowest eigenvalue of the tangent against the unit-density mass while the inner edge is pushed in.
"""

import json
from pathlib import Path

import netgen.occ as occ
import numpy as np
from ngsolve import (
    BND,
    BilinearForm,
    CoefficientFunction,
    Det,
    Grad,
    GridFunction,
    Id,
    InnerProduct,
    Mesh,
    Projector,
    TaskManager,
    Trace,
    Variation,
    VectorH1,
    div,
    ds,
    dx,
    x,
    z,
)
from scipy.sparse.linalg import LinearOperator, eigsh

E, NU, RHO = 26.0, 0.45, 1.2e-9
MU, LAM, BULK = E / 2 / (1 + NU), E * NU / (1 + NU) / (1 - 2 * NU), E / 3 / (1 - 2 * NU)


def half_roll(thickness, angle_deg, size, order):
    """The meshed roll over an angle; faces named inner, outer, sym0 (y = 0), sym1 (the other cut), side."""
    o, i = 5 + thickness / 2, 5 - thickness / 2
    wire = occ.Wire([
        occ.ArcOfCircle((35 - o, 0, 0), (35, 0, o), (35 + o, 0, 0)), occ.Segment((35 + o, 0, 0), (35 + i, 0, 0)),
        occ.ArcOfCircle((35 + i, 0, 0), (35, 0, i), (35 - i, 0, 0)), occ.Segment((35 - i, 0, 0), (35 - o, 0, 0)),
    ])  # fmt: skip
    body = occ.Face(wire).Revolve(occ.Axis((0, 0, 0), occ.Z), angle_deg)
    turn = np.deg2rad(angle_deg)
    for face in body.faces:
        low, high = face.bounding_box
        centre = face.center
        face.name = "side"
        if abs(low.z) < 1e-3 and abs(high.z) < 1e-3:
            face.name = "inner" if max(abs(low.x), abs(high.x)) < 33 else "outer"
        elif abs(centre.y) < 1e-6 and abs(high.y - low.y) < 1e-3:
            face.name = "sym0"
        elif abs(-np.sin(turn) * centre.x + np.cos(turn) * centre.y) < 1e-6:
            face.name = "sym1"
    mesh = Mesh(occ.OCCGeometry(body).GenerateMesh(maxh=size))
    mesh.Curve(order)
    return mesh, turn


def linear(size, order):
    """Stiffness against shift (N/mm), coupling (N), tilt (N mm) and the first five frequencies (Hz) of half a turn."""
    mesh, _ = half_roll(0.8, 180, size, order)
    space = VectorH1(mesh, order=order, dirichlet="inner|outer", dirichlety="sym0")
    u, v = space.TnT()
    sym = [0.5 * (Grad(w) + Grad(w).trans) for w in (u, v)]
    stiff = BilinearForm(2 * MU * InnerProduct(*sym) * dx + LAM * div(u) * div(v) * dx).Assemble()
    mass = BilinearForm(RHO * u * v * dx).Assemble()
    inverse = stiff.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky")
    moved = []
    for motion in (CoefficientFunction((1, 0, 0)), CoefficientFunction((z, 0, -x))):
        field = GridFunction(space)
        field.Set(motion, definedon=mesh.Boundaries("inner"))
        load = (stiff.mat * field.vec).Evaluate()
        field.vec.data -= inverse * load
        moved.append(field.vec)
    found = [[2 * InnerProduct((stiff.mat * a).Evaluate(), b) for b in moved] for a in moved]
    hz = [float(np.sqrt(q)) / 2 / np.pi for q in lowest_five(stiff.mat, mass.mat, inverse, space)]
    return {"shift_n_per_mm": found[0][0], "cross_n": found[0][1], "tilt_n_mm": found[1][1], "own_hz": hz}


def lowest_five(stiff, mass, inverse, space):
    """Eigenvalues by SciPy's Lanczos iteration on NGSolve's factors."""
    free = Projector(space.FreeDofs(), True)
    into, out = stiff.CreateColVector(), stiff.CreateColVector()

    def times(matrix):
        def product(values):
            into.FV().NumPy()[:] = np.ravel(values)
            into.data = free * into
            out.data = matrix * into
            out.data = free * out
            return out.FV().NumPy().copy()

        return LinearOperator((space.ndof, space.ndof), matvec=product, dtype=float)

    start = np.random.default_rng(1).normal(size=space.ndof)
    found = eigsh(
        times(stiff), k=5, M=times(mass), sigma=0.0, OPinv=times(inverse), v0=start, return_eigenvectors=False
    )
    return np.sort(found)


class Bent:
    """Half a wave of a thin roll, pushed in step by step."""

    def __init__(self, thickness, waves, size, order):
        self.mesh, turn = half_roll(thickness, 180 / waves, size, order)
        self.space = VectorH1(self.mesh, order=order, dirichlet="inner|outer", dirichlety="sym0")
        u, v = self.space.TnT()
        f = Id(3) + Grad(u)
        j = Det(f)
        self.energy = BilinearForm(self.space, symmetric=True)
        self.energy += Variation(
            (MU / 2 * (j ** (-2 / 3) * Trace(f.trans * f) - 3) + BULK / 2 * (j - 1) ** 2) * dx
        )
        normal = CoefficientFunction((-np.sin(turn), np.cos(turn), 0))
        self.energy += Variation(0.5e6 * (u * normal) ** 2 * ds("sym1"))
        self.mass = BilinearForm(u * v * dx, symmetric=True).Assemble()
        self.at = GridFunction(self.space)
        self.waves = waves

    def edge(self, z_mm):
        """The field that is z at the inner edge and nothing elsewhere."""
        field = GridFunction(self.space)
        field.Set(CoefficientFunction((0, 0, z_mm)), definedon=self.mesh.Boundaries("inner"), VOL_or_BND=BND)
        return field.vec

    def push(self, before, after):
        """Newton's method from one place of the edge to the next; the force of the whole turn (N)."""
        free = self.space.FreeDofs()
        step = (self.edge(after) - self.edge(before)).Evaluate()
        for number in range(30):
            self.energy.AssembleLinearization(self.at.vec)
            inverse = self.energy.mat.Inverse(free, inverse="sparsecholesky")
            force = self.at.vec.CreateVector()
            self.energy.Apply(self.at.vec, force)
            if number == 0:
                force.data += self.energy.mat * step
            change = (-1.0 * (inverse * force)).Evaluate()
            if number == 0:
                change.data += step
            self.at.vec.data += change
            if change.Norm() < 1e-10 * self.at.vec.Norm():
                break
        self.energy.AssembleLinearization(self.at.vec)
        self.energy.Apply(self.at.vec, force)
        return 2 * self.waves * InnerProduct(force, self.edge(1.0))

    def lowest(self):
        """The lowest eigenvalue of the tangent against the mass (MPa/mm²), by inverse iteration below it."""
        free = self.space.FreeDofs()
        shifted = self.energy.mat.CreateMatrix()
        shifted.AsVector().data = self.energy.mat.AsVector() + 0.02 * self.mass.mat.AsVector()
        inverse = shifted.Inverse(free, inverse="sparsecholesky")
        vector = self.at.vec.CreateVector()
        vector.SetRandom(1)
        vector.data = Projector(free, True) * vector
        for _ in range(200):
            turned = (inverse * (self.mass.mat * vector)).Evaluate()
            vector.data = turned / np.sqrt(InnerProduct(turned, (self.mass.mat * turned).Evaluate()))
        return InnerProduct(vector, (self.energy.mat * vector).Evaluate())


def wrinkling(size, order):
    """Travel (mm), force (N) and lowest eigenvalue of the thin roll as its edge is pushed in, up to where it wrinkles."""
    bent, before, rows = Bent(0.3, 16, size, order), 0.0, []
    for place in (-2.0, -4.0, -5.0, -5.2, -5.3, -5.4):
        force = bent.push(before, place)
        before = place
        rows.append({"x_mm": place, "force_n": force, "lowest": bent.lowest()})
    return rows


if __name__ == "__main__":
    with TaskManager():
        told = {
            "linear": {f"{size} mm, order {order}": linear(size, order) for size, order in ((2.0, 3), (1.5, 4), (1.2, 4))},
            "wrinkling": {f"{size} mm, order {order}": wrinkling(size, order) for size, order in ((1.0, 3), (1.0, 4))},
        }  # fmt: skip
    Path(__file__).with_suffix(".json").write_text(json.dumps(told, indent=1) + "\n")
