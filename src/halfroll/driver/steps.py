"""The compiled time loop of the large-signal model; imported only when a driver is played, because it loads Numba."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit

from halfroll.core.levels import FloatArray

State = tuple[float, float, float, float]
"""Coil current (A), current of the eddy-current inductor (A), velocity (m/s), displacement (m); or their slopes."""


Polynomial = tuple[float, ...]
"""Coefficients, lowest power first."""


class Coefficients(NamedTuple):
    """What the loop needs of driver and circuit: `resistance` of the whole loop (ohm), then as in `DriverModel`;
    `dle` is the derivative of `le`, `per_tau` R2/L2 (1/s), `per_mass` 1/Mms (1/kg). All polynomials have the same odd number of
    terms, five at least, so that the compiler sees one kind of argument.
    """

    resistance: float
    r2: float
    per_tau: float
    per_mass: float
    rms: float
    bl: Polynomial
    k: Polynomial
    le: Polynomial
    dle: Polynomial


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _poly(coefficients: Polynomial, x: float) -> float:
    """Even and odd powers apart: half as many multiplications then wait for each other."""
    square, last = x * x, len(coefficients) - 1
    even, odd = coefficients[last] * square + coefficients[last - 2], coefficients[last - 1]
    for n in range(last - 4, -1, -2):
        even = even * square + coefficients[n]
        odd = odd * square + coefficients[n + 1]
    return even + odd * x


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _slopes(state: State, voltage: float, c: Coefficients) -> State:
    i, i2, v, x = state
    per_le = 1.0 / _poly(c.le, x)
    bl, dle, k = _poly(c.bl, x), _poly(c.dle, x), _poly(c.k, x)
    apart = i - i2
    di = (voltage - c.resistance * i - c.r2 * apart - (bl + dle * i) * v) * per_le
    di2 = c.per_tau * apart
    dv = ((bl + 0.5 * dle * i) * i - c.rms * v - k * x) * c.per_mass
    return di, di2, dv, v


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def _ahead(state: State, slopes: State, h: float) -> State:
    return (
        state[0] + h * slopes[0],
        state[1] + h * slopes[1],
        state[2] + h * slopes[2],
        state[3] + h * slopes[3],
    )


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def runge_kutta(
    state: State, voltage: FloatArray, step_s: float, c: Coefficients, x_range: tuple[float, float]
) -> tuple[FloatArray, State, int]:
    """Classical fourth-order Runge-Kutta over a stretch of voltage.

    Parameters
    ----------
    state
        State at the first voltage sample.
    voltage
        Source voltage every half step (V), shape (2n + 1,).
    step_s
        Step (s).
    c
        Driver and circuit.
    x_range
        Displacements (m) at which to stop.

    Returns
    -------
    track
        Current, velocity, displacement, acceleration at the start of every step, shape (n, 4).
    state
        State after the last step.
    stopped
        Index of the step at which displacement left its range or stopped being finite; -1 when it never did.
    """
    n = (voltage.size - 1) // 2
    track = np.empty((n, 4))
    for m in range(n):
        k1 = _slopes(state, voltage[2 * m], c)
        k2 = _slopes(_ahead(state, k1, step_s / 2), voltage[2 * m + 1], c)
        k3 = _slopes(_ahead(state, k2, step_s / 2), voltage[2 * m + 1], c)
        k4 = _slopes(_ahead(state, k3, step_s), voltage[2 * m + 2], c)
        track[m, 0], track[m, 1], track[m, 2], track[m, 3] = state[0], state[2], state[3], k1[2]
        if not x_range[0] <= state[3] <= x_range[1]:  # also true for NaN
            return track, state, m
        slope = (
            k1[0] + 2 * k2[0] + 2 * k3[0] + k4[0],
            k1[1] + 2 * k2[1] + 2 * k3[1] + k4[1],
            k1[2] + 2 * k2[2] + 2 * k3[2] + k4[2],
            k1[3] + 2 * k2[3] + 2 * k3[3] + k4[3],
        )
        state = _ahead(state, slope, step_s / 6)
    return track, state, -1
