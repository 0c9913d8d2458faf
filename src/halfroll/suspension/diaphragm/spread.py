"""How far resonances may lie from the computed ones: by modulus, density and wall of every part, by Rayleigh's quotient."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.diaphragm.assembled import Assembly
from halfroll.suspension.diaphragm.modes import Modes

_STEP = 0.01


def relative_uncertainties(assembly: Assembly, modes: Modes) -> FloatArray:
    """Relative standard uncertainty of every mode's frequency (m,).

    d(w²) = v (dK - w² dM) v for a shape v of unit modal mass. Lines of one material err together in modulus and density; walls, and
    the springs, each on their own.
    """
    shell, squared = assembly.shell, np.maximum(modes.omega, 1e-9) ** 2
    by_material: dict[tuple[str, str], FloatArray] = {}
    alone = (_energy(modes, shell.extra_stiffness) * assembly.spring_spread) ** 2
    for n, spread in enumerate(assembly.spreads):
        stiff = _energy(modes, shell.line_stiffness[n]) * spread.modulus
        heavy = squared * _energy(modes, shell.line_mass[n]) * spread.density
        for what, share in (("modulus", stiff), ("density", heavy)):
            by_material[spread.material, what] = by_material.get((spread.material, what), 0.0) + share
        alone = alone + (_thicker(assembly, n, modes, squared) * spread.thickness) ** 2
    total = alone + sum(share**2 for share in by_material.values())
    return np.asarray(0.5 * np.sqrt(total) / squared)


def _energy(modes: Modes, matrix: FloatArray) -> FloatArray:
    """Diagonal of the matrix over the shapes (m,)."""
    return np.asarray(np.einsum("im,im->m", modes.shapes, matrix @ modes.shapes))


def _thicker(assembly: Assembly, number: int, modes: Modes, squared: FloatArray) -> FloatArray:
    """Change of w² per relative change of a line's thickness (m,)."""
    shell = assembly.shell
    line, mesh = shell.lines[number], shell.meshes[number]
    k, m = shell.gathered(replace(line, profile=line.profile.thicker(1 + _STEP)), mesh)
    stiffer, heavier = k - shell.line_stiffness[number], m - shell.line_mass[number]
    return (_energy(modes, stiffer) - squared * _energy(modes, heavier)) / _STEP
