"""What stands on a version's data sheet, whatever it is printed on: paper, a page of the app, a page of a site.

Every number that is a figure stands with its expanded uncertainty, what it rests on, and its mark; what is not known is said.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from halfroll.compare.recipe import compare_versions
from halfroll.compare.types import Column, Comparison
from halfroll.core.errors import InputError, RefusedError
from halfroll.core.progress import Progress, part, silent
from halfroll.core.text import THIN, count, format_value, format_with_u
from halfroll.figures.marks import printed
from halfroll.figures.rules import RULE, told_of
from halfroll.figures.types import Figure, FigureSettings
from halfroll.publish.data_sheet_types import CAUTIONS as CAUTIONS
from halfroll.publish.data_sheet_types import CURVES as CURVES
from halfroll.publish.data_sheet_types import HEADS as HEADS
from halfroll.publish.data_sheet_types import DataSheet as DataSheet
from halfroll.publish.data_sheet_types import SheetCell as SheetCell
from halfroll.publish.data_sheet_types import SheetRow as SheetRow
from halfroll.publish.data_sheet_words import (
    cabinets_of,
    change_text,
    conditions_of,
    facts_of,
    limits_of,
    said_of,
    unknown,
)
from halfroll.workshop import Workshop
from halfroll.workshop.marks import keep_marks, records_of
from halfroll.workshop.paths import PREDICTED
from halfroll.workshop.records import VersionRecord
from halfroll.workshop.virtual_takes import foreseen, kept_take


def data_sheet(
    workshop: Workshop, version_id: str, *, settings: FigureSettings | None = None, predict: bool = False, keep: bool = True,
    limits: bool = True, progress: Progress = silent,
) -> DataSheet:  # fmt: skip
    """Gather what a version's data sheet says, and keep what stands behind its numbers.

    Parameters
    ----------
    predict
        Work the prediction out now where it is not kept; a version without a measurement is always predicted where it can be.
    keep
        Whether the marks are kept in the workshop; a page that is only looked at need not write.
    limits
        Whether power and travel limits are wanted, which takes some seconds the first time.

    Raises
    ------
    RefusedError
        Nothing is known of the version yet; says what to add.
    InputError
        There is no such version, or a record has a fault.
    CancelledError
        Through `progress`.
    """
    chosen = settings or workshop.settings
    record = workshop.version(workshop.existing(version_id, "version")).record
    columns = _columns(workshop, version_id, record, chosen, predict, part(progress, 0.0, 0.6))
    if not columns:
        raise RefusedError(
            f"A data sheet of {version_id} would be empty: no figure of it is known", found="no take that counts, no design, no printed table",
            remedy=f"Measure a unit and import the take, design it on the page /design/{version_id}, or write a table [published] or [parameters] "
            "into its record",
        )  # fmt: skip
    progress(0.6, "keeping what stands behind the numbers")
    marks = _marks(workshop, columns, chosen, keep)
    whole = replace(
        columns[0], columns=tuple(told_column(one.columns[0]) for one in columns), base_mode="parent"
    )
    groups = tuple(_groups(whole, marks))
    said_limits = limits_of(workshop, version_id, record, whole.columns, limits, part(progress, 0.65, 0.98))
    progress(1.0, "done")
    first = whole.columns[0].version
    return DataSheet(
        version_id=version_id,
        title=f"{first.driver_title} {first.label.removesuffix(' predicted')}",
        driver=first.driver_title,
        workshop=workshop.name,
        summary=record.summary,
        sources=tuple(column.source for column in whole.columns),
        facts=facts_of(record),
        groups=groups,
        unknown=tuple(unknown(whole, groups, record)),
        limits=said_limits,
        cabinets=tuple(cabinets_of(workshop, version_id)),
        conditions=tuple(conditions_of(columns)),
        changes=tuple(change_text(c) for c in record.changes),
        said=tuple(said_of(whole)),
        comparison=whole,
        marks=marks,
    )


def _columns(
    workshop: Workshop,
    version_id: str,
    record: VersionRecord,
    settings: FigureSettings,
    predict: bool,
    progress: Progress,
) -> list[Comparison]:
    """One comparison of one column for each source that knows something: what was measured or printed, what is predicted.

    Each is read alone, so that its numbers do not depend on what stands beside it.
    """
    found = compare_versions(workshop, [version_id], settings=settings, progress=part(progress, 0.0, 0.7))
    known = [found] if _knows(found.columns[0]) else []
    if found.columns[0].source == "predicted" or not foreseen(record):
        return known
    if not predict and kept_take(workshop, version_id, settings=settings) is None:
        return known
    try:
        beside = compare_versions(
            workshop, [version_id + PREDICTED], settings=settings, progress=part(progress, 0.7, 1.0)
        )
    except InputError:
        if predict or not known:
            raise
        return known
    return [*known, beside] if _knows(beside.columns[0]) else known


def told_column(column: Column) -> Column:
    """A column without a curve of distortion where no distortion is known: of a driver of constant parameters it would be rounding errors."""
    figure = column.figures.get("thd_mean_percent")
    if "thd" not in column.curves or (figure is not None and figure.value is not None):
        return column
    return replace(column, curves={name: one for name, one in column.curves.items() if name != "thd"})


def _knows(column: Column) -> bool:
    return any(figure.value is not None for figure in column.figures.values())


def _marks(
    workshop: Workshop, columns: Sequence[Comparison], settings: FigureSettings, keep: bool
) -> Mapping[tuple[str, str], str]:
    found: dict[tuple[str, str], str] = {}
    for one in columns:
        if keep:
            found |= keep_marks(workshop, one.columns, settings)
        else:
            found |= {(r.version_id, r.key): r.mark for r in records_of(workshop, one.columns, settings)}
    return found


def _groups(
    whole: Comparison, marks: Mapping[tuple[str, str], str]
) -> Iterator[tuple[str, tuple[SheetRow, ...]]]:
    every = [column.figures for column in whole.columns]
    for heading, rules in told_of(every).items():
        rows = tuple(
            SheetRow(
                key=rule.key,
                label=rule.label,
                rule=rule.text(whole.settings),
                cells=tuple(_cell(column, rule.key, marks) for column in whole.columns),
                remarks=tuple(
                    dict.fromkeys(
                        said
                        for figures in every
                        if rule.key in figures
                        for said in figures[rule.key].cautions
                    )
                ),
            )
            for rule in rules
            if any(rule.key in figures and figures[rule.key].value is not None for figures in every)
        )
        if rows:
            yield heading, rows


def _cell(column: Column, key: str, marks: Mapping[tuple[str, str], str]) -> SheetCell | None:
    figure = column.figures.get(key)
    if figure is None or figure.value is None:
        return None
    return SheetCell(
        source=column.source,
        text=figure_text(figure),
        basis=_basis(figure, column),
        mark=printed(marks[column.version.version_id, key]),
        figure=figure,
    )


def figure_text(figure: Figure) -> str:
    """A value with half of its 95 % interval, a bound with its sign, and where it belongs."""
    if figure.value is None:
        return "–"
    sign = {"upper": f"≤{THIN}", "lower": f"≥{THIN}", None: ""}[figure.bound]
    half = None if figure.bound else figure.expanded
    at = (
        ""
        if figure.at_hz is None or figure.unit == "Hz" or RULE[figure.key].of == "impedance"
        else f" at {format_value(figure.at_hz, None, 'Hz')}"
    )
    return sign + format_with_u(figure.value, half, figure.unit) + at


def _basis(figure: Figure, column: Column) -> str:
    """What a figure rests on, in a few words."""
    if figure.source == "published":
        return "printed"
    if figure.source == "predicted" or column.source == "predicted":
        return "computed"
    words = f"{count(figure.n_units, 'unit')}, {count(figure.n_takes, RULE[figure.key].noun)}"
    if figure.expanded is None and not figure.bound:
        return f"{words}; spread unknown"
    return words
