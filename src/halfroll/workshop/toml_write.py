"""Writing record files: only what changed is touched, so comments, order and unknown keys stay as they were."""

from __future__ import annotations

import datetime as dt
import difflib
from collections.abc import Mapping
from enum import StrEnum
from typing import Any

import tomlkit
from tomlkit.items import AoT, Array

from halfroll.workshop.fields import Record, Table
from halfroll.workshop.toml_read import decode, parse_record


def render(record: Record, before: bytes | None, file: str) -> bytes:
    """Bytes of a file that says what `record` says; `before` are the bytes of the file it replaces.

    The result is read back and compared with the record before it is returned, so what cannot be kept is never
    written.
    """
    wanted = plain(record)
    if before is None:
        document = tomlkit.document()
        _change(document, {}, wanted)
        text = tomlkit.dumps(document)
    else:
        old_text = decode(before, file)
        old, _ = parse_record(before, type(record), file)
        document = tomlkit.parse(old_text)
        _change(document, plain(old), wanted)
        text = tomlkit.dumps(document)
        if b"\r\n" in before:
            text = text.replace("\n", "\r\n")
    data = text.encode()
    again, _ = parse_record(data, type(record), file)
    if _key(plain(again)) != _key(wanted):
        raise AssertionError(f"the text made for {file} does not say what the record says")
    return data


def plain(table: Table) -> dict[str, Any]:
    """What a file says of a record or a table in it, plain keys before tables, in the record's order.

    Unset keys and empty texts, lists and tables are not said. Other defaults are: what a file means must not depend
    on the version of halfroll that reads it.
    """
    fields = type(table).model_fields
    said = {key: _plain(value) for key, value in table if not (key in fields and value in (None, "", (), {}))}
    return dict(sorted(said.items(), key=lambda item: _is_table(item[1])))


def _plain(value: Any) -> Any:
    if isinstance(value, Table):
        return plain(value)
    if isinstance(value, Mapping):
        return {key: _plain(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(entry) for entry in value]
    return str(value) if isinstance(value, StrEnum) else value


def _key(value: Any) -> str:
    """Equal for values that a file says alike. (NaN is not equal to itself, but its name is.)"""
    if isinstance(value, dict):
        return repr({key: _key(value[key]) for key in sorted(value)})
    if isinstance(value, dt.datetime | dt.time):
        return f"{type(value).__name__} {value.isoformat()}"
    return repr([_key(entry) for entry in value]) if isinstance(value, list) else repr(value)


def _is_table(value: Any) -> bool:
    return isinstance(value, dict) or (isinstance(value, list) and bool(value) and isinstance(value[0], dict))


def _change(table: Any, old: Mapping[str, Any], new: Mapping[str, Any]) -> None:
    """Make a tomlkit table that says `old` say `new`. A default that stays what it was need not stand in the text."""
    for key in old:
        if key not in new and key in table:
            del table[key]
    for key, value in new.items():
        before = old.get(key)
        if key in old and _key(before) == _key(value):
            continue
        if key in table and isinstance(before, dict) and isinstance(value, dict):
            _change(table[key], before, value)
        elif key in table and isinstance(table[key], AoT) and _is_table(value):
            _change_list(table[key], list(before or ()), value)
        else:
            _put(table, key, value)


def _change_list(tables: AoT, old: list[Any], new: list[Any]) -> None:
    """Make an array of tables that says `old` say `new`, keeping the entries (and their comments) that stay."""
    matcher = difflib.SequenceMatcher(
        a=[_key(entry) for entry in old], b=[_key(entry) for entry in new], autojunk=False
    )
    shift = 0
    for what, start, stop, new_start, new_stop in matcher.get_opcodes():
        if what == "equal":
            continue
        common = min(stop - start, new_stop - new_start)
        for step in range(common):
            _change(tables[start + shift + step], old[start + step], new[new_start + step])
        for _ in range(stop - start - common):
            del tables[start + shift + common]
        for step in range(common, new_stop - new_start):
            tables.insert(start + shift + step, _table_of(new[new_start + step]))
        shift += (new_stop - new_start) - (stop - start)


def _put(table: Any, key: str, value: Any) -> None:
    if key in table and _is_table(value):
        del table[key]
    if key not in table and _is_table(value) and isinstance(table, tomlkit.TOMLDocument):
        _part_from_list(table)
    table[key] = _item_of(value)


def _part_from_list(document: tomlkit.TOMLDocument) -> None:
    """A blank line behind an array of tables at the end, which tomlkit leaves out."""
    values = list(document.values())
    if values and isinstance(values[-1], AoT):
        document.add(tomlkit.nl())


def _item_of(value: Any) -> Any:
    if isinstance(value, dict):
        return _table_of(value)
    if _is_table(value) and all(isinstance(entry, dict) for entry in value):
        tables = tomlkit.aot()
        for entry in value:
            tables.append(_table_of(entry))
        return tables
    if isinstance(value, list):
        array: Array = tomlkit.array()
        array.extend(tomlkit.item(entry) for entry in value)
        return array
    return value


def _table_of(values: Mapping[str, Any]) -> Any:
    table = tomlkit.table()
    for key, value in sorted(values.items(), key=lambda item: _is_table(item[1])):
        table[key] = _item_of(value)
    return table
