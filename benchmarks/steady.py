"""How long a steady tone of a driver is by harmonic balance, beside SciPy's `solve_ivp` (Radau) and `solve_bvp` for the same tone.

Radau starts at rest and runs until its last two periods agree within 1e-5 of the displacement, as a general-purpose solver has to; `solve_bvp`
is given the linear response as its first guess and the period as its boundary condition. Ours is given nothing. Every program's second to fifth harmonic
of displacement is held against ours before times are printed.

Also the curve of distortion that a page asks for: 31 tones at two levels, and one pair of tones 1 : 8.5. Run: ``python benchmarks/steady.py``.
Prints medians and ratios of one run; the bounds in the design are 2 ms for a tone and 0.1 s for the two curves. All programs have one thread.
"""

from __future__ import annotations

import os

os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"

import math
import statistics
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.polynomial import polynomial
from scipy.integrate import solve_bvp, solve_ivp

from halfroll.core.levels import FloatArray
from halfroll.driver.linear import linear_response
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.solve import steady_tones
from halfroll.driver.steady.two_tone import two_tone

DRIVER = DriverModel(
    Re=3.6, Mms=5.2e-3, Rms=0.55, Sd=54e-4, L2=9e-5, R2=1.6, Bl=(2.6, 25.0, -5e4, -2e6, 8e8),
    K=(1150.0, -2.5e4, 3.2e7, 0.0, 1.5e12), Le=(1.1e-4, -0.011, -0.8), x_range=(-4e-3, 4e-3),
)  # fmt: skip
LEVELS_V = (2.0, math.sqrt(12.0))
CURVE_HZ = 30.0 * 2.0 ** (np.arange(31) / 6.0)
SAMPLES = 256


def slopes(driver: DriverModel, t: Any, state: Any, volts: float, rate: float) -> FloatArray:
    """Slopes of current, branch current, velocity, displacement; any number of times at once."""
    i, i2, v, x = state
    bl, k, le = (polynomial.polyval(x, curve) for curve in (driver.Bl, driver.K, driver.Le))
    dle = polynomial.polyval(x, polynomial.polyder(driver.Le))
    lossy = driver.R2 * (i - i2)
    u = math.sqrt(2.0) * volts * np.cos(rate * t)
    return np.array([
        (u - driver.Re * i - lossy - bl * v - dle * v * i) / le, lossy / driver.L2,
        (bl * i + 0.5 * dle * i**2 - driver.Rms * v - k * x) / driver.Mms, v,
    ])  # fmt: skip


def by_radau(volts: float, f: float) -> FloatArray:
    """Harmonics of displacement from rest to the steady state."""
    rate = 2.0 * math.pi * f
    state, last = np.zeros(4), np.zeros(SAMPLES)
    for _ in range(200):
        times = np.arange(SAMPLES + 1) / SAMPLES / f
        run = solve_ivp(
            lambda t, y: slopes(DRIVER, t, y, volts, rate),
            (0.0, 1.0 / f),
            state,
            "Radau",
            times,
            rtol=1e-6,
            atol=[1e-6, 1e-6, 1e-7, 1e-10],
        )
        x, state = run.y[3, :-1], run.y[:, -1]
        if np.abs(x - last).max() < 1e-5 * np.abs(x).max():
            break
        last = x
    return harmonics(x)


def by_bvp(volts: float, f: float) -> FloatArray:
    """Harmonics of displacement as a periodic boundary-value problem, from the linear response."""
    rate = 2.0 * math.pi * f
    response = linear_response(DRIVER, np.array([f]))
    times = np.linspace(0.0, 1.0 / f, 33)
    turn = math.sqrt(2.0) * volts * np.exp(1j * rate * times)
    current = turn / response.impedance_ohm[0]
    branch = current * DRIVER.R2 / (DRIVER.R2 + 1j * rate * DRIVER.L2)
    x = turn * response.displacement_m_per_v[0]
    guess = np.array([current, branch, 1j * rate * x, x]).real
    # The displacement in millimetres, so that the solver's one tolerance suits every state.
    scale = np.array([1.0, 1.0, 1.0, 1e3])[:, None]
    found = solve_bvp(
        lambda t, y: scale * slopes(DRIVER, t, y / scale, volts, rate),
        lambda a, b: a - b,
        times,
        scale * guess,
        tol=1e-6,
        max_nodes=20_000,
    )
    return harmonics(1e-3 * found.sol(np.arange(SAMPLES) / SAMPLES / f)[3])


def by_ours(volts: float, f: float) -> FloatArray:
    """The same by harmonic balance."""
    return np.asarray(np.abs(steady_tones(DRIVER, volts, np.array([f])).displacement_m[1:6, 0]))


def harmonics(x: FloatArray) -> FloatArray:
    """Peak values of orders 1 to 5."""
    return np.asarray(np.abs(np.fft.rfft(x)[1:6]) * 2.0 / len(x))


def median_s(work: Callable[[], object], times: int) -> float:
    """Median duration (s) after one run to warm up."""
    work()
    durations = []
    for _ in range(times):
        begin = time.perf_counter()
        work()
        durations.append(time.perf_counter() - begin)
    return statistics.median(durations)


def main() -> None:
    """Measure all and print the ratios."""
    print(
        "tone                ours       Radau   ratio     solve_bvp   ratio   greatest difference of H2 to H5 re H1"
    )
    for f in (40.0, 75.0, 180.0):
        for volts in LEVELS_V:
            ours, others = by_ours(volts, f), [by_radau(volts, f), by_bvp(volts, f)]
            off = [float(np.abs(one - ours).max() / ours[0]) for one in others]
            t, radau, bvp = (
                median_s(lambda: by_ours(volts, f), 21), median_s(lambda: by_radau(volts, f), 1), median_s(lambda: by_bvp(volts, f), 1),  # noqa: B023
            )  # fmt: skip
            print(
                f"{f:4.0f} Hz {volts:5.2f} V {1e3 * t:9.2f} ms {1e3 * radau:7.0f} ms {radau / t:7.0f} {1e3 * bvp:9.0f} ms {bvp / t:7.0f}"
                f"   {off[0]:.0e} {off[1]:.0e}"
            )
    curves = median_s(lambda: [steady_tones(DRIVER, volts, CURVE_HZ) for volts in LEVELS_V], 11)
    pair = median_s(lambda: two_tone(DRIVER, (2.0, 60.0)), 11)
    print(
        f"31 tones at two levels {1e3 * curves:.1f} ms ({1e3 * curves / 62:.2f} ms a tone); a pair of tones 1 : 8.5 {1e3 * pair:.0f} ms"
    )


if __name__ == "__main__":
    main()
