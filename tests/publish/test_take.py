"""The charts of one take."""

import dataclasses

import numpy as np
import pytest

from halfroll.publish.render import to_svg
from halfroll.publish.spec import Spec, chart_summary
from halfroll.publish.take import take_charts
from halfroll.publish.theme import theme
from tests.publish import samples, svg
from tests.publish.language import assert_valid

LIGHT = theme("light")


@pytest.fixture(scope="module")
def charts() -> dict[str, Spec]:
    """All charts of the sample take."""
    return take_charts(samples.response(), theme=LIGHT, width_px=860.0)


def test_a_full_take_gives_every_chart(charts: dict[str, Spec]) -> None:
    """In reading order, each kind valid by the schema, each with words for those who do not see it."""
    expected = [
        "level",
        "thd",
        "harmonics",
        "impedance",
        "impedance_phase",
        "impulse",
        "group_delay",
        "noise",
    ]
    assert list(charts) == expected
    for name in ("harmonics", "impulse"):
        assert_valid(charts[name])
    for spec in charts.values():
        assert len(chart_summary(spec)) > 40
        assert svg.words(to_svg(spec))


def test_without_current_there_is_no_impedance() -> None:
    """What the take cannot give is left out."""
    names = take_charts(samples.response(current=False), theme=LIGHT, width_px=860.0)
    assert "impedance" not in names
    assert "impedance_phase" not in names


def test_the_gate_is_shown_where_it_matters(charts: dict[str, Spec]) -> None:
    """Level and group delay are hatched below 192 Hz; the impulse response behind the gate, with the reflection."""
    for name in ("level", "group_delay"):
        words = [row["word"] for row in charts[name]["datasets"]["limits_words"]]
        assert "room below 192\u202fHz" in words
    behind = charts["impulse"]["datasets"]["limits_words"][0]["word"]
    assert behind == "gated off: reflection at 5.40\u202fms, −14.0\u202fdB"
    assert min(min(r["x"], r["x2"]) for r in charts["impulse"]["datasets"]["limits"]) == pytest.approx(
        5.2, abs=0.02
    )


def test_the_gated_curve_says_nothing_below_its_limit(charts: dict[str, Spec]) -> None:
    """It begins at the limit; the curve with the room goes on below."""
    drawn = charts["level"]["datasets"]["curves"]
    assert min(row["x"] for row in drawn if row["s"] == 1) >= 192.0
    assert min(row["x"] for row in drawn if row["s"] == 0) < 30.0


def test_an_ungated_take_has_one_curve_and_no_room() -> None:
    """Nothing is said of a gate that was not used."""
    spec = take_charts(samples.response(gated=False), theme=LIGHT, width_px=860.0)["level"]
    assert {row["name"] for row in spec["datasets"]["names"]} == {"level"}
    assert not any("room" in row["word"] for row in spec["datasets"]["limits_words"])


def test_harmonics_under_the_noise_are_bounds(charts: dict[str, Spec]) -> None:
    """The 5th order lies under the noise throughout, the 2nd stands clear of it at 100 Hz."""
    kinds = {
        s: {row["k"] for row in charts["harmonics"]["datasets"]["curves"] if row["s"] == s} for s in range(5)
    }
    assert kinds[4] == {2}
    assert kinds[0].isdisjoint({2})
    second = [r for r in charts["harmonics"]["datasets"]["curves"] if r["s"] == 1 and 90.0 < r["x"] < 110.0]
    assert {row["k"] for row in second} == {0}


def test_levels_in_the_chart_are_those_of_the_response(charts: dict[str, Spec]) -> None:
    """The gated curve at 1 kHz is 20 lg of the pressure over 20 µPa."""
    response = samples.response()
    at_1k = int(np.argmin(np.abs(response.frequency_hz - 1000.0)))
    expected = 20.0 * np.log10(abs(response.pressure_pa[at_1k]) / 20e-6)
    drawn = [
        row["y"] for row in charts["level"]["datasets"]["curves"] if row["s"] == 1 and row["x"] == 1000.0
    ]
    assert drawn == pytest.approx([expected], rel=1e-4)


def test_an_uncalibrated_take_does_not_claim_sound_pressure() -> None:
    """Its levels are relative to full scale."""
    response = dataclasses.replace(samples.response(), calibrated=False)
    written = svg.words(to_svg(take_charts(response, theme=LIGHT, width_px=860.0)["level"]))
    assert any("not calibrated" in word for word in written)
    assert not any("µPa" in word for word in written)


def test_a_take_without_silence_has_no_noise_chart() -> None:
    """Noise that is not known is not drawn."""
    response = samples.response()
    silent = dataclasses.replace(response, noise_pa=np.full_like(response.noise_pa, np.nan))
    made = take_charts(silent, theme=LIGHT, width_px=860.0)
    assert "noise" not in made
    assert "noise" not in made["level"]["datasets"]


def test_a_harmonic_that_is_not_resolved_is_shown_at_its_limit_not_at_its_noise() -> None:
    """With no harmonics at all every order is shown at least 4.77 dB above the noise, never in its dips.

    The power of noise is exponentially distributed: it exceeds three times its mean (4.77 dB) in exp(-3) = 5 % of
    cases, so no 95 % upper limit is lower. An estimate that counts as unresolved is below ten times the noise power,
    and its limit, about (sqrt(10) + 1.645 / sqrt(2)) squared times it, below 13 dB.
    """
    response = samples.response()
    rng = np.random.default_rng(3)
    shape = response.harmonics_pa.shape
    only_noise = response.noise_pa[1:] * (rng.normal(size=shape) + 1j * rng.normal(size=shape)) / np.sqrt(2.0)
    charts = take_charts(dataclasses.replace(response, harmonics_pa=only_noise), theme=LIGHT, width_px=860.0)
    noise_db = 20.0 * np.log10(response.noise_pa[1] / 20e-6)
    unresolved = [r for r in charts["harmonics"]["datasets"]["curves"] if r["s"] and r["k"] == 2]
    assert len(unresolved) > 1000
    for row in unresolved:
        over = row["y"] - np.interp(row["x"], response.frequency_hz, noise_db)
        assert 4.7 < over < 13.5
