"""What is in stock: movements in ``stock/<year>.toml`` read in order, and written down so that nothing goes below zero unsaid.

The key ``stock`` of a part's record is its opening count: with no movement it is what there is; with movements it is what there was
before the first. Whoever counts anew books it as ``counted``, which holds whatever the record says.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from halfroll.core.errors import ConflictError, InputError, RefusedError
from halfroll.materials.catalogue import nearest
from halfroll.workshop import tree
from halfroll.workshop.faults import fault_at
from halfroll.workshop.files import digest, make_folder, read_whole, write_whole
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.locking import locked
from halfroll.workshop.parts import OwnParts, current_id, own_parts
from halfroll.workshop.standing import Booked, Standing, amount_text, standing_of
from halfroll.workshop.stock_record import MovementTable, StockRecord
from halfroll.workshop.store import Workshop
from halfroll.workshop.toml_read import parse_record, read_record
from halfroll.workshop.toml_write import render

FOLDER = "stock"


@dataclass(frozen=True, kw_only=True)
class Stock:
    """Where every part stands, and what is wrong with movements that could not be counted."""

    standings: Mapping[str, Standing]
    faults: tuple[InputError, ...] = ()


def standings(workshop: Workshop) -> Mapping[str, Standing]:
    """Where every part of one's own stands, by its id.

    Raises
    ------
    InputError
        A file of movements cannot be read, or a movement names a part that is not there or an amount it cannot have; with file, key
        and line.
    """
    stock = stock_of(workshop)
    if stock.faults:
        raise stock.faults[0]
    return stock.standings


def stock_of(workshop: Workshop, owned: OwnParts | None = None) -> Stock:
    """The same with faults reported instead of raised; movements with a fault are left out of the count."""
    owned = owned or own_parts(workshop)
    faults: list[InputError] = []
    booked: dict[str, list[Booked]] = {part: [] for part in owned.parts}
    for one in _in_order(_all_booked(workshop, faults)):
        fault = _fault_of(one, owned)
        if fault is None:
            booked[current_id(owned, one.movement.part)].append(one)
        else:
            faults.append(fault)
    found = {part: standing_of(part, loaded.record, booked[part]) for part, loaded in owned.parts.items()}
    return Stock(standings=found, faults=tuple({str(fault): fault for fault in faults}.values()))


def move(workshop: Workshop, *movements: MovementTable, anyway: bool = False) -> tuple[MovementTable, ...]:
    """Book movements of one year, all or none; returns them as written, parts under the ids they have now.

    Raises
    ------
    RefusedError
        A stock would go below zero, now or at a later movement. With `anyway` it is booked, and said ever after.
    InputError
        A part is not there, an amount is not one, or what is booked already cannot be read.
    """
    if not movements:
        return ()
    with locked(workshop.folder):
        owned = own_parts(workshop)
        faults: list[InputError] = []
        before = _in_order(_all_booked(workshop, faults))
        if faults:
            raise faults[0]
        written = _named(workshop, movements, owned, before)
        short = _below_zero(owned, before, written)
        if short and not anyway:
            raise RefusedError(f"Not so much is in stock: {'; '.join(short.values())}",
                               remedy="Count the stock first, or book it anyway: it will be said then")  # fmt: skip
        written = tuple(one.changed(anyway=True) if _blamed(one, written, short) else one for one in written)
        _append(workshop, written)
        return written


def undo(workshop: Workshop, *, number: int | None = None) -> tuple[MovementTable, ...]:
    """Take the last booking back, with all movements booked together with it; returns what was taken out.

    Parameters
    ----------
    number
        The number of the last movement as the person saw it; None takes whichever is last.

    Raises
    ------
    InputError
        There is nothing to take back.
    ConflictError
        Something else was booked since.
    """
    with locked(workshop.folder):
        faults: list[InputError] = []
        booked = _all_booked(workshop, faults)
        if faults:
            raise faults[0]
        if not booked:
            raise InputError("There is no movement to take back", file=str(workshop.folder / FOLDER))
        last = last_of(booked)
        if number is not None and last.movement.number != number:
            raise ConflictError("Something else was booked since you looked",
                                remedy="Nothing was taken back; look again and choose anew")  # fmt: skip
        batch = last.movement.batch
        gone = [one for one in booked if one is last or (batch and one.movement.batch == batch)]
        for file in {one.file for one in gone}:
            taken = {one.index for one in gone if one.file == file}
            record = read_record(file, StockRecord, file.stem).record
            kept = tuple(m for n, m in enumerate(record.movements) if n not in taken)
            _write(workshop, file, record.changed(movements=kept))
        return tuple(one.movement for one in gone)


def last_booking(workshop: Workshop) -> tuple[MovementTable, ...]:
    """What `undo` would take back; empty when there is nothing."""
    booked = _all_booked(workshop, [])
    if not booked:
        return ()
    last = last_of(booked)
    batch = last.movement.batch
    return tuple(one.movement for one in booked if one is last or (batch and one.movement.batch == batch))


def last_of(booked: Sequence[Booked]) -> Booked:
    """The movement that was booked last: of the highest number, else the last in the last file."""
    return max(booked, key=lambda one: (one.movement.number or 0, one.file.stem, one.index))


def _all_booked(workshop: Workshop, faults: list[InputError]) -> list[Booked]:
    """Every movement with where it stands; files that cannot be read go to `faults`."""
    found: list[Booked] = []
    for year in tree.records_in(workshop.folder, FOLDER):
        path = workshop.folder / FOLDER / f"{year}.toml"
        try:
            loaded = read_record(path, StockRecord, year)
            _check_year(loaded)
        except InputError as fault:
            faults.append(fault)
            continue
        found += [Booked(movement=m, file=path, index=n) for n, m in enumerate(loaded.record.movements)]
    return found


def _check_year(loaded: Loaded[StockRecord]) -> None:
    for n, movement in enumerate(loaded.record.movements):
        if str(movement.date.year) != loaded.id:
            raise _at(loaded.path, n, "date", "A movement must stand in the file of its year",
                      found=movement.date.isoformat(), remedy=f"Move it to {FOLDER}/{movement.date.year}.toml")  # fmt: skip


def _in_order(booked: Sequence[Booked]) -> list[Booked]:
    """By day; of one day in the order in which they were booked."""
    return sorted(booked, key=lambda one: (one.movement.date, one.movement.number or 0))


def _fault_of(one: Booked, owned: OwnParts) -> InputError | None:
    """What is wrong with a movement in the light of the parts there are."""
    movement = one.movement
    try:
        part = current_id(owned, movement.part)
    except InputError as fault:
        return fault
    if part not in owned.parts:
        return _unknown(owned, movement.part, one.file, one.index)
    if owned.parts[part].record.pack_unit == "pieces" and movement.amount != int(movement.amount):
        return _at(
            one.file, one.index, "amount", f"{part} is counted in whole pieces", found=f"{movement.amount:g}"
        )
    return None


def _unknown(owned: OwnParts, part: str, file: Path | None = None, index: int = 0) -> InputError:
    known = [*owned.parts, *owned.renamed]
    words = {
        "found": part,
        "allowed": nearest(known, part) or known[:12] or "there is no part of your own yet",
        "remedy": "A part that was renamed is found by its old id when its record says so under formerly",
    }
    if file is None:
        return InputError("There is no such part", key="part", **words)  # type: ignore[arg-type]
    return _at(file, index, "part", "A movement must name a part of your own", **words)


def _at(file: Path, index: int, key: str, message: str, **more: Any) -> InputError:
    """A fault of one movement in a file."""
    return fault_at(file, ("movements", index, key), message, **more)


def _named(
    workshop: Workshop, movements: Sequence[MovementTable], owned: OwnParts, before: Sequence[Booked]
) -> tuple[MovementTable, ...]:
    """Movements with the ids parts have now and with their numbers, checked."""
    years = {one.date.year for one in movements}
    if len(years) > 1:
        raise InputError("Movements that are booked together must be of one year",
                         found=", ".join(map(str, sorted(years))))  # fmt: skip
    number = 1 + max((one.movement.number or 0 for one in before), default=0)
    written = []
    for step, movement in enumerate(movements):
        part = current_id(owned, movement.part)
        if part not in owned.parts:
            raise _unknown(owned, movement.part)
        if owned.parts[part].record.pack_unit == "pieces" and movement.amount != int(movement.amount):
            raise InputError(f"{part} is counted in whole pieces", key="amount", found=f"{movement.amount:g}")
        if movement.unit:
            workshop.existing(movement.unit, "unit", key="unit")
        batch = (
            f"{movement.batch} ({number})" if movement.batch else ""
        )  # two alike bookings are taken back one by one
        written.append(movement.changed(part=part, number=number + step, anyway=None, batch=batch))
    return tuple(written)


def _below_zero(owned: OwnParts, before: Sequence[Booked], new: Sequence[MovementTable]) -> dict[str, str]:
    """By part what would be lacking: balances the new movements bring below zero, at their day or after it."""
    short: dict[str, str] = {}
    for part in dict.fromkeys(one.part for one in new):
        record = owned.parts[part].record
        held = [one for one in before if owned.renamed.get(one.movement.part, one.movement.part) == part]
        added = [Booked(movement=m, file=Path(), index=n) for n, m in enumerate(new) if m.part == part]
        was = {id(line.booked): line.balance for line in standing_of(part, record, held).lines}
        lines = standing_of(part, record, _in_order([*held, *added])).lines
        for line in lines:
            sinks = line.change < 0 if line.booked in added else line.balance < was[id(line.booked)]
            if line.balance < 0 and sinks:
                unit = record.pack_unit
                short[part] = (
                    f"{part} would stand at {amount_text(line.balance, unit)} on {line.movement.date.isoformat()}, "
                    f"{amount_text(line.balance - line.change, unit)} before"
                )
                break
    return short


def _blamed(one: MovementTable, together: Sequence[MovementTable], short: Mapping[str, str]) -> bool:
    """Whether a movement is one that was booked although a part goes below zero: what took away of it, else the count that did."""
    taken = any(other.part == one.part and other.what in ("used", "spoiled") for other in together)
    return one.part in short and one.what in (("used", "spoiled") if taken else ("counted",))


def _append(workshop: Workshop, movements: Sequence[MovementTable]) -> None:
    """Write movements to the end of their year's file."""
    path = workshop.folder / FOLDER / f"{movements[0].date.year}.toml"
    before = read_whole(path) if path.exists() else None
    old = StockRecord() if before is None else parse_record(before, StockRecord, str(path))[0]
    record = old.changed(movements=(*old.movements, *movements))
    _replace(workshop, path, before, _longer(before, movements, record, str(path)))


def _longer(
    before: bytes | None, movements: Sequence[MovementTable], record: StockRecord, file: str
) -> bytes:
    """A file with movements put to its end, all before it byte for byte; set anew where it is written in another way.

    A year of many movements is thus lengthened in milliseconds, not parsed and set as a whole each time.
    """
    if before is None or b"\r" in before:
        return render(record, before, file)
    added = render(StockRecord(movements=tuple(movements)), None, file).partition(b"\n")[2]
    data = before.rstrip() + b"\n\n" + added.lstrip()
    try:
        same = parse_record(data, StockRecord, file)[0] == record
    except InputError:
        same = False
    return data if same else render(record, before, file)


def _write(workshop: Workshop, path: Path, record: StockRecord) -> None:
    before = read_whole(path)
    _replace(workshop, path, before, render(record, before, str(path)))


def _replace(workshop: Workshop, path: Path, before: bytes | None, data: bytes) -> None:
    """Write a file of movements; the lock is held, so nobody of ours changes it meanwhile, and an editor's change is seen."""
    make_folder(path.parent, durable=workshop.durable)
    if before is not None and digest(read_whole(path)) != digest(before):
        raise ConflictError(
            "The movements were changed by somebody else meanwhile",
            file=str(path),
            remedy="Nothing was booked; try again",
        )
    write_whole(path, data, durable=workshop.durable)
