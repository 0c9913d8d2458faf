"""``/compare?...``: is it better, is that real, and why? The address says which versions and how."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import Any

from nicegui import ui

from halfroll.app import address, asked, frame
from halfroll.app.asked import Asked
from halfroll.app.chart import Chart
from halfroll.app.dom import el, html
from halfroll.app.job import work
from halfroll.app.pages.as_text import AsText
from halfroll.app.pages.words import together
from halfroll.app.standing import evidence
from halfroll.app.view import brief, render, show
from halfroll.compare.compare import compare
from halfroll.compare.gather import curves_of, gather
from halfroll.compare.runs import MOUNTINGS
from halfroll.compare.types import Column, Comparison
from halfroll.core.progress import Progress, silent
from halfroll.core.text import count, join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.rule import FigureRule
from halfroll.figures.rules import told_of
from halfroll.publish.comparison import STRIP, comparison_charts
from halfroll.publish.striprows import strip_rows
from halfroll.publish.theme import Theme, theme
from halfroll.workshop import Overview, VersionLine, Workshop, overview
from halfroll.workshop.paths import PREDICTED, of_prediction
from halfroll.workshop.virtual_takes import foreseen

CURVES = ("level", "thd", "impedance", "h2", "h3", "h4", "h5")
"""Curves in reading order."""

FIRST_CURVES = 3
"""So many are shown; the single harmonics open on request."""

Charts = Callable[[str, int], dict[str, Any]]


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/compare", workshop_name=lambda: workshop.name)
    async def compare_page() -> None:
        wanted = asked.read(ui.context.client.request.query_params.multi_items(), workshop.settings)
        seen = overview(workshop, figures=())
        if not any(driver.versions for driver in seen.drivers):
            frame.title("Compare")
            show("compare_empty.html")
        elif not wanted.versions or wanted.errors:
            frame.title("Compare")
            el("h1", "Compare versions")
            _form(seen, wanted, is_open=True)
        else:
            for version_id in wanted.versions:
                frame.need(workshop, of_prediction(version_id)[0], "version")
            found = await work("Comparing", lambda progress: comparison_of(workshop, wanted, progress))
            _show(workshop, seen, wanted, found)


def comparison_of(workshop: Workshop, wanted: Asked, progress: Progress = silent) -> Comparison:
    """The comparison an address asks for; takes that were not analysed yet are analysed now."""
    gathered = gather(workshop, wanted.versions, wanted.settings, progress)
    return compare(
        gathered.inputs, wanted.settings, base=wanted.base, spread=wanted.spread,
        curves_of=curves_of(workshop, wanted.settings), others=gathered.others,
    )  # fmt: skip


def _form(seen: Overview, wanted: Asked, *, is_open: bool) -> None:
    drivers = [
        {
            "title": driver.record.title,
            "versions": [
                {
                    "id": line.version_id,
                    "name": line.version_id.rpartition("/")[2],
                    "remark": line.record.title,
                    "predicted": line.version_id + PREDICTED
                    if foreseen(line.record) and (line.readings or line.pending)
                    else "",
                }
                for line in driver.versions
            ],
        }
        for driver in seen.drivers
        if driver.versions
    ]
    chosen = [(id_, id_.replace("/", " ").replace(PREDICTED, " predicted")) for id_ in wanted.versions]
    html(
        render(
            "compare_form.html", drivers=drivers, asked=wanted, open=is_open,
            bases=[*asked.BASES.items(), *chosen], rules=asked.RULES.items(), references=asked.REFERENCES.items(),
            spreads=asked.SPREADS.items(),
        )
    )  # fmt: skip


def _show(workshop: Workshop, seen: Overview, wanted: Asked, found: Comparison) -> None:
    names = names_of(found)
    title = title_of(found)
    frame.title(title)
    show("compare_head.html", title=title, line=asked.in_words(found.settings), findings=found.findings,
         cautions=_all_cautions(found))  # fmt: skip
    _take_away(workshop, wanted, found)
    _form(seen, wanted, is_open=False)
    charts = _charts(found)
    _strips(found, charts)
    _curves(charts, wanted)
    show(
        "compare_table.html",
        columns=_heads(found, names),
        groups=[
            {"group": group, "rows": list(_rows(found, names, rules))}
            for group, rules in _told(found).items()
        ],
    )
    lines = {line.version_id: line for driver in seen.drivers for line in driver.versions}
    show(
        "compare_foot.html",
        changes=[
            {"title": _change_title(found, id_, names), "changes": changes}
            for id_, changes in found.changes.items()
        ],
        columns=[
            _conditions(column, lines[of_prediction(column.version.version_id)[0]], names)
            for column in found.columns
        ],
    )


def _all_cautions(found: Comparison) -> list[Verdict]:
    """Everything that makes the comparison unfair: between versions, and what is grave about one; gravest first."""
    own = [c for column in found.columns for c in column.cautions if c.severity >= Severity.CAUTION]
    return sorted([*found.cautions, *own], key=lambda v: -v.severity)


def names_of(found: Comparison) -> dict[str, str]:
    """A short name for every version: its own, with the driver's before it where there are several drivers."""
    several = len({column.version.driver_title for column in found.columns}) > 1
    return {
        c.version.version_id: (f"{c.version.driver_title} " if several else "") + c.version.name
        for c in found.columns
    }


def title_of(found: Comparison) -> str:
    """What is compared, as a heading."""
    drivers = list(dict.fromkeys(column.version.driver_title for column in found.columns))
    versions = [column.version.name for column in found.columns]
    if len(drivers) > 1:
        return f"{count(len(versions), 'version')} of {', '.join(drivers)}"
    return f"{drivers[0]} {', '.join(versions)}"


def _take_away(workshop: Workshop, wanted: Asked, found: Comparison) -> None:
    query = wanted.query()
    with el("div", cls="actions no-print"):
        el("a", "Print the sheet (PDF)", cls="button main", href=f"/compare/sheet.pdf?{query}").mark("sheet")
        el("a", "Numbers as JSON", cls="button", href=f"/compare/comparison.json?{query}")
        el("a", "Pictures for a film", cls="button", href=f"/pictures?{query}").mark("pictures")
        el("a", "Check a claim", cls="button", href="/claims")
    AsText(workshop, found)


def _charts(found: Comparison) -> Charts:
    """All charts for a look and a width; those drawn together are made together."""

    @lru_cache(maxsize=4)
    def made(look: str, width_px: int) -> dict[str, Any]:
        return comparison_charts(found, theme=theme(look), width_px=width_px)

    return made


def _place(charts: Charts, key: str) -> None:
    def make(look: Theme, width_px: int) -> dict[str, Any]:
        return charts(look.name, width_px)[key]  # type: ignore[no-any-return]

    with el("figure"):
        Chart(make).mark(f"chart-{key}")


def _strips(found: Comparison, charts: Charts) -> None:
    there = charts("light", 640)
    told = {
        group: shown
        for group, rules in _told(found).items()
        if (shown := [rule for rule in rules if STRIP + rule.key in there])
    }
    with el("section", cls="block", aria_label="Figures"):
        el("h2", "Figures")
        with el("div", cls="charts"):
            for rule in (r for shown in told.values() for r in shown if r.headline):
                _place(charts, STRIP + rule.key)
        for group, shown in told.items():
            rest = [rule for rule in shown if not rule.headline]
            if rest:
                with el("details"):
                    el("summary", f"{group}: {count(len(rest), 'more figure')}")
                    with el("div", cls="charts"):
                        for rule in rest:
                            _place(charts, STRIP + rule.key)


def _curves(charts: Charts, wanted: Asked) -> None:
    there = [key for key in CURVES if key in charts("light", 640)]
    if not there:
        return
    with el("section", cls="block", aria_label="Curves"):
        el("h2", "Curves")
        with el("div", cls="charts"):
            for key in there[:FIRST_CURVES]:
                _curve(charts, key, wanted)
        if there[FIRST_CURVES:]:
            with el("details"):
                el("summary", "Single harmonics")
                with el("div", cls="charts"):
                    for key in there[FIRST_CURVES:]:
                        _curve(charts, key, wanted)


def _curve(charts: Charts, key: str, wanted: Asked) -> None:
    with el("div"):
        _place(charts, key)
        with el("p", cls="small no-print"):
            for kind in ("svg", "png"):
                href = f"/compare/chart.{kind}?chart={key}&{wanted.query()}"
                el("a", kind.upper(), href=href, download="", aria_label=f"Chart {key} as {kind.upper()}")
                el("span", " ")


def _heads(found: Comparison, names: dict[str, str]) -> list[dict[str, Any]]:
    return [
        {
            "name": names[column.version.version_id],
            "title": column.version.title,
            "href": address.of_version(column.version.version_id),
            "predicted": column.source == "predicted",
            "base": column.version.version_id == found.base_id and found.base_mode != "parent",
        }
        for column in found.columns
    ]


def _told(found: Comparison) -> dict[str, list[FigureRule]]:
    """The figures that have something to be read from in some version, by their heading."""
    kinds = {run.kind for column in found.columns for run in column.version.runs}
    return told_of([column.figures for column in found.columns], kinds)


def _rows(found: Comparison, names: dict[str, str], rules: Sequence[FigureRule]) -> Iterator[dict[str, Any]]:
    for rule in rules:
        cells = []
        for row, column in zip(strip_rows(found, rule.key), found.columns, strict=True):
            difference = row.difference
            cells.append({
                "name": names[column.version.version_id],
                "text": brief(row.figure),
                "difference": row.difference_text,
                "claimed": difference is not None and difference.claimed,
                "note": _note(column, rule.key),
            })  # fmt: skip
        yield {"label": rule.label, "rule": rule.text(found.settings), "cells": cells}


def _note(column: Column, key: str) -> str:
    """What a cell's number rests on, where that is little."""
    figure = column.figures[key]
    if figure.value is None:
        return figure.missing
    if figure.source == "published":
        return "as printed"
    if figure.source == "predicted":
        return "predicted" if figure.u is not None or figure.bound else "predicted, uncertainty unknown"
    return {"one unit": "one unit", "one take": "one take, spread unknown"}.get(figure.spread, "")


def _change_title(found: Comparison, version_id: str, names: dict[str, str]) -> str:
    base = next((d.base_id for d in found.differences if d.version_id == version_id), found.base_id)
    return f"{names[version_id]} against {names.get(base, base)}"


def _conditions(column: Column, line: VersionLine, names: dict[str, str]) -> dict[str, Any]:
    used = [take for take in column.version.takes if take.take_id in set(column.takes_used)]
    conditions = together([take.conditions for take in used])
    if column.source == "predicted":
        takes = "Predicted from its design; nothing was measured for these figures."
    elif column.takes_used:
        units = len({take.unit_id for take in used})
        takes = f"{count(len(used), 'take')} of {count(units, 'unit')} counted."
    else:
        takes = f"From {evidence(line)}."
    return {
        "name": f"{names[column.version.version_id]}, {column.version.title}",
        "takes": takes,
        "runs": _runs(column),
        "conditions": conditions,
        "cautions": column.cautions,
        "left_out": [
            *((take, address.of_take(take), why) for take, why in column.takes_left_out),
            *((run, address.of_run(run), why) for run, why in column.runs_left_out),
        ],
    }


def _runs(column: Column) -> str:
    """The runs that counted, by kind and mounting, in words; empty without any."""
    used = [run for run in column.version.runs if run.take_id in set(column.runs_used)]
    if not used or column.source == "predicted":
        return ""
    units = count(len({run.unit_id for run in used}), "unit")
    mountings = {MOUNTINGS.get(run.mounting, run.mounting) for run in used if run.mounting}
    kinds = join_words(sorted({run.kind for run in used}))
    return f"{count(len(used), 'run')} of {units} counted ({', '.join([kinds, *sorted(mountings)])})."
