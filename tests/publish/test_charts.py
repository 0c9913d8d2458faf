"""Charts of curves, measured on the drawing with a ruler: proportions, places, what is said where."""

import itertools
import math

import numpy as np
import pytest

from halfroll.compare.types import Curve
from halfroll.publish.charts import impedance_chart, level_chart, thd_chart, time_chart
from halfroll.publish.curves import NamedCurve
from halfroll.publish.hatch import Limit, room
from halfroll.publish.hover import Readout
from halfroll.publish.render import to_svg
from halfroll.publish.sketch import Noise
from halfroll.publish.spec import Spec, chart_summary
from halfroll.publish.theme import theme
from tests.publish import samples, svg
from tests.publish.language import assert_valid

LIGHT = theme("light")


def levels(n: int) -> list[NamedCurve]:
    """`n` sample level curves, the first the base."""
    return [NamedCurve(label=samples.NAMES[i], curve=samples.level_curve(i), base=i == 0) for i in range(n)]


def line(value: float, *, low_hz: float = 20.0, high_hz: float = 20_000.0, **more: object) -> NamedCurve:
    """A level line, called after its value."""
    grid = samples.GRID[(low_hz <= samples.GRID) & (high_hz >= samples.GRID)]
    curve = Curve(frequency_hz=grid, value=np.full(grid.shape, value), **more)  # type: ignore[arg-type]
    return NamedCurve(label=f"{value:g}", curve=curve)


def rows(spec: Spec, name: str) -> list[dict[str, object]]:
    """The rows of data of that name."""
    found: list[dict[str, object]] = spec["datasets"][name]
    return found


@pytest.mark.parametrize("ratio", [10.0, 20.0, 25.0, 50.0])
@pytest.mark.parametrize("width_px", [360.0, 703.7, 1200.0])
def test_a_decade_on_paper_is_as_long_as_so_many_decibels(ratio: float, width_px: float) -> None:
    """IEC 60263:2020 cl. 4.1, measured on the SVG: grid lines of 250 Hz and 4 kHz against those of 60 and 90 dB."""
    spec = level_chart(
        levels(1), theme=LIGHT, width_px=width_px, ratio_db_per_decade=ratio, range_hz=(20.0, 20_000.0)
    )
    drawing = to_svg(spec)
    x = [svg.place_of_word(drawing, word)[0] for word in ("250", "4k")]
    across = svg.grid(drawing, "x")
    assert any(abs(place - x[0]) < 0.01 for place in across)
    down = svg.grid(drawing, "y")
    per_decade = (x[1] - x[0]) / math.log10(4000.0 / 250.0)
    per_db = (max(down) - min(down)) / (10.0 * (len(down) - 1))
    assert per_decade == pytest.approx(ratio * per_db, rel=2e-5)


def test_distortion_and_impedance_keep_the_log_ratios() -> None:
    """IEC 60263:2020 cl. 4.2, measured on the SVG: 2.5 and 1.25 decades up as long as one across."""
    thd = to_svg(thd_chart([NamedCurve(label="a", curve=samples.thd_curve(0))], theme=LIGHT, width_px=800.0))
    ohms = Curve(frequency_hz=samples.GRID, value=np.abs(samples.impedance_ohm()))
    impedance = to_svg(impedance_chart([NamedCurve(label="a", curve=ohms)], theme=LIGHT, width_px=800.0))
    for drawing, low, high, ratio in ((thd, "0.1", "10", 2.5), (impedance, "2", "20", 1.25)):
        up = svg.place_of_word(drawing, low)[1] - svg.place_of_word(drawing, high)[1]
        across = svg.place_of_word(drawing, "4k")[0] - svg.place_of_word(drawing, "250")[0]
        decades = 2.0 if low == "0.1" else 1.0
        assert across / math.log10(16.0) == pytest.approx(ratio * up / decades, rel=2e-5)


def test_frequency_marks_on_the_drawing_are_iso_266() -> None:
    """As printed in ISO 266 (from memory), thousands with a k."""
    written = svg.words(
        to_svg(level_chart(levels(1), theme=LIGHT, width_px=900.0, range_hz=(20.0, 20_000.0)))
    )
    assert written[:10] == ["31.5", "63", "125", "250", "500", "1k", "2k", "4k", "8k", "16k"]


@pytest.mark.parametrize(("name", "n"), [("light", 1), ("print", 8)])
def test_specifications_keep_to_the_language(name: str, n: int) -> None:
    """Each is valid by the published Vega-Lite schema that comes with Altair."""
    spec = level_chart(
        levels(n), theme=theme(name), width_px=900.0, zones=[room(40.0), Limit(from_x=18_000.0, word="outside")],
        noise=Noise(frequency_hz=samples.GRID, value=np.full(samples.GRID.shape, 55.0)),
    )  # fmt: skip
    assert_valid(spec)


def test_the_same_curves_give_the_same_picture() -> None:
    """Two runs differ in no byte."""
    first, second = (level_chart(levels(3), theme=LIGHT, width_px=700.0) for _ in range(2))
    assert first == second
    assert to_svg(first) == to_svg(second)


def test_names_stand_at_the_ends_of_their_curves_without_touching() -> None:
    """Eight versions that end within 10 dB: every name once, right of the plot, a line height apart, none cut."""
    spec = level_chart(levels(8), theme=LIGHT, width_px=900.0)
    drawing = to_svg(spec)
    places = [svg.place_of_word(drawing, c.name) for c in levels(8)]
    assert all(x > spec["padding"]["left"] + spec["width"] for x, _ in places)
    downs = sorted(y for _, y in places)
    assert all(b - a >= 1.3 * LIGHT.sizes.text for a, b in itertools.pairwise(downs))


def test_narrow_charts_have_their_key_below() -> None:
    """On a phone the names stand under the plot, and nothing is wider than the screen."""
    spec = level_chart(levels(3), theme=LIGHT, width_px=360.0)
    drawing = to_svg(spec)
    assert 'width="360"' in drawing
    for curve in levels(3):
        assert svg.place_of_word(drawing, curve.name)[1] > spec["padding"]["top"] + spec["height"]


def test_curves_lie_where_their_values_are() -> None:
    """A line of 80 dB lies on the grid line of 80 dB, across the whole plot."""
    spec = level_chart([line(80.0), line(90.0)], theme=LIGHT, width_px=700.0, range_hz=(20.0, 20_000.0))
    drawn = rows(spec, "curves")
    assert {row["y"] for row in drawn if row["s"] == 0} == {80.0}
    ends = [row["x"] for row in drawn if row["s"] == 0]
    assert (min(ends), max(ends)) == (float(f"{samples.GRID[0]:.5g}"), float(f"{samples.GRID[-1]:.5g}"))


def test_a_bound_is_drawn_differently_and_said() -> None:
    """Where only an upper bound is known: another kind of stretch, ticks that hang down, a note; no marker there."""
    curve = samples.thd_curve(0)
    spec = thd_chart([NamedCurve(label=c, curve=curve) for c in "ab"], theme=LIGHT, width_px=800.0)
    bound = [row["x"] for row in rows(spec, "curves") if row["k"] == 2]
    assert min(bound) >= 5000.0
    assert all(row["x"] < 5000.0 for row in rows(spec, "markers"))
    ticks = rows(spec, "down_ticks")
    assert ticks
    assert all(row["y2"] < row["y"] and row["x"] > 5000.0 for row in ticks)
    assert any("harmonics lie under the noise" in word for word in svg.words(to_svg(spec)))
    assert "upper bound" in chart_summary(spec)


def test_a_chart_without_bounds_does_not_speak_of_them() -> None:
    """Only what occurs is explained."""
    spec = level_chart([line(80.0)], theme=LIGHT, width_px=700.0)
    assert "down_ticks" not in spec["datasets"]
    assert not any("under the noise" in word or "band" in word for word in svg.words(to_svg(spec)))


def test_limits_are_hatched_with_a_word() -> None:
    """All strokes lie inside the zone; the word says why."""
    spec = level_chart([line(80.0, valid_from_hz=100.0)], theme=LIGHT, width_px=700.0, zones=[room(100.0)])
    strokes = rows(spec, "limits")
    assert len(strokes) > 10
    assert max(float(max(row["x"], row["x2"])) for row in strokes) <= 100.0 * 1.001  # type: ignore[call-overload]
    assert any(word.startswith("room below 100") for word in svg.words(to_svg(spec)))
    assert "outside its validity limits" in chart_summary(spec)


def test_noise_is_hatched_up_to_its_curve() -> None:
    """Strokes end below the noise floor of 60 dB, above which nothing is hatched."""
    noise = Noise(frequency_hz=samples.GRID, value=np.full(samples.GRID.shape, 60.0))
    spec = level_chart([line(80.0), line(45.0)], theme=LIGHT, width_px=700.0, noise=noise)
    tops = [max(row["y"], row["y2"]) for row in rows(spec, "noise")]  # type: ignore[type-var]
    assert max(tops) <= 60.0 + 0.05  # type: ignore[operator]
    assert "noise" in svg.words(to_svg(spec))


def test_missing_values_break_the_line() -> None:
    """A gap between 1 and 2 kHz is no straight line across it."""
    value = np.where((samples.GRID > 1000.0) & (samples.GRID < 2000.0), np.nan, 80.0)
    curve = NamedCurve(label="a", curve=Curve(frequency_hz=samples.GRID, value=value))
    drawn = rows(level_chart([curve], theme=LIGHT, width_px=700.0), "curves")
    below, above = ({row["g"] for row in drawn if (row["x"] < 1500.0) == side} for side in (True, False))  # type: ignore[operator]
    assert below.isdisjoint(above)


def test_long_signals_are_thinned_to_the_width() -> None:
    """A second at 48 kHz goes into a chart as at most a few points a pixel, with its single spike."""
    time_ms = np.arange(48_000) / 48.0
    value = np.where(np.arange(48_000) == 31_717, 1.0, 0.001 * np.sin(np.arange(48_000.0)))
    curve = NamedCurve(label="impulse", curve=Curve(frequency_hz=time_ms, value=value, valid_from_hz=-np.inf))
    spec = time_chart(
        [curve], theme=LIGHT, width_px=800.0, quantity="Pressure", readout=Readout(), range_ms=(0.0, 1000.0)
    )  # fmt: skip
    drawn = rows(spec, "curves")
    assert len(drawn) <= 4 * spec["width"]
    assert max(row["y"] for row in drawn) == 1.0  # type: ignore[type-var]


def test_nothing_to_show_is_still_a_chart() -> None:
    """No curves, or only missing values: axes and an honest summary, no crash."""
    empty = Curve(frequency_hz=samples.GRID, value=np.full(samples.GRID.shape, np.nan))
    for curves in ([], [NamedCurve(label="a", curve=empty)]):
        for draw in (level_chart, thd_chart, impedance_chart):
            assert "<svg" in to_svg(draw(curves, theme=LIGHT, width_px=500.0))
    assert "nothing valid" in chart_summary(
        thd_chart([NamedCurve(label="a", curve=empty)], theme=LIGHT, width_px=500.0)
    )


def test_the_text_alternative_has_the_numbers() -> None:
    """Highest and lowest value with their frequencies, from the data."""
    value = np.where(samples.GRID == 1000.0, 93.0, 80.0)
    spec = level_chart([NamedCurve(label="Curlew v1", curve=Curve(frequency_hz=samples.GRID, value=value))], theme=LIGHT, width_px=600.0, title="Level")  # fmt: skip
    assert "Curlew v1: highest 93\u202fdB at 1000\u202fHz, lowest 80\u202fdB" in chart_summary(spec)


def test_numbers_in_files_have_a_point() -> None:
    """31.5, not 31,5, whatever the person's language."""
    written = svg.words(to_svg(level_chart(levels(1), theme=LIGHT, width_px=900.0)))
    assert "31.5" in written
    assert not any("," in word for word in written)


def test_pale_colours_are_outlined_in_ink_only_where_needed() -> None:
    """On paper sky blue and purple have an outline; on slate none has."""
    for name, some in (("light", True), ("dark", False)):
        spec = level_chart(levels(8), theme=theme(name), width_px=900.0)
        outlines = [la for la in spec["layer"] if la["mark"].get("stroke") == theme(name).palette.ink and la["mark"]["type"] == "line"]  # fmt: skip
        chosen = outlines[0]["transform"][0]["filter"]
        assert ("[]" not in chosen) == some
