"""Figures of predicted drivers: parameters against the textbook, shares against slopes done by hand, shared assumptions against the GUM."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.acoustics.load import closed_load, vented_load
from halfroll.core.conditions import Conditions, Space
from halfroll.core.uncertainty import Sources
from halfroll.driver.linear import linear_response
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.packing import pack
from halfroll.driver.predicted.types import Assumption, PredictedDriver
from halfroll.driver.quick import quick_response
from halfroll.figures.combine import combine
from halfroll.figures.computing import compute
from halfroll.figures.predicted import (
    NOT_COMPUTED,
    PredictedFigures,
    inductance,
    parameters_of,
    plain_key,
    predicted_figures,
)
from halfroll.figures.rules import RULE
from halfroll.figures.types import FigureSettings, Reading, TakeReadings
from halfroll.measure.analysis.response import Response
from halfroll.suspension.results import BreakUp

PLACE = Conditions(drive_v=None, distance_m=1.0, space=Space.HALF, rated_impedance_ohm=8.0)
MODEL = DriverModel(
    Re=6.0, Mms=12e-3, Rms=1.0, Sd=133e-4, Bl=(6.0, 10.0, -4e4), K=(1 / 0.9e-3, 0.0, 3e7), Le=(4e-4, -5e-3), x_range=(-5e-3, 5e-3),
    L2=3e-4, R2=3.0,
)  # fmt: skip


def assumption(key: str, u: float, *, shared: bool = False) -> Assumption:
    """Something that is not known exactly."""
    return Assumption(key=key, label=key, kind="print", unit="1", value=1.0, u=u, shared=shared)


def driver(model: DriverModel = MODEL) -> PredictedDriver:
    """Mass 2 %, own; force factor 1.5 % from a magnet that others share; stiffness 10 % from a filament that others share."""
    moves = (
        (assumption("moving.mass", 0.02), {"Mms": 1.02}),
        (assumption("magnet.y40.remanence", 0.015, shared=True), {"Bl": 1.015}),
        (assumption("filament.grey.modulus", 0.1, shared=True), {"K": 1.1}),
    )
    base = pack(model)
    slopes = np.array([pack(model.with_scaled(**factors)) - base for _, factors in moves])
    return PredictedDriver(model=model, assumptions=tuple(one for one, _ in moves), slopes=slopes, values=())


def responds(model: DriverModel) -> Response:
    """The quick response."""
    return quick_response(model, drive_v=1.0, conditions=PLACE)


def figures(one: PredictedDriver, own: str = "heron/v1") -> PredictedFigures:
    """Its figures and the shares."""
    return predicted_figures(
        one, responds(one.model), responds, FigureSettings(level_w=0.125), own=own, rated_power_w=5.0
    )


@pytest.fixture(scope="module")
def found() -> PredictedFigures:
    """Of the driver above."""
    return figures(driver())


def test_parameters_are_the_textbooks() -> None:
    """Small, JAES 20(5), 1972: fs = 1/(2π√(Mms Cms)), Qes = ωs Mms Re/Bl², Vas = ρc²Sd²Cms; Beranek's air of disc and piston."""
    baffle, free = parameters_of(MODEL), parameters_of(MODEL, "free-air")
    fs = 1.0 / (2.0 * math.pi * math.sqrt(12e-3 * 0.9e-3))
    assert baffle["fs_hz"].value == pytest.approx(fs)
    assert baffle["qes"].value == pytest.approx(2.0 * math.pi * fs * 12e-3 * 6.0 / 36.0)
    assert baffle["qms"].value == pytest.approx(2.0 * math.pi * fs * 12e-3)
    assert baffle["vas_l"].value == pytest.approx(
        1e3 * STANDARD_AIR.density * STANDARD_AIR.speed_of_sound**2 * 133e-4**2 * 0.9e-3
    )
    radius = math.sqrt(133e-4 / math.pi)
    lighter = 8.0 / 3.0 * STANDARD_AIR.density * radius**3
    assert free["mms_g"].value == pytest.approx(12.0 - 1e3 * lighter)
    assert free["fs_hz"].value == pytest.approx(fs * math.sqrt(12e-3 / (12e-3 - lighter)))


def test_inductance_at_1khz() -> None:
    """jωLe with L2 parallel R2, and one more branch, by complex arithmetic."""
    omega = 2000.0 * math.pi
    both = replace(MODEL, branches=((1e-4, 8.0),))
    wanted = 4e-4 + sum(
        (1j * omega * le * r / (r + 1j * omega * le)).imag / omega for le, r in ((3e-4, 3.0), (1e-4, 8.0))
    )
    assert inductance(both) == pytest.approx(wanted)


def test_shares_are_slopes_done_by_hand(found: PredictedFigures) -> None:
    """Resonance falls with half the mass's share and rises with half the stiffness's; Qes with √(Mms K)/Bl²; the level with Bl/Mms."""
    fs = found.parameters["baffle"]["fs_hz"]
    shares = dict(fs.shares)
    assert fs.value is not None
    # Differences across ± one u of a logarithm: half of f(1+u) - f(1-u), to second order the slope.
    assert shares["heron/v1 moving.mass"] == pytest.approx(-0.5 * math.log(1.02) * fs.value, rel=1e-3)
    assert shares["filament.grey.modulus"] == pytest.approx(0.5 * math.log(1.1) * fs.value, rel=2e-3)
    assert "magnet.y40.remanence" not in shares
    assert fs.u == pytest.approx(math.hypot(shares["heron/v1 moving.mass"], shares["filament.grey.modulus"]))
    level = dict(found.take["sensitivity_db"].shares)
    assert level["magnet.y40.remanence"] == pytest.approx(
        20.0 * math.log10(1.015), rel=0.25
    )  # some of it in the inductance's range
    assert level["heron/v1 moving.mass"] == pytest.approx(-20.0 * math.log10(1.02), rel=0.25)
    assert abs(level.get("filament.grey.modulus", 0.0)) < 0.02


def test_what_a_computed_take_cannot_tell(found: PredictedFigures) -> None:
    """No rub, no buzz: no figure above the harmonics, and it says why."""
    assert found.take["residue_db"] == Reading(missing=NOT_COMPUTED["residue_db"])


def test_band_of_the_level_is_that_of_the_assumptions(found: PredictedFigures) -> None:
    """Far above resonance the level's standard uncertainty is that of Bl/Mms; below it what the closed form of small signals says."""
    spread = found.spread
    at = {hz: float(np.interp(hz, spread.frequency_hz, spread.level_u_db)) for hz in (30.0, 300.0)}
    wanted = math.hypot(20.0 * math.log10(1.015), 20.0 * math.log10(1.02))
    assert at[300.0] == pytest.approx(wanted, rel=0.15)
    one = driver()
    sizes = [
        [
            abs(linear_response(one.moved({a.key: z}), np.array([30.0])).pressure_pa_per_v[0])
            for z in (1.0, -1.0)
        ]
        for a in one.assumptions
    ]
    closed = math.sqrt(sum((10.0 * math.log10(up / down)) ** 2 for up, down in sizes))
    assert at[30.0] == pytest.approx(closed, rel=0.05)


def predicted_take(version: str, readings: dict[str, Reading], **more: object) -> TakeReadings:
    """A computed take with these readings."""
    return TakeReadings(
        take_id=f"{version}/predicted/1w", when="", rig="computed", conditions=PLACE, readings=readings, source="predicted", **more  # type: ignore[arg-type]
    )  # fmt: skip


def test_a_predicted_figure_is_known_from_its_assumptions(found: PredictedFigures) -> None:
    """Its uncertainty is theirs, without degrees of freedom to doubt; it counts no units and no takes."""
    take = predicted_take("heron/v1", found.take)
    estimate = combine(
        RULE["sensitivity_db"], [take], FigureSettings(), version_id="heron/v1", sources=Sources()
    )
    figure = estimate.figure
    assert (figure.source, figure.spread, figure.n_units, figure.n_takes) == (
        "predicted",
        "assumptions",
        0,
        0,
    )
    assert figure.u == pytest.approx(found.take["sensitivity_db"].u, rel=1e-3)
    assert figure.expanded == pytest.approx(1.96 * (figure.u or 0.0), rel=1e-3)


def test_shared_assumptions_cancel_own_ones_do_not() -> None:
    """JCGM 100:2008 F.1.2.3: of two results with a common systematic effect the difference is free of it."""
    sources = Sources()
    rule = RULE["sensitivity_db"]

    def estimate(version: str, value: float, shared: float, own: float) -> object:
        u = math.hypot(shared, own)
        reading = Reading(
            value=value, u=u, shares=(("magnet.y40.remanence", shared), (f"{version} moving.mass", own))
        )
        found = combine(
            rule,
            [predicted_take(version, {rule.key: reading})],
            FigureSettings(),
            version_id=version,
            sources=sources,
        )
        assert found.figure.u == pytest.approx(u)
        return found.quantity

    one, other = estimate("heron/v1", 85.0, 0.3, 0.1), estimate("heron/v2", 86.0, 0.28, 0.1)
    difference = other - one  # type: ignore[operator]
    assert difference.std_dev == pytest.approx(math.sqrt(0.02**2 + 2 * 0.1**2))


def test_an_uncertainty_without_shares_stays_the_versions_own() -> None:
    """A prediction that states an uncertainty and no assumptions keeps it; one that states none is not taken for exact."""
    rule = RULE["sensitivity_db"]
    for u, expected in ((0.4, 0.4), (None, None), (0.0, None)):
        take = predicted_take("heron/v1", {rule.key: Reading(value=85.0, u=u)})
        found = combine(rule, [take], FigureSettings(), version_id="heron/v1", sources=Sources())
        assert found.figure.u == (None if expected is None else pytest.approx(expected))
        assert found.figure.source == "predicted"


def test_keys() -> None:
    """The key of an own assumption is that of its version and the plain one."""
    assert plain_key("heron/v1 moving.mass") == "moving.mass"
    assert plain_key("magnet.y40.remanence") == "magnet.y40.remanence"


def test_an_assumption_that_cannot_be_moved_one_way() -> None:
    """Where a driver cannot be so, the other side is taken alone."""
    creepy = replace(MODEL, creep=0.0)
    one = driver(creepy)
    row = np.zeros_like(one.slopes[0])
    row[:4] = 800.0  # no driver has such values: overflow
    broken = replace(
        one, assumptions=(*one.assumptions, assumption("odd", 1.0)), slopes=np.vstack([one.slopes, row])
    )
    with np.errstate(over="ignore"):
        found = figures(broken)
    assert found.take["sensitivity_db"].u == pytest.approx(figures(one).take["sensitivity_db"].u, rel=0.3)


def test_a_sweep_faster_than_its_cabinet_is_said() -> None:
    """A port with few losses rings: the time it takes to settle, Q/(π f), is not short against the time the sweep stays within its bandwidth. The note
    tells the difference to steady tones; a closed box has none.
    """
    place = replace(PLACE, drive_v=1.0, space=Space.CABINET, temperature_c=20.0)
    settings = FigureSettings(level_w=0.125)
    ported, _ = compute(driver(), settings, place, load=vented_load(4e-3, 45.0, leak_q=60.0))
    (note,) = [one for one in ported.response.verdicts if one.code == "sweep-faster-than-cabinet"]
    assert 45.0 / 1.6 < note.data["frequency_hz"] < 45.0 * 1.6
    assert note.data["level_db"] > 0.15 or note.data["thd_db"] > 0.15
    sealed, _ = compute(driver(), settings, place, load=closed_load(4e-3))
    assert not [one for one in sealed.response.verdicts if one.code == "sweep-faster-than-cabinet"]


def test_the_band_of_a_peak_does_not_vanish(found: PredictedFigures) -> None:
    """At the peak of the impedance a stiffness that is higher or lower lowers |Z| both times: the r.m.s. of both, worked out by hand."""
    f = found.spread.frequency_hz
    at = int(np.argmin(np.abs(f - 48.4)))
    moved = [
        abs(linear_response(MODEL.with_scaled(K=factor), f[[at]]).impedance_ohm[0])
        for factor in (1.1, 1.0 / 1.1)
    ]
    here = abs(linear_response(MODEL, f[[at]]).impedance_ohm[0])
    by_stiffness = math.sqrt(0.5 * sum((one - here) ** 2 for one in moved))
    assert found.spread.impedance_u_ohm[at] > 0.98 * by_stiffness
    assert by_stiffness > 0.05 * here


def test_break_up_widens_the_band_where_it_acts() -> None:
    """A peak of 8 dB at 2 kHz, known to a tenth of its frequency: the level is uncertain on its flanks and no more than before below."""
    f = np.geomspace(20.0, 8000.0, 400)
    peak = 8.0 * np.exp(-((np.log(f / 2000.0) / 0.1) ** 2))
    cone = BreakUp(
        first_hz=2000.0, second_hz=None, usable_hz=1800.0, usable_db=3.0, frequency_hz=f, angles_deg=(0.0,), response_db=peak[None, :],
        piston_db=np.zeros((1, f.size)), modes=(), u_relative=0.1, usable_u_relative=0.1,
    )  # fmt: skip
    plain, broken = figures(driver()), figures(replace(driver(), break_up=cone))
    grid = plain.spread.frequency_hz

    def at(spread: PredictedFigures, hz: float) -> float:
        return float(np.interp(hz, grid, spread.spread.level_u_db))

    assert at(broken, 200.0) == pytest.approx(at(plain, 200.0))
    # On the top the peak moves away to either side: 8 dB less 8 exp(-(ln 1.1/0.1)²) and the same of 0.9.
    away = [8.0 * (1.0 - math.exp(-((math.log(factor) / 0.1) ** 2))) for factor in (1.1, 0.9)]
    expected = math.hypot(at(plain, 2000.0), math.sqrt(0.5 * sum(one**2 for one in away)))
    assert at(broken, 2000.0) == pytest.approx(expected, rel=0.03)
    shares = dict(broken.take["sensitivity_db"].shares)
    assert abs(shares["heron/v1 cone.break-up"]) > 0.01
