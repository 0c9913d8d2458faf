"""Parameters entered by hand: the worked driver W1, what follows from what, and what contradicts itself."""

from __future__ import annotations

import numpy as np
import pytest

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.core.errors import InputError
from halfroll.driver.predicted.entered import Known, Stated, StatedCurves, entered_driver
from halfroll.driver.predicted.uncertainty import monte_carlo
from tests.driver.predicted.parts import AIR

W1 = {
    "re_ohm": 6.0,
    "bl_n_per_a": 6.0,
    "mms_kg": 12e-3,
    "cms_m_per_n": 0.9e-3,
    "rms_ns_per_m": 1.0,
    "sd_m2": 133e-4,
}
FOLLOWS = {
    "fs_hz": 48.42931, "qms": 3.651484, "qes": 0.6085806, "qts": 0.5216405, "vas_m3": 22.475806e-3, "eta0": 0.004103924, "level_1w_db": 88.27435,
    "level_2v83_db": 89.52374,
}  # fmt: skip
"""By hand from the definitions (Thiele 1961, Small 1972) with rho 1.2 kg/m³, c 343 m/s."""


def known(values: dict[str, float], u: float | None = None) -> dict[str, Known]:
    """Values as stated ones, all with one relative uncertainty."""
    return {key: Known(value=value, u=None if u is None else u * value) for key, value in values.items()}


def values_of(stated: Stated) -> dict[str, float]:
    """What follows, by key."""
    return {one.key: one.value for one in entered_driver(stated).values}


def test_worked_driver() -> None:
    """Every number of W1; the values of the air it is played in are those of the formulas, so those with ρ and c are scaled."""
    found = values_of(Stated(values=known(W1), air=AIR))
    ratio = STANDARD_AIR.density * STANDARD_AIR.speed_of_sound**2 / (1.2 * 343.0**2)
    for key in ("fs_hz", "qms", "qes", "qts"):
        assert found[key] == pytest.approx(FOLLOWS[key], rel=1e-6)
    assert found["vas_m3"] == pytest.approx(ratio * FOLLOWS["vas_m3"], rel=1e-6)
    assert found["eta0"] == pytest.approx(
        FOLLOWS["eta0"] * STANDARD_AIR.density / 1.2 * 343.0 / STANDARD_AIR.speed_of_sound, rel=1e-6
    )
    # the level goes with ρ² over Re Mms² at a power: η ρ c / (2π)
    shift = 20.0 * np.log10(STANDARD_AIR.density / 1.2)
    assert found["level_1w_db"] == pytest.approx(FOLLOWS["level_1w_db"] + shift, abs=1e-5)
    assert found["level_2v83_db"] == pytest.approx(FOLLOWS["level_2v83_db"] + shift, abs=1e-5)


@pytest.mark.parametrize(
    "changes",
    [
        {"cms_m_per_n": None, "fs_hz": 48.42931},
        {"mms_kg": None, "fs_hz": 48.42931},
        {"cms_m_per_n": None, "mms_kg": None, "fs_hz": 48.42931, "vas_m3": 22.475806e-3},
        {"bl_n_per_a": None, "qes": 0.6085806},
        {"rms_ns_per_m": None, "qms": 3.651484},
    ],
)
def test_what_follows_from_what(changes: dict[str, float | None]) -> None:
    """The same driver by other values of the table."""
    given = {key: value for key, value in {**W1, **changes}.items() if value is not None}
    found = entered_driver(Stated(values=known(given), air=AIR)).model
    assert (found.Mms, 1e3 / found.K[0], found.Bl[0], found.Rms) == pytest.approx(
        (12e-3, 0.9, 6.0, 1.0), rel=1e-6
    )


def test_first_order_against_drawn_drivers() -> None:
    """1 % on each value: the standard uncertainties of both ways agree within 3 % for 4000 drivers (u of a spread: 1.1 %)."""
    predicted = entered_driver(Stated(values=known(W1, 0.01)))
    drawn = monte_carlo(predicted, 4000)
    for one in predicted.values:
        if one.u > 0.0:
            assert drawn.u(one.key) == pytest.approx(one.u, rel=0.04), one.key
            assert drawn.mean(one.key) == pytest.approx(
                one.value, abs=4.0 * one.u / 4000**0.5 + 0.1 * one.u**2 / abs(one.value)
            )
    fs = next(one for one in predicted.values if one.key == "fs_hz")
    assert fs.u / fs.value == pytest.approx(
        0.5 * np.hypot(0.01, 0.01), rel=1e-4
    )  # fs goes with the roots of mass and compliance


def test_values_that_contradict_themselves() -> None:
    """A resonance that mass and compliance do not give is refused, with its key and what they give."""
    with pytest.raises(InputError, match="Cms must agree") as fault:
        entered_driver(
            Stated(values=known({**W1, "fs_hz": 60.0}), keys={"cms_m_per_n": "parameters.cms_m_per_n"})
        )
    assert fault.value.place.key == "parameters.cms_m_per_n"
    with pytest.raises(InputError, match="Qes must agree"):
        entered_driver(Stated(values=known({**W1, "qes": 0.4})))


@pytest.mark.parametrize(
    ("lacks", "words"),
    [("re_ohm", "Re"), ("bl_n_per_a", "Bl or Qes"), ("rms_ns_per_m", "Rms or Qms"), ("sd_m2", "Sd")],
)
def test_what_is_needed(lacks: str, words: str) -> None:
    """A value without which there is no driver is asked for by name."""
    with pytest.raises(InputError, match=f"need {words}"):
        entered_driver(Stated(values=known({key: value for key, value in W1.items() if key != lacks})))


def test_curves_beside() -> None:
    """Curves give shape and range; a value stated beside them sets their size at rest. Without them that is said."""
    x = np.linspace(-3e-3, 3e-3, 13)
    curves = StatedCurves(x_m=x, bl=5.0 * (1 - (x / 6e-3) ** 2), kms_n_per_m=1000.0 + 5e7 * x**2)
    found = entered_driver(Stated(values=known(W1), curves=curves))
    assert found.model.x_range == pytest.approx((-3e-3, 3e-3))
    assert found.model.Bl[0] == pytest.approx(6.0)
    assert np.polynomial.polynomial.polyval(3e-3, found.model.Bl) == pytest.approx(4.5)
    assert [verdict.data["lacks"] for verdict in found.verdicts] == [["Le"]]
    bare = entered_driver(Stated(values=known(W1), travel_m=4e-3))
    assert bare.model.x_range == (-4e-3, 4e-3)
    assert [verdict.code for verdict in bare.verdicts] == ["curves-not-known"]
    with pytest.raises(InputError, match="rise in x across 0"):
        entered_driver(Stated(values=known(W1), curves=StatedCurves(x_m=x[7:], bl=x[7:])))


def test_curves_beside_a_data_sheet() -> None:
    """Qes and Vas set the size at rest; the curves, measured on another sample, only the shape."""
    x = np.linspace(-3e-3, 3e-3, 13)
    curves = StatedCurves(x_m=x, bl=5.0 * (1 - (x / 6e-3) ** 2), kms_n_per_m=1500.0 + 5e7 * x**2)
    sheet = {
        "re_ohm": 6.0,
        "qes": FOLLOWS["qes"],
        "qms": FOLLOWS["qms"],
        "fs_hz": FOLLOWS["fs_hz"],
        "vas_m3": FOLLOWS["vas_m3"],
        "sd_m2": 133e-4,
    }
    found = entered_driver(Stated(values=known(sheet), curves=curves, air=AIR)).model
    assert (found.Mms, 1e3 / found.K[0], found.Bl[0]) == pytest.approx((12e-3, 0.9, 6.0), rel=1e-6)
    assert np.polynomial.polynomial.polyval(3e-3, found.K) / found.K[0] == pytest.approx(
        1950.0 / 1500.0, rel=1e-6
    )
