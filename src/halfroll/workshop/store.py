"""The workshop folder: its records, read and saved one at a time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import TypeVar

from halfroll.core.conditions import Conditions
from halfroll.core.errors import InputError
from halfroll.figures.types import FigureSettings
from halfroll.measure.recording import Recording
from halfroll.measure.sweep import Sweep
from halfroll.workshop import paths, tree
from halfroll.workshop.fields import Record
from halfroll.workshop.files import digest, make_folder, reporting, write_whole
from halfroll.workshop.index import Index
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.locking import locked
from halfroll.workshop.records import (
    DriverRecord,
    RigRecord,
    TakeRecord,
    TakeSetup,
    UnitRecord,
    VersionRecord,
    WorkshopRecord,
)
from halfroll.workshop.takes import NewAudio, conditions_of, read_recording, refuse_repeats, write_take
from halfroll.workshop.toml_read import read_record
from halfroll.workshop.toml_write import render

R = TypeVar("R", bound=Record)


class Workshop:
    """A workshop folder. Holds no state but where the folder is; the files are the truth.

    Parameters
    ----------
    folder
        The folder that holds ``workshop.toml``.
    durable
        Whether every save waits until it is on the disk. A folder that is built under another name and thrown away
        when the building breaks off (the demo) need not wait.
    """

    def __init__(self, folder: Path, *, durable: bool = True) -> None:
        self.folder = folder
        self.durable = durable
        self.index = Index(folder)

    @staticmethod
    def init(folder: Path, name: str, *, durable: bool = True) -> Workshop:
        """Make a workshop in a folder, which may exist but may not be one already."""
        workshop = Workshop(folder, durable=durable)
        make_folder(folder)
        workshop._write_new(
            folder / paths.WORKSHOP_FILE, WorkshopRecord(name=name), "A workshop is here already"
        )
        return workshop

    @staticmethod
    def open(folder: Path) -> Workshop:
        """The workshop in a folder; its record is checked."""
        with reporting(folder, "read"):
            if not (folder / paths.WORKSHOP_FILE).exists():
                raise InputError("There is no workshop here", file=str(folder), found=_what_is_there(folder),
                                 remedy="Name another folder, or make a workshop with: halfroll init FOLDER")  # fmt: skip
        workshop = Workshop(folder)
        workshop.workshop_record()
        return workshop

    @staticmethod
    def find(start: Path) -> Workshop:
        """The workshop whose folder is `start` or one above it."""
        here = start.resolve()
        for folder in (here, *here.parents):
            if (folder / paths.WORKSHOP_FILE).exists():
                return Workshop.open(folder)
        return Workshop.open(start)  # says that there is none

    @property
    def name(self) -> str:
        """The workshop's name."""
        return self.workshop_record().record.name

    @property
    def settings(self) -> FigureSettings:
        """How figures are read in this workshop."""
        return self.workshop_record().record.figures.settings()

    # What there is.

    def driver_ids(self) -> list[str]:
        """Ids of all drivers."""
        return tree.children(self.folder, None, "driver")

    def version_ids(self, driver_id: str | None = None) -> list[str]:
        """Ids of the versions of a driver, or of all."""
        above = self.driver_ids() if driver_id is None else [self.existing(driver_id, "driver")]
        return [id_ for driver in above for id_ in tree.children(self.folder, driver, "version")]

    def unit_ids(self, version_id: str) -> list[str]:
        """Ids of the units of a version."""
        return tree.children(self.folder, self.existing(version_id, "version"), "unit")

    def take_ids(self, id_: str | None = None) -> list[str]:
        """Ids of the takes of a unit, a version, a driver, or of all."""
        return tree.takes_below(self.folder, id_ if id_ is None else self.existing(id_))

    def rig_names(self) -> list[str]:
        """Names of all rigs."""
        return tree.rigs(self.folder)

    def existing(self, id_: str, level: str | None = None, *, key: str | None = None) -> str:
        """Return `id_` if there is such a driver, version, unit or take, else raise `InputError`, of the `key` that names it."""
        return tree.existing(self.folder, id_, level, key=key)

    # Records, one at a time.

    def workshop_record(self) -> Loaded[WorkshopRecord]:
        """``workshop.toml``."""
        return read_record(self.folder / paths.WORKSHOP_FILE, WorkshopRecord, "")

    def driver(self, driver_id: str) -> Loaded[DriverRecord]:
        """The record of a driver."""
        return self._load(driver_id, "driver", DriverRecord)

    def version(self, version_id: str) -> Loaded[VersionRecord]:
        """The record of a version."""
        return self._load(version_id, "version", VersionRecord)

    def unit(self, unit_id: str) -> Loaded[UnitRecord]:
        """The record of a unit."""
        return self._load(unit_id, "unit", UnitRecord)

    def take(self, take_id: str) -> Loaded[TakeRecord]:
        """The record of a take."""
        return self._load(take_id, "take", TakeRecord)

    def rig(self, name: str) -> Loaded[RigRecord]:
        """The record of a rig."""
        path = paths.rig_path(self.folder, name)
        if not path.exists():
            raise InputError(f"There is no rig {name}", file=str(path.parent),
                             allowed=self.rig_names() or "there is no rig yet")  # fmt: skip
        return read_record(path, RigRecord, name)

    def _load(self, id_: str, level: str, model: type[R]) -> Loaded[R]:
        self.existing(id_, level)
        return read_record(paths.record_path(self.folder, id_), model, id_)

    def save(self, loaded: Loaded[R], record: R) -> Loaded[R]:
        """Write a changed record to the file it was loaded from.

        Comments, order and unknown keys of the file stay. Returns the record as loaded anew.

        Raises
        ------
        ConflictError
            The file was changed or removed since it was loaded; it is left as it is.
        """
        with locked(self.folder):
            try:
                before = loaded.path.read_bytes()
            except FileNotFoundError:
                before = b""
            loaded.expect(digest(before))
            write_whole(loaded.path, render(record, before, str(loaded.path)), durable=self.durable)
            return read_record(loaded.path, type(record), loaded.id)

    def create_driver(self, name: str, record: DriverRecord) -> Loaded[DriverRecord]:
        """A new driver."""
        return self._create(paths.check_name(name, "driver"), record)

    def create_version(self, driver_id: str, name: str, record: VersionRecord) -> Loaded[VersionRecord]:
        """A new version of a driver. It is the workshop's own, also where it was made from one that was brought in."""
        own = record if record.origin is None else record.changed(origin=None)
        return self._create(f"{self.existing(driver_id, 'driver')}/{paths.check_name(name, 'version')}", own)

    def create_unit(self, version_id: str, name: str, record: UnitRecord) -> Loaded[UnitRecord]:
        """A new unit of a version."""
        return self._create(
            f"{self.existing(version_id, 'version')}/{paths.check_name(name, 'unit')}", record
        )

    def create_rig(self, name: str, record: RigRecord) -> Loaded[RigRecord]:
        """A new rig."""
        path = paths.rig_path(self.folder, name)
        self._write_new(path, record, f"There is a rig {name} already")
        return read_record(path, RigRecord, name)

    def create_record(self, path: Path, name: str, record: R) -> Loaded[R]:
        """A new record that stands in a file of its own beside others, such as a part or a material."""
        self._write_new(path, record, f"There is a {record.kind} {name} already")
        return read_record(path, type(record), name)

    def add_take(
        self, unit_id: str, name: str, setup: TakeSetup, when: dt.datetime, audio: Sequence[NewAudio]
    ) -> Loaded[TakeRecord]:
        """A new take of a unit: its audio files are checked, hashed and copied in together with its record.

        Raises
        ------
        InputError
            There is no such unit or rig, the take exists, or one of the recordings is in the workshop already.
        """
        take_id = f"{self.existing(unit_id, 'unit')}/{paths.check_name(name, 'take')}"
        self.rig(setup.rig)
        path = paths.record_path(self.folder, take_id)
        with locked(self.folder):
            if path.parent.exists():
                raise InputError(
                    f"There is a take {take_id} already", file=str(path), remedy="Choose another name"
                )
            refuse_repeats(self.folder, audio)
            write_take(path.parent.parent, name, setup, when, audio, durable=self.durable)
            return read_record(path, TakeRecord, take_id)

    # A take as the measure room wants it.

    def recording(self, take_id: str) -> Recording:
        """The samples of a take with the scales of its rig."""
        record = self.take(take_id).record
        return read_recording(paths.folder_of(self.folder, take_id), record, self.rig(record.rig).record)

    def conditions(self, take_id: str) -> Conditions:
        """The conditions of a take."""
        return conditions_of(self.take(take_id).record, self.version(paths.version_of(take_id)).record)

    def sweep(self, take_id: str) -> Sweep:
        """The sweep that was played in a take."""
        return self.take(take_id).record.sweep.sweep()

    def _create(self, id_: str, record: R) -> Loaded[R]:
        path = paths.record_path(self.folder, id_)
        self._write_new(path, record, f"There is a {record.kind} {id_} already")
        return read_record(path, type(record), id_)

    def _write_new(self, path: Path, record: Record, refusal: str) -> None:
        data = render(record, None, str(path))
        with locked(self.folder):
            if path.exists():
                raise InputError(refusal, file=str(path), remedy="Choose another name, or open what is there")
            make_folder(path.parent, durable=self.durable)
            write_whole(path, data, durable=self.durable)


def _what_is_there(folder: Path) -> str:
    if not folder.exists():
        return "no such folder"
    if not folder.is_dir():
        return "a file"
    return "a folder without workshop.toml" if any(folder.iterdir()) else "an empty folder"
