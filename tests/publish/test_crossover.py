"""Charts and the circuit diagram of a crossover: valid against the charts' schema, in words, every element drawn or named."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import numpy as np
import pytest

from halfroll.driver.crossover.elements import Crossover, Element, Way
from halfroll.driver.crossover.results import Asked, Result
from halfroll.driver.crossover.starts import Names, by_frequency, one_capacitor, with_l_pad
from halfroll.driver.crossover.study import study
from halfroll.driver.crossover.tuning import tune
from halfroll.publish.crossover import crossover_charts
from halfroll.publish.crossover_circuit import circuit_svg, circuit_words
from halfroll.publish.crossover_layout import Arm, Series, layout
from halfroll.publish.crossover_rows import (
    crossover_json,
    element_rows,
    standing,
    tuned_json,
    tuned_rows,
    way_rows,
)
from halfroll.publish.render import to_svg
from halfroll.publish.spec import chart_summary
from halfroll.publish.theme import theme
from tests.driver.crossover.conftest import resistive
from tests.driver.crossover.test_network import three_ways


@pytest.fixture(scope="module")
def result() -> Result:
    """A two-way crossover on resistors."""
    crossover = by_frequency(
        (Way(name="low"), Way(name="high")), (2000.0,), (8.0, 8.0), alignment="linkwitz-riley", order=2
    )
    return study(crossover, {"low": resistive(), "high": resistive()}, Asked(rated_ohm=8.0, power_w=10.0))


def test_every_chart_is_drawn_and_said(result: Result) -> None:
    """All seven, wide and narrow, as pictures and in words."""
    for width in (900, 340):
        charts = crossover_charts(result, theme=theme("light"), width_px=width)
        assert list(charts) == ["sum", "horizontal", "vertical", "impedance", "volts", "phase", "directivity"]
        for spec in charts.values():
            assert len(chart_summary(spec)) > 40
            assert to_svg(spec).startswith("<svg")
    assert "low (predicted)" in json.dumps(charts["sum"])
    four = replace(result, asked=Asked(rated_ohm=4.0))
    lower = crossover_charts(four, theme=theme("light"), width_px=2400)["sum"]
    assert "at 1\u202fW into 4\u202fΩ it is 3.0\u202fdB lower" in json.dumps(lower, ensure_ascii=False)
    alone = study(Crossover(ways=(Way(name="a"),)), {"a": resistive()})
    assert "phase" not in crossover_charts(alone, theme=theme("print"), width_px=600)


def test_nothing_is_drawn_where_a_way_is_not_known(result: Result) -> None:
    """The last known value carried on is no response: the sum ends where a way that counts ends."""
    cut = replace(result, valid_hz=(100.0, 5000.0))
    for name in ("sum", "horizontal"):
        spec = crossover_charts(cut, theme=theme("light"), width_px=900)[name]
        rows = [row for row in spec["datasets"]["curves"] if row["s"] == 0 and row["y"] is not None]
        assert min(row["x"] for row in rows) >= 100.0
        assert max(row["x"] for row in rows) <= 5000.0


@pytest.mark.parametrize(
    "crossover",
    [
        three_ways(),
        one_capacitor(Way(name="full"), Way(name="small"), 3000.0, 8.0),
        by_frequency((Way(name="low"), Way(name="mid"), Way(name="high")), (400.0, 2500.0), (8.0, 8.0, 8.0), order=3),
        Crossover(ways=(one_capacitor(Way(name="f"), Way(name="s"), 3000.0, 8.0).ways[0],
                        with_l_pad(one_capacitor(Way(name="f"), Way(name="s"), 3000.0, 8.0).ways[1], 8.0, 3.0, Names(["C1"])))),
    ],
)  # fmt: skip
@pytest.mark.parametrize("width", [340, 900])
def test_every_element_is_drawn_once(crossover: Crossover, width: int) -> None:
    """Ladders have a place for everything, at any width; nothing lies outside the picture."""
    svg = circuit_svg(crossover, theme=theme("light"), width_px=width)
    drawn = re.findall(r'data-part="(\w+)"', svg)
    assert sorted(drawn) == sorted(e.name for e in crossover.elements)
    assert svg.count('class="driver"') == len(crossover.ways)
    wide = float(re.search(r'viewBox="0 0 (\d+)', svg)[1])  # type: ignore[index]
    places = [float(x) for x in re.findall(r'(?:\bx|cx)="([\d.]+)"', svg)]
    assert max(places) < wide
    assert not layout(crossover).left_out


def test_what_has_no_place_is_named() -> None:
    """A bridge between two rows is said under the diagram."""
    first = one_capacitor(Way(name="f"), Way(name="s"), 3000.0, 8.0)
    bridge = Element(name="R9", kind="resistor", between=("out", "f.out"), value=10.0)
    small = first.ways[1]
    turns = Element(name="R8", kind="resistor", between=("in", "out"), value=10.0)
    crossover = Crossover(ways=(first.ways[0], Way(name="s", elements=(*small.elements, turns, bridge))))
    assert [e.name for e in layout(crossover).left_out] in ([], ["R9"])
    svg = circuit_svg(crossover, theme=None, width_px=500)
    assert "R9" in svg
    assert "var(--ink)" in svg


def test_rows_of_a_ladder() -> None:
    """A third-order low-pass: coil, capacitor down, coil; a series RC across as one arm."""
    row = layout(three_ways()).rows[0]
    kinds = [(type(slot), [e.name for e in slot.elements]) for slot in row.slots]
    assert kinds == [(Series, ["L1"]), (Arm, ["C1"]), (Arm, ["R1", "C2"])]


def test_words(result: Result) -> None:
    """The circuit, the standing and the tables in words; JSON with units."""
    words = circuit_words(result.crossover)
    assert (
        "Way high, fed by the amplifier, connected the other way round: C2 4.97\u202fµF from in to out"
        in words
    )
    assert standing(result).startswith("Low hands over to high at 2.00")
    assert len(element_rows(result).rows) == 4
    assert way_rows(result).rows[1][3] == "inverted"
    data = json.loads(json.dumps(crossover_json("x", result)))
    assert data["crossings"][0]["at_hz"] == pytest.approx(2000.0)
    assert data["curves"]["level_db"][0] == pytest.approx(20 * np.log10(2.83 / 20e-6), abs=1e-6)
    assert {"inductance_mh", "peak_a", "tolerance_percent"} <= set(data["elements"][0])
    found = tune(result.crossover, {"low": resistive(), "high": resistive()}, (200.0, 8000.0), row="E12")
    assert tuned_rows(found).notes[0].startswith("Before:")
    assert set(tuned_json(found)) == {"before", "after", "moved"}
