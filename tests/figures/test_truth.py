"""Figures of recordings whose answer is known from independent solvers.

Source: harmonic balance, checked by ngspice 39.3 and SciPy Radau; see tests/references/nonlinear_driver/README.md.
"""

import dataclasses

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from halfroll.core.uncertainty import Sources
from halfroll.figures.combine import combine
from halfroll.figures.readings import read_take, take_readings
from halfroll.figures.rules import RULE
from halfroll.figures.types import FigureSettings
from tests.measure.conftest import load_response, load_truth

OVER_FUNDAMENTAL = FigureSettings(thd_reference="fundamental")


def true_mean(table, key="THD_pct_H2_H5_over_H1", band=(40.0, 150.0)) -> float:
    """Mean over lg f of a column of a truth table (six points an octave), interpolated as decibels by a cubic spline."""
    x = np.log([row["f_Hz"] for row in table])
    spline = CubicSpline(x, np.log([row[key] for row in table]))
    edges = np.linspace(*np.log(band), 2001)
    return float(np.mean(np.exp(spline(0.5 * (edges[1:] + edges[:-1])))))


def linear_level(frequency_hz) -> np.ndarray:
    """Level at 1 W into the rated impedance and 1 m of the same driver without its nonlinearities, in closed form."""
    p = load_truth("params.json")
    w = 2 * np.pi * frequency_hz
    lossy = 1 / (1 / (1j * w * p["L2"]) + 1 / p["R2"])
    electrical = p["Re"] + 1j * w * p["le"][0] + lossy
    mechanical = 1j * w * p["Mms"] + p["Rms"] + p["k"][0] / (1j * w)
    velocity = p["bl"][0] / (electrical * mechanical + p["bl"][0] ** 2)
    pressure = p["constants"]["rho0"] * p["Sd"] * np.abs(w * velocity) / (2 * np.pi)
    return 20 * np.log10(pressure * np.sqrt(p["Rnom"]) / 20e-6)


def test_sensitivity_of_a_clean_recording() -> None:
    """The power mean over 200 to 2000 Hz is that of the linear model in closed form within 0.05 dB."""
    grid = np.exp(np.linspace(np.log(200.0), np.log(2000.0), 500))
    expected = 10 * np.log10(np.mean(10 ** (linear_level(grid) / 10)))
    found = read_take(load_response("main_clean.flac"), FigureSettings())["sensitivity_db"]
    assert found.value == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize("name", ["main_clean.flac", "main_noise.flac"])
def test_distortion(name: str) -> None:
    """Mean THD within 0.1 points of the truth, or within its stated uncertainty where that is larger; H2 and H3 too."""
    table = load_truth()["cases"]["main"]["with_shunt"]
    found = read_take(load_response(name), OVER_FUNDAMENTAL)
    thd = found["thd_mean_percent"]
    assert thd.bound is None
    assert abs(thd.value - true_mean(table)) < max(0.1, 2 * thd.u)
    for order in (2, 3):
        expected = true_mean(
            [{"f_Hz": r["f_Hz"], "x": 100 * r[f"H{order}_Pa_pk"] / r["H1_Pa_pk"]} for r in table], "x"
        )
        reading = found[f"h{order}_percent"]
        assert abs(reading.value - expected) < max(0.1, 2 * reading.u)


def test_orders_under_the_noise_are_bounds_above_the_truth() -> None:
    """In the noisy recording the 4th order is under the noise in part of the band: an upper bound, and a true one."""
    table = load_truth()["cases"]["main"]["with_shunt"]
    expected = true_mean([{"f_Hz": r["f_Hz"], "x": 100 * r["H4_Pa_pk"] / r["H1_Pa_pk"]} for r in table], "x")
    found = read_take(load_response("main_noise.flac"), OVER_FUNDAMENTAL)["h4_percent"]
    assert found.bound == "upper"
    assert found.value > expected


def test_a_floor_reflection_lies_inside_the_stated_uncertainty() -> None:
    """With a reflection of -12 dB mean THD and lower limit move, by less than 2 u, and the room is named."""
    clean = read_take(load_response("main_clean.flac"), FigureSettings())
    room = read_take(load_response("main_reflection.flac"), FigureSettings())
    for key in ("thd_mean_percent", "lower_limit_hz", "sensitivity_db"):
        assert abs(room[key].value - clean[key].value) < 2 * room[key].u
        assert any("reflections of the room" in text for text in room[key].cautions)


def test_spread_of_five_repeats() -> None:
    """The standard deviation of the five runs' mean THD is that of their truth tables within a tenth."""
    truths = [true_mean(run["truth_with_shunt"]) for run in load_truth("truth_repeats.json")["runs"]]
    takes = [
        take_readings(
            dataclasses.replace(load_response(f"repeat_{i}.flac"), verdicts=()),
            OVER_FUNDAMENTAL,
            take_id=f"avocet/v1/a/{i}",
            when="",
            rig="bench",
        )
        for i in range(1, 6)
    ]
    found = combine(
        RULE["thd_mean_percent"], takes, OVER_FUNDAMENTAL, version_id="avocet/v1", sources=Sources()
    ).figure
    assert found.spread == "one unit"
    assert found.spread_within == pytest.approx(np.std(truths, ddof=1), rel=0.15)
    assert found.value == pytest.approx(np.mean(truths), abs=0.1)
