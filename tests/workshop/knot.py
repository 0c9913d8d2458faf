"""A workshop of one version, ``knot/v1``, whose record is what a test writes into it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from halfroll.core.errors import InputError
from halfroll.workshop import DriverRecord, VersionRecord, Workshop
from halfroll.workshop.paths import record_path


def knot_shop(folder: Path, tables: str, rated_power_w: float | None = None) -> Workshop:
    """The workshop; `tables` stand in the version's record as they would in ``version.toml``."""
    workshop = Workshop.init(folder, "Shop", durable=False)
    workshop.create_driver("knot", DriverRecord(title="Knot"))
    loaded = workshop.create_version("knot", "v1", VersionRecord(title="One", rated_power_w=rated_power_w))
    write(loaded.path, loaded.path.read_text(encoding="utf-8") + "\n" + tables)
    return workshop


def write(path: Path, text: str) -> None:
    """Text as somebody would save it from an editor."""
    path.write_text(text, encoding="utf-8")


def edit(workshop: Workshop, old: str, new: str) -> Path:
    """Put `new` in place of what stands in the version's record; gives the record's path."""
    path = record_path(workshop.folder, "knot/v1")
    text = path.read_text(encoding="utf-8")
    assert text.count(old) >= 1
    write(path, text.replace(old, new, 1))
    return path


def refused_at(path: Path, key: str, word: str, load: Callable[[], object]) -> None:
    """Loading is refused with the record's file, the key, a line that holds it (or its table's head, where it is missing), and a word."""
    with pytest.raises(InputError) as caught:
        load()
    place = caught.value.place
    assert (place.file, place.key) == (str(path), key)
    assert place.line is not None
    line = path.read_text(encoding="utf-8").split("\n")[place.line - 1]
    table, _, last = key.rpartition(".")
    assert last in line or line == (
        "[[motor.parts]]" if table.startswith("motor.parts") else f"[{table.partition('.')[0]}]"
    )
    assert word in str(caught.value)
