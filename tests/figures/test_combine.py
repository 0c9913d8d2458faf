"""Figures of a version: mean of units, what the uncertainty consists of, bounds, and unknown spread."""

import math
import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfroll.core.uncertainty import Sources, coverage_factor
from halfroll.figures.combine import combine, published_figure, version_figures
from halfroll.figures.rules import RULE
from halfroll.figures.spread import PooledSpread
from halfroll.figures.types import Figure, FigureSettings, Reading
from tests.figures.make import make_take

SETTINGS = FigureSettings()
KEY = "sensitivity_db"


def figure(takes, key=KEY, **more) -> Figure:
    """One figure of some takes."""
    return combine(
        RULE[key], takes, SETTINGS, version_id="v", sources=more.pop("sources", Sources()), **more
    ).figure


def units(values: dict[str, list[float]], key=KEY, **more):
    """Takes of units with given values."""
    return [make_take(unit, i, {key: v}, **more) for unit, vs in values.items() for i, v in enumerate(vs)]


def test_three_units() -> None:
    """Unit means 84, 86 and 88 dB: 86 dB, u = 2/√3 with two degrees of freedom, 95 % half-width 4.30 u."""
    found = figure(units({"a": [83.9, 84.1], "b": [86.0, 86.0], "c": [88.2, 87.8]}))
    assert found.value == pytest.approx(86.0)
    assert found.u == pytest.approx(2 / math.sqrt(3))
    assert found.dof == pytest.approx(2)
    assert found.expanded == pytest.approx(4.3027 * 2 / math.sqrt(3), rel=1e-4)
    assert (found.spread, found.n_units, found.n_takes) == ("known", 3, 6)
    assert found.spread_within == pytest.approx(math.sqrt((0.02 + 0.0 + 0.08) / 3))
    assert dict(found.unit_means) == pytest.approx(
        {"dunlin/1/a": 84.0, "dunlin/1/b": 86.0, "dunlin/1/c": 88.0}
    )


def test_one_take_has_unknown_spread() -> None:
    """Unknown, not zero; the calibration is still told."""
    found = figure(units({"a": [86.0]}, microphone_u_db=0.3, voltage_u_db=0.4))
    assert (found.u, found.expanded, found.spread) == (None, None, "one take")
    assert found.u_calibration == pytest.approx(0.5)


def test_one_unit_speaks_for_itself() -> None:
    """Repeats of one unit: u of that unit's mean, marked so."""
    found = figure(units({"a": [86.0, 86.2, 86.4]}))
    assert found.u == pytest.approx(0.2 / math.sqrt(3))
    assert found.spread == "one unit"


def test_calibration_combines() -> None:
    """u_c² is the sum (JCGM 100:2008, 5.1.2) and the effective degrees of freedom follow G.4.1."""
    found = figure(units({"a": [86.0], "b": [86.2]}, microphone_u_db=0.3, voltage_u_db=0.4))
    own = 0.2 / math.sqrt(2) / math.sqrt(2)
    assert found.u == pytest.approx(math.hypot(own, 0.5))
    assert found.dof == pytest.approx(found.u**4 / own**4)


def test_calibration_of_a_rig_does_not_average_out() -> None:
    """Many takes on one rig share its calibration; takes on two rigs halve the variance of it."""
    many = figure(units({u: [86.0] for u in "abcdefgh"}, microphone_u_db=0.3))
    assert many.u_calibration == pytest.approx(0.3)
    two = units({"a": [86.0]}, microphone_u_db=0.3, rig="bench") + units(
        {"b": [86.0]}, microphone_u_db=0.3, rig="shed"
    )
    assert figure(two).u_calibration == pytest.approx(0.3 / math.sqrt(2))


def test_calibration_of_impedance_is_relative() -> None:
    """0.1 dB of voltage scale is 1.158 % of the impedance, and nothing of a limit or of THD."""
    takes = units({"a": [4.0], "b": [4.0]}, key="impedance_min_ohm", voltage_u_db=0.1, microphone_u_db=1.0)
    assert figure(takes, "impedance_min_ohm").u_calibration == pytest.approx(4.0 * 0.1 * math.log(10) / 20)
    for key in ("lower_limit_hz", "thd_mean_percent"):
        takes = units({"a": [60.0], "b": [61.0]}, key=key, voltage_u_db=0.1, microphone_u_db=1.0)
        assert figure(takes, key).u_calibration == 0.0


def test_room_and_what_repeats_do_not_show_are_added() -> None:
    """The room's part does not shrink with the number of takes."""
    reading = Reading(value=60.0, u=5.0, u_room=3.0, u_fixed=4.0)
    takes = [make_take(u, 0, {"lower_limit_hz": reading}) for u in "abcd"]
    assert figure(takes, "lower_limit_hz").u == pytest.approx(5.0)


def test_a_bound_makes_the_mean_a_bound() -> None:
    """With one take only known to be below 2 %, the mean is only known to be below."""
    takes = [
        make_take("a", 0, {"thd_mean_percent": 1.0}),
        make_take("b", 0, {"thd_mean_percent": Reading(value=2.0, bound="upper")}),
    ]
    found = figure(takes, "thd_mean_percent")
    assert (found.value, found.bound, found.u) == (1.5, "upper", None)
    assert "1 of 2 takes give only a bound" in found.cautions[0]


def test_opposite_bounds_say_nothing() -> None:
    """A mean of "at most" and "at least" is no statement."""
    takes = [
        make_take("a", i, {"lower_limit_hz": Reading(value=60.0, bound=b)})
        for i, b in enumerate(("upper", "lower"))
    ]
    found = figure(takes, "lower_limit_hz")
    assert found.value is None
    assert "opposite" not in found.missing
    assert "only an upper, others only a lower bound" in found.missing


def test_missing_says_why() -> None:
    """The reasons of the takes, each once."""
    found = figure([make_take("a", i, {}) for i in range(3)])
    assert (found.value, found.missing) == (None, "Not made.")
    assert figure([]).missing == "No take counts."


def test_takes_without_the_figure_are_told() -> None:
    """Three of four takes recorded the current."""
    takes = [make_take("a", i, {"resonance_hz": 90.0}) for i in range(3)] + [make_take("a", 3, {})]
    assert figure(takes, "resonance_hz").cautions == ("3 of 4 takes have this figure.",)


def test_pooled_spread_serves_a_single_take() -> None:
    """With a spread from elsewhere one take has an uncertainty: of one unit and one take."""
    pooled = PooledSpread(within=0.3, component=0.4, dof=7)
    found = figure(units({"a": [86.0]}), pooled=pooled)
    assert found.u == pytest.approx(0.5)
    assert (found.dof, found.spread) == (7, "pooled")
    relative = figure(units({"a": [60.0]}, key="lower_limit_hz"), "lower_limit_hz", pooled=pooled)
    assert relative.u == pytest.approx(30.0)


def test_published() -> None:
    """A printed value stands as printed, marked so."""
    more = {"where": "table 3", "version_id": "v", "sources": Sources()}
    bare = published_figure(RULE[KEY], 87.0, None, **more)
    assert (bare.figure.source, bare.figure.u, bare.quantity) == ("published", None, None)
    stated = published_figure(RULE[KEY], 87.0, 0.5, **more)
    assert (stated.figure.u, stated.figure.dof) == (0.5, math.inf)


def test_for_machines() -> None:
    """The machine's form carries value, u, conditions and takes, and no infinity."""
    raw = figure(units({"a": [86.0], "b": [86.0]}, microphone_u_db=0.3)).as_dict()
    assert raw["from"] == ["dunlin/1/a/0", "dunlin/1/b/0"]
    assert raw["dof"] is None
    assert raw["conditions"]["space"] == "half-space"
    assert raw["conditions"]["drive_w"] == pytest.approx(1.0)
    assert raw["expanded_95"] == pytest.approx(1.95996 * 0.3, abs=1e-5)


@pytest.mark.parametrize(("m", "k"), [(3, 3), (4, 1), (6, 2)])
def test_intervals_cover_the_truth(m: int, k: int) -> None:
    """Simulated units (σ 1) and takes (σ 0.5): the 95 % interval holds the true mean in 95 ± 2 % of 2000 draws."""
    rng = np.random.default_rng(17 * m + k)
    hits = 0
    for _ in range(2000):
        level = rng.normal(0, 1, m)[:, None] + rng.normal(0, 0.5, (m, k))
        found = figure([make_take(str(u), t, {KEY: 86.0 + level[u, t]}) for u in range(m) for t in range(k)])
        hits += abs(found.value - 86.0) <= coverage_factor(found.dof) * found.u
    assert hits / 2000 == pytest.approx(0.95, abs=0.02)


@given(st.lists(st.floats(60, 100), min_size=2, max_size=6), st.floats(-30, 30))
def test_gain_moves_the_figure_and_not_its_uncertainty(levels: list[float], gain: float) -> None:
    """A change of gain moves all takes alike."""
    one = figure(units({str(i): [v] for i, v in enumerate(levels)}))
    two = figure(units({str(i): [v + gain] for i, v in enumerate(levels)}))
    assert two.value == pytest.approx(one.value + gain)
    assert two.u == pytest.approx(one.u, abs=1e-9)


def test_two_thousand_takes_are_quick() -> None:
    """All figures of 2,000 takes in a fraction of a second (the overview waits for it)."""
    rng = np.random.default_rng(2)
    takes = [
        make_take(
            f"u{i // 4}",
            i % 4,
            {key: float(v) for key, v in zip(RULE, rng.normal(50, 1, len(RULE)), strict=True)},
        )
        for i in range(2000)
    ]
    start = time.process_time()
    version_figures(takes, SETTINGS)
    assert time.process_time() - start < 1.0
