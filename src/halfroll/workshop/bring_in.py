"""A release of somebody else brought into a workshop: all of it or nothing, and nothing that is there is overwritten."""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import os
import secrets
import shutil
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.core.text import count
from halfroll.core.verdicts import Severity, Verdict
from halfroll.workshop.audio import read_head
from halfroll.workshop.bring_in_parts import Plan
from halfroll.workshop.bring_in_plan import plan_of
from halfroll.workshop.bundle import BundleReport, check_bundle
from halfroll.workshop.faults import FaultsError
from halfroll.workshop.files import free_bytes, make_folder, reporting, sync_folder, write_whole
from halfroll.workshop.locking import locked
from halfroll.workshop.store import Workshop
from halfroll.workshop.zip_read import ZipFile, open_zip

_STAGING = ".bring-in-"
_FORGOTTEN_S = 3600.0
"""A staging folder older than this is one whose program was killed (s)."""
SPARE_BYTES = 50_000_000
"""So much of the disk is left free."""


@dataclass(frozen=True, kw_only=True)
class BroughtIn:
    """What came in: versions by their id here, how many takes and runs, what is shared and what was renamed."""

    versions: tuple[str, ...]
    n_takes: int
    n_runs: int
    shared: tuple[str, ...]
    renamed: Mapping[str, str]
    verdicts: tuple[Verdict, ...]

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "versions": list(self.versions), "n_takes": self.n_takes, "n_runs": self.n_runs, "shared": list(self.shared),
            "renamed": dict(self.renamed), "verdicts": [verdict.as_dict() for verdict in self.verdicts],
        }  # fmt: skip


def bring_in(
    workshop: Workshop, path: Path, *, as_name: str | Mapping[str, str] | None = None, expected: str | None = None,
    today: dt.date | None = None, progress: Progress = silent,
) -> BroughtIn:  # fmt: skip
    """Check a bundle wholly, and then bring its versions in with all they stand on.

    Parameters
    ----------
    as_name
        What its driver is called here, or by driver where it has several; its own name when None.
    expected
        The SHA-256 of the bundle as its maker told it.
    today
        The day it is brought in, for the version's ``[origin]``.

    Raises
    ------
    InputError
        The bundle is not sound (`FaultsError` with everything that is wrong), a name is taken, or the disk is full. Nothing was written.
    CancelledError
        Through `progress`; nothing was written.
    """
    report = check_bundle(path, expected=expected, progress=part(progress, 0.0, 0.4))
    refuse_unsound(report)
    plan = plan_of(workshop, report, as_name, today)
    with open_zip(path) as archive, _staging(workshop) as stage:
        _room_for(workshop, archive, plan)
        _write(archive, report, plan, stage, part(progress, 0.4, 0.9))
        _check_audio(report, plan, stage)
        progress(0.95, "moving it into the workshop")
        with locked(workshop.folder):
            _move(workshop, stage)
    progress(1.0, "done")
    return _told(report, plan)


def names_by_driver(names: Sequence[str]) -> str | dict[str, str] | None:
    """Names as somebody typed them: one name, or ``old=new`` for each driver; None when there are none."""
    if not names:
        return None
    if len(names) == 1 and "=" not in names[0]:
        return names[0]
    pairs = [name.partition("=") for name in names]
    for old, sign, new in pairs:
        if not (old and sign and new):
            raise InputError(
                "Each name must say which driver it is for",
                key="--as",
                found=f"{old}{sign}{new}",
                allowed="OLD=NEW",
            )
    return {old: new for old, _, new in pairs}


def refuse_unsound(report: BundleReport) -> None:
    """Raise what is wrong with a bundle, if anything is."""
    if len(report.problems) == 1:
        raise report.problems[0]
    if report.problems:
        raise FaultsError(report.problems, str(report.path))


@contextlib.contextmanager
def _staging(workshop: Workshop) -> Iterator[Path]:
    """A folder beside the records that is gone afterwards, whatever happened; forgotten ones go too."""
    for old in workshop.folder.glob(f"{_STAGING}*"):
        with contextlib.suppress(OSError):
            if time.time() - old.stat().st_mtime > _FORGOTTEN_S:
                shutil.rmtree(old, ignore_errors=True)
    stage = workshop.folder / f"{_STAGING}{secrets.token_hex(6)}"
    make_folder(stage)
    try:
        yield stage
    finally:
        shutil.rmtree(stage, ignore_errors=True)


def _room_for(workshop: Workshop, archive: ZipFile, plan: Plan) -> None:
    wanted = sum(archive.entries[source].size for source in plan.copied.values()) + sum(
        map(len, plan.new.values())
    )
    free = free_bytes(workshop.folder)
    if wanted + SPARE_BYTES > free:
        raise InputError("There is too little room on the disk for what the bundle holds", file=str(workshop.folder),
                         found=f"{free / 1e6:.0f} MB free", allowed=f"{(wanted + SPARE_BYTES) / 1e6:.0f} MB or more",
                         remedy="Free some space; nothing was written")  # fmt: skip


def _write(archive: ZipFile, report: BundleReport, plan: Plan, stage: Path, progress: Progress) -> None:
    """Everything into the staging folder; what is copied is hashed once more on its way."""
    assert report.manifest is not None
    hashes = {line.path: line.sha256 for line in report.manifest.files}
    for path, data in plan.new.items():
        target = stage / path
        make_folder(target.parent)
        write_whole(target, data, durable=False)
    for n, (path, source) in enumerate(sorted(plan.copied.items())):
        progress(n / max(len(plan.copied), 1), f"unpacking {source}")
        target = stage / path
        make_folder(target.parent)
        made = hashlib.sha256()
        with reporting(target, "written"), target.open("xb") as file:
            for chunk in archive.chunks(source):
                made.update(chunk)
                file.write(chunk)
            file.flush()
            os.fsync(file.fileno())
        if made.hexdigest() != hashes[source]:
            raise InputError(
                "The bundle changed while it was read",
                file=str(archive.path),
                found=source,
                remedy="Try again",
            )


def _check_audio(report: BundleReport, plan: Plan, stage: Path) -> None:
    """Recordings must be such, with as many channels as their record says."""
    for id_, (record, _) in (*report.records.takes.items(), *report.records.runs.items()):
        driver, version, unit, *rest = id_.split("/")
        kind, name = ("takes", rest[0]) if len(rest) == 1 else (rest[0], rest[1])
        for audio in record.audio:
            file = (
                stage / "drivers" / plan.drivers[driver] / version / "units" / unit / kind / name / audio.file
            )
            shown = f"{report.path.name}/records/drivers/{driver}/{version}/units/{unit}/{kind}/{name}/{audio.file}"
            try:
                head = read_head(file)
            except InputError as fault:
                raise InputError(fault.message, file=shown, found=fault.found) from fault
            if head.channels != len(audio.roles):
                raise InputError("A recording must have as many channels as its record gives roles", file=shown,
                                 found=head.channels, allowed=str(len(audio.roles)))  # fmt: skip


def _move(workshop: Workshop, stage: Path) -> None:
    """Give everything its place: what versions stand on first, the versions last, and all back when one cannot be moved."""
    moves = _moves(workshop, stage)
    for _, target in moves:
        if target.exists():
            raise InputError("Something of that name appeared meanwhile, and nothing is overwritten", file=str(target),
                             remedy="Try again")  # fmt: skip
    done: list[tuple[Path, Path]] = []
    try:
        for source, target in moves:
            make_folder(target.parent, durable=workshop.durable)
            done.append((source, target))  # before, so that a stop in between is taken back too
            with reporting(target, "written"):
                source.rename(target)
        if workshop.durable:
            for folder in {target.parent for _, target in moves}:
                sync_folder(folder)
    except BaseException:
        for source, target in reversed(done):
            if not source.exists():
                with contextlib.suppress(OSError):
                    target.rename(source)
        raise


def _moves(workshop: Workshop, stage: Path) -> list[tuple[Path, Path]]:
    """Files of parts, materials and rigs one by one; new drivers whole; new versions of a driver that is here whole."""
    moves = []
    for holder in ("rigs", "materials", "parts"):
        # tables before the records that name them
        files = (
            sorted((stage / holder).iterdir(), key=lambda file: file.suffix == ".toml")
            if (stage / holder).is_dir()
            else []
        )
        moves += [(file, workshop.folder / holder / file.name) for file in files]
    for driver in sorted((stage / "drivers").iterdir()):
        if (driver / "driver.toml").exists():
            moves.append((driver, workshop.folder / "drivers" / driver.name))
            continue
        moves += [
            (version, workshop.folder / "drivers" / driver.name / version.name)
            for version in sorted(driver.iterdir())
        ]
    return moves


def _told(report: BundleReport, plan: Plan) -> BroughtIn:
    manifest, found = report.manifest, report.records
    assert manifest is not None
    versions = tuple(plan.version_id(id_) for id_ in found.versions)
    whose = "Its" if len(versions) == 1 else "Their"
    takes = (
        f"{whose} takes count as measured elsewhere: the rigs and the calibration behind them are its maker's."
        if found.takes
        else "No takes came along, so no figure is measured here."
    )
    said = Verdict(
        code="brought-in", severity=Severity.NOTE,
        text=f"{count(len(versions), 'version')} came in from the release {manifest.title} of {manifest.date.isoformat()}, under "
        f"{manifest.licence.id}. {takes}",
        data={"release": manifest.release, "sha256": report.sha256},
    )  # fmt: skip
    others = tuple(verdict for verdict in report.verdicts if verdict.severity >= Severity.NOTE)
    return BroughtIn(versions=versions, n_takes=len(found.takes), n_runs=len(found.runs), shared=tuple(plan.shared),
                     renamed=dict(plan.renamed), verdicts=(said, *plan.verdicts, *others))  # fmt: skip
