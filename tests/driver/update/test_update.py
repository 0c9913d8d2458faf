"""What an update says of single cases: causes that cannot be told apart, something left, nothing to move, distortion, bad input."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.large_signal import play
from halfroll.driver.predicted.types import Assumption, PredictedDriver
from halfroll.driver.update.solve import update
from halfroll.driver.update.telling import direct_check
from halfroll.driver.update.types import NEPER_DB, Observation
from tests.driver.update import story
from tests.driver.update.test_coverage import CURVE_HZ, measured


def codes(found):
    """Codes of all verdicts."""
    return [one.code for one in found.verdicts]


def test_two_causes_that_do_the_same_are_said_not_to_be_told_apart():
    """Glue and cone density both move the mass alone: their slopes lie in one line."""
    predicted = story.prediction()
    found = update(predicted, measured(story.driver({"cone.density": 2.0}), np.random.default_rng(3)))
    pairs = {frozenset((one.first, one.second)): one for one in found.alike}
    pair = pairs[frozenset(("cone.density", "moving.glue"))]
    assert 1 / 3 < pair.odds < 3.0
    assert abs(pair.correlation) > 0.5
    assert "update-causes-alike" in codes(found)
    said = next(one for one in found.verdicts if one.code == "update-causes-alike")
    assert "cannot tell" in said.text
    assert "scales" in said.remedy  # nothing of the whole driver tells; weighing one of the two does


def test_a_measurement_that_tells_two_causes_apart_is_named():
    """A resonance alone, 2 % high, is explained by a lighter cone or a stiffer surround; weighing the moving parts would tell."""
    predicted = story.prediction(("cone.density", "filament.tpu-grey.modulus"))
    truth = story.driver({"cone.density": -1.6})
    hz = np.sqrt(truth.K[0] / truth.Mms) / (2.0 * np.pi)
    found = update(predicted, [Observation(kind="value", name="fs_hz", label="Resonance", values=np.array([hz]), u=np.array([0.003]))])  # fmt: skip
    (pair,) = found.alike
    assert {pair.first, pair.second} == {"cone.density", "filament.tpu-grey.modulus"}
    weighed = next(one for one in pair.telling if "weighed" in one.what)
    assert weighed.apart > 2.0


@pytest.mark.parametrize(
    ("key", "kind", "word"),
    [
        ("cone.grams", "print", "scales"),
        ("surround.fill", "print", "scales"),
        ("surround.lines", "print", "strip"),
        ("surround.thickness", "print", "calliper"),
        ("filament.tpu.creep", "material", "weight"),
        ("filament.tpu.density", "material", "scales"),
        ("air.density", "air", "barometer"),
        ("steel.reversible", "steel", "impedance"),
        ("coil.height", "winding", "calliper"),
        ("magnet.y40.remanence", "magnet", "flux density"),
    ],
)
def test_what_is_advised_can_tell_the_thing_it_is_advised_for(key, kind, word):
    """A mass is told by a scale and not by a calliper; common practice of the bench."""
    one = Assumption(key=key, label="it", kind=kind, unit="", value=1.0, u=0.1)
    assert word in direct_check(one)


def test_loss_that_the_prediction_leaves_out_is_not_put_on_the_plastic_unsaid():
    """The prediction says that it leaves air pumping out (which adds to Rms); a loss factor that then moves up is said to be perhaps that."""
    predicted = story.prediction()
    data = measured(story.driver({"filament.tpu-grey.loss": 3.0}), np.random.default_rng(5))
    assert "update-loss-may-be-air" not in codes(update(predicted, data))
    left_out = Verdict(
        code="air-pumping-left-out", severity=Severity.NOTE, text="left out", remedy="", data={}
    )
    assert "update-loss-may-be-air" in codes(update(replace(predicted, verdicts=(left_out,)), data))
    less = measured(story.driver({"filament.tpu-grey.loss": -3.0}), np.random.default_rng(5))
    assert "update-loss-may-be-air" not in codes(update(replace(predicted, verdicts=(left_out,)), less))


def test_nothing_moves_when_all_is_as_assumed():
    """No cause, and nothing left."""
    found = update(story.prediction(), measured(story.driver(), np.random.default_rng(5)))
    assert found.explanation.keys == ()
    assert codes(found) == ["update-nothing-moved"]
    assert found.misfit.probability > 0.01


def test_what_no_assumption_explains_is_said_with_its_range():
    """A bump of 12 % at 1 kHz, a second octave wide, as a rattle or a break-up makes."""
    bumped = measured(story.driver({"magnet.y30.remanence": 1.2}), np.random.default_rng(6))
    curve = bumped[0].values * (1.0 + 0.12 * np.exp(-((np.log2(CURVE_HZ / 1000.0) / 0.35) ** 2)))
    found = update(story.prediction(), [replace(bumped[0], values=curve), *bumped[1:]])
    assert found.misfit.probability < 1e-6
    label, low, high, _ = found.misfit.stretches[0]
    assert label == "Impedance"
    assert 500.0 < low < 1000.0 < high < 2000.0
    assert "update-unexplained" in codes(found)
    assert dict(found.misfit.widened)["Impedance"] > 1.5
    # counted as uncertainty, what is left does not pass for a cause that is far off
    assert (
        abs(found.cause("magnet.y30.remanence").z_few - 1.2)
        < 1.96 * found.cause("magnet.y30.remanence").u_few
    )


def test_shares_and_remainder_add_up_to_the_difference():
    """At every point, and what is left is measured less explained."""
    z = {"filament.tpu-grey.modulus": 1.8, "magnet.y30.remanence": -1.5, "moving.glue": 1.4}
    found = update(story.prediction(), measured(story.driver(z), np.random.default_rng(8)))
    assert set(found.explanation.keys) >= {"magnet.y30.remanence"}
    for one in found.residuals:
        whole = sum((share for _, share in one.shares), np.zeros_like(one.difference)) + one.remainder
        np.testing.assert_allclose(whole, one.difference, atol=1e-9)
    curve = found.residuals[0]
    modulus = slice(0, len(CURVE_HZ))
    difference = NEPER_DB * np.log(np.abs(curve.observation.values / curve.before))
    np.testing.assert_allclose(curve.difference[modulus], difference, atol=1e-9)
    # the explanation leaves what the noise is, 1 % or 0.09 dB
    assert np.sqrt(np.mean(curve.remainder[modulus] ** 2)) < 0.13 < np.max(np.abs(difference))
    # and what is left is measured less explained, however far the resonance moved
    explained = NEPER_DB * np.log(np.abs(curve.observation.values / curve.after))
    beside = sum(share for name, share in curve.shares if name in ("current", "voltage"))
    np.testing.assert_allclose(curve.remainder[modulus], (explained - beside[modulus]), atol=0.02)


def distortion_in_time(model, volts, frequency_hz):
    """H2 and H3 over the fundamental in pressure, from the time-domain solver and an FFT over whole periods."""
    rate, told = 48_000.0, []
    for hz in frequency_hz:
        periods = 40
        n = round(rate / hz) * periods
        exact = periods * rate / n
        t = np.arange(n) / rate
        motion = play(model, np.sqrt(2.0) * volts * np.sin(2 * np.pi * exact * t), rate)
        last = motion.acceleration_m_s2[n // 2 :]
        lines = np.abs(np.fft.rfft(last))[:: periods // 2]
        told.append(lines[2:4] / lines[1])
    return np.array(told).T


def test_distortion_finds_a_coil_out_of_its_place_that_nothing_else_sees():
    """Truth by the time-domain solver: H2 in the bass tells the coil's height, the impedance does not."""
    base = replace(story.driver(), creep=0.0)
    offset = 0.25e-3
    predicted = story.prediction()
    from halfroll.driver.predicted.packing import pack

    height = Assumption(
        key="coil.height",
        label="height of the coil over the gap",
        kind="assembly",
        unit="m",
        value=0.0,
        u=offset,
        by_ratio=False,
    )
    slope = pack(base.with_coil_moved(0.02e-3)) - pack(base.with_coil_moved(-0.02e-3))
    # moving a polynomial shifts every coefficient: the row is as long as before
    slope = slope / 0.04e-3 * offset
    driver = PredictedDriver(
        model=base,
        assumptions=(*predicted.assumptions, height),
        slopes=np.vstack([predicted.slopes, slope]),
        values=(),
    )
    truth = base.with_coil_moved(1.6 * offset)
    volts, at = 2.0, np.array([60.0, 80.0, 100.0])
    ratios = distortion_in_time(truth, volts, at)
    told = [
        Observation(kind="distortion", label=f"H{order}", order=order, values=ratios[order - 2], u=np.full(3, 1.5), frequency_hz=at, drive_v=volts)
        for order in (2, 3)
    ]  # fmt: skip
    with_tones = update(driver, [*measured(truth, np.random.default_rng(9)), *told])
    without = update(driver, measured(truth, np.random.default_rng(9)))
    one = with_tones.cause("coil.height")
    assert one.moved
    assert abs(one.z_few - 1.6) < 1.96 * one.u_few < 1.2
    assert without.cause("coil.height").u > 1.5 * one.u


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"u": np.zeros(1)}, "uncertainty above zero"),
        ({"values": np.array([np.nan])}, "finite"),
        ({"values": np.array([1.0, 2.0])}, "one value, uncertainty"),
        ({"values": np.array([0.0])}, "above zero"),
    ],
)
def test_a_datum_that_cannot_be_is_refused(change, words):
    """Not finite, not above zero, no uncertainty, unlike lengths."""
    good = Observation(
        kind="value", name="re_ohm", label="DC resistance", values=np.array([6.0]), u=np.array([0.01])
    )
    with pytest.raises(InputError, match=words):
        update(story.prediction(), [replace(good, **change)])


def test_without_a_measurement_or_an_assumption_it_says_so():
    """Nothing to hold against, nothing to move."""
    with pytest.raises(InputError, match="something measured"):
        update(story.prediction(), [])
    good = Observation(
        kind="value", name="re_ohm", label="DC resistance", values=np.array([6.0]), u=np.array([0.01])
    )
    with pytest.raises(InputError, match="assumptions to move"):
        update(
            PredictedDriver(model=story.driver(), assumptions=(), slopes=np.zeros((0, 21)), values=()), [good]
        )
