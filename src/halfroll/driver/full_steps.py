"""The compiled time loop of the whole model; imported only when a driver is played, because it loads Numba.

State: current (A), velocity (m/s), displacement (m), then currents of the eddy-current branches (A), what the dampers of the creep
elements have yielded (m), states of the load, and rises of the bodies that warm up (K).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit

from halfroll.core.levels import FloatArray

FIRST_BRANCH = 3

LEFT_RANGE, NO_INDUCTANCE = 1, 2
"""Why the loop stopped: displacement left its range or is no number; the current is beyond what the inductance holds for."""


class Numbers(NamedTuple):
    """Scalars of the model: `series` resistance (ohm), `follows` 1 or 0, creep's constant stiffness (N/m), D of the load; `warm_k` is the air
    over the temperature at which Re and Bl hold; the rest as in `DriverModel` and `Heat`.
    """

    re: float
    series: float
    mms: float
    rms: float
    sd: float
    follows: float
    creep_constant: float
    load_d: float
    warm_k: float
    alpha_per_k: float
    bl_per_k: float


class Arrays(NamedTuple):
    """Arrays of the model; polynomials with the highest power first.

    curves (4, m): Bl, K, Le and dLe/dx; le_i and dle_i (k, m): inductance per power of the current; branches (b, 2): L and R; creep (c, 2):
    stiffness and one over time of each element; load (z, z + 2): A, B and C of `AcousticLoad` side by side; heat (h, h + 2): A and B of `Heat`.
    """

    curves: FloatArray
    le_i: FloatArray
    dle_i: FloatArray
    branches: FloatArray
    creep: FloatArray
    load: FloatArray
    heat: FloatArray


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def runge_kutta_full(
    state: FloatArray,
    voltage: FloatArray,
    step_s: float,
    m: Numbers,
    arrays: Arrays,
    reads: FloatArray,
    x_range: tuple[float, float],
    inside: bool,
) -> tuple[FloatArray, int, int]:
    """Classical fourth-order Runge-Kutta over a stretch of voltage.

    One function on purpose: handing arrays to another one takes longer than the physics in it, for Numba counts references.

    Parameters
    ----------
    state
        State at the first voltage sample, shape (s,); holds the last one afterwards.
    voltage
        Source voltage every half step (V), shape (2n + 1,).
    step_s
        Step (s).
    m, arrays
        The model.
    reads
        E and G of the load side by side, then what reads its moving parts, shape (r, z + 1).
    x_range
        Displacements (m) at which to stop.
    inside
        Whether the track holds the states of branches and creep.

    Returns
    -------
    track
        At the start of every step current, velocity, displacement, acceleration, pressure in the load, its reads, what `inside` asks
        for, and the rises of the first and last body that warms up, shape (n, ...).
    stopped, why
        Step at which the loop stopped and one of `LEFT_RANGE`, `NO_INDUCTANCE`; -1 and 0 when it never did.
    """
    curves, le_i, dle_i, eddies, creep, load, heat = arrays
    n, size, terms = (voltage.size - 1) // 2, state.size, curves.shape[1]
    branches, creeping, states, bodies = len(eddies), len(creep), len(load), len(heat)
    creep_at = FIRST_BRANCH + branches
    load_at, heat_at = creep_at + creeping, size - bodies
    inside_at = 5 + len(reads)
    rises_at = inside_at + (branches + creeping if inside else 0)
    track = np.empty((n, rises_at + (2 if bodies > 0 else 0)))
    y, k, total = state.copy(), np.empty(size), np.zeros(size)
    per_mass, le_rest = 1.0 / m.mms, curves[2, terms - 1]
    for s in range(n):
        for stage in range(4):
            i, v, x = y[0], y[1], y[2]
            bl, stiff, le, dle = 0.0, 0.0, 0.0, 0.0
            for p in range(terms):
                bl = bl * x + curves[0, p]
                stiff = stiff * x + curves[1, p]
                le = le * x + curves[2, p]
                dle = dle * x + curves[3, p]
            re = m.re
            if bodies > 0:
                re *= 1.0 + m.alpha_per_k * (y[heat_at] + m.warm_k)
                bl *= 1.0 + m.bl_per_k * (y[size - 1] + m.warm_k)

            # Inductance: the flux is L(x, i) i, `steep` its slope in i, the force that of the co-energy.
            steep, dflux, force, power = le, dle * i, 0.5 * dle * i * i, i
            for p in range(len(le_i)):
                more, slope = 0.0, 0.0
                for q in range(terms):
                    more = more * x + le_i[p, q]
                    slope = slope * x + dle_i[p, q]
                steep += (p + 2) * more * power
                dflux += slope * power * i
                force += slope * power * i * i / (p + 3)
                power *= i

            # Eddy currents: the flux of a branch is L s i_b.
            follows, dfollows, induced, eddy_w = 1.0, 0.0, 0.0, 0.0
            if m.follows != 0.0:
                follows, dfollows = le / le_rest, dle / le_rest
            for b in range(branches):
                ib = y[FIRST_BRANCH + b]
                lossy = eddies[b, 1] * follows * (i - ib)
                induced += lossy
                eddy_w += lossy * (i - ib)
                k[FIRST_BRANCH + b] = (lossy / eddies[b, 0] - dfollows * v * ib) / follows
                force += 0.5 * eddies[b, 0] * dfollows * ib * ib

            # Beside the spring stand the creep elements, each a spring behind a damper.
            spring = (stiff + m.creep_constant) * x
            for c in range(creeping):
                stretched = x - y[creep_at + c]
                spring += creep[c, 0] * stretched
                k[creep_at + c] = creep[c, 1] * stretched

            flow = m.sd * v
            pressure = m.load_d * flow
            for z in range(states):
                pressure += load[z, states + 1] * y[load_at + z]
                slope = load[z, states] * flow
                for w in range(states):
                    slope += load[z, w] * y[load_at + w]
                k[load_at + z] = slope
            for h in range(bodies):
                slope = heat[h, bodies] * re * i * i + heat[h, bodies + 1] * eddy_w
                for w in range(bodies):
                    slope += heat[h, w] * y[heat_at + w]
                k[heat_at + h] = slope

            # A differential inductance of zero or less ends the motion: the slope of the current is not a number then.
            driving = voltage[2 * s + (stage + 1) // 2] - (re + m.series) * i - induced - (bl + dflux) * v
            k[0] = driving / steep if steep > 0.0 else np.nan
            k[1] = (bl * i + force - m.rms * v - spring + m.sd * pressure) * per_mass
            k[2] = v

            if stage == 0:
                track[s, 0], track[s, 1], track[s, 2], track[s, 3], track[s, 4] = i, v, x, k[1], pressure
                for r in range(len(reads)):
                    read = reads[r, states] * flow
                    for z in range(states):
                        read += reads[r, z] * y[load_at + z]
                    track[s, 5 + r] = read
                if inside:
                    for q in range(branches + creeping):
                        track[s, inside_at + q] = y[FIRST_BRANCH + q]
                if bodies > 0:
                    track[s, rises_at], track[s, rises_at + 1] = y[heat_at], y[size - 1]
                if np.isnan(k[0]) and len(le_i) > 0:
                    return track, s, NO_INDUCTANCE
                if not x_range[0] <= x <= x_range[1]:  # also true for NaN
                    return track, s, LEFT_RANGE

            if stage == 3:
                for q in range(size):
                    state[q] += step_s / 6.0 * (total[q] + k[q])
                    y[q], total[q] = state[q], 0.0
            else:
                weight = 1.0 if stage == 0 else 2.0
                ahead = step_s if stage == 2 else 0.5 * step_s
                for q in range(size):
                    total[q] += weight * k[q]
                    y[q] = state[q] + ahead * k[q]
    return track, -1, 0
