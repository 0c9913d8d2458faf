"""Axial force on parts of a motor, from Maxwell's stress in the air around them.

The force is the flux of the stress tensor T = (B B - B²/2 · 1)/μ0 through any surface around the parts. Averaged over all
surfaces in between, it becomes a volume integral (J. Coulomb, "A methodology for the determination of global
electromechanical quantities from a finite element analysis", IEEE Trans. Magn. 19(6), 2514, 1983; F. Henrotte and K. Hameyer,
"Computation of electromagnetic force densities: Maxwell stress tensor vs. virtual work principle", J. Comput. Appl. Math.
168, 235, 2004):

    F_z = - ∫ T_z · grad w dV,    w = 1 on the parts, 0 on all others and far away.

w is the harmonic function between them, so all of the air counts and no single row of elements decides. It equals the
derivative of the discrete energy when the mesh is dragged along with w.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import Any

import numpy as np

from halfroll.core.errors import InputError
from halfroll.materials.steel import MU_0
from halfroll.motor.field.discrete import flux_density_of
from halfroll.motor.field.magnetostatics import ORDER, StaticField
from halfroll.motor.types import Body, FieldCoil, Magnet, SoftSteel


def is_magnetic(body: Body) -> bool:
    """Whether the static field acts on a body: magnets, steel and field coils."""
    return isinstance(body.matter, Magnet | SoftSteel | FieldCoil)


def axial_force(field: StaticField, names: Collection[str]) -> float:
    """Force along the axis (N, positive outwards) on one body or on a group moved as one.

    Parameters
    ----------
    field
        The static field.
    names
        Names of the bodies; magnets, steel and field coils among all others must be separated from them by air, glue or
        other matter without magnetism.

    Raises
    ------
    InputError
        A name that is not in the assembly, or a part of the group that touches one outside it: the force between two
        bodies in contact depends on the glue line between them.
    """
    import ngsolve as ng

    assembly = field.motor.assembly
    for name in names:
        if all(body.name != name for body in assembly.bodies):
            raise InputError("The force must be asked for on a part of the motor", found=name,
                             allowed=[body.name for body in assembly.bodies])  # fmt: skip
    moved = [f"body{i}" for i, body in enumerate(assembly.bodies) if body.name in names]
    held = [
        f"body{i}" for i, body in enumerate(assembly.bodies) if body.name not in names and is_magnetic(body)
    ]
    if field.current_a:
        held.append("winding")
    mesh = field.motor.mesh
    weight = _weight(mesh, moved, held, names)
    between = [region for region in set(mesh.GetMaterials()) if region not in (*moved, *held)]
    b, slope = flux_density_of(field.potential), ng.grad(weight)
    along = (b * slope) * b[1] - 0.5 * (b * b) * slope[1]
    total = ng.Integrate(
        2.0 * math.pi * ng.x * along,
        mesh,
        order=2 * ORDER,
        definedon=mesh.Materials("|".join(sorted(between))),
    )
    return float(-total / MU_0)


def _weight(mesh: Any, moved: list[str], held: list[str], names: Collection[str]) -> Any:
    """The harmonic function that is 1 on the moved and 0 on the held regions and far away."""
    import ngsolve as ng

    space = ng.H1(mesh, order=1)
    one = space.GetDofs(mesh.Materials("|".join(moved)))
    zero = space.GetDofs(mesh.Boundaries("far"))
    if held:
        zero = zero | space.GetDofs(mesh.Materials("|".join(held)))
    if (one & zero).NumSet():
        raise InputError("The parts a force is asked for must not touch another magnet or steel part",
                         found=", ".join(names), remedy="State the glue in the joint, or move them apart")  # fmt: skip
    weight = ng.GridFunction(space)
    weight.vec.FV().NumPy()[:] = np.fromiter((float(bit) for bit in one), float, space.ndof)
    trial, test = space.TnT()
    form = ng.BilinearForm(ng.x * ng.grad(trial) * ng.grad(test) * ng.dx, symmetric=True).Assemble()
    free = ~(one | zero)
    rest = (form.mat * weight.vec).Evaluate()
    weight.vec.data -= form.mat.Inverse(free, inverse="sparsecholesky") * rest
    return weight


def winding_force(field: StaticField) -> float:
    """Force along the axis (N, positive outwards) on the winding cut out of the mesh, from its current in the field: the
    volume integral of -J B_r.
    """
    import ngsolve as ng

    motor = field.motor
    winding = motor.assembly.winding
    if winding is None or not field.current_a:
        return 0.0
    region = motor.mesh.Materials("winding")
    area = float(ng.Integrate(ng.CF(1.0), motor.mesh, definedon=region))
    b_r = flux_density_of(field.potential)[0]
    moment = float(ng.Integrate(2.0 * math.pi * ng.x * b_r, motor.mesh, order=2 * ORDER, definedon=region))
    return -winding.turns * field.current_a / area * moment
