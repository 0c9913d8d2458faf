"""Crossovers of a workshop: ``crossovers/<id>.toml`` read, checked, worked out, tuned, saved."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.driver.crossover.circuit import circuit_of
from halfroll.driver.crossover.elements import Crossover, Element, Way
from halfroll.driver.crossover.results import Asked, Result
from halfroll.driver.crossover.summing import Listener
from halfroll.workshop import paths, tree
from halfroll.workshop.crossover_record import SI, VALUE_KEY, CrossoverRecord, ElementTable, WayTable
from halfroll.workshop.crossover_ways import existing_driver
from halfroll.workshop.faults import check, placed
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.store import Workshop
from halfroll.workshop.toml_lines import line_of
from halfroll.workshop.toml_read import read_record

if TYPE_CHECKING:
    from halfroll.driver.crossover.responses import WayData
    from halfroll.driver.crossover.tuning import Row, Tuned

_DIGITS = 12
"""Values come from files in µF and mH: so many digits undo the factor without a trace."""


def crossover_ids(workshop: Workshop) -> list[str]:
    """Ids of all crossovers."""
    return tree.records_in(workshop.folder, "crossovers")


def crossover_record(workshop: Workshop, crossover_id: str) -> Loaded[CrossoverRecord]:
    """The record of a crossover; its circuit is checked.

    Raises
    ------
    InputError
        There is no such crossover, or it cannot work (`circuit_of`); with file, key and line.
    """
    path = paths.crossover_path(workshop.folder, crossover_id)
    if not path.exists():
        raise InputError(f"There is no crossover {crossover_id}", file=str(path.parent),
                         allowed=crossover_ids(workshop)[:12] or "there is no crossover yet",
                         remedy="Make one with halfroll crossover new, or on the page /crossovers")  # fmt: skip
    loaded = read_record(path, CrossoverRecord, crossover_id)
    with in_record(loaded.path, loaded.record):
        checked(loaded.record)
    return loaded


def new_crossover(workshop: Workshop, crossover_id: str, record: CrossoverRecord) -> Loaded[CrossoverRecord]:
    """A new crossover; one that cannot work, or of drivers that are not there, is refused."""
    path = paths.crossover_path(workshop.folder, crossover_id)
    _check_drivers(workshop, record)
    checked(record)
    return workshop.create_record(path, crossover_id, record)


def save_crossover(
    workshop: Workshop, loaded: Loaded[CrossoverRecord], record: CrossoverRecord
) -> Loaded[CrossoverRecord]:
    """A changed crossover; `ConflictError` when the file was changed meanwhile."""
    _check_drivers(workshop, record)
    checked(record)
    return workshop.save(loaded, record)


def checked_record(data: Mapping[str, Any]) -> CrossoverRecord:
    """A record from plain values, such as a form's; `InputError` or `FaultsError` with the keys."""
    return check(CrossoverRecord, {"format": 1, **data}, file="")


def checked(record: CrossoverRecord) -> Crossover:
    """The crossover of a record, its circuit checked."""
    crossover = crossover_of(record)
    circuit_of(crossover)
    return crossover


def crossover_of(record: CrossoverRecord) -> Crossover:
    """The crossover a record describes, SI."""
    return Crossover(ways=tuple(_way(way) for way in record.ways), source_ohm=record.cable_ohm)


def asked_of(record: CrossoverRecord, horizontal_deg: float = 0.0, vertical_deg: float = 0.0) -> Asked:
    """How a record wants to be looked at."""
    listener = Listener(
        distance_m=record.distance_m, horizontal_deg=horizontal_deg, vertical_deg=vertical_deg
    )
    return Asked(
        listener=listener,
        rated_ohm=record.rated_impedance_ohm,
        power_w=record.power_w,
        method=record.tolerance,
    )


def with_crossover(record: CrossoverRecord, crossover: Crossover) -> CrossoverRecord:
    """The record with the elements and polarities of a crossover of the same ways; what it says besides stays."""
    known = {element.name: element for way in record.ways for element in way.elements}
    ways = []
    for table in record.ways:
        way = crossover.way(table.name)
        ways.append(
            table.changed(
                inverted=way.inverted, elements=tuple(table_of(e, known.get(e.name)) for e in way.elements)
            )
        )
    return record.changed(ways=tuple(ways))


def table_of(element: Element, known: ElementTable | None = None) -> ElementTable:
    """The table of an element; `known` is the one it had, whose other keys stay."""
    said = {"name": element.name, "type": element.kind, "between": element.between, "series_ohm": element.series_ohm,
            VALUE_KEY[element.kind]: float(f"{element.value / SI[element.kind]:.{_DIGITS}g}")}  # fmt: skip
    if known is not None:
        return known.changed(**said)
    more = {"construction": element.construction or None, "rated_v": element.rated_v, "rated_w": element.rated_w, "rated_a": element.rated_a,
            "tolerance_percent": None if element.tolerance is None else 100.0 * element.tolerance}  # fmt: skip
    return ElementTable.model_validate(
        {**said, **{key: value for key, value in more.items() if value is not None}}
    )


def work_out(
    workshop: Workshop, record: CrossoverRecord, progress: Progress = silent, *, horizontal_deg: float = 0.0, vertical_deg: float = 0.0,
    data: Mapping[str, WayData] | None = None,
) -> Result:  # fmt: skip
    """A crossover with its drivers; `data` where they were loaded before."""
    from halfroll.driver.crossover.study import study

    crossover = checked(record)
    known = load_ways(workshop, record, part(progress, 0.0, 0.7)) if data is None else data
    return study(
        crossover, known, asked_of(record, horizontal_deg, vertical_deg), progress=part(progress, 0.7, 1.0)
    )


def tuned(
    workshop: Workshop, record: CrossoverRecord, band_hz: tuple[float, float], *, row: Row = "E12", only: Sequence[str] = (),
    progress: Progress = silent, data: Mapping[str, WayData] | None = None,
) -> tuple[Tuned, CrossoverRecord]:  # fmt: skip
    """The crossover tuned for a flat sum in a band (Hz), and the record that would save it; nothing is saved."""
    from halfroll.driver.crossover.tuning import tune

    crossover = checked(record)
    known = load_ways(workshop, record, part(progress, 0.0, 0.5)) if data is None else data
    found = tune(
        crossover,
        known,
        band_hz,
        asked=asked_of(record),
        row=row,
        only=only,
        progress=part(progress, 0.5, 1.0),
    )
    return found, with_crossover(record, found.after)


def load_ways(workshop: Workshop, record: CrossoverRecord, progress: Progress = silent) -> dict[str, WayData]:
    """What is known of each way's driver, by name."""
    from halfroll.workshop.crossover_ways import way_data

    found = {}
    for done, table in enumerate(record.ways):
        here = part(progress, done / len(record.ways), (done + 1) / len(record.ways))
        here(0.0, f"looking up {table.driver}")
        found[table.name] = way_data(workshop, table, here)
    return found


@contextmanager
def in_record(path: Path, record: CrossoverRecord) -> Iterator[None]:
    """Add file and line to an `InputError` of what the record says; of what is asked beside it, such as a band, it is left as it is."""
    try:
        yield
    except InputError as fault:
        where = place_of(record, fault.place.key)
        if fault.place.file is not None or (where is None and fault.place.key is not None):
            raise
        text = path.read_text(encoding="utf-8", errors="replace")
        line = None if where is None else line_of(text, where)
        raise placed(fault, file=str(path), line=line) from fault


def place_of(record: CrossoverRecord, key: str | None) -> tuple[str | int, ...] | None:
    """Where in the record a key, or a way or an element of a name, stands; None when nothing is called so."""
    if key is None:
        return None
    if key in CrossoverRecord.model_fields:
        return (key,)
    name, _, rest = key.partition(".")
    for i, way in enumerate(record.ways):
        if way.name == name:
            return ("ways", i, *([rest] if rest in WayTable.model_fields else []))
        for j, element in enumerate(way.elements):
            if element.name == name:
                return "ways", i, "elements", j
    return None


def _way(table: WayTable) -> Way:
    return Way(
        name=table.name, elements=tuple(_element(element) for element in table.elements), fed_by=table.fed_by, minus=table.minus,
        inverted=table.inverted, place_m=(1e-3 * table.x_mm, 1e-3 * table.y_mm, 1e-3 * table.z_mm),
    )  # fmt: skip


def _element(table: ElementTable) -> Element:
    return Element(
        name=table.name, kind=table.type, between=table.between, value=table.value, series_ohm=table.series_ohm,
        construction=table.construction or "", tolerance=None if table.tolerance_percent is None else table.tolerance_percent / 100.0,
        rated_v=table.rated_v, rated_w=table.rated_w, rated_a=table.rated_a,
    )  # fmt: skip


def _check_drivers(workshop: Workshop, record: CrossoverRecord) -> None:
    """Refuse ways whose driver is not in the workshop."""
    for way in record.ways:
        existing_driver(workshop, way)
