"""How matter answers flux density: energy density, field strength and tangent, over arrays of integration points."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.materials.steel import MU_0, Curve, curve
from halfroll.motor.field.mesh import MotorMesh
from halfroll.motor.types import Magnet, SoftSteel

_NO_FIELD_T = 1e-9


@dataclass(frozen=True, eq=False)
class Linear:
    """H = nu (B - Br): air, and magnets above their knee."""

    nu: float
    br: tuple[float, float] = (0.0, 0.0)

    def density(self, b: FloatArray) -> FloatArray:
        """Energy density (J/m³)."""
        return np.asarray(0.5 * self.nu * ((b[..., 0] - self.br[0]) ** 2 + (b[..., 1] - self.br[1]) ** 2))

    def field(self, b: FloatArray) -> FloatArray:
        """Field strength (A/m), shape of `b`."""
        return np.asarray(self.nu * (b - np.asarray(self.br)))


@dataclass(frozen=True, eq=False)
class Steel:
    """H along B, as the curve says: densities, fields and tangents for flux densities (e, q, 2)."""

    law: Curve

    def density(self, b: FloatArray) -> FloatArray:
        """Energy density (J/m³), the integral of H dB."""
        return self.law.energy(np.hypot(b[..., 0], b[..., 1]))

    def field(self, b: FloatArray) -> FloatArray:
        """Field strength (A/m), shape of `b`."""
        return np.asarray(self._reluctivity(np.hypot(b[..., 0], b[..., 1]))[..., None] * b)

    def tangent(self, b: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """dH/dB as (rr, rz, zz): its slope along B, H/B across."""
        size = np.hypot(b[..., 0], b[..., 1])
        across, along = self._reluctivity(size), self.law.slope(size)
        r, z = (b[..., k] / np.maximum(size, _NO_FIELD_T) for k in range(2))
        more = along - across
        return across + more * r * r, more * r * z, across + more * z * z

    def _reluctivity(self, size: FloatArray) -> FloatArray:
        small = size < _NO_FIELD_T
        return np.where(small, self.law.slope(0.0 * size), self.law.h(size) / np.where(small, 1.0, size))


Law = Linear | Steel


def laws_of(motor: MotorMesh, temperature_c: float | None) -> list[Law]:
    """The law of every region of the mesh, one object for all of a kind."""
    air = Linear(1.0 / MU_0)
    found: dict[str, Law] = {}
    for i, body in enumerate(motor.assembly.bodies):
        matter = body.matter
        if isinstance(matter, SoftSteel):
            found[f"body{i}"] = Steel(curve(matter.steel))
        elif isinstance(matter, Magnet):
            temperature = matter.temperature_c if temperature_c is None else temperature_c
            br = (
                matter.grade.br_at(temperature) * np.asarray(matter.direction) / math.hypot(*matter.direction)
            )
            found[f"body{i}"] = Linear(1.0 / (MU_0 * matter.grade.mu_rec), (float(br[0]), float(br[1])))
    return [found.get(name, air) for name in motor.mesh.GetMaterials()]
