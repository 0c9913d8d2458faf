"""Where the lumped model does not fit, that is said, with the frequency and the size where they can be told."""

from typing import Any

import numpy as np
import pytest

from halfroll.core.levels import ComplexArray
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.measure.lumped.parameter_types import Fit
from halfroll.measure.lumped.parameters import fit_impedance
from tests.measure.impedances import W1, impedance

AT = np.geomspace(10.0, 20_000.0, 300)
DRIVER: dict[str, Any] = W1 | {"le": 3e-4, "l2": 5e-4, "r2": 8.0}


def fitted(z: ComplexArray, noise: float = 1e-3, at: np.ndarray[Any, np.dtype[np.float64]] = AT) -> Fit:
    """The fit of an impedance with a little noise."""
    rng = np.random.default_rng(3)
    noisy = z * (1.0 + noise * (rng.standard_normal(len(z)) + 1j * rng.standard_normal(len(z))))
    return fit_impedance(ImpedanceCurve(frequency_hz=at, impedance_ohm=noisy))


def said(fit: Fit) -> dict[str, Verdict]:
    """Verdicts by code."""
    return {v.code: v for v in fit.verdicts}


def test_nothing_to_say() -> None:
    """A linear driver gives no verdict, at little and at more noise, creeping or not."""
    for noise in (1e-4, 1e-3, 1e-2):
        assert not said(fitted(impedance(**DRIVER, at=AT), noise)).keys() - {"outlier-points"}
        assert not said(fitted(impedance(**DRIVER, creep=0.1, at=AT), noise)).keys() - {"outlier-points"}


@pytest.mark.parametrize(
    ("at_hz", "q", "ohm"), [(20.0, 4.0, 1.0), (150.0, 8.0, 0.3), (400.0, 10.0, 0.3), (1500.0, 15.0, 1.0)]
)
def test_second_resonance(at_hz: float, q: float, ohm: float) -> None:
    """A part that resonates by itself is found within 7 % of its frequency and 40 % of its size, and spoils little."""
    z = impedance(**DRIVER, at=AT)
    size = ohm / abs(np.interp(at_hz, AT, np.abs(z)))
    fit = fitted(z + ohm / (1.0 + 1j * q * (AT / at_hz - at_hz / AT)))
    verdict = said(fit)["second-resonance"]
    assert verdict.severity == Severity.CAUTION
    assert verdict.data["frequency_hz"] == pytest.approx(at_hz, rel=0.07)
    assert verdict.data["size"] == pytest.approx(size, rel=0.4)
    assert fit.estimates.value("fs_hz") == pytest.approx(48.42931, rel=2e-3)


def test_box_with_an_opening() -> None:
    """A vented box has two peaks: the smaller one is named. Equations of Small (1973): box compliance, port mass and leak."""
    s, rho, c, area = 2j * np.pi * AT, 1.2, 343.0, 133e-4
    box = 20e-3 / (rho * c**2)
    port = 1.0 / ((2 * np.pi * 40.0) ** 2 * box)
    load = area**2 / (s * box + 1.0 / (s * port) + 2 * np.pi * 40.0 * box / 7.0)
    z = 6.0 + s * 3e-4 + 36.0 / (1.0 + s * 12e-3 + 1.0 / (s * 0.9e-3) + load)
    verdicts = said(fitted(z))
    assert "box with an opening" in verdicts["second-resonance"].text
    assert verdicts["model-misfit"].severity >= Severity.CAUTION


def suspended(stiffness_growth: float, friction_n: float, volts: float = 2.83) -> ComplexArray:
    """A driver whose spring stiffens by a share per mm² of travel and that rubs with a constant force (describing functions)."""
    s = 2j * np.pi * AT
    k, r = np.full(len(AT), 1 / 0.9e-3), np.ones(len(AT))
    z = impedance(**DRIVER, at=AT)
    for _ in range(400):
        mechanical = r + s * 12e-3 + k / s
        z = impedance(**DRIVER | {"bl": 0.0}, at=AT) + 36.0 / mechanical
        velocity = np.abs(volts * np.sqrt(2.0) / z * 6.0 / mechanical)
        k = 0.9 * k + 0.1 / 0.9e-3 * (1.0 + stiffness_growth * (velocity / np.abs(s) / 1e-3) ** 2)
        r = 0.9 * r + 0.1 * (1.0 + 4.0 * friction_n / np.pi / np.maximum(velocity, 1e-3))
    return z


def test_spring_that_is_not_linear() -> None:
    """Too high a level for the suspension bends the resonance; with a hundredth of the voltage nothing is said."""
    assert said(fitted(suspended(0.02, 0.0)))["bent-resonance"].severity == Severity.CAUTION
    assert not said(fitted(suspended(0.02, 0.0, volts=0.0283)))


def test_friction() -> None:
    """A coil that rubs with 1 N: the misfit is no noise, and Qms is called low."""
    verdicts = said(fitted(suspended(0.0, 1.0)))
    assert {"model-misfit", "low-qms"} <= verdicts.keys()


def test_scatter_at_the_resonance() -> None:
    """Scatter that comes with the motion is told from noise."""
    rng = np.random.default_rng(2)
    motional = impedance(**W1, at=AT) - 6.0
    noise = 0.02 * (rng.standard_normal(len(AT)) + 1j * rng.standard_normal(len(AT)))
    verdict = said(fitted(impedance(**DRIVER, at=AT) + motional * noise))["rough-resonance"]
    assert verdict.data["scatter"] == pytest.approx(0.02 * np.sqrt(2.0) * 0.85, rel=0.3)


def test_leaking_box_gives_up_a_stretch() -> None:
    """A driver on a closed box with a leak: the low end is given up and named, or the misfit below resonance is."""
    s, area = 2j * np.pi * AT, 133e-4
    box = 5e-3 / (1.2 * 343.0**2)
    leak = 1.0 / ((2 * np.pi * 20.0) ** 2 * box)
    load = area**2 / (s * box + 1.0 / (s * leak + 2 * np.pi * 20.0 * leak / 3.0))
    z = impedance(**DRIVER | {"bl": 0.0}, at=AT) + 36.0 / (1.0 + s * 12e-3 + 1.0 / (s * 0.9e-3) + load)
    fit = fitted(z)
    verdict = said(fit)["misfit-in-part"]
    assert verdict.data["low_hz"] == pytest.approx(10.0)
    assert verdict.data["high_hz"] < 40.0
    # lossless box: 113.53 Hz; the leak's mass adds stiffness at fc, by theory 1/(1 - (20/fc)²) of the box
    assert fit.estimates.value("fs_hz") == pytest.approx(115.0, rel=0.01)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [(100.0, 2e4, "lies below"), (10.0, 44.0, "may lie above"), (500.0, 2e4, "no peak")],
)
def test_no_resonance(low: float, high: float, words: str) -> None:
    """Without the resonance in the range there is no fs and no Q, which is said and where it may be."""
    kept = (low < AT) & (high > AT)
    fit = fitted(impedance(**DRIVER, at=AT)[kept], at=AT[kept])
    verdict = said(fit)["no-resonance"]
    assert verdict.severity == Severity.BAD
    assert words in verdict.text
    assert not {"fs_hz", "qms", "qes", "qts"} & set(fit.estimates.names)
    assert fit.estimates.value("re_ohm") > 0.0


def test_flank_missing() -> None:
    """A range that begins within the resonance, whose crossings by the r0 method lie at 34 Hz and 69 Hz, is named."""
    kept = AT > 42.0
    verdict = said(fitted(impedance(**DRIVER, at=AT)[kept], at=AT[kept]))["resonance-at-edge"]
    assert verdict.data["lower_hz"] == pytest.approx(33.96, rel=0.02)
    assert "17 Hz" in verdict.remedy


def test_sparse_points() -> None:
    """Two points on the resonance are few."""
    verdict = said(fitted(impedance(**DRIVER, at=AT)[::12], at=AT[::12]))["few-points-at-resonance"]
    assert verdict.data["points"] == 2


def test_hum() -> None:
    """Points on harmonics of the mains are recognised; nothing moves."""
    z = impedance(**DRIVER, at=AT)
    hit = [int(np.argmin(np.abs(AT - f))) for f in (50.0, 100.0, 150.0)]
    z[hit] *= [1.3, 0.8, 1.2]
    fit = fitted(z)
    assert "harmonics of the 50 Hz mains" in said(fit)["outlier-points"].text
    assert (fit.weights[hit] < 0.5).all()
    assert fit.estimates.value("qms") == pytest.approx(3.6515, rel=2e-3)


def test_noise() -> None:
    """Much noise is called noise and not misfit."""
    verdicts = said(fitted(impedance(**DRIVER, at=AT), noise=0.1))
    assert "noisy-impedance" in verdicts
    assert "model-misfit" not in verdicts
