"""Charts of the blocked impedance: what is drawn is what was computed, with its band."""

from dataclasses import replace

import numpy as np
import pytest

from halfroll.core.text import THIN
from halfroll.motor.results import BlockedImpedance
from halfroll.publish.inductance import inductance_chart, loss_chart, position_chart
from halfroll.publish.motor_slow_rows import fitted_rows
from halfroll.publish.render import to_svg
from halfroll.publish.spec import chart_summary
from halfroll.publish.theme import theme
from tests.publish import svg
from tests.publish.language import assert_valid

LIGHT = theme("light")
FREQUENCIES = np.array([20.0, 50.0, 100.0, 200.0, 500.0, 1e3, 2e3, 5e3, 1e4, 2e4])


def _found(u_rel: float = 0.01) -> BlockedImpedance:
    """A semi-inductance, larger inwards."""
    inductance = 0.5e-3 * (FREQUENCIES / 20.0) ** -0.3
    x = np.array([-3e-3, 0.0, 3e-3])
    more = np.array([1.5, 1.0, 0.7])[:, None]
    return BlockedImpedance(
        frequency_hz=FREQUENCIES, x_m=x, inductance_h=more * inductance, u_rel=u_rel,
        resistance_ohm=more * 2.0 * np.pi * FREQUENCIES * inductance * np.tan(0.15 * np.pi),
    )  # fmt: skip


@pytest.mark.parametrize("chart", [inductance_chart, loss_chart, position_chart])
def test_valid_with_words(chart) -> None:
    """Each is valid, says its places or frequencies, its band, and has a summary."""
    spec = chart(_found(), theme=LIGHT, width_px=700.0)
    assert_valid(spec)
    assert len(chart_summary(spec)) > 40
    words = " ".join(svg.words(to_svg(spec)))
    assert "by the mesh alone" in words
    assert ("at rest" in words) != (chart is position_chart)
    assert ("10 kHz" in words.replace(THIN, " ")) == (chart is position_chart)


def test_curves_hold_the_numbers() -> None:
    """A power law stays one between its points; the band is 1.96 % wide either way."""
    rows = [
        r
        for r in inductance_chart(_found(), theme=LIGHT, width_px=700.0)["datasets"]["curves"]
        if r["s"] == 1
    ]
    for row in rows:
        exact = 0.5 * (row["x"] / 20.0) ** -0.3
        assert row["y"] == pytest.approx(exact, rel=2e-3)
        assert (row["lo"], row["hi"]) == pytest.approx((0.9804 * exact, 1.0196 * exact), rel=3e-3)


def test_over_displacement_the_coil_inwards_has_more() -> None:
    """Half as much again at -3 mm, at each of 100 Hz, 1 kHz and 10 kHz."""
    rows = position_chart(_found(), theme=LIGHT, width_px=700.0)["datasets"]["curves"]
    for curve, frequency in enumerate((100.0, 1e3, 1e4)):
        left, middle, right = (
            next(r["y"] for r in rows if r["s"] == curve and r["x"] == x) for x in (-3.0, 0.0, 3.0)
        )
        assert middle == pytest.approx(0.5 * (frequency / 20.0) ** -0.3, rel=1e-3)
        assert (left / middle, right / middle) == pytest.approx((1.5, 0.7), rel=1e-3)


def test_without_an_uncertainty_and_with_a_low_level() -> None:
    """No band where none is known; the answer at a low level is a curve of its own at rest."""
    plain = replace(_found(), u_rel=float("nan"))
    both = replace(plain, low_level_inductance_h=0.5 * plain.inductance_h)
    spec = inductance_chart(both, theme=LIGHT, width_px=390.0)
    assert_valid(spec)
    rows = spec["datasets"]["curves"]
    assert all("lo" not in r or r["lo"] is None for r in rows)
    assert {r["s"] for r in rows} == {0, 1, 2, 3}
    at = [next(r["y"] for r in rows if r["s"] == s and r["x"] == 20.0) for s in (1, 3)]
    assert at[1] == pytest.approx(0.5 * at[0])


def test_what_a_measured_fit_should_find() -> None:
    """The impedance made here is a semi-inductance of exponent 0.7: that model finds it without misfit, the other one with some."""
    rows = {row[0]: row for row in fitted_rows(_found(), 6.0).rows}
    _, values, misfit = rows["semi-inductance"]
    assert values.replace(THIN, " ").endswith("n 0.700")
    assert float(misfit.split(THIN)[0]) < 0.01
    assert float(rows["inductance with eddy-current branch"][2].split(THIN)[0]) > 1.0
