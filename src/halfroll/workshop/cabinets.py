"""Cabinets of a workshop: ``enclosures/<id>.toml`` read, built, saved, and the driver that stands in them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfroll.acoustics.cabinet.fits import check_fit
from halfroll.acoustics.cabinet.types import Cabinet
from halfroll.core.errors import InputError
from halfroll.workshop import paths, tree
from halfroll.workshop.cabinet_built import cabinet_of
from halfroll.workshop.cabinet_record import CabinetRecord
from halfroll.workshop.faults import FaultsError, check, placed
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.parts import lookups
from halfroll.workshop.store import Workshop
from halfroll.workshop.toml_lines import line_of
from halfroll.workshop.toml_read import read_record

if TYPE_CHECKING:
    from halfroll.driver.boxed_suggest import Suggestion
    from halfroll.driver.displaced import DriverBody

_OTHERS = ".crossover"
"""Records of other kinds in the same folder end so."""


@dataclass(frozen=True, kw_only=True)
class LoadedCabinet:
    """A cabinet's record, what it is built as, and the designed driver that stands in it (None: none, or one without a design)."""

    loaded: Loaded[CabinetRecord]
    cabinet: Cabinet
    body: DriverBody | None


def cabinet_ids(workshop: Workshop) -> list[str]:
    """Ids of all cabinets."""
    return [name for name in tree.records_in(workshop.folder, "enclosures") if not name.endswith(_OTHERS)]


def cabinet_path(workshop: Workshop, cabinet_id: str) -> Path:
    """The record file of a cabinet."""
    return paths.cabinet_path(workshop.folder, cabinet_id)


def cabinet_record(workshop: Workshop, cabinet_id: str) -> Loaded[CabinetRecord]:
    """The record of a cabinet; `InputError` with the ids there are when there is no such."""
    path = cabinet_path(workshop, cabinet_id)
    if not path.exists():
        raise InputError("There is no such cabinet", found=repr(cabinet_id), allowed=cabinet_ids(workshop) or "none yet",
                         remedy="Make one with halfroll cabinet new, or on the page /cabinets")  # fmt: skip
    return read_record(path, CabinetRecord, cabinet_id)


def load_cabinet(workshop: Workshop, cabinet_id: str, version_id: str | None = None) -> Cabinet:
    """A cabinet as `acoustics.cabinet.network.load_of` takes it, less what its driver takes of it; another version may stand in it.

    Raises
    ------
    InputError
        There is no such cabinet, or what its record says cannot be; with file, key and line.
    """
    return built_cabinet(workshop, cabinet_id, version_id).cabinet


def built_cabinet(workshop: Workshop, cabinet_id: str, version_id: str | None = None) -> LoadedCabinet:
    """The same with its record and the driver in it."""
    loaded = cabinet_record(workshop, cabinet_id)
    if version_id is not None:
        workshop.existing(version_id, "version")
    with _in_record(loaded.path):
        cabinet, body = build(workshop, loaded.record, version_id)
    return LoadedCabinet(loaded=loaded, cabinet=cabinet, body=body)


def build(
    workshop: Workshop, record: CabinetRecord, version_id: str | None = None
) -> tuple[Cabinet, DriverBody | None]:
    """A record as a cabinet, with the driver's room taken from it, checked for fit."""
    if version_id is None and record.driver is not None:
        workshop.existing(record.driver, "version", key="driver")
    body = body_of(workshop, version_id or record.driver, wall_m(record))
    cabinet = cabinet_of(record, lookups(workshop), body)
    check_fit(cabinet, None if body is None else body.size)
    return cabinet, body


def wall_m(record: CabinetRecord) -> float:
    """Thickness of the walls (m); 3 mm where not stated."""
    return 3e-3 if record.walls is None else 1e-3 * record.walls.thickness_mm


def body_of(workshop: Workshop, version_id: str | None, wall: float) -> DriverBody | None:
    """The room a version takes in a cabinet; None where it is not designed far enough.

    Raises
    ------
    InputError
        There is no such version.
    """
    if version_id is None:
        return None
    workshop.existing(version_id, "version")
    from halfroll.driver.displaced import driver_body
    from halfroll.workshop.motors import load_motor
    from halfroll.workshop.suspensions import load_moving

    try:
        moving = load_moving(workshop, version_id)
    except InputError:  # nothing designed, or not yet right: its own page says so
        return None
    try:
        assembly = load_motor(workshop, version_id).assembly
    except InputError:
        assembly = None
    return driver_body(assembly, moving, wall)


def all_cabinets(workshop: Workshop) -> tuple[list[LoadedCabinet], list[InputError]]:
    """Every cabinet that can be built, and the faults of the others."""
    known: list[LoadedCabinet] = []
    faults: list[InputError] = []
    for cabinet_id in cabinet_ids(workshop):
        try:
            known.append(built_cabinet(workshop, cabinet_id))
        except InputError as fault:
            faults.append(fault)
    return known, faults


def keep_suggestion(
    workshop: Workshop, cabinet_id: str, suggestion: Suggestion, version_id: str | None
) -> Loaded[CabinetRecord]:
    """A new cabinet of a suggestion: its volume, port or radiator, losses; sizes and walls are still to be chosen."""
    return new_cabinet(workshop, cabinet_id, checked_record(suggested_data(suggestion, version_id)))


def suggested_data(suggestion: Suggestion, version_id: str | None) -> dict[str, Any]:
    """A suggestion as the plain values of a record."""
    cabinet = suggestion.cabinet
    data: dict[str, Any] = {"type": cabinet.kind, "volume_l": round(1e3 * cabinet.gross_m3, 4)}
    if version_id is not None:
        data["driver"] = version_id
    if cabinet.taken_m3:
        data["driver_l"] = round(1e3 * cabinet.taken_m3, 4)
    if cabinet.port is not None:
        data["port"] = {
            "diameter_mm": round(1e3 * cabinet.port.across_m, 2),
            "length_mm": round(1e3 * cabinet.port.length_m, 1),
        }
    if cabinet.radiator is not None:
        one = cabinet.radiator
        data["radiator"] = {
            "mass_g": round(1e3 * one.mass_kg, 3), "cms_mm_per_n": 1e3 * one.compliance_m_n, "rms_ns_per_m": one.resistance,
            "area_cm2": 1e4 * one.area_m2, "count": one.count, **({"travel_mm": 1e3 * one.travel_m} if math.isfinite(one.travel_m) else {}),
        }  # fmt: skip
    if math.isfinite(cabinet.losses.leak_q):
        data["losses"] = {"ql": cabinet.losses.leak_q}
    return data


def new_cabinet(workshop: Workshop, cabinet_id: str, record: CabinetRecord) -> Loaded[CabinetRecord]:
    """A new cabinet; refused when it cannot be built or there is one of that id."""
    path = cabinet_path(workshop, cabinet_id)
    build(workshop, record)
    return workshop.create_record(path, cabinet_id, record)


def save_cabinet(
    workshop: Workshop, loaded: Loaded[CabinetRecord], record: CabinetRecord
) -> Loaded[CabinetRecord]:
    """A changed cabinet; refused when it cannot be built, `ConflictError` when the file was changed meanwhile."""
    build(workshop, record)
    return workshop.save(loaded, record)


def checked_record(data: dict[str, Any]) -> CabinetRecord:
    """A record from plain values, such as a form's; `InputError` or `FaultsError` with the keys."""
    try:
        return check(CabinetRecord, {"format": 1, **data}, file="")
    except FaultsError as several:
        raise FaultsError([_homeless(fault) for fault in several.faults], file="") from several
    except InputError as fault:
        raise _homeless(fault) from fault


def _homeless(fault: InputError) -> InputError:
    """A fault of values that stand in no file yet."""
    return InputError(
        fault.message, key=fault.place.key, found=fault.found, allowed=fault.allowed, remedy=fault.remedy
    )


@contextmanager
def _in_record(path: Path) -> Iterator[None]:
    """Add file and line to a fault found while a cabinet was built."""
    try:
        yield
    except FaultsError:
        raise
    except InputError as fault:
        if fault.place.file is not None:
            raise
        text = path.read_text(encoding="utf-8", errors="replace")
        key = fault.place.key
        line = None if key is None else line_of(text, tuple(key.split(".")))
        raise placed(fault, file=str(path), line=line) from fault
