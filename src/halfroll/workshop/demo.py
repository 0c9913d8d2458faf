"""The demonstration workshop on disk: Saltmarsh Workshop, an invented one, whole or not at all."""

from __future__ import annotations

import contextlib
import datetime as dt
import secrets
import shutil
from collections.abc import Iterator
from pathlib import Path

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.driver.demo.others import drawer_reference
from halfroll.driver.demo.perform import record, roles_of
from halfroll.driver.demo.scenario import DRIVERS, RIGS, SEED, SWEEP, takes_of, units_of
from halfroll.driver.demo.types import Reference, Rig, Take, Unit, Version
from halfroll.workshop.demo_bill import add_bills
from halfroll.workshop.demo_builders import add_builders
from halfroll.workshop.demo_built import add_built
from halfroll.workshop.demo_cabinets import add_cabinets
from halfroll.workshop.demo_crossovers import add_crossovers
from halfroll.workshop.demo_impedance import add_impedance
from halfroll.workshop.demo_joined import add_joined
from halfroll.workshop.demo_kits import add_kits
from halfroll.workshop.demo_materials import add_calibrations
from halfroll.workshop.demo_motors import add_motors
from halfroll.workshop.demo_moving import add_moving
from halfroll.workshop.demo_next import add_next
from halfroll.workshop.demo_releases import add_releases
from halfroll.workshop.demo_rigs import dress_rigs
from halfroll.workshop.demo_tones import add_tones_and_power
from halfroll.workshop.files import make_folder, reporting, write_whole
from halfroll.workshop.records import (
    ChangeTable,
    CurrentTable,
    DriverRecord,
    MicrophoneTable,
    PublishedTable,
    RigRecord,
    SweepTable,
    TakeSetup,
    UnitRecord,
    VersionRecord,
    VoltageTable,
)
from halfroll.workshop.store import Workshop
from halfroll.workshop.takes import NewAudio

NAME = "Saltmarsh Workshop"
NOTES = (
    "An invented workshop that prints drivers for bird hides. Its recordings come from a physical model of a driver, "
    "not from a microphone; some were spoiled on purpose, so that the warnings show."
)


def build_demo(folder: Path, *, seed: int = SEED, progress: Progress = silent) -> Workshop:
    """Make the demonstration workshop in a folder that does not exist yet or is empty.

    The same seed gives the same bytes. The workshop is built beside the folder under another name and appears at once
    when it is complete; when the work is stopped or fails, nothing is left.

    Raises
    ------
    InputError
        There is something in the folder already, or it cannot be written.
    CancelledError
        `progress` asked to stop.
    """
    folder = folder.resolve()
    with reporting(folder, "read"):
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise InputError(
                "The folder for the demonstration must be new or empty",
                file=str(folder),
                remedy="Name another folder",
            )
    make_folder(folder.parent)
    with _beside(folder) as unfinished:
        progress(0.0, "Setting up the workshop")
        workshop = Workshop.init(unfinished, NAME, durable=False)
        loaded = workshop.workshop_record()
        workshop.save(loaded, loaded.record.changed(notes=NOTES))
        for rig in RIGS:
            workshop.create_rig(rig.name, _rig_record(rig))
        dress_rigs(workshop, seed)
        _add_takes(workshop, _add_records(workshop, seed), progress)
        _add_reference(workshop, drawer_reference())
        add_impedance(workshop, seed)
        add_joined(workshop, seed)
        add_tones_and_power(workshop, seed)
        add_motors(workshop)
        add_moving(workshop)
        add_next(workshop)
        add_calibrations(workshop)
        add_crossovers(workshop)
        add_cabinets(workshop)
        add_built(workshop)
        add_bills(workshop)
        add_kits(workshop)
        add_builders(workshop, seed)
        add_releases(workshop)
        with reporting(folder, "written"):
            if folder.exists():
                folder.rmdir()
            unfinished.rename(folder)
    return Workshop.open(folder)


@contextlib.contextmanager
def _beside(folder: Path) -> Iterator[Path]:
    """A folder of another name beside `folder`, gone afterwards unless it was renamed."""
    unfinished = folder.with_name(f".{folder.name}.{secrets.token_hex(4)}.tmp")
    try:
        yield unfinished
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)


def _add_records(workshop: Workshop, seed: int) -> list[tuple[Version, Take]]:
    """Drivers, versions and units; returns the takes that are to be made of them."""
    planned = []
    for driver in DRIVERS:
        workshop.create_driver(driver.name, DriverRecord(title=driver.title, aim=driver.aim))
        for version in driver.versions:
            workshop.create_version(driver.name, version.name, _version_record(version))
            for unit in units_of(driver, version, seed):
                workshop.create_unit(f"{driver.name}/{version.name}", unit.name, _unit_record(unit))
                planned += [(version, take) for take in takes_of(driver, version, unit, seed)]
    return planned


def _add_takes(workshop: Workshop, planned: list[tuple[Version, Take]], progress: Progress) -> None:
    for count, (version, take) in enumerate(planned):
        unit = take.unit
        unit_id = f"{unit.driver}/{unit.version}/{unit.name}"
        progress(count / len(planned), f"Recording {unit_id}, take {count + 1} of {len(planned)}")
        samples = record(take, version.modes)
        audio = NewAudio.from_samples("take.flac", samples, SWEEP.rate_hz, roles_of(take))
        when = dt.datetime.fromisoformat(take.when)
        workshop.add_take(unit_id, take.name, _take_setup(take), when, [audio])
    progress(1.0, "Done")


def _add_reference(workshop: Workshop, reference: Reference) -> None:
    """The driver known only from its sheet: its version's record and the curve beside it."""
    workshop.create_driver(reference.driver, DriverRecord(title=reference.title, aim=reference.aim))
    curve = "sheet.csv"
    figures = {key: value for key, (value, _) in reference.figures.items()}
    figures |= {f"{key}_u": u for key, (_, u) in reference.figures.items()}
    loaded = workshop.create_version(
        reference.driver,
        reference.version,
        VersionRecord(
            title="As sold",
            summary=reference.summary,
            rated_impedance_ohm=reference.rated_impedance_ohm,
            rated_power_w=reference.rated_power_w,
            published=PublishedTable(
                source=reference.source,
                figures=figures,
                curve=curve,
                distance_m=reference.distance_m,
                drive_v=round(reference.drive_v, 3),
                space=reference.space,
            ),
        ),
    )
    rows = zip(reference.frequency_hz, reference.level_db, strict=True)
    text = "frequency_hz,spl_db\n" + "".join(f"{f:g},{level:.1f}\n" for f, level in rows)
    write_whole(loaded.path.with_name(curve), text.encode(), durable=False)


def _rig_record(rig: Rig) -> RigRecord:
    return RigRecord(
        title=rig.title,
        date=dt.date.fromisoformat(rig.date),
        notes=rig.notes,
        microphone=MicrophoneTable(pa_per_full_scale=rig.microphone_pa, u_db=rig.microphone_u_db),
        voltage=VoltageTable(v_per_full_scale=rig.voltage_v, u_db=rig.voltage_u_db),
        current=None
        if rig.current_a is None
        else CurrentTable(a_per_full_scale=rig.current_a, u_db=rig.current_u_db),
    )


def _version_record(version: Version) -> VersionRecord:
    return VersionRecord(
        title=version.title,
        parent=version.parent,
        date=dt.date.fromisoformat(version.date),
        summary=version.summary,
        rated_impedance_ohm=version.rated_impedance_ohm,
        rated_power_w=version.rated_power_w,
        effective_area_cm2=round(version.model.Sd * 1e4, 1),
        changes=tuple(
            ChangeTable(what=c.what, before=c.before, after=c.after, why=c.why) for c in version.changes
        ),
    )


def _unit_record(unit: Unit) -> UnitRecord:
    return UnitRecord(
        built_by=unit.built_by,
        built_on=dt.date.fromisoformat(unit.built_on),
        re_ohm=unit.re_ohm,
        moving_mass_g=unit.moving_mass_g,
        print_settings=dict(unit.print_settings),
    )


def _take_setup(take: Take) -> TakeSetup:
    return TakeSetup(
        rig=take.rig.name,
        drive_v=take.drive_v,
        distance_m=take.distance_m,
        space=take.space,
        temperature_c=take.temperature_c,
        note=take.note,
        sweep=SweepTable.of(SWEEP),
    )
