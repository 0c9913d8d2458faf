"""What a picture says around its chart: title, finding, settings, source."""

from __future__ import annotations

from collections.abc import Mapping

from halfroll.compare.findings import short_names
from halfroll.compare.types import Comparison
from halfroll.core.text import count, format_band, format_stated, join_words
from halfroll.figures.marks import printed
from halfroll.figures.rules import HEADLINES, LIMIT_TEXT, RULE
from halfroll.publish.comparison import ORDER_NAMES, STRIP
from halfroll.publish.sheetwords import version_note

Marks = Mapping[tuple[str, str], str]
"""Mark by (version id, figure key)."""

FIGURES = "figures"
"""Name of the picture with all headline figures."""

ONE_LINE = 110
"""Letters of the smallest size that one line holds for sure."""

CURVE_NAMES = {"level": "Level", "thd": "Distortion", "impedance": "Impedance", **ORDER_NAMES}

_OF_CHART = {
    "level": ("lower_limit_hz", "sensitivity_db", "max_level_db", "upper_limit_hz"),
    "thd": ("thd_mean_percent", "thd_worst_percent"),
    "impedance": ("fs_hz", "qts", "resonance_hz", "re_ohm"),
    FIGURES: HEADLINES,
}
"""Figures a chart bears out, the first that something is found of is told."""


def chart_name(chart: str) -> str:
    """What a chart is called in a title."""
    if chart.startswith(STRIP):
        return RULE[chart.removeprefix(STRIP)].label
    return "Figures" if chart == FIGURES else CURVE_NAMES[chart]


def title_of(comparison: Comparison, chart: str) -> str:
    """Chart and versions, such as "Level: Avocet v1, v6"."""
    drivers = list(dict.fromkeys(column.version.driver_title for column in comparison.columns))
    names = [column.version.name for column in comparison.columns]
    if len(drivers) > 1:
        return f"{chart_name(chart)}: {count(len(names), 'version')} of {join_words(drivers)}"
    return f"{chart_name(chart)}: {drivers[0]} {', '.join(names)}"


def finding_of(comparison: Comparison, chart: str) -> tuple[str, str]:
    """The weightiest finding that the chart bears out, as the comparison says it, and the key of its figure; empty without any."""
    keys = (chart.removeprefix(STRIP),) if chart.startswith(STRIP) else _OF_CHART.get(chart, ())
    for finding in comparison.findings:
        for key in keys:
            if RULE[key].label.lower() in finding.lower():
                return finding, key
    if chart.startswith(STRIP) and len(comparison.columns) == 2:
        told = [d.sentence for d in comparison.differences if d.figure == keys[0] and d.sentence]
        return (told[0], keys[0]) if told else ("", "")
    return "", ""


def settings_line(comparison: Comparison, chart: str) -> str:
    """At what level and over what bands the numbers hold."""
    settings = comparison.settings
    if chart == "impedance":
        return ""
    said = [f"{format_stated(settings.level_w, 'W')} into the rated impedance"]
    band = format_band(settings.sensitivity_band_hz)
    if chart in ("level", FIGURES):
        said += [
            f"sensitivity over {band}",
            f"limits {LIMIT_TEXT[settings.limit_rule].format(sensitivity_band=band)}",
        ]
    if chart in ("thd", FIGURES):
        said += [f"mean distortion over {format_band(settings.distortion_band_hz)}"]
    return ", ".join(said)


def source_line(comparison: Comparison, *, source: str, date: str) -> str:
    """Who says so, from how much, and when."""
    names = short_names([column.version for column in comparison.columns])
    groups: dict[str, list[str]] = {}
    for column in comparison.columns:
        note = "predicted" if column.source == "predicted" else version_note(column)
        groups.setdefault(note, []).append(names[column.version.version_id])
    alone = len(groups) == 1
    told = [
        f"each {note}" if alone and len(who) > 1 else f"{join_words(who)}: {note}"
        for note, who in groups.items()
    ]
    whole = " · ".join(part for part in (source, date, "; ".join(told)) if part)
    if len(whole) <= ONE_LINE:
        return whole
    return " · ".join(part for part in (source, date, _together(comparison)) if part)


def _together(comparison: Comparison) -> str:
    """From how much all versions were measured, and how many were not."""
    measured = [column for column in comparison.columns if column.source == "measured"]
    takes = [take for column in measured for take in column.takes_used]
    units = {"/".join(take.split("/")[:3]) for take in takes}
    said = [
        f"{count(len(measured), 'version')} measured: {count(len(units), 'unit')}, {count(len(takes), 'take')} in all"
    ]
    for source in ("predicted", "published"):
        if others := sum(column.source == source for column in comparison.columns):
            said.append(f"{others} {source}")
    return "; ".join(said)


def marks_line(comparison: Comparison, chart: str, key: str, marks: Marks) -> str:
    """The marks of the figure that the picture tells of; of all headline figures they stand beside the versions."""
    key = chart.removeprefix(STRIP) if chart.startswith(STRIP) else key
    if not key or chart == FIGURES:
        return ""
    names = short_names([column.version for column in comparison.columns])
    told = [f"{names[id_]} {printed(marks[id_, key])}" for id_ in names if (id_, key) in marks]
    what = "" if chart.startswith(STRIP) else f" of {RULE[key].label[0].lower()}{RULE[key].label[1:]}"
    return f"Marks{what}: {', '.join(told)}" if told else ""


def marks_of(version_id: str, keys: tuple[str, ...], marks: Marks) -> str:
    """The marks of a version's figures in their order, a dash where there is no value."""
    found = [marks.get((version_id, key), "") for key in keys]
    return " ".join(printed(mark) if mark else "–" for mark in found) if any(found) else ""
