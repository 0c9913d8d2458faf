"""The driver's two equations at evenly spaced points of a period: Fourier collocation, the time-domain form of harmonic balance.

Unknown are the displacement x and the current i at N points, N odd. Derivatives and
everything else that is linear are circulant matrices, exact for the N harmonics that N points can tell (Trefethen, "Spectral Methods in
MATLAB", 2000, chapter 3; harmonic balance: Nakhla and Vlach, IEEE Trans. CAS 23, 1976, from memory):

    voltage  u = R i + D Λ(x, i) + Z_e (s i) + Bl(x) D x
    force    0 = G x + K(x) x - Bl(x) i - W(x, i) - Σ_b ½ s' φ_b²/(L_b s²)
    Λ = Σ_k L_k(x) i^(k+1),  W = Σ_k L_k'(x) i^(k+2)/(k+2),  φ_b = H_b (s i)

with D, G, Z_e, H_b from `circuit`. The Jacobian is that of these lines, written out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfroll.acoustics.load import AcousticLoad
from halfroll.core.levels import FloatArray
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.circuit import Circuit, circuit, frequencies
from halfroll.driver.steady.curves import Curves, read

Matrices = NDArray[Any]
"""Stacked matrices, real or complex."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Operators:
    """Circulant matrices of a batch of tones, each (n, N, N); `eddy` None and `lags` empty where the driver has none."""

    rate: Matrices
    mechanical: Matrices
    eddy: Matrices | None
    lags: tuple[Matrices, ...]

    def of(self, which: NDArray[np.intp]) -> Operators:
        """Those of some of the tones, in their order."""
        if len(which) == len(self.rate):
            return self
        return Operators(
            rate=self.rate[which], mechanical=self.mechanical[which],
            eddy=None if self.eddy is None else self.eddy[which],
            lags=tuple(lag[which] for lag in self.lags),
        )  # fmt: skip


def operators(parts: Circuit, points: int) -> Operators:
    """Circulants of the linear parts, of N = `points`: from one-sided spectra (N+1)/2 real matrices, from two-sided ones complex."""
    shift = (np.arange(points)[:, None] - np.arange(points)) % points

    def matrix(spectrum: NDArray[Any]) -> Matrices:
        one_sided = spectrum.shape[1] != points
        first = np.fft.irfft(spectrum, points) if one_sided else np.fft.ifft(spectrum)
        return np.asarray(first[:, shift])

    return Operators(
        rate=matrix(parts.rate), mechanical=matrix(parts.mechanical),
        eddy=None if parts.eddy is None else matrix(parts.eddy), lags=tuple(matrix(lag) for lag in parts.lags),
    )  # fmt: skip


def times(matrix: Matrices, rows: FloatArray) -> FloatArray:
    """Each matrix times its row."""
    return np.asarray((matrix @ rows[:, :, None])[:, :, 0])


@dataclass(kw_only=True, eq=False)
class Point:
    """What the equations need at a guess (x, i), every array (n, N); see the module's equations for the names."""

    x: FloatArray
    v: FloatArray
    force: FloatArray
    stiffness: FloatArray
    bl: FloatArray
    dbl: FloatArray
    flux: FloatArray
    flux_x: FloatArray
    flux_i: FloatArray
    pull: FloatArray
    pull_x: FloatArray
    pull_i: FloatArray
    scale: FloatArray
    scale_x: FloatArray
    stored: FloatArray
    """Σ_b ½ s' φ_b²/(L_b s²), 0 where the branches stay."""
    stored_x: FloatArray
    levers: tuple[FloatArray, ...]
    """Slope of the stored force by φ_b."""


class Balance:
    """The equations of a driver for a batch of tones at N points of their periods.

    Parameters
    ----------
    base_hz
        Fundamental of each period, shape (n,).
    points
        N, odd.
    curves
        Those of the driver.
    """

    def __init__(
        self,
        driver: DriverModel,
        base_hz: FloatArray,
        load: AcousticLoad | None,
        series_ohm: float,
        points: int,
        curves: Curves,
    ) -> None:
        self.curves = curves
        self.resistance = driver.Re + series_ohm
        self.points = points
        self.operators = operators(circuit(driver, frequencies(base_hz, points // 2 + 1), load), points)

    def inductance(self, ops: Operators, x: FloatArray, i: FloatArray) -> FloatArray:
        """Differential inductance dΛ/di (H), which must stay above zero."""
        return self.point(ops, x, i).flux_i

    def point(self, ops: Operators, x: FloatArray, i: FloatArray) -> Point:
        """Everything point by point."""
        c = self.curves
        force, stiffness = read(c.spring, x)
        rows = read(c.moving, x)
        fluxes, slopes = rows[3 : 3 + c.powers], rows[3 + c.powers : 3 + 2 * c.powers]
        pulls, bends = rows[3 + 2 * c.powers :].reshape(2, c.pulls, *x.shape)
        flux, flux_x, flux_i = fluxes[0] * i, slopes[0] * i, fluxes[0]
        power = i
        for k in range(1, c.powers):
            flux_i = flux_i + (k + 1) * fluxes[k] * power
            power = power * i
            flux, flux_x = flux + fluxes[k] * power, flux_x + slopes[k] * power
        nought = np.zeros_like(i)
        pull, pull_x, pull_i, power = nought, nought, nought, i
        for k in range(c.pulls):
            pull_i = pull_i + pulls[k] * power
            power = power * i
            pull, pull_x = pull + pulls[k] * power / (k + 2), pull_x + bends[k] * power / (k + 2)
        point = Point(
            x=x, v=times(ops.rate, x), force=force, stiffness=stiffness, bl=rows[0], dbl=rows[1], flux=flux, flux_x=flux_x, flux_i=flux_i,
            pull=pull, pull_x=pull_x, pull_i=pull_i, scale=np.ones_like(i), scale_x=nought, stored=nought, stored_x=nought, levers=(),
        )  # fmt: skip
        if c.branches:
            self._follow(ops, point, i, rows)
        return point

    def _follow(self, ops: Operators, point: Point, i: FloatArray, rows: FloatArray) -> None:
        """Branches that follow the inductance: s = Le(x)/Le(0)."""
        c = self.curves
        point.scale, point.scale_x = rows[3] / c.rest, rows[3 + c.powers] / c.rest
        if not c.pulls:
            return
        s = rows[2] / c.rest
        slope, bend = rows[3 + 2 * c.powers] / c.rest, rows[3 + 2 * c.powers + c.pulls] / c.rest
        levers = []
        for (inductance, _), lag in zip(c.branches, ops.lags, strict=True):
            linkage = times(lag, point.scale * i)
            lever = slope * linkage / (inductance * s**2)
            levers.append(lever)
            point.stored = point.stored + 0.5 * lever * linkage
            point.stored_x = point.stored_x + 0.5 * linkage**2 / (inductance * s**2) * (
                bend - 2.0 * slope**2 / s
            )
        point.levers = tuple(levers)

    def residual(self, ops: Operators, point: Point, i: FloatArray, source: FloatArray) -> FloatArray:
        """Voltage and force that are missing, shape (n, 2N)."""
        p = point
        voltage = self.resistance * i + times(ops.rate, p.flux) + p.bl * p.v - source
        if ops.eddy is not None:
            voltage += times(ops.eddy, p.scale * i)
        force = times(ops.mechanical, p.x) + p.force - p.bl * i - p.pull - p.stored
        return np.concatenate([voltage, force], axis=1)

    def jacobian(self, ops: Operators, point: Point, i: FloatArray) -> Matrices:
        """Slopes of the residual by x and i, shape (n, 2N, 2N); one point goes with many operators."""
        p, n = point, self.points
        found = np.empty((len(ops.rate), 2 * n, 2 * n), dtype=ops.rate.dtype)
        along = np.arange(n)
        by_x, by_i = found[:, :n, :n], found[:, :n, n:]
        np.multiply(ops.rate, (p.flux_x)[:, None, :], out=by_x)
        by_x += ops.rate * p.bl[:, :, None]
        by_x[:, along, along] += p.dbl * p.v
        np.multiply(ops.rate, p.flux_i[:, None, :], out=by_i)
        by_i[:, along, along] += self.resistance
        force_x, force_i = found[:, n:, :n], found[:, n:, n:]
        force_x[:] = ops.mechanical
        force_x[:, along, along] += p.stiffness - p.dbl * i - p.pull_x - p.stored_x
        force_i[:] = 0.0
        force_i[:, along, along] = -p.bl - p.pull_i
        if ops.eddy is not None:
            by_i += ops.eddy * p.scale[:, None, :]
            if self.curves.branches:
                by_x += ops.eddy * (p.scale_x * i)[:, None, :]
        for lever, lag in zip(
            p.levers, ops.lags, strict=False
        ):  # none pulls where only the voltage is acted on
            force_x -= lever[:, :, None] * lag * (p.scale_x * i)[:, None, :]
            force_i -= lever[:, :, None] * lag * p.scale[:, None, :]
        return found
