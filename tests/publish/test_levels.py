"""Charts of tones, of distortion against level, and of temperature: valid, complete, told in words, and never a tower."""

import numpy as np
import pytest

from halfroll.measure.heat.power_log import HeatLimits, PowerStep, judge
from halfroll.publish.levels import level_charts
from halfroll.publish.power import temperature_chart
from halfroll.publish.render import to_svg
from halfroll.publish.spec import chart_summary
from halfroll.publish.theme import theme
from halfroll.publish.tones import tone_charts
from halfroll.workshop.levels import tone_results, unit_levels
from tests.publish.language import assert_valid
from tests.tones_shop import UNIT, with_series

LOOK = {"theme": theme("light"), "width_px": 700.0}


@pytest.fixture(scope="module")
def workshop(tmp_path_factory):
    """One series of tones."""
    return with_series(tmp_path_factory.mktemp("tones") / "shop")


def height(spec):
    """Height of the picture (px)."""
    return float(to_svg(spec).split('height="')[1].split('"')[0])


def test_charts_of_tones(workshop):
    """Distortion by level and harmonics; no impedance without current."""
    charts = tone_charts(tone_results(workshop, f"{UNIT}/tones/lawn"), **LOOK)
    assert list(charts) == ["thd", "harmonics"]
    for spec in charts.values():
        assert_valid(spec)
        assert height(spec) < 1.2 * LOOK["width_px"]
    summary = chart_summary(charts["harmonics"])
    assert "order 3" in summary


def test_charts_of_levels(workshop):
    """The band with its limit and the hatched rest, single tones, highest level; without a series nothing."""
    found = unit_levels(workshop, UNIT, reference="fundamental")
    charts = level_charts(found.series, **LOOK, band_hz=(50.0, 100.0), limit=0.05)
    assert list(charts) == ["band", "tones", "highest"]
    for spec in charts.values():
        assert_valid(spec)
    drawing = to_svg(charts["band"])
    assert "over 5" in drawing
    assert "limit 5" in drawing
    assert level_charts({}, **LOOK, band_hz=(50.0, 100.0), limit=0.05) == {}


def test_chart_of_temperature():
    """Two readings make a line, beside it what the weakest part bears; one reading makes none."""
    steps = [
        PowerStep(
            drive_v=v, hours=1.0, temperature_c=20.0, re_before_ohm=6.0, re_warm_ohm=6.0 * (1 + 0.01 * v**2)
        )
        for v in (1.0, 2.0, 4.0)
    ]
    limits = HeatLimits(filament_c=60.0)
    spec = temperature_chart(judge(steps, limits), limits.lowest, 8.0, **LOOK)
    assert_valid(spec)
    assert "filament bears 60" in chart_summary(spec)
    assert temperature_chart(judge(steps[:1], limits), limits.lowest, 8.0, **LOOK) is None
    assert np.isfinite(height(spec))
