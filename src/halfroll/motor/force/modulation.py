"""How the coil's own current changes the force factor: from the whole nonlinear field with the current in it.

A current i and a displacement x give a flux linkage ψ(x, i) and a force F(x, i), which is the slope of the co-energy over x.
With ψ = ψ0(x) + L(x) i + L2(x) i³/3 + ... the force is Bl i + L'(x) i²/2 + ...: one part turns with the current, one does
not. Both currents are solved for, and then

    Bl(x, i) = (F(x, i) - F(x, -i)) / (2 i),      reluctance force = (F(x, i) + F(x, -i)) / 2.

Without saturation Bl(x, i) does not depend on i, and the reluctance force is i² L'(x)/2, which draws the coil to where its
inductance is largest (reluctance force: H. H. Woodson and J. R. Melcher, "Electromechanical Dynamics", part I, ch. 3, 1968).
The currents are held: eddy currents, which weaken the effect as frequency rises, and hysteresis are left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.core.text import MINUS
from halfroll.core.verdicts import Severity, Verdict
from halfroll.motor.field.magnetostatics import StaticField, solve
from halfroll.motor.field.mesh import MeshSettings, MotorMesh, mesh_of
from halfroll.motor.force.stress import winding_force
from halfroll.motor.results import Modulation
from halfroll.motor.types import Assembly

SMALL_CURRENT = 1e-3
"""Share of the largest current that stands for no current: the limit of F/i and of ψ/i, far above rounding."""

NOTED = 0.01
MUCH = 0.05
"""Shares of Bl at rest from which a change by current is noted, and from which it is a caution (own choice)."""


def modulation(
    assembly: Assembly,
    currents_a: Sequence[float],
    x_m: Sequence[float],
    refinement: float = 2.0,
    progress: Progress = silent,
    *,
    judge: bool = True,
) -> Modulation:
    """Force factor over displacement at several currents.

    Parameters
    ----------
    assembly
        A motor with its winding.
    currents_a
        Peak currents (A), of either sign; their absolute values are taken, and 0 is put in front.
    x_m
        Displacements (m), ascending.
    refinement
        Of the mesh, see `MeshSettings`. The change by current comes from one mesh and does not feel its coarseness; the
        force factor itself is compared at rest with a mesh twice as fine, which gives `u_rel`.
    progress
        Called before every field; may raise `CancelledError`.
    judge
        Whether the finer mesh is solved, too; `u_rel` is nan otherwise.

    Raises
    ------
    InputError
        No winding; currents that are all 0; displacements that do not ascend.
    """
    currents, x = _checked(assembly, currents_a, x_m)
    shape = (len(currents), len(x))
    bl, reluctance, inductance, even = (np.empty(shape) for _ in range(4))
    for j, at in enumerate(x):
        within = part(progress, j / (len(x) + 1), (j + 1) / (len(x) + 1))
        motor = _meshed(assembly, x, float(at), refinement)
        bl[:, j], reluctance[:, j], inductance[:, j], even[:, j] = _with_currents(motor, currents, within)
    rest = int(np.argmin(np.abs(x)))
    progress(len(x) / (len(x) + 1), "finer mesh")
    u_rel = math.nan
    if judge:
        finer = _meshed(assembly, x, float(x[rest]), 0.5 * refinement)
        smallest = SMALL_CURRENT * float(currents[-1])
        fine = float(_with_currents(finer, np.array([0.0]), silent, smallest_a=smallest)[0][0])
        u_rel = abs(float(bl[0, rest]) / fine - 1.0) if fine else 0.0
    return Modulation(
        current_a=currents,
        x_m=x,
        bl=bl,
        reluctance_n=reluctance,
        inductance_h=inductance,
        u_rel=u_rel,
        verdicts=_verdicts(currents, x, bl, reluctance),
        even_linkage_wb=even,
    )


def _meshed(assembly: Assembly, x: FloatArray, at: float, refinement: float) -> MotorMesh:
    travel = max(float(np.abs(x).max()), MeshSettings().travel_m)
    return mesh_of(assembly, MeshSettings(refinement=refinement, travel_m=travel, cut_winding_at_m=at))


def _with_currents(
    motor: MotorMesh, currents: FloatArray, progress: Progress, smallest_a: float = 0.0
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Force factor, reluctance force, inductance and even part of the flux linkage (c,) of a coil in one place at currents from 0."""
    smallest = smallest_a or SMALL_CURRENT * float(currents[-1])
    at = motor.settings.cut_winding_at_m or 0.0
    found = np.empty((4, len(currents)))
    ahead: StaticField | None = None
    behind: StaticField | None = None
    for i, current in enumerate(currents):
        progress(i / len(currents), f"coil at {1e3 * at:+.3g} mm, {current:.3g} A")
        amount = float(current) or smallest
        ahead = _solved(motor, amount, ahead)
        behind = _solved(motor, -amount, behind or ahead)
        bl, reluctance = split(winding_force(ahead), winding_force(behind), amount)
        one, other = flux_linkage(ahead), flux_linkage(behind)
        found[:, i] = bl, reluctance if current else 0.0, (one - other) / (2.0 * amount), 0.5 * (one + other)
    return found[0], found[1], found[2], found[3] - found[3, 0]


def split(plus_n: float, minus_n: float, current_a: float) -> tuple[float, float]:
    """Force factor (N/A) and reluctance force (N) from the forces at a current and at its opposite."""
    return (plus_n - minus_n) / (2.0 * current_a), 0.5 * (plus_n + minus_n)


def flux_linkage(field: StaticField) -> float:
    """Flux linkage of the cut-out winding (Wb), counted so that its inductance is above zero."""
    import ngsolve as ng

    motor = field.motor
    assert motor.assembly.winding is not None
    region = motor.mesh.Materials("winding")
    area = float(ng.Integrate(ng.CF(1.0), motor.mesh, definedon=region))
    around = ng.Integrate(2.0 * np.pi * ng.x * field.potential, motor.mesh, order=6, definedon=region)
    return -motor.assembly.winding.turns / area * float(around)


def _solved(motor: MotorMesh, current_a: float, start: StaticField | None) -> StaticField:
    """The field at a coil current in the trade's sense: positive pushes the coil outwards where B_r points outwards. The
    azimuth (r, φ, z) runs the other way round, so the solver gets the opposite sign.
    """
    return solve(motor, current_a=-current_a, start=start)


def _checked(
    assembly: Assembly, currents_a: Sequence[float], x_m: Sequence[float]
) -> tuple[FloatArray, FloatArray]:
    currents = np.unique(np.abs(np.asarray([0.0, *currents_a], dtype=float)))
    x = np.asarray(x_m, dtype=float)
    if assembly.winding is None:
        raise InputError(
            "A motor must have a coil before its current can change the field", remedy="Add a [coil]"
        )
    if len(currents) < 2 or not np.isfinite(currents).all():
        raise InputError("Modulation must be asked for at one current above 0 at least",
                         found=", ".join(f"{c:g} A" for c in currents_a) or "none")  # fmt: skip
    if not len(x) or not np.isfinite(x).all() or (np.diff(x) <= 0).any():
        raise InputError("Displacements must ascend", found=", ".join(f"{1e3 * v:g} mm" for v in x) or "none")
    return currents, x


def _verdicts(
    current_a: FloatArray, x_m: FloatArray, bl: FloatArray, reluctance_n: FloatArray
) -> tuple[Verdict, ...]:
    rest = int(np.argmin(np.abs(x_m)))
    at_rest, top = float(bl[0, rest]), float(current_a[-1])
    if at_rest == 0.0:
        return ()
    change = float(bl[-1, rest]) / at_rest - 1.0
    pull = reluctance_n[-1] / (at_rest * top)
    worst = int(np.argmax(np.abs(pull)))
    share = max(abs(change), abs(float(pull[worst])))
    if share < NOTED:
        return ()
    severity = Severity.NOTE if share < MUCH else Severity.CAUTION
    changes = f"changes by {100 * change:+.2g} %" if abs(change) >= 1e-3 else "changes by less than 0.1 %"
    text = (
        f"At {top:.3g} A peak Bl at rest {changes}, and the coil's own pull on the steel reaches "
        f"{100 * abs(float(pull[worst])):.2g} % of Bl times current, at {1e3 * float(x_m[worst]):+.3g} mm."
    )
    remedy = (
        "Steel nearer to full saturation at the pole, a shorting ring in the pole's reach, or fewer turns lessen it; "
        "eddy currents do too as frequency rises, which this result leaves out."
    )
    text = text.replace("-", MINUS)
    data = {
        "current_a": top,
        "bl_change": change,
        "reluctance_share": float(pull[worst]),
        "x_m": float(x_m[worst]),
    }
    return (Verdict(code="bl-modulation", severity=severity, text=text, remedy=remedy, data=data),)
