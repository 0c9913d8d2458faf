"""The blocked impedance of a coil as an inductance with eddy-current branches, over frequency and displacement.

    Z(x, f) = s(x) [ jω Le + sum over branches of jω L R/(R + jω L) ],   s(0) = 1,

the form of `lumped.DriverModel` with `eddy_follows` (one branch: the LR-2 model, IEC 62458 practice, from memory); where the branches
keep still and only Le changes with x meets the impedance better, that is taken.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.motor.results import BlockedImpedance

GOOD_MISFIT = 0.02
"""Root mean square misfit over frequency, relative to |Z|, with which no further branch is tried (own choice)."""

MOST_BRANCHES = 3

TRAVEL_HZ = 500.0
"""What changes with x counts less above this frequency, where cones hardly travel (own choice)."""

_DEGREE = 4


@dataclass(frozen=True, kw_only=True)
class EddyFit:
    """Inductance and branches at rest, and how they change with x.

    Parameters
    ----------
    le
        Le(x), coefficients in H/mⁿ, lowest power first.
    branches
        (L in H, R in ohm) of each, the largest L first.
    follows
        Whether the branches change with x as Le does.
    between
        Change of the logarithms of Le(0) and of L and R of every branch (1 + 2b,) by one standard uncertainty of where the steel's
        permeability lies between the slope of its curve and the reversible one; empty where that is no question.
    misfit, misfit_x
        Root mean square misfit relative to |Z| over frequency at rest, and over all displacements with the weight of `TRAVEL_HZ`.
    """

    le: tuple[float, ...]
    branches: tuple[tuple[float, float], ...]
    follows: bool
    misfit: float
    misfit_x: float
    between: tuple[float, ...] = ()

    def impedance(self, frequency_hz: FloatArray, x_m: float = 0.0) -> ComplexArray:
        """Blocked impedance without the wire's resistance (ohm), shape (f,)."""
        le = float(np.polynomial.polynomial.polyval(x_m, self.le))
        share = le / self.le[0] if self.follows else 1.0
        return 2j * np.pi * np.asarray(frequency_hz) * le + share * _eddies(frequency_hz, self.branches)

    def scaled(self, logs: FloatArray) -> EddyFit:
        """The same with Le and the branches times e to so many (1 + 2b,) changes of logarithms; Le(x) keeps its shape."""
        factors = np.exp(logs)
        branches = tuple(
            (inductance * float(a), resistance * float(b))
            for (inductance, resistance), (a, b) in zip(
                self.branches, factors[1:].reshape(-1, 2), strict=True
            )
        )
        return replace(self, le=tuple(float(factors[0]) * c for c in self.le), branches=branches)

    def moved(self, offset_m: float) -> EddyFit:
        """The same with the coil resting farther inwards (m)."""
        shift = np.polynomial.Polynomial([-offset_m, 1.0])
        le = tuple(float(c) for c in np.polynomial.Polynomial(self.le)(shift).coef)
        share = le[0] / self.le[0] if self.follows else 1.0
        return replace(self, le=le, branches=tuple((share * a, share * b) for a, b in self.branches))


def fit_between(found: BlockedImpedance) -> EddyFit:
    """Le(x) and branches half way between a blocked impedance by the slope of the steel's curve and by its reversible permeability.

    Large currents move the steel along its curve, small ones by less; nothing tells where between them music is, so the middle of the
    logarithms is taken, and the standard uncertainty of an even spread between both. Raises what `fit_blocked` raises.
    """
    tangent = fit_blocked(found.frequency_hz, found.x_m, found.inductance_h, found.resistance_ohm)
    if found.low_level_inductance_h is None or found.low_level_resistance_ohm is None:
        return tangent
    rest = int(np.argmin(np.abs(found.x_m)))
    z = (
        found.low_level_resistance_ohm[rest]
        + 2j * np.pi * found.frequency_hz * found.low_level_inductance_h[rest]
    )
    start = np.log([tangent.le[0], *(value for pair in tangent.branches for value in pair)])
    low, misfit = _settled(np.asarray(found.frequency_hz, dtype=np.float64), z, start)
    middle = tangent.scaled(0.5 * (low - start))
    return replace(middle, between=tuple((low - start) / math.sqrt(12.0)), misfit=max(tangent.misfit, misfit))


def fit_blocked(
    frequency_hz: FloatArray, x_m: FloatArray, inductance_h: FloatArray, resistance_ohm: FloatArray
) -> EddyFit:
    """Le(x) and branches that meet a blocked impedance.

    Parameters
    ----------
    frequency_hz, x_m
        (f,) and (n,); one of the displacements is 0.
    inductance_h, resistance_ohm
        Series inductance and added series resistance, (n, f).

    Raises
    ------
    InputError
        No displacement is at rest, or no inductance above zero meets the curve.
    """
    f, x = np.asarray(frequency_hz, dtype=np.float64), np.asarray(x_m, dtype=np.float64)
    z = np.asarray(resistance_ohm) + 2j * np.pi * f * np.asarray(inductance_h)
    rest = int(np.argmin(np.abs(x)))
    if abs(x[rest]) > 1e-9:
        raise InputError(
            "The blocked impedance must be known at rest", found=f"{1e3 * x[rest]:.3g} mm at the nearest"
        )
    le, branches, misfit = fit_rest(f, z[rest])
    following = _followed(f, x, z, le, branches)
    still = _still(f, x, z, le, branches)
    follows = following[1] <= still[1]
    curve, misfit_x = following if follows else still
    return EddyFit(le=curve, branches=branches, follows=follows, misfit=misfit, misfit_x=misfit_x)


def _eddies(frequency_hz: FloatArray, branches: tuple[tuple[float, float], ...]) -> ComplexArray:
    """Impedance of all branches in series (ohm), shape (f,)."""
    s = 2j * np.pi * np.asarray(frequency_hz, dtype=np.float64)
    total = np.zeros(len(s), dtype=np.complex128)
    for inductance, resistance in branches:
        total += s * inductance * resistance / (resistance + s * inductance)
    return total


def fit_rest(
    f: FloatArray, z: ComplexArray, most: int = MOST_BRANCHES
) -> tuple[float, tuple[tuple[float, float], ...], float]:
    """Le (H), branches (H, ohm) and misfit of one blocked impedance (f,): as few branches as meet it well, else those that meet it best."""
    best: tuple[float, tuple[tuple[float, float], ...], float] | None = None
    for count in range(1, most + 1):
        found = _fit(f, z, count)
        if best is None or found[2] < 0.8 * best[2]:  # a branch must earn its place
            best = found
        if best[2] < GOOD_MISFIT:
            break
    assert best is not None
    return best


def _fit(f: FloatArray, z: ComplexArray, count: int) -> tuple[float, tuple[tuple[float, float], ...], float]:
    """Le, branches and misfit from corners spread over the band."""
    high, low = float(z.imag[-1] / (2 * np.pi * f[-1])), float(z.imag[0] / (2 * np.pi * f[0]))
    first = max(0.9 * high, 0.02 * low)
    corners = np.geomspace(f[0], f[-1], count + 2)[1:-1]
    share = max(low - first, 0.05 * low) / count

    start = np.log([first, *(v for corner in corners for v in (share, 2 * np.pi * corner * share))])
    theta, misfit = _settled(f, z, start)
    le, branches = _parts(theta)
    return le, tuple(sorted(branches, reverse=True)), misfit


def _parts(theta: FloatArray) -> tuple[float, tuple[tuple[float, float], ...]]:
    values = np.exp(theta)
    return float(values[0]), tuple((float(a), float(b)) for a, b in values[1:].reshape(-1, 2))


def _settled(f: FloatArray, z: ComplexArray, start: FloatArray) -> tuple[FloatArray, float]:
    """Logarithms of Le and of L and R of each branch of least relative misfit, and its root mean square."""
    from scipy.optimize import least_squares

    size = np.abs(z)

    def misfit(theta: FloatArray) -> FloatArray:
        le, branches = _parts(theta)
        off = (2j * np.pi * f * le + _eddies(f, branches) - z) / size
        return np.concatenate([off.real, off.imag])

    found = least_squares(misfit, start, bounds=(start - 12.0, start + 12.0), max_nfev=400)
    return np.asarray(found.x), float(np.sqrt(2.0 * np.mean(found.fun**2)))


def _followed(
    f: FloatArray, x: FloatArray, z: ComplexArray, le: float, branches: tuple[tuple[float, float], ...]
) -> tuple[tuple[float, ...], float]:
    """Le(x) where everything changes alike, and its misfit."""
    rest = 2j * np.pi * f * le + _eddies(f, branches)
    weight = _weight(f) / np.abs(z)
    share = (z * weight * (rest * weight).conj()).real.sum(axis=1) / (np.abs(rest * weight) ** 2).sum(axis=1)
    curve = _curve(x, share, le)
    fitted = np.polynomial.polynomial.polyval(x, curve)[:, None] / le * rest
    return curve, _rms(fitted, z, f)


def _still(
    f: FloatArray, x: FloatArray, z: ComplexArray, le: float, branches: tuple[tuple[float, float], ...]
) -> tuple[tuple[float, ...], float]:
    """Le(x) where the branches keep still, and its misfit."""
    eddies, s = _eddies(f, branches), 2j * np.pi * f
    weight = _weight(f) / np.abs(z)
    own = ((z - eddies) * weight * (s * weight).conj()).real.sum(axis=1) / (np.abs(s * weight) ** 2).sum(
        axis=1
    )
    if own.min() <= 0.0:
        return (le,), np.inf
    curve = _curve(x, own / le, le)
    fitted = np.polynomial.polynomial.polyval(x, curve)[:, None] * s + eddies
    return curve, _rms(fitted, z, f)


def _weight(f: FloatArray) -> FloatArray:
    return np.asarray(1.0 / np.sqrt(1.0 + (f / TRAVEL_HZ) ** 2))


def _curve(x: FloatArray, share: FloatArray, le: float) -> tuple[float, ...]:
    """Le times a polynomial through 1 at rest that meets shares over x in least squares."""
    degree = min(_DEGREE, len(x) - 1)
    scale = float(np.abs(x).max()) or 1.0
    rows = (x / scale)[:, None] ** np.arange(1, degree + 1)
    found, *_ = np.linalg.lstsq(rows, share - 1.0, rcond=None)
    return (le, *(le * float(c) / scale**n for n, c in enumerate(found, 1)))


def _rms(fitted: ComplexArray, z: ComplexArray, f: FloatArray) -> float:
    """Weighted root mean square misfit relative to |Z|, over displacements (n) and frequencies (f)."""
    off = np.abs((fitted - z) / np.abs(z)) ** 2
    weight = np.broadcast_to(_weight(f) ** 2, off.shape)
    return float(np.sqrt(np.average(off, weights=weight)))
