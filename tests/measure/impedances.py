"""Impedance of drivers from their mechanics, written apart from the model that is fitted, and what measuring adds."""

from typing import Any

import numpy as np

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.measure.lumped.parameter_types import Estimates, Fit

FREQUENCY = np.geomspace(5.0, 20_000.0, 217)

W1 = {"re": 6.0, "bl": 6.0, "mms": 12e-3, "cms": 0.9e-3, "rms": 1.0, "le": 0.0}
"""The worked driver with round values: fs 48.42931 Hz, Qms 3.651484, Qes 0.6085806 by the definitions of Thiele and Small."""

SMALL = {
    "re": 3.6,
    "bl": 2.6,
    "mms": 5.2e-3,
    "cms": 1.0 / 1150.0,
    "rms": 0.55,
    "le": 1.1e-4,
    "l2": 9e-5,
    "r2": 1.6,
}
"""The driver of references/driver_model."""


def impedance(
    *,
    re: float,
    bl: float,
    mms: float,
    cms: float,
    rms: float,
    le: float = 0.0,
    l2: float = 0.0,
    r2: float = 0.0,
    semi: tuple[float, float] | None = None,
    creep: float = 0.0,
    box_n_per_m: float = 0.0,
    at: FloatArray = FREQUENCY,
) -> ComplexArray:
    """Z = Re + coil + Bl²/(Rms + jωMms + 1/(jωC) + box/(jω)); C = Cms[1 - λ lg(jω/ω0)], ω0 = 1/√(Mms Cms) (Knudsen, Jensen)."""
    s = 2j * np.pi * at
    coil = s * le + (s * l2 * r2 / (r2 + s * l2) if r2 else 0.0)
    if semi:
        coil = coil + semi[0] * s ** semi[1]
    compliance = cms * (1.0 - creep * np.log10(s * np.sqrt(mms * cms)))
    return re + coil + bl**2 / (rms + s * mms + 1.0 / (s * compliance) + box_n_per_m / s)


def measured(
    z: ComplexArray,
    rng: np.random.Generator,
    volt: float = 1e-3,
    ampere: float = 1e-3,
    at: FloatArray = FREQUENCY,
) -> ImpedanceCurve:
    """A curve at constant voltage with white noise on both channels.

    `volt` is over the voltage, `ampere` over the current at 3.6 ohm, per real and imaginary part.
    """

    def white(size: float) -> ComplexArray:
        return size * (rng.standard_normal(len(z)) + 1j * rng.standard_normal(len(z)))

    return ImpedanceCurve(
        frequency_hz=at, impedance_ohm=(1.0 + white(volt)) / (1.0 / z + white(ampere / 3.6))
    )


def clean(z: ComplexArray, at: FloatArray = FREQUENCY, **also: Any) -> ImpedanceCurve:
    """A curve without noise."""
    return ImpedanceCurve(frequency_hz=at, impedance_ohm=z, **also)


def fit_with(u_fs: float = 0.01, **values: float) -> Fit:
    """A fit of which only some values are known, as a paper prints them."""
    names = ("re_ohm", "fs_hz", "qms", "qes")
    usual = {"re_ohm": 6.0, "qms": 4.0, "qes": 0.6} | values
    u = np.array([1e-3, u_fs, 1e-3, 1e-4])
    three = np.array([10.0, 100.0, 1000.0])
    return Fit(
        coil="ideal",
        creep=False,
        estimates=Estimates(
            names=names, values=np.array([usual[n] for n in names]), covariance=np.diag(u**2), dof=200.0
        ),
        frequency_hz=three,
        measured_ohm=three + 0j,
        fitted_ohm=three + 0j,
        weights=np.ones(3),
    )
