"""``/drivers/<driver>/<version>``: what is this version? One long page."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from halfroll.app import address, frame
from halfroll.app.job import work
from halfroll.app.pages.both import groups_of, measured_of
from halfroll.app.pages.overview import radius_of
from halfroll.app.pages.version_suspension import known, show_suspension
from halfroll.app.pages.words import free_keys, short, spread
from halfroll.app.standing import STATES, headline, whole
from halfroll.app.view import SIGNS, brief, show
from halfroll.compare.recipe import against_measured
from halfroll.compare.types import Column, Comparison
from halfroll.core.errors import InputError
from halfroll.core.money import format_money
from halfroll.core.progress import Progress
from halfroll.core.text import count, format_stated, format_value
from halfroll.core.verdicts import Severity, worst
from halfroll.figures.rule import FigureRule
from halfroll.figures.rules import HEADLINES, RULE, told_of
from halfroll.figures.types import Figure, FigureSettings, TakeReadings
from halfroll.publish.outline import half_section
from halfroll.publish.version_drawing import motor_drawings, moves
from halfroll.workshop import DriverLine, UnitRecord, VersionLine, Workshop, derive, derive_runs, overview
from halfroll.workshop.suspension_report import SuspensionReport
from halfroll.workshop.virtual_takes import foreseen, kept_take

if TYPE_CHECKING:
    from halfroll.builds.bill import Bill

SPREADS = {
    "known": "",
    "pooled": "spread pooled with the other versions",
    "one unit": "one unit: says nothing of the others",
    "one take": "one take: spread unknown",
    "assumptions": "predicted",
    "none": "",
}


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/drivers/{driver}/{version}", workshop_name=lambda: workshop.name)
    async def version_page(driver: str, version: str) -> None:
        version_id = f"{driver}/{version}"
        frame.need(workshop, version_id, "version")
        workshop.version(version_id)  # a record with a fault is said here, with its line
        of_driver, line = find(workshop, version_id)
        if line.pending:
            pending = line.pending
            await work("Analysing the takes of this version",
                       lambda progress: derive.readings(workshop, pending, progress=progress))  # fmt: skip
            of_driver, line = find(workshop, version_id)
        runs = await work("Reading the runs of this version",
                          lambda progress: derive_runs.run_readings(workshop, version_id, progress=progress))  # fmt: skip
        suspension = await work("Reading what is kept of its suspension",
                                lambda progress: known(workshop, version_id, line.record, progress))  # fmt: skip
        frame.title(f"{of_driver.record.title} {version}")
        beside = await work("Reading what is kept of its prediction",
                            lambda progress: kept_beside(workshop, version_id, progress))  # fmt: skip
        bill = await work("Adding up what it costs", lambda progress: costs(workshop, version_id, progress))
        _show(workshop, of_driver, line, runs, suspension, beside, bill)


def find(workshop: Workshop, version_id: str) -> tuple[DriverLine, VersionLine]:
    """A version and its driver in the overview."""
    for driver in overview(workshop).drivers:
        for version in driver.versions:
            if version.version_id == version_id:
                return driver, version
    raise InputError("The record of the driver could not be read", found=version_id.split("/")[0],
                     remedy="The page of all drivers says what is wrong with it")  # fmt: skip


def _show(
    workshop: Workshop,
    driver: DriverLine,
    line: VersionLine,
    runs: Sequence[TakeReadings],
    suspension: SuspensionReport | None,
    beside: Comparison | None,
    bill: Bill | None,
) -> None:
    settings = workshop.settings
    column = whole(line, driver.record.title, settings, runs)
    _head(workshop, driver, line, bill)
    _show_figures(workshop, line, column, beside)
    show_suspension(line.version_id, line.record, suspension)
    show(
        "version_units.html",
        units=list(_units(workshop, line, column)),
        takes=[take_line(t) for t in line.readings],
        measure=address.of_bench(line.units[-1]) if line.units else "",
        add=f"/import?version={line.version_id}",
        new_unit=address.of_new_unit(line.version_id),
    )
    show("version_files.html", files=_files(workshop, line), notes=line.record.notes)


def _show_figures(workshop: Workshop, line: VersionLine, column: Column, beside: Comparison | None) -> None:
    """Measured figures with what they rest on; beside a prediction that is kept, both and how far they lie apart."""
    way = address.of_predicted(line.version_id)
    if beside is None:
        predict = way if foreseen(line.record) else ""
        show(
            "version_figures.html",
            groups=list(_figures(column, workshop.settings))
            if any(one.value is not None for one in column.figures.values())
            else [],
            cautions=column.cautions,
            predict=predict,
        )
        return
    measured = measured_of(beside)
    rests = {} if measured is None else {key: _rests_on(one) for key, one in measured.figures.items()}
    show(
        "both_figures.html", heading="Figures", groups=groups_of(beside), measured=measured is not None, cautions=column.cautions,
        says="" if measured is not None else "Nothing was measured of it; what stands here is what its design is predicted to do.",
        way=("The prediction: what makes it uncertain, curves, causes, limits", way), rests=rests, notes=(),
    )  # fmt: skip


def kept_beside(workshop: Workshop, version_id: str, progress: Progress) -> Comparison | None:
    """A version's kept prediction against what was measured; None where no prediction of the present design is kept."""
    if not foreseen(workshop.version(version_id).record) or kept_take(workshop, version_id) is None:
        return None
    return against_measured(workshop, version_id, with_curves=False, progress=progress)


def costs(workshop: Workshop, version_id: str, progress: Progress) -> Bill | None:
    """The bill of one driver; None where nothing says what it is made of, or a fault is in the way, which the bill's own page tells."""
    from halfroll.builds.bill import bill_of

    try:
        return bill_of(workshop, version_id, today=dt.date.today(), buy=False, progress=progress)
    except InputError:
        return None


def _head(workshop: Workshop, driver: DriverLine, line: VersionLine, bill: Bill | None) -> None:
    """What it is, how it stands, what it looks like, and where to go from here."""
    standing = headline(line, driver.record.title, workshop.settings)
    name = line.version_id.rpartition("/")[2]
    ids = [v.version_id for v in driver.versions]
    largest = max((r for v in driver.versions if (r := radius_of(v)) is not None), default=None)
    title = f"{driver.record.title} {name}"
    motor = motor_drawings(
        workshop, {line.version_id: line.record}, {line.version_id: title}, width_px=420
    ).get(line.version_id)
    show(
        "version_head.html",
        steps=[("Drivers", "/"), (driver.record.title, f"/#{driver.driver_id}")],
        name=f"{driver.record.title} {name}",
        record=line.record,
        predicted=standing.state == "predicted",
        state=f"{STATES[standing.state]}: {standing.evidence}",
        drawing=Markup(
            motor or half_section(radius_of(line), largest_m=largest, name=f"{driver.record.title} {name}")
        ),
        has_motor=motor is not None and line.record.motor is not None,
        has_moving=motor is not None and moves(line.record),
        pages=address.pages_of(line.version_id, "version", whole=foreseen(line.record)),
        design=address.of_design(line.version_id),
        suspension=address.of_suspension(line.version_id),
        headlines=[(RULE[key].label, standing.figures[key]) for key in HEADLINES],
        facts=_facts(line, bill),
        parent=line.parent
        and (
            line.parent.rpartition("/")[2] if line.parent.startswith(f"{driver.driver_id}/") else line.parent
        ),
        parent_href=line.parent and address.of_version(line.parent),
        with_parent=line.parent and address.of_comparison([line.parent, line.version_id], base="parent"),
        with_all=address.of_comparison(ids, base="parent") if len(ids) > 1 else "",
        add=f"/import?version={line.version_id}",
    )


def _facts(line: VersionLine, bill: Bill | None) -> list[tuple[str, str]]:
    record = line.record
    written = (
        ("Rated impedance", record.rated_impedance_ohm, "ohm"),
        ("Rated power", record.rated_power_w, "W"),
        ("Effective area", record.effective_area_cm2, "cm²"),
    )
    return [
        ("Date", "" if record.date is None else record.date.isoformat()),
        *((label, "" if value is None else format_stated(value, unit)) for label, value, unit in written),
        ("Cost of one driver", _cost(bill)),
        ("Brought in", "" if record.origin is None else record.origin.said),
    ]


def _cost(bill: Bill | None) -> str:
    """What one driver costs, and whether something is not in it."""
    if bill is None or bill.currency is None or bill.total.usual <= 0.0:
        return ""
    left_out = f", without {count(len(bill.missing), 'line')} that nobody prices" if bill.missing else ""
    return format_money(bill.total.usual, bill.currency) + left_out


def _figures(column: Column, settings: FigureSettings) -> Iterator[dict[str, Any]]:
    kinds = {run.kind for run in column.version.runs}
    for group, rules in told_of([column.figures], kinds).items():
        yield {"group": group, "rows": list(_rows(column, rules, settings))}


def _rows(column: Column, rules: Sequence[FigureRule], settings: FigureSettings) -> Iterator[dict[str, Any]]:
    for rule in rules:
        figure = column.figures[rule.key]
        at = (
            ""
            if figure.at_hz is None or rule.unit == "Hz"
            else f"at {format_value(figure.at_hz, None, 'Hz')}"
        )
        yield {
            "label": rule.label,
            "text": brief(figure) + (f" {at}" if at and figure.value is not None else ""),
            "rests": _rests_on(figure),
            "rule": rule.text(settings),
            "cautions": figure.cautions,
        }


def _rests_on(figure: Figure) -> str:
    """Units and takes behind a figure, and its spread."""
    if figure.value is None:
        return figure.missing
    if figure.source == "published":
        return "printed table"
    parts = [f"{count(figure.n_units, 'unit')}, {count(figure.n_takes, RULE[figure.key].noun)}"]
    if figure.spread_within is not None:
        parts.append(f"within a unit {spread(figure.spread_within, figure.unit)}")
    if figure.spread_between is not None:
        parts.append(f"between units {spread(figure.spread_between, figure.unit)}")
    parts += [SPREADS[figure.spread]] if SPREADS[figure.spread] else []
    return "; ".join(parts)


def _units(workshop: Workshop, line: VersionLine, column: Column) -> Iterator[dict[str, Any]]:
    means = {key: dict(column.figures[key].unit_means) for key in HEADLINES}
    for unit_id in line.units:
        record: UnitRecord = workshop.unit(unit_id).record
        built = " ".join(
            filter(None, (record.built_by, "" if record.built_on is None else record.built_on.isoformat()))
        )
        readings = (("Re", record.re_ohm, "ohm"), ("moving mass", record.moving_mass_g, "g"))
        yield {
            "name": unit_id.rpartition("/")[2],
            "href": address.of_unit(unit_id),
            "built": built,
            "as_built": ", ".join(f"{what} {format_stated(v, unit)}" for what, v, unit in readings if v is not None),
            "print": free_keys(record.print_settings),
            "means": [
                (RULE[key].label, format_value(means[key][unit_id], column.figures[key].spread_between, RULE[key].unit))
                for key in HEADLINES if unit_id in means[key]
            ],
            "notes": record.notes,
        }  # fmt: skip


def take_line(take: TakeReadings) -> dict[str, Any]:
    """One line of the list of takes: the gravest word about it first."""
    severity = worst(take.verdicts)
    grave = [v.text for v in take.verdicts if v.severity == severity and severity >= Severity.CAUTION]
    if take.excluded:
        word = f"Left out: {take.excluded}"
    elif grave:
        word = grave[0]
    else:
        word = "Nothing speaks against it."
    return {
        "href": address.of_take(take.take_id),
        "unit": take.take_id.split("/")[2],
        "name": take.take_id.rpartition("/")[2],
        "conditions": short(take.conditions),
        "sign": "–" if take.excluded else SIGNS[severity if grave else Severity.GOOD],
        "word": word,
        "alert": bool(grave) and not take.excluded,
    }


def _files(workshop: Workshop, line: VersionLine) -> list[tuple[str, str]]:
    record = workshop.version(line.version_id)
    folder = record.path.parent
    published = line.record.published
    rows = [
        ("Record", record.path),
        ("Models", folder / "models" if (folder / "models").is_dir() else None),
        ("Published curve", folder / published.curve if published is not None and published.curve else None),
    ]
    return [(name, str(path.relative_to(workshop.folder))) for name, path in rows if path is not None]
