"""Parameters as figures: read from fits, counted by their own kind, with the uncertainty that belongs to them."""

import math
from dataclasses import replace

import numpy as np
import pytest

from halfroll.core.conditions import Conditions, Space
from halfroll.core.uncertainty import Sources
from halfroll.figures.combine import combine, version_figures
from halfroll.figures.parameters import ABSOLUTE_FIGURES, KEYS, absolute_readings, fit_readings
from halfroll.figures.rules import GROUPS, RULE, RULES, told_of
from halfroll.figures.types import FigureSettings, Reading, TakeReadings
from halfroll.measure.lumped.parameter_types import Estimates, Fit, Parameters
from tests.figures.make import make_take

SETTINGS = FigureSettings()


def make_fit(values: dict[str, float], u: dict[str, float] | None = None) -> Fit:
    """A fit of given values with independent uncertainties."""
    names = tuple(values)
    spread = [(u or {}).get(n, 0.0) for n in names]
    f = np.array([20.0, 50.0, 100.0])
    z = np.full(3, 6.0 + 0j)
    return Fit(
        coil="lr2", creep=False, frequency_hz=f, measured_ohm=z, fitted_ohm=z, weights=np.ones(3),
        estimates=Estimates(names=names, values=np.array(list(values.values())), covariance=np.diag(np.square(spread))),
    )  # fmt: skip


def make_run(unit: str, number: int, values: dict[str, float | Reading], **more: object) -> TakeReadings:
    """An impedance run with given figures."""
    given = {k: v if isinstance(v, Reading) else Reading(value=v, u=0.01 * abs(v)) for k, v in values.items()}
    fields: dict[str, object] = {
        "rig": "bench",
        "kind": "impedance",
        "mounting": "baffle",
        "version": "dunlin/1",
        **more,
    }
    version = fields.pop("version")
    return TakeReadings(
        take_id=f"{version}/{unit}/impedance/{number}",
        when="2026-01-01T10:00",
        conditions=Conditions(drive_v=0.3, distance_m=0.0, space=Space.HALF),
        readings=given,
        **fields,  # type: ignore[arg-type]
    )


def test_units_are_those_of_the_trade() -> None:
    """Grams, millimetres a newton, litres and per cent from SI; every key has a reading or a reason."""
    fit = make_fit(
        {"re_ohm": 6.0, "fs_hz": 50.0, "qms": 4.0, "qes": 0.5, "qts": 4 * 0.5 / 4.5, "le_h": 0.5e-3},
        {"fs_hz": 0.2},
    )
    estimates = Estimates(
        names=("mms_kg", "cms_m_per_n", "rms_ns_per_m", "bl_n_per_a", "vas_m3", "eta0"),
        values=np.array([0.012, 0.8e-3, 1.1, 6.5, 0.03, 0.004]), covariance=np.diag(np.square([1e-4, 0, 0, 0.1, 0, 0])),
    )  # fmt: skip
    found = fit_readings(fit) | absolute_readings(Parameters(estimates=estimates))
    assert set(found) == set(KEYS)
    values = {k: r.value for k, r in found.items()}
    assert values["mms_g"] == pytest.approx(12.0)
    assert values["cms_mm_per_n"] == pytest.approx(0.8)
    assert values["vas_l"] == pytest.approx(30.0)
    assert values["eta0_percent"] == pytest.approx(0.4)
    assert values["le_1khz_mh"] == pytest.approx(0.5)
    assert found["fs_hz"].u == pytest.approx(0.2)
    assert found["mms_g"].u_fixed == pytest.approx(0.1)
    lacking = absolute_readings(None, "Weigh it.")
    assert set(lacking) == set(ABSOLUTE_FIGURES)
    assert {r.missing for r in lacking.values()} == {"Weigh it."}
    assert "resonance" in fit_readings(make_fit({"re_ohm": 6.0, "le_h": 1e-3}))["qts"].missing


def test_inductance_of_every_coil_at_1_khz() -> None:
    """Le + L2·R2²/(R2² + ω²L2²) by hand for the two-element coil (real and imaginary part of jωL2‖R2); K·sin(nπ/2)·ω^(n-1)
    for the semi-inductance (Vanderkooy 1989); uncertainty against a Monte Carlo draw.
    """
    w = 2 * math.pi * 1000.0
    fit = make_fit(
        {"le_h": 0.2e-3, "l2_h": 0.4e-3, "r2_ohm": 3.0}, {"le_h": 1e-5, "l2_h": 2e-5, "r2_ohm": 0.2}
    )
    by_hand = 0.2e-3 + 0.4e-3 * 9.0 / (9.0 + (w * 0.4e-3) ** 2)
    reading = fit_readings(fit)["le_1khz_mh"]
    assert reading.value == pytest.approx(1e3 * by_hand)
    le, l2, r2 = np.random.default_rng(1).normal([0.2e-3, 0.4e-3, 3.0], [1e-5, 2e-5, 0.2], (20000, 3)).T
    drawn = np.std(1e3 * (le + l2 * r2**2 / (r2**2 + (w * l2) ** 2)))
    assert reading.u == pytest.approx(float(drawn), rel=0.03)
    semi = fit_readings(make_fit({"semi_k": 0.05, "semi_n": 0.6}))["le_1khz_mh"]
    assert semi.value == pytest.approx(1e3 * 0.05 * math.sin(0.3 * math.pi) * w ** (0.6 - 1.0))


def test_takes_and_runs_do_not_count_for_each_other() -> None:
    """A take without fs is not "missing" it, nor a run without a sensitivity."""
    takes = [make_take("a", 1, {"sensitivity_db": 86.0}), make_take("a", 2, {"sensitivity_db": 86.4})]
    runs = [make_run("a", 1, {"fs_hz": 50.0}), make_run("a", 2, {"fs_hz": 50.4})]
    found = version_figures([*takes, *runs], SETTINGS)
    for key in ("sensitivity_db", "fs_hz"):
        figure = found[key].figure
        assert figure.n_takes == 2
        assert figure.n_units == 1
        assert figure.cautions == ()
    assert found["fs_hz"].figure.value == pytest.approx(50.2)
    assert found["fs_hz"].figure.conditions["mounting"] == "baffle"
    assert found["qts"].figure.missing == "Not read from these takes."
    assert version_figures(takes, SETTINGS)["fs_hz"].figure.missing == "No impedance was measured."


def test_only_runs_that_may_have_a_figure_are_counted_as_lacking_it() -> None:
    """The moving mass stands at one run of a unit; the other runs do not lack it. One that gave no reason does."""
    runs = [make_run("a", 1, {"mms_g": 12.0}), make_run("a", 2, {"fs_hz": 50.0}),
            make_run("b", 1, {"mms_g": Reading(missing="Nothing tells it.")})]  # fmt: skip
    figure = combine(RULE["mms_g"], runs, SETTINGS, version_id="v", sources=Sources()).figure
    assert figure.cautions == ("1 of 2 runs have this figure.",)


def test_a_single_run_has_the_uncertainty_of_its_fit() -> None:
    """It speaks for that unit only; a single take still has none. The fixed part is not counted twice."""
    run = make_run("a", 1, {"mms_g": Reading(value=12.0, u=0.5, u_fixed=0.3)})
    figure = combine(RULE["mms_g"], [run], SETTINGS, version_id="v", sources=Sources()).figure
    assert figure.u == pytest.approx(0.5)
    assert figure.spread == "one unit"
    take = combine(
        RULE["sensitivity_db"],
        [make_take("a", 1, {"sensitivity_db": 86.0})],
        SETTINGS,
        version_id="v",
        sources=Sources(),
    )
    assert take.figure.u is None


def test_a_shared_scale_moves_ohms_and_cancels_between_versions() -> None:
    """1 % of scale is 1 % of Re, half of it of Bl, nothing of Qts; two versions on one rig lose it in their difference."""
    db = 20 / math.log(10) * 0.01
    sources = Sources()

    def of(version: str, key: str, value: float) -> tuple[float, object]:
        runs = [make_run(unit, 1, {key: Reading(value=value + step, u=0.0)}, version=version, current_u_db=db)
                for unit, step in (("a", -1e-6), ("b", 1e-6))]  # fmt: skip
        found = combine(RULE[key], runs, SETTINGS, version_id=version, sources=sources)
        assert found.figure.u is not None
        return found.figure.u, found.quantity

    assert of("d/1", "re_ohm", 6.0)[0] == pytest.approx(0.06, rel=1e-3)
    assert of("d/1", "bl_n_per_a", 4.0)[0] == pytest.approx(0.02, rel=1e-3)
    assert of("d/1", "qts", 0.5)[0] < 1e-5
    one, other = of("d/1", "re_ohm", 6.0)[1], of("d/2", "re_ohm", 6.0)[1]
    assert (one - other).std_dev < 1e-5  # type: ignore[operator]


def test_a_single_run_counts_the_scale_once() -> None:
    """Re of 6 ohm with 0.5 % of its own and 1 % of scale has √(0.5² + 1²) % (JCGM 100, 5.1.2), and Bl half the scale's share."""
    own, scale, db = 0.005, 0.01, 20 / math.log(10)
    fit = make_fit({"re_ohm": 6.0}, {"re_ohm": 6.0 * math.hypot(own, scale)})
    bl = Estimates(
        names=("bl_n_per_a",),
        values=np.array([4.0]),
        covariance=np.array([[(4.0 * math.hypot(own, scale / 2)) ** 2]]),
    )
    readings = fit_readings(fit, scale) | absolute_readings(Parameters(estimates=bl), "", scale)
    run = make_run("a", 1, {k: readings[k] for k in ("re_ohm", "bl_n_per_a")}, current_u_db=db * scale)
    for key, value, whole in (
        ("re_ohm", 6.0, math.hypot(own, scale)),
        ("bl_n_per_a", 4.0, math.hypot(own, scale / 2)),
    ):
        figure = combine(RULE[key], [run], SETTINGS, version_id="v", sources=Sources()).figure
        assert figure.u == pytest.approx(whole * value, rel=1e-9)


def test_few_points_give_few_degrees_of_freedom() -> None:
    """A fit with five degrees of freedom has Student's t of 2.571 (JCGM 100, Table G.2), not 1.960, behind a single run."""
    fit = make_fit({"fs_hz": 50.0}, {"fs_hz": 0.1})
    few = replace(fit, estimates=replace(fit.estimates, dof=5.0))
    run = make_run("a", 1, {"fs_hz": fit_readings(few)["fs_hz"]})
    figure = combine(RULE["fs_hz"], [run], SETTINGS, version_id="v", sources=Sources()).figure
    assert figure.dof == pytest.approx(5.0)
    assert figure.expanded == pytest.approx(0.2571, rel=1e-3)


def test_tables_show_what_there_is_to_show() -> None:
    """Every rule has a heading; those of runs are left out when there are no runs and no values."""
    assert {rule.group for rule in RULES} <= set(GROUPS)
    takes = {
        k: e.figure
        for k, e in version_figures([make_take("a", 1, {"sensitivity_db": 86.0})], SETTINGS).items()
    }
    shown = [rule.key for rules in told_of([takes]).values() for rule in rules]
    assert "resonance_hz" in shown
    assert not set(KEYS) & set(shown)
    with_runs = [rule.key for rules in told_of([takes], {"impedance"}).values() for rule in rules]
    assert set(KEYS) <= set(with_runs)
    printed = {**takes, "qts": version_figures([make_run("a", 1, {"qts": 0.4})], SETTINGS)["qts"].figure}
    assert "qts" in [rule.key for rules in told_of([takes, printed]).values() for rule in rules]
