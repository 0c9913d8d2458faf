"""Figures predicted and measured side by side: on the page of a version and on that of its prediction."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from markupsafe import Markup

from halfroll.app.view import brief
from halfroll.compare.types import Column, Comparison, Difference
from halfroll.core.text import THIN, format_value
from halfroll.figures.rule import FigureRule
from halfroll.figures.rules import told_of
from halfroll.figures.types import Figure
from halfroll.publish.predicted import intervals_svg
from halfroll.publish.striprows import BOUND_SIGN

NOT_PLAYED = "Not worked out here: it takes tones at many levels. How loud it gets is told under the limits."
WITHIN = "within the bound that was measured"


def measured_of(found: Comparison) -> Column | None:
    """What was measured of the version; None where nothing was."""
    return next((column for column in found.columns if column.source == "measured"), None)


def predicted_of(found: Comparison) -> Column:
    """What is predicted of it."""
    return next(column for column in found.columns if column.source == "predicted")


def groups_of(found: Comparison) -> list[dict[str, Any]]:
    """Rows of the table by heading; `found` is of one version with its prediction."""
    columns = found.columns
    kinds = {run.kind for column in columns for run in column.version.runs}
    measured, predicted = measured_of(found), predicted_of(found)
    return [
        {"group": group, "rows": list(_rows(found, measured, predicted, rules))}
        for group, rules in told_of([column.figures for column in columns], kinds).items()
    ]


def _rows(
    found: Comparison, measured: Column | None, predicted: Column, rules: Sequence[FigureRule]
) -> Iterator[dict[str, Any]]:
    played = {"take", *(run.kind for run in predicted.version.runs)}
    for rule in rules:
        theirs = predicted.figures[rule.key]
        ours = None if measured is None else measured.figures[rule.key]
        if theirs.value is None and (ours is None or ours.value is None):
            continue
        difference = found.difference(rule.key, predicted.version.version_id)
        yield {
            "key": rule.key,
            "label": rule.label,
            "rule": rule.text(found.settings),
            "measured": None if ours is None else _shown(ours, rule),
            "predicted": _shown(theirs, rule),
            "drawn": "" if ours is None else Markup(intervals_svg(ours, theirs)),
            "apart": apart(difference),
            "claimed": difference is not None and difference.claimed,
            "why": "" if theirs.value is not None else theirs.missing if rule.of in played else NOT_PLAYED,
            "cautions": [*theirs.cautions],
        }


def _shown(figure: Figure, rule: FigureRule) -> str:
    at = (
        ""
        if figure.at_hz is None or rule.unit == "Hz" or figure.value is None
        else f" at {format_value(figure.at_hz, None, 'Hz')}"
    )
    return brief(figure) + at


def apart(difference: Difference | None) -> str:
    """How far the prediction lies from the measurement: in the difference's unit, and in joint standard uncertainties."""
    if difference is None or difference.value is None:
        return ""
    sign = "+" if difference.value > 0 else ""
    size = sign + format_value(difference.value, difference.u, difference.unit)
    if (
        difference.bound is not None
    ):  # only a bound was measured: the difference is at least, or at most, this
        outside = (difference.value > 0.0) == (difference.bound == "lower")
        return f"{BOUND_SIGN[difference.bound]}{size}; only a bound was measured" if outside else WITHIN
    if not difference.u:
        return f"{size}, joint uncertainty unknown"
    times = abs(difference.value) / difference.u
    return f"{size}, {times:.1f}{THIN}u" if times < 9.95 else f"{size}, {times:.0f}{THIN}u"
