"""What makes predictions uncertain, drawn and in a table; a figure's two intervals."""

from __future__ import annotations

import math
import re

import pytest

from halfroll.figures.types import Figure, Reading
from halfroll.publish.predicted import FIGURES, intervals_svg, share_chart, share_rows, shares_of
from halfroll.publish.spec import picture_size
from halfroll.publish.theme import theme

SHARES = (("filament.grey.modulus", -3.0), ("heron/v9 moving.glue", 1.0), ("heron/v9 tiny", 0.01))
LABELS = {
    "filament.grey.modulus": "modulus of the grey spool",
    "moving.glue": "glue",
    "tiny": "hardly anything",
}


def reading() -> Reading:
    """Nine tenths by the filament, one tenth by the glue."""
    return Reading(value=50.0, u=math.sqrt(10.0001), shares=SHARES)


def test_shares_are_parts_of_the_variance() -> None:
    """They add up to one, keep the sign, and the version's name is dropped from what is its own."""
    found = shares_of({"lower_limit_hz": reading(), "qts": Reading(value=1.0)}, LABELS)
    assert found.figures == ("lower_limit_hz",)
    assert found.of["filament.grey.modulus", "lower_limit_hz"] == pytest.approx(-0.9, rel=1e-3)
    assert found.of["moving.glue", "lower_limit_hz"] == pytest.approx(0.1, rel=1e-3)
    assert sum(abs(share) for share in found.of.values()) == pytest.approx(1.0)
    assert found.assumptions[0] == ("filament.grey.modulus", "modulus of the grey spool")
    assert "modulus of the grey spool in lower limit (90" in found.summary()
    assert shares_of({}, LABELS).summary() == "Nothing is assumed."


def test_table_leaves_out_what_is_nothing() -> None:
    """Per cent with their sign; an assumption under half a per cent everywhere has no row."""
    rows = share_rows(shares_of({"lower_limit_hz": reading()}, LABELS))
    assert rows.rows == (("modulus of the grey spool", "−90"), ("glue", "+10"))


@pytest.mark.parametrize("width", [350, 640, 1100])
def test_disc_areas_are_the_shares(width: int) -> None:
    """Area over area is share over share; the picture is as wide as asked and has one column a figure."""
    every = {key: reading() for key in FIGURES}
    spec = share_chart(shares_of(every, LABELS), theme=theme("light"), width_px=width)
    assert picture_size(spec)[0] == pytest.approx(width, abs=1.0)
    discs = spec["datasets"]["discs"]
    assert len(discs) == 2 * len(FIGURES)
    falls, rises = next(d for d in discs if not d["up"]), next(d for d in discs if d["up"])
    assert falls["size"] / rises["size"] == pytest.approx(9.0, rel=1e-2)
    assert {d["x"] for d in discs} == {j + 0.5 for j in range(len(FIGURES))}


def figure(value: float | None, u: float | None) -> Figure:
    """A lower limit."""
    return Figure(
        key="lower_limit_hz",
        label="Lower limit",
        unit="Hz",
        value=value,
        u=u,
        dof=None if u is None else math.inf,
    )


def test_two_intervals_on_one_scale() -> None:
    """The full point left of the open one, each interval as long as 2 · 1.96 u, and words for those who do not see it."""
    svg = intervals_svg(figure(50.0, 1.0), figure(60.0, 2.0))
    full, opened = (float(x) for x in re.findall(r'<circle cx="([\d.]+)"', svg))
    assert full < opened
    assert 'fill="currentColor"' in svg
    assert 'fill="none"' in svg
    assert 'aria-label="measured 50' in svg
    ticks = [float(x) for x in re.findall(r"M([\d.]+) [\d.]+v6", svg)]
    scale = (opened - full) / 10.0
    assert ticks[1] - ticks[0] == pytest.approx(2 * 1.96 * scale, rel=0.02)
    assert ticks[3] - ticks[2] == pytest.approx(4 * 1.96 * scale, rel=0.02)


def test_no_drawing_without_both() -> None:
    """One value alone has nothing to stand against; without an interval the points remain."""
    assert intervals_svg(figure(None, None), figure(60.0, 2.0)) == ""
    assert intervals_svg(figure(50.0, None), figure(50.0, None)).count("<circle") == 2
