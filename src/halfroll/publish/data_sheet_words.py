"""The sentences of a data sheet: what is stated, what is not known, limits, cabinets, conditions, what must be said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfroll.compare.types import Column, Comparison
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import Progress, part
from halfroll.core.text import THIN, count, format_stated, join_words
from halfroll.core.verdicts import Severity
from halfroll.figures.rules import told_of
from halfroll.publish.cabinet_rows import KIND_WORDS
from halfroll.publish.data_sheet_types import CURVES, HEADS, SheetRow
from halfroll.publish.limits_words import limit_sentences
from halfroll.publish.sheetwords import sheet_words
from halfroll.workshop import Workshop
from halfroll.workshop.cabinet_record import CabinetRecord
from halfroll.workshop.cabinets import cabinet_ids, cabinet_record
from halfroll.workshop.records import ChangeTable, VersionRecord
from halfroll.workshop.virtual_takes import foreseen


def facts_of(record: VersionRecord) -> tuple[tuple[str, str], ...]:
    """What the record states, (name, value); what it leaves out is said."""
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


def unknown(
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


def limits_of(
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


def cabinets_of(workshop: Workshop, version_id: str) -> Iterator[str]:
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


def conditions_of(columns: Sequence[Comparison]) -> Iterator[str]:
    """How each source knows: space, distance, drive, rig, or where it was printed."""
    for one in columns:
        column = one.columns[0]
        if column.source == "published":
            yield f"Printed by others: {column.version.published_source}."
            continue
        told = sheet_words(one, ()).conditions
        first = next((sentence for sentence in told if sentence.startswith("All: ")), "")
        if first:
            yield f"{HEADS[column.source]}: {first.removeprefix('All: ')}"


def change_text(change: ChangeTable) -> str:
    """One change from the parent in words."""
    step = (
        f" {change.before} → {change.after}" if change.before else f" {change.after}" if change.after else ""
    )
    return f"{change.what}{step}" + (f" ({change.why})" if change.why else "")


def said_of(whole: Comparison) -> Iterator[str]:
    """Cautions of the columns, the gravest first, each once."""
    verdicts = sorted((v for column in whole.columns for v in column.cautions), key=lambda v: -v.severity)
    yield from dict.fromkeys(f"{v.text} {v.remedy}".strip() for v in verdicts if v.severity > Severity.GOOD)
