"""Blocked impedance of the coil: its inductance and what eddy currents add to its resistance, over frequency and position.

    blocked_impedance(assembly, frequency_hz, x_m=(0.0,), settings=None, progress=silent) -> BlockedImpedance

Around the static field of the magnets a small current i in the held coil makes a small field. Its potential a (complex, around
the axis) solves

    curl(nu_d curl a) + j omega sigma a = N i / S  in the winding's section S,

nu_d the differential reluctivity of `motor.eddy.skin` at the static flux density, sigma the conductivity of steel, rings and
magnets. The flux linkage per ampere psi = N/S times the integral of 2 pi r a over S gives j omega psi = R + j omega L.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.materials.steel import MU_0
from halfroll.motor.eddy.mesh import SkinMesh, skin_mesh
from halfroll.motor.eddy.shape import SkinSettings, conductivity
from halfroll.motor.eddy.skin import Differential, Permeability, differential
from halfroll.motor.eddy.verdicts import eddy_verdicts
from halfroll.motor.field.discrete import flux_density_of
from halfroll.motor.field.magnetostatics import solve
from halfroll.motor.field.mesh import FAR
from halfroll.motor.placing.polygons import overlap, rectangle
from halfroll.motor.results import BlockedImpedance
from halfroll.motor.types import Assembly, Magnet, SoftSteel, Winding

ORDER = 3
_COARSER = 2.0
"""Size of the elements that the result is compared with, which are also of an order less."""

_NO_FIELD_T2 = 1e-14


@dataclass(frozen=True, kw_only=True)
class EddySettings:
    """How the blocked impedance is computed.

    `refinement` scales all element sizes (1 for a result). `low_level` asks for the answer by the reversible permeability
    too, on the same mesh; without `low_level_moved` only at the displacement nearest to rest, with nan elsewhere.
    `judge` computes a second time with larger elements of lower order, which gives `BlockedImpedance.u_rel`. Each takes about a third of the time more.
    """

    refinement: float = 1.0
    low_level: bool = True
    low_level_moved: bool = True
    judge: bool = True


def blocked_impedance(
    assembly: Assembly,
    frequency_hz: Sequence[float] | FloatArray,
    x_m: Sequence[float] | FloatArray = (0.0,),
    settings: EddySettings | None = None,
    progress: Progress = silent,
) -> BlockedImpedance:
    """Inductance and added resistance of the blocked coil.

    Parameters
    ----------
    assembly
        The motor; it needs a winding.
    frequency_hz
        Frequencies (Hz), (f,), above zero.
    x_m
        Displacements of the coil (m), (n,). More positions cost little: they share mesh, static field and factorisations.

    Returns
    -------
    BlockedImpedance
        `inductance_h` and `resistance_ohm` (n, f), without the wire's own resistance, and the same for a low level. `u_rel` is the largest relative
        change of either with larger elements of lower order, nan when it was not judged.

    Raises
    ------
    InputError
        Without a winding, for a frequency not above zero, or where the winding would run into a body.
    """
    import ngsolve as ng

    settings = settings or EddySettings()
    frequencies, positions = _frequencies(frequency_hz), _positions(x_m)
    winding = _winding(assembly, positions)
    ng.SetNumThreads(1)
    size = SkinSettings(highest_hz=float(frequencies.max()), refinement=settings.refinement)
    ask = _Question(assembly, winding, frequencies, positions)
    share, error = (0.3 if settings.judge else 0.0), math.nan
    coarse = None
    if settings.judge:
        larger = replace(size, refinement=_COARSER * settings.refinement)
        coarse, _ = ask.linkages(larger, ORDER - 1, part(progress, 0.0, share), ())
    linkage, low = ask.linkages(size, ORDER, part(progress, share, 1.0), _low_level(settings, positions))
    if coarse is not None:
        error = _largest_change(coarse, linkage)
    found = BlockedImpedance(
        frequency_hz=frequencies,
        x_m=positions,
        inductance_h=linkage.real.copy(),
        resistance_ohm=-2.0 * np.pi * frequencies * linkage.imag,
        u_rel=error,
        low_level_inductance_h=None if low is None else low.real.copy(),
        low_level_resistance_ohm=None if low is None else -2.0 * np.pi * frequencies * low.imag,
    )
    return replace(found, verdicts=eddy_verdicts(assembly, found))


def _frequencies(frequency_hz: Sequence[float] | FloatArray) -> FloatArray:
    values = np.atleast_1d(np.asarray(frequency_hz, dtype=float))
    wrong = values[~((values > 0.0) & np.isfinite(values))]
    if values.size == 0 or wrong.size:
        raise InputError("Frequencies of the blocked impedance must be above 0 Hz",
                         found=f"{wrong[0]:g} Hz" if wrong.size else "none")  # fmt: skip
    return values


def _positions(x_m: Sequence[float] | FloatArray) -> FloatArray:
    values = np.atleast_1d(np.asarray(x_m, dtype=float))
    if values.size == 0 or not np.isfinite(values).all():
        raise InputError("Displacements of the coil must be finite numbers", found=f"{values}")
    return values


def _low_level(settings: EddySettings, x_m: FloatArray) -> Sequence[int]:
    """Which displacements are asked for at a low level."""
    if not settings.low_level:
        return ()
    return range(len(x_m)) if settings.low_level_moved else (int(np.argmin(np.abs(x_m))),)


def _winding(assembly: Assembly, x_m: FloatArray) -> Winding:
    """The winding, when it has room at every displacement."""
    winding = assembly.winding
    if winding is None:
        raise InputError("The inductance needs a coil in the gap; this design has none")
    farthest = 0.25 * FAR * max(math.hypot(r, z) for body in assembly.bodies for r, z in body.outline)
    for x in x_m:
        room = rectangle(winding.r_inner, winding.r_outer, winding.z_low + x, winding.z_high + x)
        for body in assembly.bodies:
            if overlap(room, body.outline) is not None:
                raise InputError(f"The winding at x = {1e3 * x:.3g} mm would run into {body.name}",
                                 remedy="Ask for smaller displacements, or move or shorten the coil")  # fmt: skip
        if abs(x) > farthest:
            raise InputError("The coil must stay near the motor", found=f"x = {1e3 * x:.3g} mm",
                             allowed=f"up to {1e3 * farthest:.3g} mm")  # fmt: skip
    return winding


def _static(skin: SkinMesh, progress: Progress) -> Any:
    """Static flux density (B_r, B_z) on the mesh; None without steel, where it does not matter."""
    if not any(isinstance(body.matter, SoftSteel) for body in skin.motor.assembly.bodies):
        return None
    return flux_density_of(solve(skin.motor, progress=progress).potential)


@dataclass(frozen=True, eq=False)
class _Question:
    """What is asked, whatever the mesh."""

    assembly: Assembly
    winding: Winding
    frequency_hz: FloatArray
    x_m: FloatArray

    def linkages(
        self, size: SkinSettings, order: int, progress: Progress, low_level: Sequence[int]
    ) -> tuple[ComplexArray, ComplexArray | None]:
        """Flux linkage per ampere (H), (n, f), by the tangent and, with steel at the displacements of the numbers `low_level`, by the
        reversible permeability, on a mesh of its own.
        """
        progress(0.0, "eddy currents, mesh")
        skin = skin_mesh(self.assembly, self.winding, tuple(float(x) for x in self.x_m), size)
        static = _static(skin, part(progress, 0.05, 0.5))
        both = len(low_level) > 0 and static is not None
        problem, middle = _Problem(skin, self.winding, static), 0.75 if both else 1.0
        tangent = problem.linkage(self.frequency_hz, "tangent", order, part(progress, 0.5, middle))
        if not both:
            return tangent, None
        low = np.full_like(tangent, complex(np.nan, np.nan))
        low[list(low_level)] = problem.linkage(
            self.frequency_hz, "reversible", order, part(progress, middle, 1.0), low_level
        )
        return tangent, low


@dataclass(frozen=True, eq=False)
class _Problem:
    """The linear problem around the static field: its mesh, the winding, the static flux density."""

    skin: SkinMesh
    winding: Winding
    static: Any

    def linkage(
        self, frequency_hz: FloatArray, permeability: Permeability, order: int, progress: Progress, places: Sequence[int] | None = None,
    ) -> ComplexArray:  # fmt: skip
        """Flux linkage per ampere (H), (n, f), by a law of steel, with elements of an order; at all displacements, or those of some numbers."""
        import ngsolve as ng

        space = ng.H1(self.skin.motor.mesh, order=order, complex=True, dirichlet="axis")
        stiffness, loss, sources = (
            self._stiffness(space, permeability),
            self._loss(space),
            self._sources(space),
        )
        sources = sources if places is None else [sources[n] for n in places]
        answer, both = sources[0].CreateVector(), stiffness.CreateMatrix()
        found, inverse = np.empty((len(sources), len(frequency_hz)), dtype=np.complex128), None
        for k, frequency in enumerate(frequency_hz):
            progress(k / len(frequency_hz), f"eddy currents, {frequency:.4g} Hz")
            both.AsVector().data = stiffness.AsVector() + 2j * math.pi * float(frequency) * loss.AsVector()
            if inverse is None:
                inverse = both.Inverse(space.FreeDofs(), inverse="sparsecholesky")
            else:
                inverse.Update()  # keeps the ordering
            for n, source in enumerate(sources):
                answer.data = inverse * source
                found[n, k] = 2.0 * math.pi * np.dot(answer.FV().NumPy(), source.FV().NumPy())
        return found

    def _stiffness(self, space: Any, permeability: Permeability) -> Any:
        """Matrix of the differential reluctivity, over 2 pi."""
        import ngsolve as ng

        trial, test = space.TnT()
        b, b_test = flux_density_of(trial), flux_density_of(test)
        form = ng.BilinearForm(space, symmetric=True)
        form += (1.0 / MU_0 * (b * b_test) * ng.x).Compile() * ng.dx("air|gap|winding")
        form += (
            1.0 / (MU_0 * self.skin.motor.far_m) * ng.x * trial * test * ng.ds("far")
        )  # a dipole's field goes on
        for i, body in enumerate(self.skin.motor.assembly.bodies):
            matter = body.matter
            if isinstance(matter, SoftSteel):
                product = self._steel(differential(matter.steel, permeability), b, b_test)
            else:
                product = (
                    1.0 / (MU_0 * (matter.grade.mu_rec if isinstance(matter, Magnet) else 1.0)) * (b * b_test)
                )
            form += (product * ng.x).Compile() * ng.dx(f"body{i}")
        return form.Assemble().mat

    def _steel(self, law: Differential, b: Any, b_test: Any) -> Any:
        """The product of b, the reluctivity tensor and b_test."""
        import ngsolve as ng

        knots = [0.0, *law.b_t]
        size2 = self.static * self.static + _NO_FIELD_T2
        along, across = (ng.BSpline(2, knots, list(v))(ng.sqrt(size2)) for v in (law.along, law.across))
        return across * (b * b_test) + (along - across) / size2 * (self.static * b) * (self.static * b_test)

    def _loss(self, space: Any) -> Any:
        """Matrix of the conductivity, over 2 pi."""
        import ngsolve as ng

        trial, test = space.TnT()
        form = ng.BilinearForm(space, symmetric=True)
        form += ng.CF(0.0) * trial * test * ng.dx  # so that it has the pattern of the other
        for i, body in enumerate(self.skin.motor.assembly.bodies):
            if conductivity(body.matter) > 0.0:
                form += conductivity(body.matter) * trial * test * ng.x * ng.dx(f"body{i}")
        return form.Assemble().mat

    def _sources(self, space: Any) -> list[Any]:
        """One ampere spread evenly over the winding's section at every displacement, as vectors over 2 pi."""
        import ngsolve as ng

        test = space.TestFunction()
        width, vectors = self.winding.r_outer - self.winding.r_inner, []
        for low, high in self.skin.ends_m:
            density = self.winding.turns / (width * (high - low))
            inside = ng.IfPos(ng.y - low, ng.IfPos(high - ng.y, density, 0.0), 0.0)
            vectors.append(ng.LinearForm(inside * test * ng.x * ng.dx("winding")).Assemble().vec)
        return vectors


def _largest_change(coarse: ComplexArray, fine: ComplexArray) -> float:
    """Largest relative change of inductance and of resistance; a resistance of no account next to the reactance is left out."""
    change = np.abs(coarse.real / fine.real - 1.0)
    counts = np.abs(fine.imag) > 1e-6 * np.abs(fine.real)
    loss = np.abs(coarse.imag[counts] / fine.imag[counts] - 1.0)
    return float(max(change.max(), loss.max(initial=0.0)))
