"""The driver's two equations at evenly spaced points of a period: Fourier collocation, the time-domain form of harmonic balance.

Unknown are the elastic displacement x_e of the suspension (the displacement less its creep) and the current i at N points, N odd. Derivatives and
everything else that is linear are circulant matrices, exact for the N harmonics that N points can tell (Trefethen, "Spectral Methods in
MATLAB", 2000, chapter 3; harmonic balance: Nakhla and Vlach, IEEE Trans. CAS 23, 1976, from memory):

    voltage  u = R i + D Λ(x, i) + Z_e (s i) + Bl(x) D x
    force    0 = G x + F_s(x_e) - Bl(x) i - W(x, i) - Σ_b ½ s' φ_b²/(L_b s²)
    x = x_e + C F_s(x_e),  Λ = Σ_k L_k(x) i^(k+1),  W = Σ_k L_k'(x) i^(k+2)/(k+2),  φ_b = H_b (s i)

with D, G, Z_e, H_b, C from `circuit`. The Jacobian is that of these lines, written out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.polynomial import polynomial
from numpy.typing import NDArray

from halfroll.acoustics.load import AcousticLoad
from halfroll.core.levels import FloatArray
from halfroll.driver.loops import all_branches
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.circuit import Circuit, circuit, frequencies

Matrices = NDArray[Any]
"""Stacked matrices, real or complex."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Operators:
    """Circulant matrices of a batch of tones, each (n, N, N); `eddy`, `creep` None and `lags` empty where the driver has none."""

    rate: Matrices
    mechanical: Matrices
    eddy: Matrices | None
    lags: tuple[Matrices, ...]
    creep: Matrices | None

    def of(self, which: NDArray[np.intp]) -> Operators:
        """Those of some of the tones."""
        return Operators(
            rate=self.rate[which], mechanical=self.mechanical[which],
            eddy=None if self.eddy is None else self.eddy[which],
            lags=tuple(lag[which] for lag in self.lags), creep=None if self.creep is None else self.creep[which],
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
        creep=None if parts.creep is None else matrix(parts.creep),
    )  # fmt: skip


Acting = Literal["both", "voltage", "force"]
"""Where the change of inductance with travel acts: in both equations as it does, or, to find its part in distortion, in only one of them."""


class Curves:
    """The polynomials of a driver and their derivatives, lowest power first.

    `inductance` makes the flux, `pulling` (slopes and bends of the inductance) the force; they are of one co-energy unless `acting` keeps them apart.
    """

    def __init__(self, driver: DriverModel, acting: Acting = "both") -> None:
        self.force = (0.0, *driver.K)
        self.stiffness = _slope(self.force)
        self.bl, self.dbl = driver.Bl, _slope(driver.Bl)
        whole = (driver.Le, *driver.Le_i)
        self.whole = driver.Le
        self.inductance = tuple(one[:1] for one in whole) if acting == "force" else whole
        self.slopes = tuple(_slope(one) for one in self.inductance)
        self.pulling = tuple((_slope(one), _slope(_slope(one))) for one in whole) if acting != "voltage" else ()
        self.rest = driver.Le[0]
        self.branches = all_branches(driver) if driver.eddy_follows else ()


def _slope(coefficients: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(float(one) for one in polynomial.polyder(coefficients))


def at(coefficients: tuple[float, ...], x: FloatArray) -> FloatArray:
    """A polynomial, lowest power first, at x, by Horner."""
    value = np.full_like(x, coefficients[-1])
    for coefficient in coefficients[-2::-1]:
        value *= x
        value += coefficient
    return value


def times(matrix: Matrices, rows: FloatArray) -> FloatArray:
    """Each matrix times its row."""
    return np.asarray((matrix @ rows[:, :, None])[:, :, 0])


@dataclass(kw_only=True, eq=False)
class Point:
    """What the equations need at a guess (x_e, i), every array (n, N); see the module's equations for the names."""

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
    resistance
        Re with what is in series (ohm).
    """

    def __init__(
        self, driver: DriverModel, base_hz: FloatArray, load: AcousticLoad | None, series_ohm: float, points: int,
        acting: Acting = "both",
    ) -> None:
        self.curves = Curves(driver, acting)
        self.resistance = driver.Re + series_ohm
        self.points = points
        self.operators = operators(circuit(driver, frequencies(base_hz, points // 2 + 1), load), points)

    def displacement(self, ops: Operators, elastic: FloatArray) -> FloatArray:
        """Displacement of the cone (m) with the creep of its suspension."""
        return elastic if ops.creep is None else elastic + times(ops.creep, at(self.curves.force, elastic))

    def inductance(self, ops: Operators, elastic: FloatArray, i: FloatArray) -> FloatArray:
        """Differential inductance dΛ/di (H), which must stay above zero."""
        x = self.displacement(ops, elastic)
        terms = enumerate(self.curves.inductance)
        return np.asarray(sum((k + 1) * at(curve, x) * i**k for k, curve in terms))

    def point(self, ops: Operators, elastic: FloatArray, i: FloatArray) -> Point:
        """Everything point by point."""
        c = self.curves
        x = self.displacement(ops, elastic)
        point = Point(
            x=x, v=times(ops.rate, x), force=at(c.force, elastic), stiffness=at(c.stiffness, elastic), bl=at(c.bl, x), dbl=at(c.dbl, x),
            **{name: np.zeros_like(i) for name in ("flux", "flux_x", "flux_i", "pull", "pull_x", "pull_i", "scale_x", "stored", "stored_x")},
            scale=np.ones_like(i), levers=(),
        )  # fmt: skip
        power = np.ones_like(i)
        for k, (curve, slope) in enumerate(zip(c.inductance, c.slopes, strict=True)):
            value = at(curve, x)
            point.flux_i += (k + 1) * value * power
            power = power * i
            point.flux += value * power
            point.flux_x += at(slope, x) * power
        power = i
        for k, (slope, bend) in enumerate(c.pulling):
            down = at(slope, x)
            point.pull_i += down * power
            power = power * i
            point.pull += down * power / (k + 2)
            point.pull_x += at(bend, x) * power / (k + 2)
        if c.branches:
            self._follow(ops, point, i)
        return point

    def _follow(self, ops: Operators, point: Point, i: FloatArray) -> None:
        """Branches that follow the inductance: s = Le(x)/Le(0)."""
        c = self.curves
        point.scale, point.scale_x = at(c.inductance[0], point.x) / c.rest, at(c.slopes[0], point.x) / c.rest
        if not c.pulling:
            return
        s = at(c.whole, point.x) / c.rest
        slope, bend = (at(one, point.x) / c.rest for one in c.pulling[0])
        levers = []
        for (inductance, _), lag in zip(c.branches, ops.lags, strict=True):
            linkage = times(lag, point.scale * i)
            lever = slope * linkage / (inductance * s**2)
            levers.append(lever)
            point.stored += 0.5 * lever * linkage
            point.stored_x += 0.5 * linkage**2 / (inductance * s**2) * (bend - 2.0 * slope**2 / s)
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
        """Slopes of the residual by x_e and i, shape (n, 2N, 2N); one point goes with many operators."""
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
        force_x[:, along, along] -= p.dbl * i + p.pull_x + p.stored_x
        force_i[:] = 0.0
        force_i[:, along, along] = -p.bl - p.pull_i
        if ops.eddy is not None:
            by_i += ops.eddy * p.scale[:, None, :]
            if self.curves.branches:
                by_x += ops.eddy * (p.scale_x * i)[:, None, :]
        for lever, lag in zip(p.levers, ops.lags, strict=False):  # none pulls where only the voltage is acted on
            force_x -= lever[:, :, None] * lag * (p.scale_x * i)[:, None, :]
            force_i -= lever[:, :, None] * lag * p.scale[:, None, :]
        if ops.creep is not None:
            for block in (by_x, force_x):
                block += (block @ ops.creep) * p.stiffness[:, None, :]
        force_x[:, along, along] += p.stiffness
        return found
