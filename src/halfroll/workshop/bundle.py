"""A bundle of somebody else: checked wholly, without writing anything."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.text import count
from halfroll.core.verdicts import Severity, Verdict
from halfroll.workshop.bundle_manifest import (
    CHECKSUMS,
    MANIFEST,
    MOST_MANIFEST,
    MOST_RECORD,
    RECORDS,
    Manifest,
    checksums,
    read_manifest,
)
from halfroll.workshop.bundle_records import Bundled, read_records
from halfroll.workshop.files import digest, digest_of_file
from halfroll.workshop.licences import licence
from halfroll.workshop.zip_read import ZipFile, open_zip

MOST_RECORDS = 50_000_000
"""Bytes of all records of a bundle together."""

MOST_TOLD = 20
"""So many problems of a kind are told one by one."""


@dataclass(frozen=True, kw_only=True)
class BundleReport:
    """What a bundle is and what is wrong with it.

    Parameters
    ----------
    path, size, sha256
        The file, its bytes, and their hash, which its maker may have told elsewhere.
    manifest
        None when it could not be read.
    records
        What could be brought in; empty when there are none or they are wrong.
    problems
        Why it is refused; empty when it is sound.
    verdicts
        What is to be known although it is sound.
    """

    path: Path
    size: int
    sha256: str
    manifest: Manifest | None
    records: Bundled = field(default_factory=Bundled)
    problems: tuple[InputError, ...] = ()
    verdicts: tuple[Verdict, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether every file is what the manifest says and every record can be read."""
        return not self.problems

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "file": str(self.path), "size_bytes": self.size, "sha256": self.sha256, "sound": self.sound,
            "manifest": None if self.manifest is None else self.manifest.model_dump(mode="json"),
            "records": self.records.counts, "problems": [problem.as_dict() for problem in self.problems],
            "verdicts": [verdict.as_dict() for verdict in self.verdicts],
        }  # fmt: skip


def check_bundle(path: Path, *, expected: str | None = None, progress: Progress = silent) -> BundleReport:
    """Check a bundle: the ZIP, its names and sizes, the manifest, every file against its hash, every record.

    Parameters
    ----------
    expected
        The SHA-256 of the whole file as its maker told it; None when nobody did.

    Raises
    ------
    InputError
        There is no such file. What is wrong with it is told in the report.
    CancelledError
        Through `progress`.
    """
    size, sha256 = path.stat().st_size if path.is_file() else 0, digest_of_file(path)
    known: dict[str, Any] = {"path": path, "size": size, "sha256": sha256}
    if expected is not None and expected.strip().lower() != sha256:
        wrong = InputError(
            "The bundle is not the file its maker told the hash of",
            file=str(path),
            found=sha256,
            allowed=expected.strip(),
        )
        return BundleReport(manifest=None, problems=(wrong,), **known)
    try:
        with open_zip(path) as archive:
            return _report(archive, known, progress)
    except InputError as fault:
        return BundleReport(manifest=None, problems=(fault,), **known)


def _report(archive: ZipFile, known: dict[str, Any], progress: Progress) -> BundleReport:
    shown = archive.path.name
    if MANIFEST not in archive.entries:
        raise InputError("There is no manifest.json in the bundle", file=str(archive.path),
                         found=f"{count(len(archive.entries), 'file')}, {next(iter(archive.entries))} among them",
                         remedy="Only what halfroll release build made can be brought in")  # fmt: skip
    manifest = read_manifest(archive.read(MANIFEST, most=MOST_MANIFEST), f"{shown}/{MANIFEST}")
    problems = _listed(archive, manifest)
    problems = _few([*problems, *_hashes(archive, manifest, progress, sums=not problems)])
    records = Bundled()
    if not problems:
        inside = [line.path.removeprefix(RECORDS) for line in manifest.files if line.path.startswith(RECORDS)]
        _not_too_long(manifest, shown)
        records, problems = read_records(
            inside,
            lambda path: archive.read(f"{RECORDS}{path}", most=MOST_RECORD),
            manifest.versions if inside else (),
            shown,
        )
    if not problems:
        problems = _stated(records.beside, manifest, shown)
    return BundleReport(manifest=manifest, records=Bundled() if problems else records, problems=tuple(problems),
                        verdicts=() if problems else verdicts_of(manifest, records), **known)  # fmt: skip


def _not_too_long(manifest: Manifest, shown: str) -> None:
    """Records are parsed whole: all together must stay short."""
    total = sum(
        line.size for line in manifest.files if line.path.startswith(RECORDS) and line.path.endswith(".toml")
    )
    if total > MOST_RECORDS:
        raise InputError(
            "The records in the bundle are too long",
            file=shown,
            found=f"{total} bytes",
            allowed=f"{MOST_RECORDS} bytes at most",
        )


def _listed(archive: ZipFile, manifest: Manifest) -> list[InputError]:
    """Whether the files are those the manifest names, with their sizes."""
    shown = archive.path.name
    said = [line.path for line in manifest.files]
    if len(set(said)) < len(said):
        twice = next(path for path in said if said.count(path) > 1)
        return [InputError("The manifest names a file twice", file=shown, found=twice)]
    there = set(archive.entries) - {MANIFEST, CHECKSUMS}
    problems = [InputError("A file is in the bundle that its manifest does not name", file=shown, found=path)
                for path in sorted(there - set(said))]  # fmt: skip
    problems += [InputError("A file that the manifest names is missing in the bundle", file=shown, found=path)
                 for path in sorted(set(said) - there)]  # fmt: skip
    if CHECKSUMS not in archive.entries:
        problems.append(InputError("checksums.txt is missing in the bundle", file=shown))
    for line in manifest.files:
        entry = archive.entries.get(line.path)
        if entry is not None and entry.size != line.size:
            problems.append(_changed(line.path, shown, f"{entry.size} bytes", f"{line.size} bytes"))
    return _few(problems)


def _hashes(archive: ZipFile, manifest: Manifest, progress: Progress, *, sums: bool) -> list[InputError]:
    """Whether every file that has its size has the hash the manifest says, and with `sums` whether ``checksums.txt`` says the same."""
    import hashlib

    shown = archive.path.name
    lines = [
        line
        for line in manifest.files
        if line.path in archive.entries and archive.entries[line.path].size == line.size
    ]
    problems, done, total = [], 0, sum(line.size for line in lines) or 1
    for line in lines:
        progress(done / total, f"checking {line.path}")
        made = hashlib.sha256()
        try:
            for chunk in archive.chunks(line.path):
                made.update(chunk)
                done += len(chunk)
                progress(min(done / total, 1.0), f"checking {line.path}")
        except InputError as fault:
            problems.append(fault)
            continue
        if made.hexdigest() != line.sha256:
            problems.append(_changed(line.path, shown, made.hexdigest(), line.sha256))
    if sums and not problems:
        hashes = {line.path: line.sha256 for line in manifest.files}
        hashes[MANIFEST] = digest(archive.read(MANIFEST, most=MOST_MANIFEST))
        if archive.read(CHECKSUMS, most=MOST_MANIFEST) != checksums(hashes):
            problems.append(
                InputError("checksums.txt does not say what the manifest says", file=shown, remedy=_AGAIN)
            )
    return problems


_AGAIN = "Get the bundle once more from its maker, and do not use what is in this one"


def _changed(path: str, shown: str, found: str, allowed: str) -> InputError:
    return InputError(
        f"{path} was changed since the bundle was made",
        file=shown,
        found=found,
        allowed=allowed,
        remedy=_AGAIN,
    )


def _few(problems: list[InputError]) -> list[InputError]:
    if len(problems) <= MOST_TOLD:
        return problems
    return [
        *problems[:MOST_TOLD],
        InputError(f"And {len(problems) - MOST_TOLD} more of the kind", file=problems[0].place.file),
    ]


def _stated(beside: Mapping[str, str | None], manifest: Manifest, shown: str) -> list[InputError]:
    """Whether recordings and tables are those their records state."""
    hashes = {line.path: line.sha256 for line in manifest.files}
    return [
        InputError(
            "A file is not the one its record was made with: its content hash differs",
            file=shown,
            found=f"records/{path}",
        )
        for path, sha256 in beside.items()
        if sha256 is not None and hashes[f"{RECORDS}{path}"] != sha256
    ]


def verdicts_of(manifest: Manifest, records: Bundled) -> tuple[Verdict, ...]:
    """What is to be known of a sound bundle."""
    said = [
        Verdict(
            code="bundle-sound", severity=Severity.GOOD,
            text=f"All {count(len(manifest.files), 'file')} are as they were when the bundle was made. That they are of who says so, only "
            "the hash of the whole file tells, if its maker published it.",
        )
    ]  # fmt: skip
    if not records.versions:
        said.append(Verdict(code="bundle-without-records", severity=Severity.NOTE,
                            text="The bundle holds no records, so there is nothing to bring into a workshop; it is to be read and printed."))  # fmt: skip
    if manifest.early:
        said.append(Verdict(code="bundle-early", severity=Severity.NOTE,
                            text=f"It was made before the day from which {manifest.audience} may have it."))  # fmt: skip
    known = licence(manifest.licence.id)
    if known is None:
        said.append(Verdict(code="licence-unknown", severity=Severity.CAUTION, text=f"halfroll does not know the licence {manifest.licence.id}.",
                            remedy=f"Read {manifest.licence.file} before you use it."))  # fmt: skip
    elif not known.commercial or not known.changes:
        limits = [
            *(() if known.commercial else ("may not be used to earn money",)),
            *(() if known.changes else ("may not be passed on changed",)),
        ]
        said.append(Verdict(code="licence-limits", severity=Severity.CAUTION, text=f"Under its licence, {known.id}, it {' and '.join(limits)}.",
                            remedy=f"Read {manifest.licence.file} before you build on it."))  # fmt: skip
    return tuple(said)
