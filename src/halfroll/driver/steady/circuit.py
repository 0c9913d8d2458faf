"""The linear parts of a driver over complex frequency: what multiplies one harmonic without mixing it with others.

Model and signs: `halfroll.driver.lumped`. The flux φ_b = L_b s i_b of an eddy-current branch obeys φ_b' + (R_b/L_b) φ_b = R_b s(x) i, which is
linear in s i: v_b = Z_b (s i) with Z_b = R_b L_b p/(R_b + L_b p) and φ_b = Z_b (s i)/p. So no branch needs an unknown of its own, whether it
follows the inductance or not (then s = 1).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.load import AcousticLoad
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.creep import creep_spectrum
from halfroll.driver.loops import all_branches
from halfroll.driver.lumped import DriverModel

STILL_RAD_S = 1e-6
"""A pole of the load this slow (rad/s) keeps what it holds: the air of a cabinet without a leak."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Circuit:
    """Linear parts over p = jω; each has the shape of p, (n, h).

    rate: p itself. mechanical: force per displacement (N/m) of mass, resistance, creep and load, without the spring. eddy: Σ Z_b (ohm).
    lags: φ_b per s i (H), one a branch, empty when the branches stay.
    """

    rate: ComplexArray
    mechanical: ComplexArray
    eddy: ComplexArray | None
    lags: tuple[ComplexArray, ...]


def circuit(driver: DriverModel, rate: ComplexArray, load: AcousticLoad | None) -> Circuit:
    """The linear parts at complex frequencies `rate` (rad/s), shape (n, h); 0 stands for the mean."""
    mechanical = driver.Mms * rate**2 + driver.Rms * rate
    if driver.creep > 0.0:
        mechanical = mechanical + creep_spectrum(driver).per_displacement(rate)
    if load is not None:
        mechanical = mechanical - driver.Sd**2 * pressure_per_volume(load, rate)
    branches = all_branches(driver)
    eddy = sum(r * ind * rate / (r + ind * rate) for ind, r in branches) if branches else None
    lags = tuple(r * ind / (r + ind * rate) for ind, r in branches) if driver.eddy_follows else ()
    return Circuit(
        rate=rate, mechanical=mechanical, eddy=None if eddy is None else np.asarray(eddy), lags=lags
    )


def pressure_per_volume(load: AcousticLoad, rate: ComplexArray) -> ComplexArray:
    """Pressure in the cabinet per volume the cone has moved outwards (Pa/m³), shape of `rate`."""
    flat = rate.ravel()
    moving = flat != 0.0
    found = np.full(flat.shape, _still(load), dtype=np.complex128)
    found[moving] = flat[moving] * (load.c @ states(load, flat[moving]) + load.d)
    return found.reshape(rate.shape)


def outlet_flows(load: AcousticLoad, rate: ComplexArray) -> ComplexArray:
    """Volume flow of each outlet per volume flow of the cone, shape (outlets, *rate.shape); 0 for the mean."""
    flat = rate.ravel()
    moving = flat != 0.0
    found = np.zeros((len(load.g), flat.size), dtype=np.complex128)
    found[:, moving] = load.e @ states(load, flat[moving]) + load.g[:, None]
    return found.reshape(len(load.g), *rate.shape)


def states(load: AcousticLoad, rate: ComplexArray) -> ComplexArray:
    """States of the load per volume flow at complex frequencies (rad/s), shape (states, n)."""
    systems = rate[:, None, None] * np.eye(len(load.b)) - load.a
    right = np.broadcast_to(load.b[:, None], (rate.size, load.b.size, 1))
    return np.asarray(np.linalg.solve(systems, right)[..., 0].T)


def _still(load: AcousticLoad) -> float:
    """Pressure per volume that stays (Pa/m³): what poles at zero keep, for instance -ρc²/V of a cabinet that does not leak."""
    if not load.b.size:
        return 0.0
    poles, right = np.linalg.eig(load.a)
    at_rest = np.abs(poles) < STILL_RAD_S
    if not at_rest.any():
        return 0.0
    kept = (load.c @ right) * np.linalg.solve(right, load.b.astype(np.complex128))
    return float(np.sum(kept[at_rest]).real)


def frequencies(base_hz: FloatArray, count: int) -> ComplexArray:
    """jω of the mean and `count` - 1 harmonics (rad/s), shape (n, count)."""
    return np.asarray(2j * np.pi * np.asarray(base_hz, dtype=np.float64)[:, None] * np.arange(count))
