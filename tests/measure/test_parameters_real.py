"""The fit on a real driver, and beside a general-purpose fit that shares no code with it."""

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import curve_fit

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.uncertainty import coverage_factor
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.measure.lumped.parameter_types import Fit, FitSettings
from halfroll.measure.lumped.parameters import fit_impedance
from tests.measure.impedances import FREQUENCY, SMALL, impedance, measured

FOLDER = Path(__file__).parents[1] / "references" / "maker_driver_F144"


@pytest.fixture(scope="module")
def real() -> tuple[FloatArray, ComplexArray, Fit]:
    """Frequencies, impedance and fit of the hand-built 12-inch driver (references/maker_driver_F144)."""
    raw = np.loadtxt(FOLDER / "impedance_F144W.csv", delimiter=",", skiprows=1)
    z = raw[:, 1] * np.exp(1j * np.radians(raw[:, 2]))
    return raw[:, 0], z, fit_impedance(ImpedanceCurve(frequency_hz=raw[:, 0], impedance_ohm=z))


def three_points(f: FloatArray, z: ComplexArray, re: float) -> tuple[float, float, float]:
    """Resonance where the phase is zero, Qts and Qes by the r0 method (Thiele 1961; Small 1972), from the table by interpolation."""
    modulus = np.abs(z)
    top = int(np.argmax(np.where(f < 200.0, modulus, 0.0)))
    r0 = modulus[top] / re
    level = re * math.sqrt(r0)
    low = np.interp(level, modulus[top - 10 : top + 1], f[top - 10 : top + 1])
    high = np.interp(-level, -modulus[top : top + 10], f[top : top + 10])
    fs = float(np.interp(0.0, -np.angle(z[top - 3 : top + 4]), f[top - 3 : top + 4]))
    qms = fs * math.sqrt(r0) / (high - low)
    return fs, qms / r0, qms / (r0 - 1.0)


def test_resistance_of_the_real_driver(real: tuple[FloatArray, ComplexArray, Fit]) -> None:
    """Re agrees with the author's drawing (6.28 ohm, estimated) within the stated uncertainty, and with his table at 1 Hz.

    His data sheet also quotes 13 to 14.7 ohm, which neither his table nor his drawing bears out.
    """
    _, z, fit = real
    expanded = coverage_factor(fit.estimates.dof) * fit.estimates.u("re_ohm")
    assert fit.estimates.value("re_ohm") == pytest.approx(6.28, abs=expanded)
    assert fit.estimates.value("re_ohm") == pytest.approx(abs(z[0]), rel=0.03)
    assert expanded < 0.1 * 6.28  # it says something


def test_resistance_from_the_wire_table(real: tuple[FloatArray, ComplexArray, Fit]) -> None:
    """The same Re from his drawing by the wire alone: 120 turns of AWG 32 between 30.6 and 32 mm.

    ASTM B258 (formula seen in a secondary source): d = 0.127 mm · 92^((36-n)/39). Annealed copper 1/58 ohm mm²/m at 20 °C (IEC 60028,
    from memory). Printed tables give 0.538 ohm/m for this size. Leads and temperature are not in it.
    """
    _, _, fit = real
    diameter_mm = 0.127 * 92.0 ** ((36 - 32) / 39)
    ohm_per_m = 1.0 / 58.0 / (math.pi / 4.0 * diameter_mm**2)
    assert ohm_per_m == pytest.approx(0.538, abs=0.001)
    by_wire = ohm_per_m * 120 * math.pi * 0.5 * (30.6e-3 + 32e-3)
    assert by_wire == pytest.approx(6.28, rel=0.02)  # the author's own estimate
    expanded = coverage_factor(fit.estimates.dof) * fit.estimates.u("re_ohm")
    assert fit.estimates.value("re_ohm") == pytest.approx(by_wire, abs=expanded)


def test_resonance_of_the_real_driver(real: tuple[FloatArray, ComplexArray, Fit]) -> None:
    """The resonance within 0.5 % and Qts, Qes within 4 % of the three points of the table; the author states neither.

    Qms is not compared: about its peak the table leaves the linear model by 15 %, and the middle of its flanks lies 1.6 % below
    the zero of its phase.
    """
    f, z, fit = real
    fs, qts, qes = three_points(f, z, float(abs(z[0])))
    assert fit.estimates.value("fs_hz") == pytest.approx(fs, rel=0.005)
    assert fit.estimates.value("qts") == pytest.approx(qts, rel=0.04)
    assert fit.estimates.value("qes") == pytest.approx(qes, rel=0.04)


def test_verdicts_of_the_real_driver(real: tuple[FloatArray, ComplexArray, Fit]) -> None:
    """A large cone breaks up: the bump of the table near 1.6 kHz is found, and that the model is not quite this driver is said."""
    _, _, fit = real
    said = {v.code: v for v in fit.verdicts}
    assert said["second-resonance"].data["frequency_hz"] == pytest.approx(1600.0, rel=0.05)
    assert said["model-misfit"].data["rms"] == pytest.approx(0.07, abs=0.03)


def generic(
    f: FloatArray, re: float, fs: float, qms: float, qes: float, le: float, l2: float, r2: float
) -> FloatArray:
    """The lossy model as anybody would write it, real and imaginary part in a row."""
    w, x = 2 * np.pi * f, f / fs
    z = re + re * qms / qes / (1 + 1j * qms * (x - 1 / x)) + 1j * w * le + 1 / (1 / r2 + 1 / (1j * w * l2))
    return np.concatenate([z.real, z.imag])


def test_generic_fit_agrees() -> None:
    """`scipy.optimize.curve_fit` of the model written out again gives the same values within a quarter of the uncertainty."""
    curve = measured(impedance(**SMALL), np.random.default_rng(12), ampere=0.0)
    fit = fit_impedance(curve, FitSettings(coil="lr2", creep=False))
    z = curve.impedance_ohm
    sigma = np.tile(np.abs(fit.fitted_ohm), 2)
    begin = [3.5, 75.0, 4.0, 1.3, 1e-4, 1e-4, 1.5]
    found, covariance = curve_fit(
        generic, FREQUENCY, np.concatenate([z.real, z.imag]), begin, sigma, x_scale=begin, method="trf"
    )
    names = ("re_ohm", "fs_hz", "qms", "qes", "le_h", "l2_h", "r2_ohm")
    for name, value, u in zip(names, found, np.sqrt(np.diag(covariance)), strict=True):
        assert fit.estimates.value(name) == pytest.approx(value, abs=0.25 * u), name
        assert fit.estimates.u(name) == pytest.approx(u, rel=0.1), name
