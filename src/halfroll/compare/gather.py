"""From a workshop to the input of a comparison."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from halfroll.compare.compare import CurvesOf
from halfroll.compare.curves import curves, impedance_of_runs, predicted_curves
from halfroll.compare.predictions import prediction_of, with_prediction
from halfroll.compare.types import Change, Curve, VersionInput
from halfroll.core.conditions import Space
from halfroll.core.levels import FloatArray, db
from halfroll.core.progress import Progress, part, silent
from halfroll.figures.rules import RULE
from halfroll.figures.types import FigureSettings, TakeReadings
from halfroll.measure.analysis.response import Response
from halfroll.workshop import (
    Contents,
    PublishedTable,
    VersionRecord,
    Workshop,
    derive,
    derive_runs,
    joined,
    paths,
    read_contents,
)
from halfroll.workshop.curve_file import read_curve
from halfroll.workshop.parameters import unit_parameters
from halfroll.workshop.virtual_takes import cabinet_of, is_predicted, predicted_take

CURVE_COLUMNS = {"spl_db": "level", "thd_percent": "thd", "impedance_ohm": "impedance"}
"""Columns a published curve may have, and the curve of a comparison each is."""


@dataclass(frozen=True, kw_only=True)
class Gathered:
    """What `compare` takes: the versions asked for, and the records of all others for the line of parents."""

    inputs: tuple[VersionInput, ...]
    others: tuple[VersionInput, ...]


def gather(
    workshop: Workshop,
    version_ids: Sequence[str],
    settings: FigureSettings | None = None,
    progress: Progress = silent,
) -> Gathered:
    """Read everything a comparison of some versions needs; takes that were not analysed yet are analysed now.

    ``driver/version@predicted`` stands for what the version's design is predicted to do, which is computed now where it is not kept, and so
    is that of a version that was never measured.

    Raises
    ------
    InputError
        A version does not exist, or its record or one below it has a fault; or a prediction was asked for that cannot be.
    """
    asked = [paths.of_prediction(id_) for id_ in version_ids]
    wanted = list(dict.fromkeys(workshop.existing(id_, "version") for id_, _ in asked))
    contents = read_contents(workshop.folder, workshop.index)
    for id_, fault in contents.faults.items():
        if any(f"{id_}/".startswith(f"{version}/") or version.startswith(f"{id_}/") for version in wanted):
            raise fault
    takes = [take for version in wanted for take in contents.below(version)]
    readings = derive.readings(
        workshop, takes, settings=settings, contents=contents, progress=part(progress, 0.0, 0.5)
    )
    runs = {}
    for done, id_ in enumerate(wanted):
        here = part(progress, 0.5 + 0.1 * done / len(wanted), 0.5 + 0.1 * (done + 1) / len(wanted))
        runs[id_] = derive_runs.run_readings(
            workshop, id_, settings=settings, contents=contents, progress=here
        )
    measured = {
        id_: version_input(
            contents,
            id_,
            _with_joined(workshop, contents, id_, [readings[take] for take in contents.below(id_)], settings),
            runs[id_],
        )
        for id_ in wanted
    }
    inputs = []
    for done, (id_, foreseen) in enumerate(asked):
        here = part(progress, 0.6 + 0.4 * done / len(asked), 0.6 + 0.4 * (done + 1) / len(asked))
        find = prediction_of if foreseen else with_prediction
        inputs.append(find(workshop, measured[id_], version_ids, settings, here))
    return Gathered(
        inputs=tuple(inputs),
        others=tuple(version_input(contents, id_, ()) for id_ in contents.versions if id_ not in wanted),
    )


def _with_joined(
    workshop: Workshop,
    contents: Contents,
    version_id: str,
    takes: Sequence[TakeReadings],
    settings: FigureSettings | None,
) -> list[TakeReadings]:
    """Takes of a version with the responses joined of them."""
    chosen = settings or workshop.settings
    units = [unit for unit in contents.units if paths.version_of(unit) == version_id]
    runs = [run for unit in units for run in joined.run_readings(workshop, contents, unit, chosen)]
    return joined.with_joined(contents, takes, runs)


def version_input(
    contents: Contents, version_id: str, takes: Sequence[TakeReadings], runs: Sequence[TakeReadings] = ()
) -> VersionInput:
    """One version as it enters a comparison, from its records and the readings of its takes and runs."""
    record = contents.versions[version_id]
    driver_id, name = paths.expect(version_id, "version")
    driver = contents.drivers.get(driver_id)
    return VersionInput(
        version_id=version_id,
        title=record.title or name,
        driver_title=driver_id if driver is None else driver.title,
        parent=paths.parent_id(version_id, record.parent),
        date="" if record.date is None else record.date.isoformat(),
        summary=record.summary,
        changes=tuple(Change(what=c.what, before=c.before, after=c.after, why=c.why) for c in record.changes),
        rated_impedance_ohm=record.rated_impedance_ohm,
        rated_power_w=record.rated_power_w,
        takes=tuple(takes),
        runs=tuple(runs),
        published={} if record.published is None else published_figures(record.published),
        published_source="" if record.published is None else record.published.source,
        origin="" if record.origin is None else record.origin.said,
    )


def published_figures(published: PublishedTable) -> dict[str, tuple[float, float | None]]:
    """Figures of a printed table by figure key, with their standard uncertainty where one is given."""
    values = published.figures
    return {key: (value, values.get(f"{key}_u")) for key, value in values.items() if key in RULE}


def curves_of(workshop: Workshop, settings: FigureSettings | None = None) -> CurvesOf:
    """The curves of a version from the takes that count, for `compare`; a published version has its printed ones.

    Where no take holds the current, the impedance is that of the units' impedance runs.
    """
    chosen = settings or workshop.settings
    records = cache(lambda: read_contents(workshop.folder, workshop.index))

    def find(version_id: str, take_ids: tuple[str, ...]) -> dict[str, Curve]:
        if any(is_predicted(take_id) for take_id in take_ids):
            plain, cabinet = paths.of_prediction(version_id)[0], cabinet_of(take_ids[0])
            take = predicted_take(workshop, plain, settings=chosen, cabinet=cabinet)
            return predicted_curves(take.computed, chosen.thd_reference)
        units: dict[str, list[Response]] = {}
        for take_id in joined.without_sources(workshop, take_ids):
            found = joined.response if joined.is_joined(take_id) else derive.response
            units.setdefault("/".join(take_id.split("/")[:3]), []).append(found(workshop, take_id))
        known = curves(units, chosen.thd_reference) if units else published_curves(workshop, version_id)
        runs = None if "impedance" in known else _impedance_of_runs(workshop, records(), version_id)
        return known if runs is None else {**known, "impedance": runs}

    return find


def _impedance_of_runs(workshop: Workshop, contents: Contents, version_id: str) -> Curve | None:
    """The mean of the units' newest impedances without mass and box that count."""
    units = {run.rsplit("/", 2)[0] for run in contents.runs_below(version_id, "impedance")}
    free = [unit_parameters(workshop, unit, contents=contents).free for unit in sorted(units)]
    return impedance_of_runs([run.curve for run in free if run is not None and run.curve is not None])


def published_curves(workshop: Workshop, version_id: str) -> dict[str, Curve]:
    """The printed curves of a version; the level is brought to 1 W and 1 m and left out where that cannot be done."""
    record = workshop.version(version_id).record
    if record.published is None or record.published.curve is None:
        return {}
    path = paths.folder_of(workshop.folder, version_id) / record.published.curve
    columns = read_curve(path, tuple(CURVE_COLUMNS))
    frequency_hz = columns.pop("frequency_hz")
    if "spl_db" in columns:
        level_db = _at_one_watt(columns.pop("spl_db"), record, record.published)
        columns |= {} if level_db is None else {"spl_db": level_db}
    return {
        CURVE_COLUMNS[name]: Curve(frequency_hz=frequency_hz, value=values)
        for name, values in columns.items()
    }


def _at_one_watt(level_db: FloatArray, record: VersionRecord, published: PublishedTable) -> FloatArray | None:
    """A level at 1 W into the rated impedance and 1 m; None when drive or distance are not stated, or near the cone."""
    if published.drive_v is None or published.distance_m is None or record.rated_impedance_ohm is None:
        return None
    if published.space is Space.NEAR:  # falls with distance in another way than 1/r
        return None
    drive = db(math.sqrt(record.rated_impedance_ohm) / published.drive_v)
    return level_db + drive + db(published.distance_m)
