"""Bands: the prediction interval against Student's t, a published example, the conjugate normal and a brute integral; coverage; workshop."""

import datetime as dt

import numpy as np
import pytest
from scipy import stats

from halfroll.acoustics.radiation import air_mass
from halfroll.builds.guide.bands import bands_of, said_of
from halfroll.builds.guide.judge import judge
from halfroll.builds.guide.predictive import Prior, predictive
from halfroll.core.errors import InputError
from halfroll.workshop.parameters_record import ParametersTable
from halfroll.workshop.records import DriverRecord, UnitRecord, VersionRecord
from halfroll.workshop.store import Workshop


@pytest.mark.parametrize("n", [3, 5, 12])
def test_without_prior_the_interval_is_students(n):
    """Mean ± t(n-1) s √(1 + 1/n) (Hahn and Meeker, "Statistical Intervals", 1991), t by SciPy."""
    y = np.random.default_rng(n).normal(6.6, 0.05, n)
    found = predictive(Prior(dof=0.0), y, np.zeros(n))
    half = stats.t.ppf(0.975, n - 1) * y.std(ddof=1) * np.sqrt(1.0 + 1.0 / n)
    assert found.low == pytest.approx(y.mean() - half, abs=1e-4 * half)
    assert found.high == pytest.approx(y.mean() + half, abs=1e-4 * half)


def test_hahns_circuit_packs():
    """Voltages of five circuit packs: 95 % prediction interval of one more, 46.1 to 54.1 (Hahn, J. Quality Technology 2, 1970; from memory)."""
    volts = [51.4, 49.5, 48.7, 49.3, 51.6]
    found = predictive(Prior(dof=0.0), volts, [0.0] * 5)
    assert (round(found.low, 1), round(found.high, 1)) == (46.1, 54.1)


def test_known_spread_is_the_conjugate_normal():
    """With the spread known: mean (m₀/τ² + Σy/v)/(1/τ² + n/v), v = ω² + s² (Gelman et al., "Bayesian Data Analysis", 2.5), quantiles by SciPy."""
    y, prior = [6.54, 6.61, 6.65], Prior(middle=6.9, u_shared=0.2, u_unit=0.05, dof=1e6)
    found = predictive(prior, y, [0.02] * 3)
    v = 0.05**2 + 0.02**2
    total = 1.0 / 0.2**2 + 3.0 / v
    mean = (6.9 / 0.2**2 + sum(y) / v) / total
    new = stats.norm(mean, np.sqrt(1.0 / total + 0.05**2))
    assert found.middle == pytest.approx(mean, abs=1e-4)
    assert [found.low, found.high] == pytest.approx(new.ppf([0.025, 0.975]), abs=3e-4)
    assert found.u_shared == pytest.approx(total**-0.5, rel=0.01)
    assert found.u_unit == pytest.approx(0.05, rel=0.01)


def test_everything_at_once_against_a_brute_integral():
    """All of the model over a plain grid of mean and spread, densities by SciPy."""
    y, s, prior = (
        np.array([88.0, 93.0]),
        np.array([1.0, 1.5]),
        Prior(middle=96.0, u_shared=6.0, u_unit=3.0, dof=4.0),
    )
    found = predictive(prior, y, s)
    mean, spread = np.linspace(60.0, 130.0, 701)[:, None], np.linspace(0.02, 60.0, 3000)[None, :]
    density = (
        stats.norm.pdf(mean, 96.0, 6.0) * stats.invgamma.pdf(spread**2, 2.0, scale=0.5 * 4.0 * 9.0) * spread
    )
    for value, u in zip(y, s, strict=True):
        density = density * stats.norm.pdf(value, mean, np.hypot(spread, u))
    density /= density.sum()
    below = [float((density * stats.norm.cdf(edge, mean, spread)).sum()) for edge in (found.low, found.high)]
    assert below == pytest.approx([0.025, 0.975], abs=3e-4)


@pytest.mark.parametrize("n", [0, 1, 3, 6])
def test_covers_a_new_unit_as_often_as_it_says(n):
    """600 invented versions, each with n measured units and one new one: 95 % within three standard deviations of the count."""
    rng, inside, tries = np.random.default_rng(10 + n), 0, 600
    for _ in range(tries):
        mean, spread = rng.normal(90.0, 6.0), 3.0 / np.sqrt(rng.chisquare(4.0) / 4.0)
        y = rng.normal(mean, spread, n) + rng.normal(0.0, 0.8, n)
        found = predictive(Prior(middle=90.0, u_shared=6.0, u_unit=3.0, dof=4.0), y, np.full(n, 0.8))
        inside += found.low <= rng.normal(mean, spread) <= found.high
    assert abs(inside - 0.95 * tries) < 3.0 * np.sqrt(0.95 * 0.05 * tries)


def test_what_tells_nothing_is_refused():
    """Neither prediction nor unit, or one unit and no idea of the spread."""
    with pytest.raises(InputError, match="needs a prediction or a measured unit"):
        predictive(Prior())
    with pytest.raises(InputError, match="spread of units"):
        predictive(Prior(dof=0.0), [6.5], [0.1])


PARAMETERS = ParametersTable(
    re_ohm=6.0,
    re_u_ohm=0.06,
    bl_n_per_a=4.1,
    mms_g=6.5,
    fs_hz=75.0,
    fs_u_hz=3.0,
    qms=4.0,
    le_mh=0.3,
    travel_mm=4.0,
)


@pytest.fixture
def shop(tmp_path):
    """A version whose parameters are entered, without units."""
    made = Workshop.init(tmp_path / "shop", "Saltmarsh", durable=False)
    made.create_driver("redshank", DriverRecord(title="Redshank"))
    made.create_version("redshank", "v1", VersionRecord(effective_area_cm2=54.0, parameters=PARAMETERS))
    return made


def test_entered_parameters_make_bands_in_free_air(shop):
    """The resonance in free air lies above that in a baffle by the air that no longer moves: √(Mms / (Mms - ma/2)), Lamb's disc."""
    bands = bands_of(shop, "redshank/v1")
    air = air_mass(np.sqrt(54e-4 / np.pi))
    assert bands["fs_hz"].value == pytest.approx(75.0 * np.sqrt(6.5e-3 / (6.5e-3 - 0.5 * air)), rel=1e-3)
    assert bands["moving_mass_g"].value == pytest.approx(6.5 - 1e3 * air, rel=1e-3)
    assert bands["re_ohm"].value == pytest.approx(6.0, rel=1e-6)
    assert bands["re_ohm"].u_shared == pytest.approx(0.06, rel=1e-3)
    assert all(one.low < one.value < one.high and one.n_units == 0 for one in bands.values())
    assert "entered parameters" in bands["fs_hz"].source


def test_units_pull_the_band_and_narrow_it(shop):
    """Three units move the middle and narrow the band; one that is judged, or known as faulty, does not count."""
    before = bands_of(shop, "redshank/v1")["re_ohm"]
    for name, ohm in (("01", 6.10), ("02", 6.12), ("03", 6.14)):
        shop.create_unit(
            "redshank/v1", name, UnitRecord(re_ohm=ohm, re_u_ohm=0.01, built_on=dt.date(2026, 6, 1))
        )
    after = bands_of(shop, "redshank/v1")["re_ohm"]
    assert after.n_units == 3
    assert after.value == pytest.approx(6.12, abs=0.04)
    assert after.high - after.low < before.high - before.low
    assert bands_of(shop, "redshank/v1", without="redshank/v1/03")["re_ohm"].n_units == 2
    there = shop.unit("redshank/v1/03")
    shop.save(there, there.record.changed(faulty="coil was wound with a turn too many"))
    assert bands_of(shop, "redshank/v1")["re_ohm"].n_units == 2


def test_units_far_from_the_prediction_are_said(shop):
    """Seven standard uncertainties off: said, and the band follows the units."""
    for name, ohm in (("01", 7.0), ("02", 7.05)):
        shop.create_unit("redshank/v1", name, UnitRecord(re_ohm=ohm, re_u_ohm=0.01))
    bands = bands_of(shop, "redshank/v1")
    assert "units-off-prediction" in {one.code for one in said_of(bands)}
    assert bands["re_ohm"].low < 7.0 < bands["re_ohm"].high


def test_a_version_of_which_nothing_is_known_says_what_to_add(shop):
    """Nothing is refused with what to add; one reading of one unit makes one band."""
    shop.create_version("redshank", "v2", VersionRecord())
    with pytest.raises(InputError, match="needs a design, entered parameters or measured ones"):
        bands_of(shop, "redshank/v2")
    shop.create_unit("redshank/v2", "01", UnitRecord(re_ohm=5.0))
    assert set(bands_of(shop, "redshank/v2")) == {"re_ohm", "rest_height_mm"}


def test_judging_minds_the_readings_own_doubt(shop):
    """Good, unsure while the reading reaches back into the band, outside, and what cannot be judged."""
    band = bands_of(shop, "redshank/v1")["re_ohm"]
    assert judge(band, band.value, 0.05).outcome == "good"
    assert judge(band, band.high + 0.05, 0.05).outcome == "unsure"
    assert judge(band, band.high + 0.05, 0.01).outcome == "outside"
    assert judge(band, float("nan"), 0.05).outcome == "not judged"
    assert judge(None, 5.0, 0.1, key="own").outcome == "not judged"
