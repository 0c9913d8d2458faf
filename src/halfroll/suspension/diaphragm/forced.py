"""How the moving parts answer to a force at the winding, and the sound of that far away.

The lossy shell is solved in the space of its lowest undamped shapes and its static answer to the force, which stands in for all
higher ones; the losses couple them, so nothing is taken as proportional.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.radiation import directivity
from halfroll.acoustics.rayleigh import source_strength
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.suspension.diaphragm.assembled import Assembly
from halfroll.suspension.diaphragm.modes import Modes, Rigid, air_load

_BATCH = 64


@dataclass(frozen=True, kw_only=True, eq=False)
class Forced:
    """Source strength of the shell at each angle (angles, n) and of the rigid piston on axis (n,), per unit of force (m³/s/N);
    levels (dB) of the shell re the piston on axis, and of the piston itself at each angle re its own on axis (angles, n).
    """

    frequency_hz: FloatArray
    shell: ComplexArray
    piston: ComplexArray
    response_db: FloatArray
    piston_db: FloatArray


def forced(
    assembly: Assembly, modes: Modes, rigid: Rigid, frequency_hz: FloatArray, angles_rad: FloatArray,
    air: Air = STANDARD_AIR, progress: Progress = silent,
) -> Forced:  # fmt: skip
    """Answer to a unit force at each frequency (n,), far field at angles from the axis."""
    space = _space(assembly, modes)
    load = air_load(frequency_hz, rigid.radius_m, air)
    flow = (assembly.flow @ space).T.astype(np.complex128)
    r, z = assembly.r, assembly.z
    shell = np.empty((len(angles_rad), len(frequency_hz)), dtype=np.complex128)
    system = _Reduced.of(assembly, space)
    for start in range(0, len(frequency_hz), _BATCH):
        progress(start / len(frequency_hz), "shaking the cone")
        chosen = slice(start, start + _BATCH)
        here = 2 * np.pi * frequency_hz[chosen]
        pushed = 1j * here[:, None] * (system.solve(here, load[chosen]) @ flow)
        shell[:, chosen] = source_strength(pushed, r, z, here / air.speed_of_sound, angles_rad)
    omega = 2 * np.pi * frequency_hz
    piston = 1j * omega * rigid.area_m2 / (
        rigid.stiffness_n_per_m + 1j * rigid.loss_n_per_m - omega**2 * rigid.mass_kg + 1j * omega * load * rigid.air_area_m2
    )  # fmt: skip
    ka = omega * rigid.radius_m / air.speed_of_sound
    beam = np.stack([directivity(ka, float(angle)) for angle in angles_rad])
    return Forced(
        frequency_hz=frequency_hz, shell=shell, piston=piston, response_db=20 * np.log10(np.abs(shell / piston)),
        piston_db=20 * np.log10(np.maximum(np.abs(beam), 1e-6)),
    )  # fmt: skip


def _space(assembly: Assembly, modes: Modes) -> FloatArray:
    """Mode shapes, and what of the static answer they do not hold, (size, m + 1)."""
    k, m = assembly.shell.stiffness, assembly.shell.mass
    # Without a suspension the force's share on the free motion is balanced by inertia before the rest is solved.
    loose = modes.shapes[:, : 0 if assembly.held else 1]
    drive = assembly.drive - m @ (loose @ (loose.T @ assembly.drive))
    static = np.linalg.solve(k, drive) if assembly.held else np.linalg.lstsq(k, drive, rcond=None)[0]
    rest = static - modes.shapes @ (modes.shapes.T @ (m @ static))
    size = float(np.sqrt(rest @ m @ rest))
    return np.column_stack([modes.shapes, rest / size]) if size > 0 else modes.shapes


@dataclass(frozen=True, kw_only=True, eq=False)
class _Reduced:
    """K, its imaginary part, M, air area (m, m) and the force (m,) over the shapes."""

    stiffness: ComplexArray
    mass: FloatArray
    air: FloatArray
    drive: FloatArray

    @staticmethod
    def of(assembly: Assembly, space: FloatArray) -> _Reduced:
        shell = assembly.shell
        return _Reduced(
            stiffness=np.asarray(space.T @ (shell.stiffness + 1j * shell.loss) @ space, dtype=np.complex128), mass=space.T @ shell.mass @ space,
            air=space.T @ assembly.air_area @ space, drive=space.T @ assembly.drive,
        )  # fmt: skip

    def solve(self, omega: FloatArray, load: ComplexArray) -> ComplexArray:
        """Displacements (n, m) at angular frequencies (n,)."""
        w = omega[:, None, None]
        matrix = self.stiffness - w**2 * self.mass + 1j * w * load[:, None, None] * self.air
        right = np.broadcast_to(self.drive, (len(omega), len(self.drive)))[..., None]
        return np.asarray(np.linalg.solve(matrix, right)[..., 0])
