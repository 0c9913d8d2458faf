"""The impedance curve of a run, wherever it lies: table, recording or take; and the key under which what is made of it is kept."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from halfroll.core.errors import InputError
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.measure.lumped.parameter_types import FitSettings
from halfroll.workshop import paths
from halfroll.workshop.contents import Contents
from halfroll.workshop.files import digest_of_file, read_whole
from halfroll.workshop.impedance_record import DEFAULT_SCALE_U_PERCENT, ImpedanceRecord
from halfroll.workshop.jobs import Job, code_of, key_of
from halfroll.workshop.records import RigRecord, SweepTable, UnitRecord, VersionRecord
from halfroll.workshop.rig_time import rig_at
from halfroll.workshop.takes import check_hash, read_recording

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True)
class RunPlace:
    """A run with the records its curve depends on."""

    workshop: Workshop
    contents: Contents
    run_id: str
    record: ImpedanceRecord
    version: VersionRecord
    unit: UnitRecord

    @property
    def folder(self) -> Path:
        """Where its files lie."""
        return paths.run_folder(self.workshop.folder, self.run_id)

    def key(self, settings: FitSettings) -> str:
        """Changes whenever curve or fit may change; the files are checked against their hashes on the way."""
        record = self.record
        said = record.model_dump_json(include={"method", "rig", "scale_u_percent", "take", "sweep", "when"})
        parts = [code_of("core", "acoustics", "measure"), code_of("workshop"), said, repr(settings)]
        parts += [str(self.version.rated_impedance_ohm), str(self.unit.re_ohm)]
        kept = [(audio.file, audio.sha256, ",".join(audio.roles)) for audio in record.audio]
        kept += [(table.file, table.sha256, "") for table in record.files]
        for file, sha256, roles in kept:
            check_hash(self.folder / file, digest_of_file(self.folder / file), sha256)
            parts.append(f"{file} {sha256} {roles}")
        if record.method == "recording":
            parts.append(rig_at(_rig(self.contents, record.rig), record.when, record.roles).key)
        if record.method == "take":
            parts.append(_take_job(self).response_key)
        return key_of(*parts)

    def curve(self) -> ImpedanceCurve:
        """The curve, checked against what meter and rated impedance let expect.

        Raises
        ------
        InputError
            A file, a rig or a take is missing or wrong.
        """
        from halfroll.measure.impedances.impedance_checks import checked

        made = {"table": _of_table, "recording": _of_recording, "take": _of_take}[self.record.method](self)
        return checked(made, rated_ohm=self.version.rated_impedance_ohm, re_ohm=self.unit.re_ohm)


def scale_u_of(record: ImpedanceRecord) -> float:
    """Relative standard uncertainty of all ohms of a table together (1)."""
    percent = DEFAULT_SCALE_U_PERCENT if record.scale_u_percent is None else record.scale_u_percent
    return percent / 100.0


def curve_of_take(workshop: Workshop, unit_id: str, record: ImpedanceRecord) -> ImpedanceCurve:
    """The impedance of the take of a unit that a record names."""
    from halfroll.measure.impedances.impedance_sweep import impedance_of_response, relative_of_db
    from halfroll.workshop.derive import response

    found = response(workshop, f"{unit_id}/{record.take}")
    voltage = 0.0 if found.current_shares_voltage else found.voltage_u_db
    u_db = math.hypot(voltage, found.current_u_db)
    return impedance_of_response(found, scale_u=relative_of_db(u_db), source=f"take {record.take}")


def _of_table(place: RunPlace) -> ImpedanceCurve:
    from halfroll.workshop.impedance_file import read_impedance

    files = place.record.files
    if len(files) != 1:
        raise InputError("A run of the method table must have one table", file=str(place.folder), key="files",
                         found=str(len(files)))  # fmt: skip
    path = place.folder / files[0].file
    return read_impedance(read_whole(path), str(path), scale_u=scale_u_of(place.record))


def _of_recording(place: RunPlace) -> ImpedanceCurve:
    from halfroll.measure.impedances.impedance_sweep import impedance_of_recording

    record = place.record
    if not record.audio:
        raise InputError(
            "A run of the method recording must have its audio", file=str(place.folder), key="audio"
        )
    rig = _rig(place.contents, record.rig)
    recording = read_recording(place.folder, record, rig)
    sweep = (record.sweep or SweepTable()).sweep()
    curve = impedance_of_recording(recording, sweep, source=f"recording on {record.rig}")
    return replace(curve, verdicts=(*curve.verdicts, *rig_at(rig, record.when, record.roles).verdicts))


def _of_take(place: RunPlace) -> ImpedanceCurve:
    return curve_of_take(place.workshop, place.run_id.rsplit("/", 2)[0], place.record)


def _rig(contents: Contents, name: str) -> RigRecord:
    if name not in contents.rigs:
        raise InputError(
            f"There is no rig {name}", key="rig", allowed=list(contents.rigs) or "there is no rig yet"
        )
    return contents.rigs[name]


def _take_job(place: RunPlace) -> Job:
    """The take a run is read from, with all its response depends on."""
    contents, unit_id = place.contents, place.run_id.rsplit("/", 2)[0]
    take_id = f"{unit_id}/{place.record.take}"
    if take_id not in contents.takes:
        there = [take.rpartition("/")[2] for take in contents.below(unit_id)]
        raise InputError(f"There is no take {take_id}", key="take", found=place.record.take,
                         allowed=there[:12] or "the unit has no take yet")  # fmt: skip
    take = contents.takes[take_id]
    return Job(take_id=take_id, take=take, version=place.version, rig=_rig(contents, take.rig))
