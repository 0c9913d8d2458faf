"""Drift between repeats: a coil of known temperature, a falling level, and what is no drift."""

import dataclasses

import numpy as np
import pytest

from halfroll.compare.compare import compare
from halfroll.compare.drift import drift_cautions, sessions, trends
from halfroll.figures.types import Reading
from tests.compare.make import make_takes, make_version


def repeated(figures, minutes=6.0, **more):
    """One unit's takes, some minutes apart, with given values of figures in order."""
    n = len(next(iter(figures.values())))
    takes = make_takes("knot/v1", {"sensitivity_db": 86.0}, n_units=1, n_takes=n, **more)
    return tuple(
        dataclasses.replace(
            take,
            when=f"2026-05-02T{14 + int(i * minutes // 60):02d}:{int(i * minutes % 60):02d}:00",
            readings={
                **take.readings,
                **{key: Reading(value=values[i], u=0.01) for key, values in figures.items()},
            },
        )
        for i, take in enumerate(takes)
    )


def drift_of(takes):
    """The drift cautions of a version with these takes."""
    column = compare([make_version("knot/v1", takes=takes)]).columns[0]
    return [c for c in column.cautions if c.code == "drift"]


def test_a_warming_coil():
    """A copper coil 0, 4, 8, 12 K over 20 °C has a resistance 1 + 0.00393 times that (IEC 60028, from memory): 12 K come back."""
    ohm = [6.0 * (1 + 0.00393 * k) for k in (0.0, 4.1, 7.9, 12.0)]
    (verdict,) = drift_of(repeated({"impedance_min_ohm": ohm}))
    assert verdict.data["rise_k"] == pytest.approx(12.0, abs=0.3)
    assert verdict.data["rise_u_k"] < 0.5
    assert "about 11.9" in verdict.text
    assert "in 18\u202fmin" in verdict.text


def test_slope_and_uncertainty_are_those_of_least_squares():
    """Against NumPy's polynomial fit and its covariance."""
    level = [86.0, 85.83, 85.75, 85.55, 85.43]
    takes = repeated({"sensitivity_db": level})
    (trend,) = trends(takes)
    hours = 0.1 * np.arange(5)
    slope, covariance = np.polyfit(hours, level, 1, cov=True)
    assert trend.drift.change == pytest.approx(slope[0] * 0.4, rel=1e-9)
    assert trend.drift.u == pytest.approx(np.sqrt(covariance[0, 0]) * 0.4, rel=1e-9)
    (verdict,) = drift_of(takes)
    assert verdict.data["trends"][0]["per_hour"] == pytest.approx(slope[0])
    assert verdict.data["trends"][0]["per_take"] == pytest.approx(slope[0] * 0.1)


@pytest.mark.parametrize(
    "level",
    [[86.0, 86.05, 85.95, 86.02], [86.0, 86.02, 86.04, 86.06], [86.0, 85.2, 86.3, 85.6]],
    ids=["scatter", "too small to matter", "large scatter"],
)
def test_what_is_no_drift(level):
    """Scatter is none however large, and a steady 0.06 dB is none worth a word."""
    assert drift_of(repeated({"sensitivity_db": level})) == []


def test_only_repeats_of_one_session_are_put_together():
    """Two takes say nothing of a line; days, rigs or drives apart are other sessions."""
    falling = [86.0, 85.5, 85.0, 84.5]
    takes = repeated({"sensitivity_db": falling})
    assert drift_of(takes[:2]) == []
    assert drift_of(repeated({"sensitivity_db": falling}, minutes=61.0)) == []
    moved = tuple(dataclasses.replace(t, rig="shed") if i % 2 else t for i, t in enumerate(takes))
    assert list(sessions(moved)) == []
    assert len(list(sessions(takes))) == 1


def test_one_odd_take_is_no_drift():
    """A last take 4 dB lower is a wrong rig (another caution says so), not a driver that fades."""
    level = [86.0, 86.02, 85.99, 86.01, 86.0, 82.0]
    assert drift_of(repeated({"sensitivity_db": level})) == []


def test_chance_seldom_looks_like_drift():
    """Of 300 versions whose takes only scatter, at most 5 % (and three standard deviations of that) get a caution."""
    rng = np.random.default_rng(5)
    alarms = 0
    for _ in range(300):
        takes = tuple(
            dataclasses.replace(take, take_id=f"knot/v1/{unit}/{i}")
            for unit in range(6)
            for i, take in enumerate(repeated({"sensitivity_db": list(86.0 + 0.3 * rng.standard_normal(3))}))
        )
        alarms += bool(drift_cautions(make_version("knot/v1", takes=takes), "Knot v1"))
    assert alarms <= 0.05 * 300 + 3 * (0.05 * 0.95 * 300) ** 0.5
