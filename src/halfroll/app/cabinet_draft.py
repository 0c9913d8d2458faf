"""What stands in the form of a cabinet: kept as it is typed, undone, saved; what cannot be built stays with its fault."""

from __future__ import annotations

import copy
import re
from typing import Any

from halfroll.acoustics.cabinet.types import Cabinet
from halfroll.app.typed import number_or_text, said_at_field, without_place
from halfroll.core.errors import InputError
from halfroll.driver.displaced import DriverBody
from halfroll.workshop import Workshop, clear_draft, load_draft, save_draft
from halfroll.workshop.cabinet_record import CabinetRecord
from halfroll.workshop.cabinets import (
    build,
    cabinet_ids,
    cabinet_record,
    checked_record,
    new_cabinet,
    save_cabinet,
)
from halfroll.workshop.faults import FaultsError
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.paths import check_name
from halfroll.workshop.toml_write import plain

NEW = "new"
"""In an address: a cabinet that has no name yet."""
SHAPES = (("box", "a box"), ("cylinder", "a cylinder"), ("volume", "volume only"))
WORDS = ("type", "shape", "driver", "title", "notes", "walls.material")
WHOLE = ("port.count", "radiator.count")
START: dict[str, Any] = {
    "type": "closed", "shape": "box", "inside": {"width_mm": 130.0, "height_mm": 190.0, "depth_mm": 120.0}, "walls": {"thickness_mm": 4.0, "material": "petg"},
    "port": {"diameter_mm": 28.0, "tuning_hz": 70.0}, "losses": {"ql": 7.0},
    "radiator": {"mass_g": 20.0, "cms_mm_per_n": 1.0, "rms_ns_per_m": 0.5, "area_cm2": 54.0, "travel_mm": 5.0},
}  # fmt: skip
_MOST_STEPS_BACK = 100
_BEGINS = {"stuffing": "packing_g_l", "walls": "thickness_mm"}
"""A table counts once this key of it is stated."""


_KEY = re.compile(r"\b([a-z]+(?:_[a-z]+)*)_(?:mm|hz|cm2|g|l|per_l)\b")
"""A key of the record with its unit; on the page its field stands under a label."""


def _plain(said: str) -> str:
    """A fault in words without keys: the height instead of ``height_mm``."""
    return _KEY.sub(lambda found: found[1].replace("_", " "), said)


class CabinetDraft:
    """One cabinet in the form of a page; `data` holds what is typed by table and key, `built` the last state that could be built."""

    def __init__(self, workshop: Workshop, cabinet_id: str, driver: str = "") -> None:
        self.workshop, self.id = workshop, cabinet_id
        self.page = f"cabinet--{cabinet_id}"
        self.loaded: Loaded[CabinetRecord] | None = (
            None if cabinet_id == NEW else cabinet_record(workshop, cabinet_id)
        )
        self.saved = copy.deepcopy(START) if self.loaded is None else _typed_of(self.loaded.record)
        self.data: dict[str, Any] = copy.deepcopy(self.saved)
        self.errors: dict[str, str] = {}
        self.built: tuple[Cabinet, DriverBody | None] | None = None
        self.record: CabinetRecord | None = None
        self._before: list[dict[str, Any]] = []
        self.check()
        kept = load_draft(workshop, self.page)
        if kept is not None and isinstance(kept.get("data"), dict):
            self.data = kept["data"]
        if driver and driver != self.value("driver"):
            self.data["driver"] = driver
        self.check()

    @property
    def changed(self) -> bool:
        """Whether anything differs from what is saved."""
        return self.data != self.saved

    def value(self, key: str) -> Any:
        """What stands at a dotted key; None for nothing."""
        here: Any = self.data
        for step in key.split("."):
            here = here.get(step) if isinstance(here, dict) else None
        return here

    def put(self, key: str, text: str) -> None:
        """Write what was typed."""
        value: Any = text.strip() or None if key in WORDS else number_or_text(text, whole=key in WHOLE)
        if isinstance(value, int) and key not in WHOLE:
            value = float(value)
        if value == self.value(key):
            return
        self._mark()
        table, _, last = key.rpartition(".")
        here = self.data.setdefault(table, {}) if table else self.data
        if value is None:
            here.pop(last, None)
        else:
            here[last] = value
        if key == "port.length_mm" and value is not None:
            here.pop("tuning_hz", None)
        if key == "port.tuning_hz" and value is not None:
            here.pop("length_mm", None)
        self._after()

    def replace(self, data: dict[str, Any]) -> None:
        """Put other values in place of those of the same tables; the driver stays."""
        self._mark()
        shape = "volume" if "volume_l" in data else self.value("shape")
        for table in ("port", "radiator", "losses"):
            if table in data:
                self.data.pop(table, None)
        self.data = {**self.data, **data, "shape": shape}
        self._after()

    def undo(self) -> None:
        """Go back one change."""
        if self._before:
            self.data = self._before.pop()
            self._after()

    @property
    def can_undo(self) -> bool:
        """Whether there is a state to go back to."""
        return bool(self._before)

    def _mark(self) -> None:
        self._before = [*self._before, copy.deepcopy(self.data)][-_MOST_STEPS_BACK:]

    def _after(self) -> None:
        self.check()
        if self.changed:
            save_draft(self.workshop, self.page, {"data": self.data})
        else:
            clear_draft(self.workshop, self.page)

    def check(self) -> None:
        """Find out whether it can be built; faults by key of their field."""
        self.errors = {}
        self.record = None
        try:
            record = checked_record(record_values(self.data))
            self.built = build(self.workshop, record)
            self.record = record
        except FaultsError as several:
            for fault in several.faults:
                self.errors.setdefault(fault.place.key or "", _plain(said_at_field(fault)))
        except InputError as fault:
            key = fault.place.key or ""
            self.errors[key] = _plain(
                said_at_field(fault) if " of the cabinet " in fault.message else without_place(fault)
            )

    def save(self) -> str:
        """Write the cabinet where it came from."""
        if self.loaded is None:
            raise InputError("A new cabinet needs a name", key="name")
        self.loaded = save_cabinet(self.workshop, self.loaded, self._whole())
        self._saved()
        return self.id

    def save_as(self, name: str) -> str:
        """Make a new cabinet of it."""
        check_name(name, "cabinet")
        if name == NEW or name in cabinet_ids(self.workshop):
            raise InputError(f"There is a cabinet {name} already" if name != NEW else "A cabinet needs another name than new", found=name,
                             remedy="Choose another name")  # fmt: skip
        new_cabinet(self.workshop, name, self._whole())
        clear_draft(self.workshop, self.page)
        return name

    def _whole(self) -> CabinetRecord:
        if self.record is None:
            raise InputError(
                "The cabinet has a fault and was not saved", found=next(iter(self.errors.values()), "a fault")
            )
        return self.record

    def _saved(self) -> None:
        self.saved = copy.deepcopy(self.data)
        clear_draft(self.workshop, self.page)


def record_values(data: dict[str, Any]) -> dict[str, Any]:
    """The values of a record from those of the form: what has no place in a cabinet of this kind and shape is left out."""
    values = {
        key: value for key, value in data.items() if key != "shape" and value is not None and value != {}
    }
    shape, kind = data.get("shape", "box"), data.get("type", "closed")
    if shape == "volume":
        values.pop("inside", None)
    else:
        values.pop("volume_l", None)
        keys = ("diameter_mm", "depth_mm") if shape == "cylinder" else ("width_mm", "height_mm", "depth_mm")
        values["inside"] = {key: value for key, value in data.get("inside", {}).items() if key in keys}
    for table, needs in (("port", "vented"), ("radiator", "passive-radiator")):
        if kind != needs:
            values.pop(table, None)
    if kind == "closed" and "losses" in values and data.get("losses") == START["losses"]:
        values.pop("losses")
    for table, first in _BEGINS.items():
        if table in values and values[table].get(first) is None:
            values.pop(table)
    return values


def _typed_of(record: CabinetRecord) -> dict[str, Any]:
    """What stands in the form of a record."""
    data: dict[str, Any] = {
        key: value
        for key, value in plain(record).items()
        if key not in ("format", "kind") and value not in (None, "", {})
    }
    inside = data.get("inside")
    data["shape"] = "volume" if inside is None else "cylinder" if "diameter_mm" in inside else "box"
    for table in ("port", "radiator"):
        data.setdefault(table, copy.deepcopy(START[table]))
    return data
