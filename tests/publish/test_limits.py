"""Charts of limits and of a changed design: valid, said in words, the acting limit readable without colour."""

import json
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from halfroll.driver.limits.compression import power_compression
from halfroll.driver.limits.maximum import maximum_level
from halfroll.driver.limits.types import MaximumLevel, PowerCompression
from halfroll.figures.rules import RULE
from halfroll.publish.limits import compression_chart, compression_over_frequency_chart, limits_chart
from halfroll.publish.limits_words import (
    acting_runs,
    compression_dict,
    compression_rows,
    duration,
    limit_rows,
    limit_sentences,
    limits_dict,
)
from halfroll.publish.render import to_svg
from halfroll.publish.spec import chart_summary
from halfroll.publish.theme import theme
from halfroll.publish.what_if import (
    Difference,
    difference_rows,
    differences,
    differences_spoken,
    differences_svg,
    largest_miss,
)
from tests.driver.limits.bench import heat, motor, network, w1
from tests.publish.language import assert_valid

LOOK = {"theme": theme("light"), "width_px": 900.0}


@pytest.fixture(scope="module")
def found() -> MaximumLevel:
    """A driver that is limited by travel below and by heat above."""
    model = w1(Bl=(6.0, -30.0, -5e4), K=(1111.0, 1e4, 4e7), Le=(0.3e-3,), x_range=(-8e-3, 8e-3))
    return maximum_level(model, heat=heat(network()), assembly=motor(12.0, 6.0), usable_hz=3000.0,
                         frequency_hz=np.geomspace(20.0, 5000.0, 25))  # fmt: skip


@pytest.fixture(scope="module")
def compressed() -> PowerCompression:
    """What its coil loses."""
    return power_compression(w1(), heat(network()))


def test_limits_chart(found: MaximumLevel) -> None:
    """The proportions of IEC 60263, the zone of break-up, and the strip that names what acts, in ink."""
    spec = limits_chart(found, **LOOK)
    assert_valid(spec)
    drawn = to_svg(spec)
    assert "IEC 60263" in drawn
    assert "cone breaks up from" in drawn
    assert "heat, continuous" in drawn
    assert "winding over the gap" in chart_summary(spec)
    narrow = limits_chart(found, theme=theme("dark"), width_px=340.0)
    assert_valid(narrow)


def test_compression_charts(compressed: PowerCompression) -> None:
    """Over power and over frequency, hatched where something gets too hot."""
    over_power = compression_chart(compressed, **LOOK)
    assert_valid(over_power)
    assert "too hot in the end" in to_svg(over_power)
    assert_valid(compression_over_frequency_chart(compressed, **LOOK))


def test_words_and_tables(found: MaximumLevel, compressed: PowerCompression) -> None:
    """Every stretch is one limit's; sentences say levels, limits and travel; tables and JSON hold what was found."""
    runs = list(acting_runs(found, found.lowest[0]))
    assert [round(low) for low, _, _ in runs[1:]] == [round(high) for _, high, _ in runs[:-1]]
    assert runs[-1][2] == "heat-continuous"
    said = " ".join(limit_sentences(found))
    assert "held for ever" in said
    assert "winding over the gap" in said
    assert len(limit_rows(found).rows[0]) == len(limit_rows(found).head)
    assert any("never" in row for row in compression_rows(compressed).rows)
    raw = json.loads(json.dumps(limits_dict(found)))
    assert raw["lowest"][0]["seconds"] is None
    assert raw["lowest"][0]["acting"][-1] == "heat-continuous"
    assert json.loads(json.dumps(compression_dict(compressed)))["seconds"][-1] is None
    assert duration(7200.0) == "2\u202fh"
    assert duration(45.0) == "45\u202fs"


def test_what_follows_plus_minus_is_half_the_95_percent_interval(
    found: MaximumLevel, compressed: PowerCompression
) -> None:
    """Words and tables say the half-width of the bands in the charts, 1.96 standard uncertainties (JCGM 100, 6.2), and that they do."""
    unsure = replace(
        found, lowest=tuple(replace(one, u_db=np.full(one.level_db.size, 0.3)) for one in found.lowest)
    )
    assert "±\u202f0.59" in " ".join(limit_sentences(unsure))
    rows = limit_rows(unsure)
    assert all("±\u202f0.59" in row[1] for row in rows.rows if row[1] != "–")
    losses = compression_rows(replace(compressed, u_db=np.full(compressed.u_db.shape, 0.3)))
    assert all("±\u202f0.6" in cell for row in losses.rows for cell in row[1:4])
    for one in (rows, losses):
        assert any("95 % interval" in note for note in one.notes)


def _differences(proper: dict[str, float] | None) -> tuple[Difference, ...]:
    saved = {"fs_hz": 50.0, "thd_worst_percent": 3.0, "sensitivity_2v83_db": 84.0}
    guess = {"fs_hz": 44.0, "thd_worst_percent": 3.4, "sensitivity_2v83_db": 84.0}
    return differences(saved, {"fs_hz": 2.0}, guess, proper)


def test_differences_of_a_changed_design() -> None:
    """Changes in words and as points, open while estimated and full once solved; what the estimate missed is said."""
    estimated = _differences(None)
    assert [one.rule.key for one in estimated] == ["sensitivity_2v83_db", "thd_worst_percent", "fs_hz"]
    assert "estimated" in differences_spoken(estimated)
    assert largest_miss(estimated) == ""
    solved = _differences({"fs_hz": 44.5, "thd_worst_percent": 3.4, "sensitivity_2v83_db": 84.0})
    assert "off by −0.5\u202fHz in resonance" in largest_miss(solved)
    assert difference_rows(solved).head[-1] == "the estimate missed"
    for found, fill in ((estimated, theme("light").palette.paper), (solved, theme("light").palette.ink)):
        root = ElementTree.fromstring(differences_svg(found, theme=theme("light"), width_px=500.0))
        circles = [one for one in root.iter() if one.tag.endswith("circle")]
        assert len(circles) == 3
        assert {one.attrib["fill"] for one in circles} == {fill}
    assert RULE["fs_hz"].label in differences_svg(solved, theme=theme("dark"), width_px=360.0)
