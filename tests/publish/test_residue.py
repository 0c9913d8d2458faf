"""The charts of what lies above the harmonics."""

import numpy as np
import pytest

from halfroll.measure.residues.rub import against_others
from halfroll.publish.render import to_svg
from halfroll.publish.residue import residue_charts
from halfroll.publish.spec import chart_summary
from halfroll.publish.theme import theme
from tests.measure.rubbing import bench, both_ends, quiet
from tests.publish import svg
from tests.publish.language import assert_valid

LIGHT = theme("light")


@pytest.fixture(scope="module")
def ill():
    """The residue of a unit that rubs at -40 dB, and of two good ones."""
    fault = bench().at_level(both_ends(1), -40.0, 30.0, 70.0)
    return bench().residue(quiet(1) + fault), [bench().residue(quiet(seed)) for seed in (2, 3)]


def test_over_the_excitation(ill):
    """Three curves with their names, the noise hatched, a valid specification with words for those who do not see it."""
    residue, others = ill
    charts = residue_charts(
        residue, theme=LIGHT, width_px=860.0, against=against_others(residue, others), others=others
    )
    assert list(charts) == ["residue", "moment"]
    assert_valid(charts["residue"])
    words = svg.words(to_svg(charts["residue"]))
    for name in ("this take", "other units", "limit", "noise"):
        assert any(name in word for word in words)
    assert len(chart_summary(charts["residue"])) > 40


def test_alone_there_is_one_curve(ill):
    """Without other units there is no limit and no band; where the noise hides it, it is only a bound."""
    _, others = ill
    charts = residue_charts(others[0], theme=LIGHT, width_px=860.0, show_moment=False)
    assert list(charts) == ["residue"]
    rows = charts["residue"]["datasets"]["curves"]
    assert {row["s"] for row in rows} == {0}
    assert np.mean([row["k"] == 2 for row in rows]) > 0.8


def test_the_moment_shows_bursts_twice_a_cycle(ill):
    """The coil rubs at both ends: energy of the drawn waveform peaks twice in each cycle of the drawn drive."""
    residue, _ = ill
    moment = residue.moment
    energy = moment.pressure.astype(float) ** 2
    swell = [abs(np.sum(energy * np.exp(-2j * np.pi * n * moment.cycles))) for n in (1, 2)]
    assert swell[1] > 2 * swell[0]
    charts = residue_charts(residue, theme=LIGHT, width_px=860.0)
    assert_valid(charts["moment"])
