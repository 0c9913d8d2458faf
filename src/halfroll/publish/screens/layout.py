"""A picture laid out: title and finding above, the chart as large as its proportions let it be, settings and source below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfroll.compare.types import Comparison
from halfroll.core.errors import RefusedError, choose
from halfroll.figures.rules import HEADLINES, RULE, RULES
from halfroll.publish.comparison import KINDS, STRIP, curve_chart
from halfroll.publish.frame import LINE_HEIGHT, fitted, text_width, wrapped
from halfroll.publish.scales import LEVEL_RATIOS_DB, LOG_RATIOS
from halfroll.publish.screens.grounds import SAFE, TALL, WIDE, look_of
from halfroll.publish.screens.screen import Line, Placed, Screen
from halfroll.publish.screens.words import (
    FIGURES,
    Marks,
    chart_name,
    finding_of,
    marks_line,
    marks_of,
    settings_line,
    source_line,
    title_of,
)
from halfroll.publish.spec import Spec, chart_summary, picture_size
from halfroll.publish.striprows import strip_rows
from halfroll.publish.strips import strip_chart
from halfroll.publish.theme import Theme

MOST_VERSIONS = 8

LEFT, RIGHT = SAFE * WIDE, (1.0 - SAFE) * WIDE
TOP, BOTTOM = SAFE * TALL, (1.0 - SAFE) * TALL
ACROSS = RIGHT - LEFT

ROOM = 1.06 * ACROSS
"""What `text_width` may count for a line across: it errs to the wide side, by 7 % at least in the house font."""

DENSITIES = ((36.0, 2), (33.0, 2), (30.0, 2), (30.0, 1))
"""Height of names and scales (px), and lines of the finding, which is smaller where it has but one; tried in turn until the chart finds room."""

SMALLEST = TALL / 36.0
"""No text is smaller than this (px), our own choice; see ``theme.toml``."""


def charts_of(comparison: Comparison) -> dict[str, str]:
    """The pictures a comparison can give, by key: what each is called."""
    curves = [name for name in KINDS if any(name in column.curves for column in comparison.columns)]
    had = {
        key
        for column in comparison.columns
        for key, figure in column.figures.items()
        if figure.value is not None
    }
    several = [FIGURES] if len(had & set(HEADLINES)) > 1 else []
    strips = [STRIP + rule.key for rule in RULES if rule.key in had]
    return {key: chart_name(key) for key in (*curves, *several, *strips)}


def check(comparison: Comparison, chart: str) -> None:
    """Refuse a picture that cannot be, before anything is kept for it.

    Raises
    ------
    RefusedError
        More than eight versions.
    InputError
        There is no such chart.
    """
    expect_few(len(comparison.columns))
    choose(chart, charts_of(comparison), field="The chart", key="--chart")


def expect_few(versions: int) -> None:
    """Refuse more versions than a picture can show; worth asking before they are analysed."""
    if versions > MOST_VERSIONS:
        raise RefusedError(
            "A picture must have 8 versions or fewer, or nobody can read it",
            found=f"{versions} versions", remedy="Name those that matter, such as avocet/v1 avocet/v6",
        )  # fmt: skip


def screen(
    comparison: Comparison,
    chart: str,
    *,
    ground: str = "plain",
    title: str = "",
    source: str = "",
    date: str = "",
    marks: Marks | None = None,
    finding: bool = True,
) -> Screen:
    """A chart of a comparison as a picture for a film.

    Parameters
    ----------
    comparison
        One to eight versions.
    chart
        ``level``, ``thd``, ``impedance``, ``h2`` ..., ``figures`` for all headline figures, ``strip:KEY`` for one figure.
    ground
        ``plain``, ``dark`` or ``transparent``.
    title
        Any text; chart and versions when empty.
    source, date
        Said in the last line, as given.
    marks
        Marks of the figures, as kept in the workshop.
    finding
        Whether the weightiest finding that the chart bears out is told.

    Raises
    ------
    RefusedError
        More than eight versions.
    InputError
        There is no such chart or ground.
    """
    look = look_of(ground)
    check(comparison, chart)
    told, key = finding_of(comparison, chart) if finding else ("", "")
    foot = [settings_line(comparison, chart), source_line(comparison, source=source, date=date)]
    foot.append(marks_line(comparison, chart, key or finding_of(comparison, chart)[1], marks or {}))
    head = title or title_of(comparison, chart)
    for text, most in DENSITIES:
        tight = _sized(look, text)
        above, lines, top = _above(tight, head, told, most)
        below, bottom = _below(tight, foot)
        charts, rows = _charts(comparison, chart, tight, top, bottom, marks or {})
        if max((c.y + picture_size(c.spec)[1] for c in charts), default=top) <= bottom + 1.0:
            break
    summary = " ".join(
        [
            head if head.endswith((".", "?", "!")) else f"{head}.",
            told,
            *(chart_summary(c.spec) for c in charts),
        ]
    )
    return Screen(
        ground=ground, look=tight, words=(*above, *below), finding=lines, charts=charts, rows=rows, summary=" ".join(summary.split())
    )  # fmt: skip


def _sized(look: Theme, text: float) -> Theme:
    """The theme with names and scales of a height; a chart's own heading is a little larger than they are."""
    return replace(look, sizes=replace(look.sizes, text=text, title=round(1.1 * text, 1)))


def _above(look: Theme, head: str, told: str, most: int) -> tuple[tuple[Line, ...], tuple[Line, ...], float]:
    """Title, finding, and where the chart may begin."""
    ink, quiet = look.palette.ink, look.palette.quiet
    size = next((s for s in (54.0, 46.0, 40.0) if text_width(head, 1.03 * s) <= ACROSS), 40.0)
    y = TOP + 0.95 * size
    title = Line(
        text=fitted(" ".join(head.split()), "", ACROSS / 1.03, size),
        x=LEFT,
        y=y,
        size=size,
        colour=ink,
        weight=600,
    )
    y += 0.35 * size
    if not told:
        return (title,), (), y + 0.2 * size
    usual = (42.0, 39.0, 36.0) if most > 1 else (33.0, 30.0)
    size = next((s for s in usual if text_width(" ".join(told.split()), s) <= ROOM), 0.0)
    lines = [" ".join(told.split())]  # a little less large on one line is better than one word on a second
    if not size:
        size, lines = _broken(told, most, (42.0, 38.0, 34.0, 30.0) if most > 1 else (30.0,))
    placed = []
    for line in lines:
        y += LINE_HEIGHT * size
        placed.append(Line(text=line, x=LEFT, y=y - 0.2 * size, size=size, colour=quiet))
    return (title,), tuple(placed), y + 0.4 * size


def _below(look: Theme, foot: Sequence[str]) -> tuple[tuple[Line, ...], float]:
    """Settings, source and marks from the lower edge upwards, and where the chart must end."""
    small, y, placed = SMALLEST, BOTTOM, []
    for text in reversed([line for line in foot if line]):
        _, lines = _broken(text, 2, (small,))
        for line in reversed(lines):
            placed.append(Line(text=line, x=LEFT, y=y - 0.25 * small, size=small, colour=look.palette.quiet))
            y -= LINE_HEIGHT * small
    return tuple(reversed(placed)), y - 0.3 * small


def _broken(text: str, most: int, sizes: Sequence[float]) -> tuple[float, list[str]]:
    """The text in at most so many lines, in the largest size that lets it fit; in the smallest the last line shows where it is cut."""
    flat = " ".join(text.split())
    for size in sizes:
        lines = wrapped(flat, ROOM, size)
        if len(lines) <= most and all(text_width(line, size) <= ROOM for line in lines):
            return size, lines
    kept = [*lines[: most - 1], " ".join(lines[most - 1 :])]
    return sizes[-1], [fitted(line, "", ROOM, sizes[-1]) for line in kept]


def _charts(
    comparison: Comparison, chart: str, look: Theme, top: float, bottom: float, marks: Marks
) -> tuple[tuple[Placed, ...], tuple[tuple[Line, ...], ...]]:
    if chart == FIGURES:
        return _figures(comparison, look, top, bottom, marks)
    if chart.startswith(STRIP):
        spec = strip_chart(
            comparison, chart.removeprefix(STRIP), theme=look, width_px=ACROSS, title="", tallest_px=bottom - top, least_plot=8.0
        )  # fmt: skip
    else:
        spec = _curve(comparison, chart, look, bottom - top)
    spare = max(0.0, bottom - top - picture_size(spec)[1])
    return (Placed(spec=spec, x=LEFT, y=top + 0.4 * spare),), ()


def _curve(comparison: Comparison, chart: str, look: Theme, tallest: float) -> Spec:
    """The curves in that proportion of IEC 60263 which gives the largest plot."""
    field, ratios = ("ratio_db_per_decade", LEVEL_RATIOS_DB) if chart == "level" else ("ratio", LOG_RATIOS)
    drawn = [
        curve_chart(
            comparison, chart, theme=look, width_px=ACROSS, title="", tallest_px=tallest, **{field: ratio}
        )
        for ratio in ratios
    ]
    return max(
        (spec for spec in drawn if spec is not None), key=lambda spec: float(spec["width"] * spec["height"])
    )


def _figures(
    comparison: Comparison, look: Theme, top: float, bottom: float, marks: Marks
) -> tuple[tuple[Placed, ...], tuple[tuple[Line, ...], ...]]:
    """A strip for every headline figure that some version has, beside a column of names with the marks under each."""
    had = tuple(
        key
        for key in HEADLINES
        if any(key in c.figures and c.figures[key].value is not None for c in comparison.columns)
    )
    text, small = look.sizes.text, SMALLEST
    rows = strip_rows(comparison, had[0])
    under = [marks_of(column.version.version_id, had, marks) for column in comparison.columns]
    needed = max(*(text_width(row.name, text) for row in rows), *(text_width(line, small) for line in under))
    column = min(needed + text, 0.36 * ACROSS)
    wide = (ACROSS - column) / len(had)
    longest = max(text_width(RULE[key].label, 1.06) for key in had)
    headed = replace(
        look,
        sizes=replace(look.sizes, title=max(SMALLEST, min(look.sizes.title, (wide - 0.7 * text) / longest))),
    )
    specs = [
        strip_chart(comparison, key, theme=headed, width_px=wide, names=False, tallest_px=bottom - top)
        for key in had
    ]
    placed = tuple(Placed(spec=spec, x=LEFT + column + i * wide, y=top) for i, spec in enumerate(specs))
    first = top + specs[0]["padding"]["top"]
    step = specs[0]["height"] / max(len(rows), 1)
    names = []
    for i, (row, marked) in enumerate(zip(rows, under, strict=True)):
        y = first + i * step + 0.26 * step + 0.35 * text
        name = fitted(row.label, row.remark, column - text, text)
        line = Line(
            text=name, x=LEFT, y=y, size=text, colour=look.palette.ink, weight=600 if row.base else 400
        )
        below = Line(
            text=fitted(marked, "", column - 0.3 * text, small),
            x=LEFT,
            y=y + 1.2 * small,
            size=small,
            colour=look.palette.quiet,
        )
        names.append((line, below) if marked else (line,))
    return placed, tuple(names)
