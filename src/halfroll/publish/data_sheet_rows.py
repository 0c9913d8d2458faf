"""What stands on a version's data sheet, whatever it is printed on: paper, a page of the app, a page of a site.

Every number that is a figure stands with its expanded uncertainty, what it rests on, and its mark; what is not known is said.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from halfroll.compare.recipe import compare_versions
from halfroll.compare.types import Column, Comparison
from halfroll.core.errors import CancelledError, InputError, RefusedError
from halfroll.core.progress import Progress, part, silent
from halfroll.core.text import THIN, count, format_stated, format_value, format_with_u, join_words
from halfroll.core.verdicts import Severity
from halfroll.figures.marks import printed
from halfroll.figures.rules import RULE, told_of
from halfroll.figures.types import Figure, FigureSettings
from halfroll.publish.cabinet_rows import KIND_WORDS
from halfroll.publish.limits_words import limit_sentences
from halfroll.publish.sheetwords import sheet_words
from halfroll.workshop import Workshop
from halfroll.workshop.cabinet_record import CabinetRecord
from halfroll.workshop.cabinets import cabinet_ids, cabinet_record
from halfroll.workshop.marks import keep_marks, records_of
from halfroll.workshop.paths import PREDICTED
from halfroll.workshop.records import VersionRecord
from halfroll.workshop.virtual_takes import foreseen, kept_take

HEADS = {"measured": "Measured", "predicted": "Predicted", "published": "Printed by others"}

CAUTIONS = (
    "Protect your ears: this driver can play louder than is good for hearing. Above 85 dB(A) wear hearing protection.",
    "Strong magnets: they snap together and onto steel, pinch skin, and harm pacemakers, cards and disks. Keep a distance.",
    "Heat: coil and pole get hot at high power, printed parts soften. Stay below the rated power and let it cool before you touch it.",
    "Amplifiers that run from the mains stay closed; change wires with the power off. Local electrical rules come first.",
)
"""What is said on every sheet."""


@dataclass(frozen=True, kw_only=True)
class SheetCell:
    """One figure from one source: its value with the expanded uncertainty, what it rests on, its mark (large letters)."""

    source: str
    text: str
    basis: str
    mark: str
    figure: Figure


@dataclass(frozen=True, kw_only=True)
class SheetRow:
    """One figure: its name, its rule in words, and a cell for each source of the sheet (None: not known from there)."""

    key: str
    label: str
    rule: str
    cells: tuple[SheetCell | None, ...]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class DataSheet:
    """A data sheet before it is printed.

    Parameters
    ----------
    sources
        Where the numbers come from, in the order of the cells: ``measured``, ``predicted``, ``published``.
    facts
        What the record states, (name, value).
    groups
        Rows by heading.
    unknown, limits, cabinets, conditions, changes, said
        Sentences: what is not known; power and travel; cabinets of the workshop for it; how it was measured; what changed from its parent;
        what must be said of its numbers.
    comparison
        The columns with their curves, for charts.
    marks
        Mark (normal form) by (version id, figure key).
    """

    version_id: str
    title: str
    driver: str
    workshop: str
    summary: str
    sources: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    groups: tuple[tuple[str, tuple[SheetRow, ...]], ...]
    unknown: tuple[str, ...]
    limits: tuple[str, ...]
    cabinets: tuple[str, ...]
    conditions: tuple[str, ...]
    changes: tuple[str, ...]
    said: tuple[str, ...]
    comparison: Comparison
    marks: Mapping[tuple[str, str], str]
    notes: str = ""

    @property
    def rows(self) -> tuple[SheetRow, ...]:
        """All rows, whatever their heading."""
        return tuple(row for _, rows in self.groups for row in rows)

    def as_dict(self) -> dict[str, Any]:
        """The machine interface's shape."""
        return {
            "version": self.version_id, "title": self.title, "driver": self.driver, "facts": dict(self.facts),
            "settings": self.comparison.settings.as_dict(), "sources": list(self.sources),
            "figures": [
                {**cell.figure.as_dict(), "mark": cell.mark}
                for row in self.rows for cell in row.cells if cell is not None
            ],
            "unknown": list(self.unknown), "limits": list(self.limits), "cabinets": list(self.cabinets),
            "conditions": list(self.conditions), "changes": list(self.changes), "must_be_said": list(self.said),
            "cautions": list(CAUTIONS),
        }  # fmt: skip


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
    whole = replace(columns[0], columns=tuple(one.columns[0] for one in columns), base_mode="parent")
    groups = tuple(_groups(whole, marks))
    said_limits = _limits(workshop, version_id, record, whole.columns, limits, part(progress, 0.65, 0.98))
    progress(1.0, "done")
    first = whole.columns[0].version
    return DataSheet(
        version_id=version_id,
        title=f"{first.driver_title} {first.label.removesuffix(' predicted')}",
        driver=first.driver_title,
        workshop=workshop.name,
        summary=record.summary,
        sources=tuple(column.source for column in whole.columns),
        facts=_facts(record),
        groups=groups,
        unknown=tuple(_unknown(whole, groups, record)),
        limits=said_limits,
        cabinets=tuple(_cabinets(workshop, version_id)),
        conditions=tuple(_conditions(columns)),
        changes=tuple(_change(c) for c in record.changes),
        said=tuple(_said(whole)),
        comparison=whole,
        marks=marks,
        notes=record.notes,
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


def _facts(record: VersionRecord) -> tuple[tuple[str, str], ...]:
    stated = (
        ("Rated impedance", record.rated_impedance_ohm, "ohm"), ("Rated power", record.rated_power_w, "W"),
        ("Effective area Sd", record.effective_area_cm2, "cm²"),
    )  # fmt: skip
    facts = [
        (name, "not stated" if value is None else format_stated(value, unit)) for name, value, unit in stated
    ]
    if record.date is not None:
        facts.append(("Date of the version", record.date.isoformat()))
    return tuple(facts)


def _unknown(
    whole: Comparison, groups: Sequence[tuple[str, tuple[SheetRow, ...]]], record: VersionRecord
) -> Iterator[str]:
    """What the sheet does not know: figures nobody could read, with the reason, those of one reason together; curves; facts."""
    shown = {row.key for _, rows in groups for row in rows}
    why: dict[str, list[str]] = {}
    for rules in told_of([column.figures for column in whole.columns]).values():
        for rule in rules:
            if rule.key in shown:
                continue
            told = next(
                (
                    c.figures[rule.key].missing
                    for c in whole.columns
                    if c.figures.get(rule.key) and c.figures[rule.key].missing
                ),
                "",
            )
            why.setdefault(told or "Nothing was read.", []).append(rule.label)
    for reason, labels in why.items():
        yield f"{join_words(labels)}: {reason}"
    if not any(row.key == "fs_hz" for _, rows in groups for row in rows):
        design = (
            "its prediction was not worked out"
            if foreseen(record)
            else "there is no design to predict them from"
        )
        yield f"Small-signal parameters (fs, Qts, Vas, Mms, Cms, Rms, Bl, Re, Le): no impedance of a unit tells them, and {design}."
    lacking = [words for name, words in CURVES if not any(name in column.curves for column in whole.columns)]
    if lacking:
        yield f"No curve of {join_words(lacking)}."
    if not any(column.source == "predicted" for column in whole.columns):
        lacks = "was not worked out yet" if foreseen(record) else "needs a design or entered parameters"
        yield f"Limits of travel and heat: the prediction they come from {lacks}."
    elif len(whole.columns) == 1:
        yield "Nothing was measured of it: every number is predicted from its design."
    if record.rated_power_w is None:
        yield "Its power was not rated."


CURVES = (("level", "level"), ("impedance", "impedance"), ("thd", "distortion"))
"""Curves of a sheet and their words."""


def _limits(
    workshop: Workshop,
    version_id: str,
    record: VersionRecord,
    columns: Sequence[Column],
    wanted: bool,
    progress: Progress,
) -> tuple[str, ...]:
    """Power and travel in sentences, from the prediction where there is one."""
    if not wanted or not any(column.source == "predicted" for column in columns):
        return ()
    from halfroll.workshop.limits import driver_limits
    from halfroll.workshop.prediction import driver_model, has_design

    try:
        predicted = driver_model(
            workshop, version_id, "predicted" if has_design(record) else "entered", part(progress, 0.0, 0.4)
        )
        found = driver_limits(workshop, version_id, predicted, part(progress, 0.4, 1.0))
    except CancelledError:
        raise
    except InputError as fault:
        return (f"Limits could not be worked out. {fault}",)
    return (*limit_sentences(found.maximum), "Predicted, in an infinite baffle.")


def _cabinets(workshop: Workshop, version_id: str) -> Iterator[str]:
    """The cabinets of the workshop that were drawn for a version."""
    for cabinet_id in cabinet_ids(workshop):
        try:
            record = cabinet_record(workshop, cabinet_id).record
        except InputError:  # its own page says what is wrong
            continue
        if record.driver == version_id:
            yield f"{record.title or cabinet_id}: {_cabinet(record)}."


def _cabinet(record: CabinetRecord) -> str:
    """A cabinet in a few words."""
    said = [KIND_WORDS[record.type]]
    if record.volume_l is not None:
        said.append(format_stated(record.volume_l, "l"))
    if record.inside is not None:
        sides = (record.inside.width_mm, record.inside.height_mm, record.inside.depth_mm)
        round_ = record.inside.diameter_mm
        said.append(
            f"inside ⌀{THIN}{round_:g} × {sides[2]:g}{THIN}mm"
            if round_ is not None
            else f"inside {sides[0]:g} × {sides[1]:g} × {sides[2]:g}{THIN}mm"
        )
    if (port := record.port) is not None:
        across = (
            f"⌀{THIN}{port.diameter_mm:g}"
            if port.diameter_mm is not None
            else f"{port.width_mm:g} × {port.height_mm:g}"
        )
        end = (
            f"{port.length_mm:g}{THIN}mm long"
            if port.length_mm is not None
            else f"tuned to {port.tuning_hz:g}{THIN}Hz"
        )
        said.append(f"{count(port.count, 'port')} {across}{THIN}mm, {end}")
    if (radiator := record.radiator) is not None:
        said.append(
            f"{count(radiator.count, 'passive radiator')} of {radiator.mass_g:g}{THIN}g and {radiator.area_cm2:g}{THIN}cm²"
        )
    return ", ".join(said)


def _conditions(columns: Sequence[Comparison]) -> Iterator[str]:
    for one in columns:
        column = one.columns[0]
        if column.source == "published":
            yield f"Printed by others: {column.version.published_source}."
            continue
        told = sheet_words(one, ()).conditions
        first = next((sentence for sentence in told if sentence.startswith("All: ")), "")
        if first:
            yield f"{HEADS[column.source]}: {first.removeprefix('All: ')}"


def _change(change: Any) -> str:
    step = (
        f" {change.before} → {change.after}" if change.before else f" {change.after}" if change.after else ""
    )
    return f"{change.what}{step}" + (f" ({change.why})" if change.why else "")


def _said(whole: Comparison) -> Iterator[str]:
    """Cautions of the columns, the gravest first, each once."""
    verdicts = sorted((v for column in whole.columns for v in column.cautions), key=lambda v: -v.severity)
    yield from dict.fromkeys(f"{v.text} {v.remedy}".strip() for v in verdicts if v.severity > Severity.GOOD)
