"""Two tones against the time-domain model and first-order mixing."""

import math
from fractions import Fraction

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.driver.large_signal import play
from halfroll.driver.linear import linear_response
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.two_tone import near_ratio, two_tone


@pytest.mark.parametrize(
    ("low", "high", "used_hz"),
    [((2.0, 60.0), None, 510.0), ((2.0, 30.0), (0.5, 600.0), 585.0), ((4.0, 75.0), (1.0, 600.0), 581.25)],
)
def test_products_are_those_of_the_time_domain_model(
    low: tuple[float, float], high: tuple[float, float] | None, used_hz: float, reference_driver: DriverModel
) -> None:
    """All pressures at f2 and three products each side, amplitude and phase, within 0.001 dB of a spectrum of the played motion; the modulation
    distortion by IEC 60268-5's sum (from memory) from the same spectrum.
    """
    found = two_tone(reference_driver, low, high)
    assert found.high_hz == pytest.approx(used_hz)
    assert found.high_v == (low[0] / 4 if high is None else high[0])
    n = math.ceil(24_000 / found.base_hz)
    periods = math.ceil(0.6 * found.base_hz)
    at = np.arange((periods + 3) * n) / n
    rise = 0.5 - 0.5 * np.cos(np.pi * np.clip(at / (0.25 * found.base_hz), 0, 1))
    tones = found.low_v * np.cos(2 * np.pi * at * found.low_order) + found.high_v * np.cos(
        2 * np.pi * at * found.high_order
    )
    motion = play(reference_driver, math.sqrt(2) * tones * rise, n * found.base_hz)
    spectrum = np.fft.rfft(motion.displacement_m[(periods - 1) * n : periods * n]) * 2 / n
    truth = spectrum * np.arange(spectrum.size) ** 2
    k, m = found.high_order, found.low_order
    ours = found.displacement_m * np.arange(found.displacement_m.size) ** 2
    products = [k + side * m for side in range(-3, 4)]
    assert np.abs(20 * np.log10(np.abs(ours[products] / truth[products]))).max() < 1e-3
    np.testing.assert_allclose(ours[products], truth[products], rtol=2e-4)
    for order in (2, 3):
        sides = sum(abs(truth[k + side * (order - 1) * m]) for side in (-1, 1))
        assert found.modulation(order) == pytest.approx(sides / abs(truth[k]), rel=1e-4)
    assert found.total == pytest.approx(math.hypot(found.modulation(2), found.modulation(3)))


def test_a_lopsided_force_factor_modulates_as_its_slope_says(reference_driver: DriverModel) -> None:
    """Far above resonance the high tone's force follows Bl(x(t)): with Bl = b0 + b1 x and a low amplitude X each side takes b1 X/(2 b0) of it, and the
    pressure is that force over mass, so that order 2 is b1 X/b0 (mixing to first order; the current's own change is small behind a large resistance).
    """
    driver = DriverModel(
        Re=100.0,
        Mms=5.2e-3,
        Rms=0.55,
        Sd=54e-4,
        Bl=(2.6, 60.0),
        K=(1150.0,),
        Le=(1e-6,),
        x_range=(-4e-3, 4e-3),
    )
    found = two_tone(driver, (20.0, 40.0), (5.0, 1220.0))
    amplitude = 20.0 * math.sqrt(2) * abs(linear_response(driver, np.array([40.0])).displacement_m_per_v[0])
    assert found.modulation(2) == pytest.approx(60.0 * amplitude / 2.6, rel=0.02)
    assert found.modulation(3) < 0.05 * found.modulation(2)


def test_the_ratio_is_a_small_fraction_that_is_not_whole() -> None:
    """8.5 stays 17/2; a whole ratio moves by as little as thirds or quarters allow, so that products and harmonics do not meet."""
    assert near_ratio(8.5) == Fraction(17, 2)
    for wanted in (3.0, 8.0, 12.0, 20.3, 40.0):
        ratio = near_ratio(wanted)
        assert 2 <= ratio.denominator <= 4
        assert float(ratio) == pytest.approx(wanted, rel=0.09)
        assert ratio.numerator % ratio.denominator


def test_what_cannot_be_two_tones_is_refused(reference_driver: DriverModel) -> None:
    """Too near, too far, or no tone at all; out of the travel nothing is told."""
    for high in ((1.0, 80.0), (1.0, 9000.0)):
        with pytest.raises(InputError, match="well above"):
            two_tone(reference_driver, (1.0, 40.0), high)
    with pytest.raises(InputError, match="voltage"):
        two_tone(reference_driver, (0.0, 40.0), (1.0, 400.0))
    beyond = two_tone(reference_driver, (20.0, 40.0))
    assert beyond.standing == "beyond travel"
    assert math.isnan(beyond.modulation(2))
