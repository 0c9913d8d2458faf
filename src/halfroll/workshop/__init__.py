"""The workshop folder: read, check, write, lock, index. The only room that touches it.

In short::

    workshop = Workshop.init(folder, "Saltmarsh Workshop")       # durable=False: no waiting for the disk
    workshop = Workshop.open(folder)                             # or Workshop.find(somewhere_inside)
    workshop.name, workshop.folder, workshop.settings            # str, Path, FigureSettings

    workshop.driver_ids(), workshop.version_ids(driver_id=None), workshop.unit_ids(version_id)
    workshop.take_ids(id_=None)                                  # of a unit, version, driver, or all
    workshop.rig_names()

    loaded = workshop.version("dunlin/v2")                       # Loaded[VersionRecord]: record, revision, notes
    workshop.save(loaded, loaded.record.changed(summary="..."))  # ConflictError when the file changed meanwhile
    # likewise workshop_record(), driver(id), unit(id), take(id), rig(name)

    workshop.create_driver(name, DriverRecord(title=...))
    workshop.create_version(driver_id, name, VersionRecord(...))
    workshop.create_unit(version_id, name, UnitRecord(...))
    workshop.create_rig(name, RigRecord(...))
    workshop.add_take(unit_id, name, TakeSetup(rig=..., distance_m=..., space=..., drive_v=..., sweep=SweepTable.of(s)),
                      when, [NewAudio.from_samples("take.flac", samples, rate_hz, roles)])   # or NewAudio.from_file(path)

    import_takes(workshop, unit_id, [file_or_folder, ...], setup, roles=None, together=False) -> Imported(takes, refused)
    write_sweep(path, sweep) -> [path, path.toml]                # what to play, and its parameters for the import

    workshop.recording(take_id), workshop.conditions(take_id), workshop.sweep(take_id)  # for measure.analyse

    derive.response(workshop, take_id) -> Response               # from the index, or analysed now
    derive.readings(workshop, take_ids=None, settings=None, progress=...) -> {take_id: TakeReadings}, analysing the rest
    overview(workshop) -> Overview: drivers, their versions in line, readings known, takes that wait; analyses nothing
    read_contents(workshop.folder, workshop.index) -> Contents   # every record at once, and all faults
    motors.load_design(workshop, version_id) -> Design; load_motor -> with every part in its place
    motors.solve_version(workshop, version_id, ("field", ...)) -> Solved, from the index or computed; save_design, changes_between
    motor_report.motor_report(workshop, solved, today) -> MotorReport: coil, travel, clearance, heat, cost, verdicts
    suspensions.load_moving(workshop, version_id) -> MovingDesign; solve_suspension -> SuspensionSolved, from the index or computed; save_moving
    suspension_report.suspension_report(workshop, solved, version_id) -> SuspensionReport: materials, comparisons, distortion, verdicts
    cabinets.load_cabinet(workshop, cabinet_id) -> Cabinet, for acoustics.cabinet.network.load_of; cabinet_report.cabinet_report -> a driver in it
    save_draft(workshop, page, values), load_draft(workshop, page), clear_draft(workshop, page)

`halfroll.compare.gather` makes the input of a comparison out of a workshop.

Ids are ``driver``, ``driver/version``, ``driver/version/unit``, ``driver/version/unit/take``.
"""

from halfroll.workshop.contents import Contents, read_contents
from halfroll.workshop.drafts import clear_draft, draft_file, keep_draft_file, load_draft, save_draft
from halfroll.workshop.importing import Imported, Planned, import_takes, plan
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.overview import DriverLine, Overview, VersionLine, overview
from halfroll.workshop.records import (
    AudioTable,
    ChangeTable,
    CurrentTable,
    DriverRecord,
    FiguresTable,
    MicrophoneTable,
    PublishedTable,
    RigRecord,
    SweepTable,
    TakeRecord,
    TakeSetup,
    UnitRecord,
    VersionRecord,
    VoltageTable,
    WorkshopRecord,
)
from halfroll.workshop.store import Workshop
from halfroll.workshop.sweep_file import write_sweep
from halfroll.workshop.takes import NewAudio

__all__ = [
    "AudioTable",
    "ChangeTable",
    "Contents",
    "CurrentTable",
    "DriverLine",
    "DriverRecord",
    "FiguresTable",
    "Imported",
    "Loaded",
    "MicrophoneTable",
    "NewAudio",
    "Overview",
    "Planned",
    "PublishedTable",
    "RigRecord",
    "SweepTable",
    "TakeRecord",
    "TakeSetup",
    "UnitRecord",
    "VersionLine",
    "VersionRecord",
    "VoltageTable",
    "Workshop",
    "WorkshopRecord",
    "clear_draft",
    "draft_file",
    "import_takes",
    "keep_draft_file",
    "load_draft",
    "overview",
    "plan",
    "read_contents",
    "save_draft",
    "write_sweep",
]
