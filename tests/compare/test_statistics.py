"""Differences against published two-sample tests, and how often they claim what is not there."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import ttest_ind

from halfroll.compare.statistics import contrast, ratio_of
from halfroll.core.uncertainty import Sources
from halfroll.figures.combine import Estimate, combine
from halfroll.figures.rules import RULE
from halfroll.figures.spread import pool, two_level
from halfroll.figures.types import FigureSettings, Reading
from tests.figures.make import make_take

SETTINGS = FigureSettings()


def estimate(values, sources, name="v", key="sensitivity_db", pooled=None, **more) -> Estimate:
    """A figure from one take of each unit."""
    takes = [make_take(f"u{i}", 0, {key: v}, version=name, **more) for i, v in enumerate(values)]
    return combine(RULE[key], takes, SETTINGS, version_id=name, sources=sources, pooled=pooled)


def compared(x, y, unit="dB", key="sensitivity_db", pooled=None, **more):
    """Version x against base y."""
    sources = Sources()
    one, two = (estimate(v, sources, n, key, pooled, **more) for v, n in ((x, "x"), (y, "y")))
    return contrast(one, two, unit, sources)


def sample(n: int, mean: float, deviation: float) -> np.ndarray:
    """Values with exactly this mean and standard deviation."""
    x = np.random.default_rng(n).standard_normal(n)
    return mean + deviation * (x - x.mean()) / x.std(ddof=1)


def test_welch_on_auto83b() -> None:
    """NIST/SEMATECH e-Handbook 1.3.5.3, AUTO83B: Welch's t is -12.94627 with 136.875 degrees of freedom."""
    found = compared(sample(249, 20.14458, 6.41470), sample(79, 30.48101, 6.10771))
    assert found.value / found.u == pytest.approx(-12.94627, abs=1e-4)
    assert found.dof == pytest.approx(136.875, abs=1e-3)
    assert found.distinct is True


def test_pooled_on_auto83b() -> None:
    """The same data with pooled spread: T = -12.62059 with 326 degrees of freedom, critical value 1.9673."""
    x, y = sample(249, 20.14458, 6.41470), sample(79, 30.48101, 6.10771)
    spread = pool([two_level({i: [v] for i, v in enumerate(s)}) for s in (x, y)], relative=False)
    found = compared(x, y, pooled=spread)
    assert found.value / found.u == pytest.approx(-12.62059, abs=1e-4)
    assert found.dof == pytest.approx(326)
    assert found.expanded / found.u == pytest.approx(1.9673, abs=5e-5)


def test_small_sample_agrees_with_scipy() -> None:
    """For x = 48.1 48.4 48.2 48.3, y = 47.6 47.9 47.5: t = 4.27593 with 3.14576 degrees of freedom, as SciPy says."""
    x, y = [48.1, 48.4, 48.2, 48.3], [47.6, 47.9, 47.5]
    found, peer = compared(x, y), ttest_ind(x, y, equal_var=False)
    assert found.value / found.u == pytest.approx(peer.statistic)
    assert found.value / found.u == pytest.approx(4.27593, abs=1e-5)
    assert found.dof == pytest.approx(3.14576, abs=1e-5)
    low, high = peer.confidence_interval(0.95)
    assert found.expanded == pytest.approx((high - low) / 2)
    assert found.distinct is True


def test_octaves() -> None:
    """136 Hz to 52 Hz is 1.39 octaves deeper (common practice); u in octaves is the relative u over ln 2."""
    found = compared([51.0, 52.0, 53.0], [136.0, 136.0, 136.0], "octaves", "lower_limit_hz")
    assert found.value == pytest.approx(-1.39, abs=0.005)
    assert found.u == pytest.approx(1 / math.sqrt(3) / 52 / math.log(2))


def test_shared_calibration_cancels() -> None:
    """One rig's 0.5 dB is in both figures and not in their difference; two rigs' is."""
    same = compared([86.0, 86.2, 86.4], [84.0, 84.2, 84.4], microphone_u_db=0.5, voltage_u_db=0.3)
    none = compared([86.0, 86.2, 86.4], [84.0, 84.2, 84.4])
    assert same.u == pytest.approx(none.u)
    assert same.dof == pytest.approx(none.dof)
    sources = Sources()
    one = estimate([86.0, 86.2, 86.4], sources, "x", microphone_u_db=0.5, rig="bench")
    two = estimate([84.0, 84.2, 84.4], sources, "y", microphone_u_db=0.5, rig="shed")
    assert contrast(one, two, "dB", sources).u == pytest.approx(math.hypot(none.u, 0.5 * math.sqrt(2)))


def test_shared_room_cancels_for_bands_not_for_limits() -> None:
    """The room moves two distortions in one place alike, but two limits at two frequencies each in its own way."""
    room = Reading(value=2.0, u_room=0.3)
    assert compared([room] * 3, [room] * 3, "points", "thd_mean_percent").u == pytest.approx(0.0, abs=1e-12)
    limit = Reading(value=60.0, u_room=2.0)
    found = compared([limit] * 3, [limit] * 3, "octaves", "lower_limit_hz")
    assert found.u == pytest.approx(math.sqrt(2) * 2 / 60 / math.log(2))


def test_unknown_spread_claims_nothing() -> None:
    """One take against three units: a difference, no claim."""
    found = compared([90.0], [84.0, 84.2, 84.4])
    assert (found.value, found.u, found.distinct) == (pytest.approx(5.8), None, None)


def test_bounds() -> None:
    """At most 1 % is less than 2.5 ± 0.1 %; at most 2.4 % cannot be told; two bounds tell nothing."""
    base = [2.45, 2.5, 2.55]
    low, near = Reading(value=1.0, bound="upper"), Reading(value=2.45, bound="upper")
    clear = compared([low] * 3, base, "points", "thd_mean_percent")
    assert (clear.distinct, clear.bound) == (True, "upper")
    assert clear.value == pytest.approx(-1.5)
    assert compared([near] * 3, base, "points", "thd_mean_percent").distinct is None
    assert compared([low] * 3, [near] * 3, "points", "thd_mean_percent").distinct is None
    turned = compared(base, [low] * 3, "points", "thd_mean_percent")
    assert (turned.distinct, turned.bound) == (True, "lower")


def test_ratios() -> None:
    """3.01 dB is twice the power; other figures are divided; nothing is divided by nothing."""
    assert ratio_of(89.0103, 86.0, "dB") == pytest.approx(2.0, abs=1e-4)
    assert ratio_of(1.2, 2.4, "points") == 0.5
    assert ratio_of(1.2, 0.0, "points") is None


@pytest.mark.parametrize(("m", "n"), [(3, 3), (4, 4), (4, 3)])
def test_false_claims_are_rare(m: int, n: int) -> None:
    """Simulated without any difference (units σ 1, takes σ 0.5): a difference is claimed in about 5 % of 2000 draws."""
    rng = np.random.default_rng(100 * m + n)
    claims = 0
    for _ in range(2000):
        x, y = (rng.normal(86, math.hypot(1, 0.5), k) for k in (m, n))
        claims += bool(compared(x, y).distinct)
    assert claims / 2000 == pytest.approx(0.045, abs=0.02)


def test_differences_are_covered() -> None:
    """Simulated with unlike spreads (1 and 0.3): the 95 % interval holds the true difference in 95 ± 2 % of draws."""
    rng = np.random.default_rng(8)
    hits = 0
    for _ in range(2000):
        found = compared(rng.normal(86, 1, 4), rng.normal(84, 0.3, 4), microphone_u_db=0.5)
        hits += abs(found.value - 2.0) <= found.expanded
    assert hits / 2000 == pytest.approx(0.95, abs=0.02)


@given(
    st.lists(st.floats(80, 90), min_size=2, max_size=5), st.lists(st.floats(80, 90), min_size=2, max_size=5)
)
def test_turning_round_changes_the_sign(x: list[float], y: list[float]) -> None:
    """Version against base is minus base against version, with the same uncertainty."""
    one, two = compared(x, y), compared(y, x)
    assert one.value == pytest.approx(-two.value)
    assert one.expanded == pytest.approx(two.expanded)


@given(st.floats(0.0, 2.0), st.floats(-20, 20))
def test_a_common_gain_does_not_matter(u_db: float, gain: float) -> None:
    """A gain wrong by the same amount for both leaves the difference alone, however badly it is known."""
    one = compared([86.0, 86.5], [84.0, 84.1])
    two = compared([86.0 + gain, 86.5 + gain], [84.0 + gain, 84.1 + gain], microphone_u_db=u_db)
    assert two.value == pytest.approx(one.value)
    assert two.u == pytest.approx(one.u)
