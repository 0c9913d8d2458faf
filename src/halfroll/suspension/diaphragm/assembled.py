"""Moving parts joined to a shell, with the force that drives it and the surfaces that radiate."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Verdict
from halfroll.suspension.diaphragm.shell import Shell, Surface


@dataclass(frozen=True, kw_only=True)
class Spread:
    """Relative standard uncertainties of a line: modulus, density, thickness; lines of one `material` err together."""

    material: str
    modulus: float
    density: float
    thickness: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Assembly:
    """The moving parts as a shell.

    drive (size,) is how a unit axial force at the winding loads the free degrees of freedom; surfaces radiate. `diaphragm` are
    the numbers of the lines that are not suspension, `spreads` go with the lines. `held` tells whether a suspension holds it;
    `spring_spread` is the relative standard uncertainty of what holds it as a spring.
    """

    shell: Shell
    drive: FloatArray
    surfaces: tuple[Surface, ...]
    diaphragm: tuple[int, ...]
    spreads: tuple[Spread, ...]
    held: bool
    spring_spread: float
    verdicts: tuple[Verdict, ...]

    @property
    def r(self) -> FloatArray:
        """Radii of the radiating points (q,) (m)."""
        return np.concatenate([s.r for s in self.surfaces])

    @property
    def z(self) -> FloatArray:
        """Heights of the radiating points (q,) (m)."""
        return np.concatenate([s.z for s in self.surfaces])

    @cached_property
    def flow(self) -> FloatArray:
        """Volume each radiating point displaces per free degree of freedom (q, size) (m²)."""
        return np.concatenate([s.up[:, None] * s.u_z + s.out[:, None] * s.u_r for s in self.surfaces])

    @cached_property
    def air_area(self) -> FloatArray:
        """Integral of u_z² over the projected area (size, size) (m²): what a load of air per area acts on."""
        return np.asarray(sum(s.u_z.T @ (np.abs(s.up)[:, None] * s.u_z) for s in self.surfaces))
