"""Strip charts: every version a point on one scale, measured on the drawing."""

import dataclasses

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.publish.comparison import comparison_charts, curve_chart
from halfroll.publish.render import to_svg
from halfroll.publish.spec import chart_summary
from halfroll.publish.strips import strip_chart
from halfroll.publish.theme import theme
from tests.publish import samples, svg
from tests.publish.language import assert_valid

LIGHT = theme("light")


@pytest.mark.parametrize("width_px", [360.0, 900.0])
@pytest.mark.parametrize("key", ["sensitivity_db", "lower_limit_hz", "thd_mean_percent"])
def test_every_version_with_a_value_has_a_point_within_its_interval(width_px: float, key: str) -> None:
    """Values and 95 % intervals in the chart are those of the figures; all lie on the scale."""
    comparison = samples.comparison(8)
    spec = strip_chart(comparison, key, theme=LIGHT, width_px=width_px)
    if key == "thd_mean_percent":
        assert_valid(spec)
    points, intervals = spec["datasets"]["points"], {row["s"]: row for row in spec["datasets"]["intervals"]}
    figures = [c.figures[key] for c in comparison.columns]
    assert [p["x"] for p in points] == pytest.approx(
        [f.value for f in figures if f.value is not None], rel=1e-4
    )
    low, high = spec["layer"][-1]["encoding"]["x"]["scale"]["domain"]
    for point in points:
        figure = figures[point["s"]]
        assert low < point["x"] < high
        if figure.u is None or figure.bound is not None:
            assert point["s"] not in intervals
        else:
            interval = intervals[point["s"]]
            assert (interval["x2"] - interval["x"]) / 2 == pytest.approx(figure.expanded, rel=1e-2)
            assert interval["x"] < point["x"] < interval["x2"]


def test_an_interval_far_wider_than_all_else_is_drawn_to_the_edge() -> None:
    """The other versions stay apart; the side that goes on has no end tick."""
    comparison = samples.comparison(3)
    column = comparison.columns[2]
    wide = dataclasses.replace(column.figures["lower_limit_hz"], u=40.0)
    columns = (*comparison.columns[:2], dataclasses.replace(column, figures={"lower_limit_hz": wide}))
    spec = strip_chart(
        dataclasses.replace(comparison, columns=columns), "lower_limit_hz", theme=LIGHT, width_px=900.0
    )
    low, high = spec["layer"][-1]["encoding"]["x"]["scale"]["domain"]
    assert low > 20.0
    assert high < 150.0
    assert [row["s"] for row in spec["datasets"]["ends"]] == [0, 0, 1, 1]


def test_of_two_versions_both_intervals_are_drawn_whole() -> None:
    """There are no others that a wide one would press together."""
    comparison = samples.comparison(2)
    column = comparison.columns[1]
    wide = dataclasses.replace(column.figures["lower_limit_hz"], u=9.0)
    columns = (comparison.columns[0], dataclasses.replace(column, figures={"lower_limit_hz": wide}))
    spec = strip_chart(
        dataclasses.replace(comparison, columns=columns), "lower_limit_hz", theme=LIGHT, width_px=900.0
    )
    assert [row["s"] for row in spec["datasets"]["ends"]] == [0, 0, 1, 1]


def test_a_difference_inside_the_spread_is_grey_and_said() -> None:
    """v2 cannot be told from v1 in sensitivity: grey point, grey words, and the words say so."""
    spec = strip_chart(samples.comparison(3), "sensitivity_db", theme=LIGHT, width_px=900.0)
    words = {row["name"]: row for row in spec["datasets"]["words"]}
    assert words["v2 softer surround"]["grey"]
    assert words["v2 softer surround"]["more"] == "not distinguishable"
    assert not words["v1 first print (base)"]["grey"]
    drawing = to_svg(spec)
    greys = [
        t
        for t in svg.things(drawing)
        if t.text.startswith("84.8") and t.attributes["fill"] == LIGHT.palette.grey
    ]
    assert len(greys) == 1
    assert "v2 softer surround: 84.80\u202f±\u202f0.64\u202fdB (not distinguishable)" in chart_summary(spec)


def test_a_real_difference_has_its_size_interval_and_verdict() -> None:
    """Sign, value, half-width, unit, claim."""
    spec = strip_chart(samples.comparison(4), "sensitivity_db", theme=LIGHT, width_px=900.0)
    more = {row["name"]: row["more"] for row in spec["datasets"]["words"]}
    assert more["v4 longer coil, thicker top plate"] == "−1.50\u202f±\u202f0.62\u202fdB, worse"
    assert more["v1 first print (base)"] == ""


def test_unknown_spread_bound_and_missing_value_are_told_apart() -> None:
    """No interval for one take; an arrow and a sign for a bound; words for nothing."""
    spec = strip_chart(samples.comparison(8), "thd_mean_percent", theme=LIGHT, width_px=900.0)
    points, bounds = ({row["s"]: row for row in spec["datasets"][name]} for name in ("points", "bounds"))
    assert 4 in points
    assert 4 not in {row["s"] for row in spec["datasets"]["intervals"]}
    assert bounds[5]["x2"] < bounds[5]["x"] == points[5]["x"]
    assert 7 not in points
    values = [row["value"] for row in spec["datasets"]["words"]]
    assert values[5] == "≤\u202f2.7\u202f%"
    assert values[7] == "no value"
    assert spec["datasets"]["words"][4]["more"].endswith("spread unknown")


def test_no_bars() -> None:
    """Differences are points with intervals, never bars or areas."""
    spec = strip_chart(samples.comparison(5), "lower_limit_hz", theme=LIGHT, width_px=900.0)
    assert {la["mark"]["type"] for la in spec["layer"]} <= {"rule", "point", "text"}


def test_points_measured_on_the_drawing_share_one_scale() -> None:
    """The marker of the base stands on the dotted line through the base in every row."""
    spec = strip_chart(samples.comparison(3), "lower_limit_hz", theme=LIGHT, width_px=900.0)
    drawing = svg.things(to_svg(spec))
    dotted = {round(t.x, 3) for t in drawing if t.attributes.get("stroke-dasharray") == "1,2"}
    markers = [t for t in drawing if t.tag == "path" and "mark-symbol" in t.role]
    assert len(dotted) == 1
    assert any(abs(m.x - dotted.copy().pop()) < 0.02 for m in markers)
    assert len(markers) == 3


def test_an_unknown_figure_names_the_choices() -> None:
    """A wrong key is answered with the right ones."""
    with pytest.raises(InputError, match="sensitivity_db"):
        strip_chart(samples.comparison(2), "loudness", theme=LIGHT, width_px=900.0)


def test_a_comparison_gives_its_charts_in_reading_order() -> None:
    """Curves first, then one strip a figure; versions keep style and frequency axis from chart to chart."""
    charts = comparison_charts(samples.comparison(8), theme=LIGHT, width_px=900.0)
    assert list(charts)[:3] == ["level", "thd", "strip:sensitivity_db"]
    assert len(charts) == 8
    domains = {
        tuple(charts[name]["layer"][0]["encoding"]["x"]["scale"]["domain"]) for name in ("level", "thd")
    }
    assert domains == {(20.0, 20_000.0)}


def test_each_against_its_parent_has_no_single_base() -> None:
    """When every version has its own base, none is called the base and no line is drawn through one."""
    comparison = dataclasses.replace(samples.comparison(4), base_mode="parent")
    spec = strip_chart(comparison, "sensitivity_db", theme=LIGHT, width_px=900.0)
    assert spec["datasets"]["base"] == []
    assert not any("(base)" in row["name"] for row in spec["datasets"]["words"])


def test_a_comparison_of_printed_tables_has_strips_only() -> None:
    """No curves: no curve charts."""
    comparison = samples.comparison(2)
    bare = dataclasses.replace(
        comparison, columns=tuple(dataclasses.replace(c, curves={}) for c in comparison.columns)
    )
    assert curve_chart(bare, "level", theme=LIGHT, width_px=900.0) is None
    assert all(name.startswith("strip:") for name in comparison_charts(bare, theme=LIGHT, width_px=900.0))


def test_the_room_is_hatched_where_all_have_it_and_told_where_some_have_it() -> None:
    """Gates that reach down to 40 and 160 Hz: hatched below 40 Hz, above that the note names the one that is pale."""
    comparison = samples.comparison(2)
    second = comparison.columns[1]
    later = dataclasses.replace(second.curves["level"], valid_from_hz=160.0)
    columns = (comparison.columns[0], dataclasses.replace(second, curves={"level": later}))
    spec = curve_chart(dataclasses.replace(comparison, columns=columns), "level", theme=LIGHT, width_px=900.0)
    assert spec is not None
    assert np.isclose(max(row["x"] for row in spec["datasets"]["limits"]), 40.0, rtol=1e-3)
    assert any("room in v2 softer surround below 160\u202fHz" in word for word in svg.words(to_svg(spec)))


def test_a_version_without_room_keeps_the_chart_unhatched() -> None:
    """One of two was measured without a room: nothing is hatched, the other is named."""
    comparison = samples.comparison(2)
    first = comparison.columns[0]
    free = dataclasses.replace(first.curves["level"], valid_from_hz=0.0)
    columns = (dataclasses.replace(first, curves={"level": free}), comparison.columns[1])
    spec = curve_chart(dataclasses.replace(comparison, columns=columns), "level", theme=LIGHT, width_px=900.0)
    assert spec is not None
    assert "limits" not in spec["datasets"]
    assert any("room in v2 softer surround below 40\u202fHz" in word for word in svg.words(to_svg(spec)))


def test_charts_under_each_other_align() -> None:
    """Plots of one comparison begin and end at the same place, whatever names each has."""
    comparison = samples.comparison(3)
    last = comparison.columns[2]
    columns = (*comparison.columns[:2], dataclasses.replace(last, curves={"level": last.curves["level"]}))
    charts = comparison_charts(dataclasses.replace(comparison, columns=columns), theme=LIGHT, width_px=900.0)
    level, thd = charts["level"], charts["thd"]
    assert (level["padding"]["left"], level["width"]) == (thd["padding"]["left"], thd["width"])
