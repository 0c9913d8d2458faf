"""How long the lumped fit is, beside a plain `scipy.optimize.curve_fit` of one of its models from the same start.

The peer fits one model once, without weights, outliers, choice of model or covariance of anything but white noise. Run:
``python benchmarks/fit.py``.  Prints medians and ratios of one run; the bound in the design is 0.3 s for a curve.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import curve_fit

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.measure.lumped.parameters import fit_impedance

TRUTH = (3.6, 75.0, 4.4, 1.3, 1.1e-4, 9e-5, 1.6)
START = (3.5, 70.0, 4.0, 1.2, 1e-4, 1e-4, 1.5)


def lossy(
    f: FloatArray, re: float, fs: float, qms: float, qes: float, le: float, l2: float, r2: float
) -> ComplexArray:
    """Impedance (ohm) of a driver with the lossy coil, shape of `f`."""
    s, x = 2j * np.pi * f, f / fs
    return np.asarray(re + re / qes / (1 / qms + 1j * (x - 1 / x)) + s * le + s * l2 * r2 / (r2 + s * l2))


def in_a_row(f: FloatArray, *values: float) -> FloatArray:
    """Real parts, then imaginary parts, shape (2n,)."""
    z = lossy(f, *values)
    return np.concatenate([z.real, z.imag])


def peer(curve: ImpedanceCurve) -> None:
    """One model by the general-purpose fit, derivatives by differences."""
    z = curve.impedance_ohm
    wanted, sigma = np.concatenate([z.real, z.imag]), np.tile(np.abs(z), 2)
    curve_fit(in_a_row, curve.frequency_hz, wanted, START, sigma, x_scale=START, method="trf")


def median_s(work: Callable[[], object], times: int = 15) -> float:
    """Median duration (s) after one run to warm up."""
    work()
    durations = []
    for _ in range(times):
        begin = time.perf_counter()
        work()
        durations.append(time.perf_counter() - begin)
    return statistics.median(durations)


def main() -> None:
    """Measure both for three sizes of curve and print the ratios."""
    rng = np.random.default_rng(1)
    print("points   six models, robust   peer, one model   ratio   one model's share of ours over the peer's")
    for n in (217, 500, 2000):
        f = np.geomspace(5.0, 20_000.0, n)
        noise = 2e-3 * (rng.standard_normal(n) + 1j * rng.standard_normal(n))
        curve = ImpedanceCurve(frequency_hz=f, impedance_ohm=lossy(f, *TRUTH) * (1.0 + noise))
        ours, other = median_s(lambda: fit_impedance(curve)), median_s(lambda: peer(curve))  # noqa: B023
        print(
            f"{n:6} {1e3 * ours:17.1f} ms {1e3 * other:14.1f} ms {ours / other:7.1f} {ours / 6 / other:10.2f}"
        )


if __name__ == "__main__":
    main()
