"""Hyperelastic laws: stress and tangent from the deformation gradient, for any number of points at once.

Both are isotropic and given by Young's modulus and Poisson's ratio of small strain:

neo-Hooke     W = mu/2 (J^(-2/3) tr C - 3) + K/2 (J - 1)^2,  mu = E/(2(1+nu)),  K = E/(3(1-2nu))
St Venant     W = lambda/2 (tr E)^2 + mu E:E,  E = (C - 1)/2,  lambda = E nu/((1+nu)(1-2nu))

J. Bonet and R. D. Wood, "Nonlinear Continuum Mechanics for Finite Element Analysis" (2nd ed., 2008), chapters 6 (neo-Hooke
split into distortion and volume; St Venant-Kirchhoff). The first serves soft plastics at tens of per cent of strain; the
second stiff ones that bend far but strain little, and must not be compressed much (it softens where it should stiffen).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
LawName = Literal["neo-hooke", "st-venant"]

_UNIT = np.eye(3)


@dataclass(frozen=True, kw_only=True)
class Elastic:
    """An isotropic elastic material: modulus (Pa), Poisson's ratio, the law, density (kg/m³)."""

    modulus_pa: float
    poisson: float
    law: LawName = "neo-hooke"
    density_kg_m3: float = 1000.0

    def __post_init__(self) -> None:
        if not (np.isfinite(self.modulus_pa) and self.modulus_pa > 0):
            raise InputError(
                "The modulus must be a positive number", key="modulus", found=f"{self.modulus_pa:g} Pa", allowed="more than 0"
            )  # fmt: skip
        if not -1 < self.poisson <= MOST_POISSON:
            raise InputError(
                "Poisson's ratio must leave the material some compressibility", key="poisson", found=f"{self.poisson:g}",
                allowed=f"-1 to {MOST_POISSON:g}; rubber-like plastics are 0.45 to 0.49",
            )  # fmt: skip

    @property
    def shear_pa(self) -> float:
        """Shear modulus (Pa)."""
        return self.modulus_pa / (2 * (1 + self.poisson))

    @property
    def bulk_pa(self) -> float:
        """Bulk modulus (Pa)."""
        return self.modulus_pa / (3 * (1 - 2 * self.poisson))

    @property
    def lame_pa(self) -> float:
        """First Lamé constant (Pa)."""
        return self.bulk_pa - 2 / 3 * self.shear_pa

    def stress(self, gradient: FloatArray) -> FloatArray:
        """First Piola-Kirchhoff stress (Pa) for deformation gradients (..., 3, 3); nan where J <= 0."""
        if self.law == "st-venant":
            j, _ = _volume(gradient)
            return np.asarray(gradient @ self._second(gradient) + 0 * j[..., None, None])
        j, inverse = _volume(gradient)
        a = self.shear_pa * j ** (-2 / 3)
        first = np.einsum("...ij,...ij->...", gradient, gradient)
        k = self.bulk_pa * (j - 1) * j - a * first / 3
        return np.asarray(a[..., None, None] * gradient + k[..., None, None] * inverse)

    def tangent(self, gradient: FloatArray) -> FloatArray:
        """dP_ij/dF_kl (Pa), shape (..., 3, 3, 3, 3)."""
        return self.tangent_of(gradient, np.arange(9)).reshape(*gradient.shape, 3, 3)

    def tangent_of(self, gradient: FloatArray, components: IntArray) -> FloatArray:
        """The same for some of the nine components alone, given as places in the flattened 3 by 3: (..., m, m)."""
        row, column = components // 3, components % 3
        crossed = (row[:, None] * 3 + column, row * 3 + column[:, None])
        same_row = np.equal.outer(row, row)
        if self.law == "st-venant":
            return self._tangent_st_venant(gradient, components, crossed, same_row)
        j, g = _volume(gradient)
        a = self.shear_pa * j ** (-2 / 3)
        first = np.einsum("...ij,...ij->...", gradient, gradient)
        flat = g.reshape(*j.shape, 9)
        f, g = gradient.reshape(*j.shape, 9)[..., components], flat[..., components]
        mixed = _outer((-2 / 3 * a)[..., None] * f, g)
        with_g = 2 * a * first / 9 + self.bulk_pa * j * (2 * j - 1)
        with_crossed = a * first / 3 - self.bulk_pa * (j - 1) * j
        out = _outer(with_g[..., None] * g, g) + mixed + np.swapaxes(mixed, -1, -2)
        out += (with_crossed[..., None] * flat)[..., crossed[0]] * flat[..., crossed[1]]
        out += a[..., None, None] * np.eye(len(components))
        return np.asarray(out)

    def energy(self, gradient: FloatArray) -> FloatArray:
        """Energy density W (J/m³) for deformation gradients (..., 3, 3)."""
        if self.law == "st-venant":
            e = green(gradient)
            trace = np.trace(e, axis1=-2, axis2=-1)
            return np.asarray(
                self.lame_pa / 2 * trace**2 + self.shear_pa * np.einsum("...ij,...ij->...", e, e)
            )
        j = np.linalg.det(gradient)
        first = np.einsum("...ij,...ij->...", gradient, gradient)
        return np.asarray(self.shear_pa / 2 * (j ** (-2 / 3) * first - 3) + self.bulk_pa / 2 * (j - 1) ** 2)

    def cauchy(self, gradient: FloatArray) -> FloatArray:
        """True stress (Pa), (..., 3, 3)."""
        j = np.linalg.det(gradient)
        return np.asarray(self.stress(gradient) @ np.swapaxes(gradient, -1, -2) / j[..., None, None])

    def _second(self, gradient: FloatArray) -> FloatArray:
        e = green(gradient)
        trace = np.trace(e, axis1=-2, axis2=-1)
        return np.asarray(self.lame_pa * trace[..., None, None] * _UNIT + 2 * self.shear_pa * e)

    def _tangent_st_venant(
        self,
        gradient: FloatArray,
        components: IntArray,
        crossed: tuple[IntArray, IntArray],
        same_row: BoolArray,
    ) -> FloatArray:
        shape = gradient.shape[:-2]
        flat = gradient.reshape(*shape, 9)
        second = self._second(gradient)
        left = gradient @ np.swapaxes(gradient, -1, -2)
        row, column = components // 3, components % 3
        f = flat[..., components]
        out = _outer(self.lame_pa * f, f) + self.shear_pa * flat[..., crossed[0]] * flat[..., crossed[1]]
        out += same_row * second[..., column[:, None], column]
        out += self.shear_pa * np.equal.outer(column, column) * left[..., row[:, None], row]
        return np.asarray(out)


MOST_POISSON = 0.4995
"""Above it the displacement elements lose accuracy; 0.5 exactly has no bulk modulus."""


def green(gradient: FloatArray) -> FloatArray:
    """Green-Lagrange strain (..., 3, 3)."""
    return np.asarray(0.5 * (np.swapaxes(gradient, -1, -2) @ gradient - _UNIT))


def _outer(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(a[..., :, None] * b[..., None, :])


def _volume(gradient: FloatArray) -> tuple[FloatArray, FloatArray]:
    """J and F^-T by cofactors, several times as fast as LAPACK on small matrices; nan where J <= 0."""
    (a, b, c), (d, e, f), (g, h, i) = np.moveaxis(gradient, (-2, -1), (0, 1))
    cofactor = np.empty_like(gradient)
    cofactor[..., 0, 0], cofactor[..., 0, 1], cofactor[..., 0, 2] = (
        e * i - f * h,
        f * g - d * i,
        d * h - e * g,
    )
    cofactor[..., 1, 0], cofactor[..., 1, 1], cofactor[..., 1, 2] = (
        c * h - b * i,
        a * i - c * g,
        b * g - a * h,
    )
    cofactor[..., 2, 0], cofactor[..., 2, 1], cofactor[..., 2, 2] = (
        b * f - c * e,
        c * d - a * f,
        a * e - b * d,
    )
    j = a * cofactor[..., 0, 0] + b * cofactor[..., 0, 1] + c * cofactor[..., 0, 2]
    j = np.where(j > 0, j, np.nan)
    return j, cofactor / j[..., None, None]
