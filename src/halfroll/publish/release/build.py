"""A release made into a bundle for one audience: all of it or nothing, and the same bytes every time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import halfroll
from halfroll.compare.claims.recipe import CheckedText, check_claims, expect_borne
from halfroll.core.errors import CancelledError, HalfrollError, InputError, RefusedError
from halfroll.core.progress import Progress, part, silent
from halfroll.core.verdicts import Verdict
from halfroll.publish.release import papers, words
from halfroll.publish.release.contents import TABLE
from halfroll.publish.release.context import Context, NothingError
from halfroll.publish.release.pack import Made, check_files, pack
from halfroll.publish.release.preview import licence_verdicts, why_left_out
from halfroll.workshop import Workshop
from halfroll.workshop.bundle_manifest import (
    BUNDLE,
    BUNDLE_FORMAT,
    CHECKSUMS,
    LICENCE,
    MANIFEST,
    README,
    FileLine,
    LeftOutLine,
    LicenceLine,
    Manifest,
    ProgramLine,
    checksums,
)
from halfroll.workshop.files import digest, make_folder
from halfroll.workshop.licences import licence
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.release_record import AudienceTable, ReleaseRecord
from halfroll.workshop.releases import audience_of, check_named, licence_text, load_release


@dataclass(frozen=True, kw_only=True)
class Built:
    """A bundle that was written: where, its hash and size (bytes), its manifest, and what must be said."""

    path: Path
    sha256: str
    size: int
    manifest: Manifest
    verdicts: tuple[Verdict, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "file": str(self.path), "sha256": self.sha256, "size_bytes": self.size, "manifest": self.manifest.model_dump(mode="json"),
            "verdicts": [verdict.as_dict() for verdict in self.verdicts],
        }  # fmt: skip


def build_release(
    workshop: Workshop, release_id: str, *, audience: str | None = None, today: dt.date, target: Path, early: bool = False,
    progress: Progress = silent,
) -> Built:  # fmt: skip
    """Make the bundle of a release for an audience.

    Parameters
    ----------
    audience
        Its name; may be None where the release has one only.
    today
        Whether the audience may have it yet is judged by this day; nothing in the bundle depends on it.
    target
        A folder, in which the bundle gets a name of its own, or the file itself, ending with ``.zip``.
    early
        Make it although its day is not reached; the manifest then says so.

    Raises
    ------
    InputError
        The record is wrong, or a content cannot be made: which, why, and how to leave it out.
    RefusedError
        The day is not reached, or the notes claim what the figures do not bear.
    CancelledError
        Through `progress`; nothing is written.
    """
    loaded = load_release(workshop, release_id)
    check_named(workshop, loaded.record, loaded.path)
    table = audience_of(loaded, audience, today, early=early)
    expect_own_words_borne(own_words(workshop, loaded, part(progress, 0.0, 0.05)), loaded)
    contents = loaded.record.contents_for(table)
    context = Context(workshop=workshop, loaded=loaded, contents=contents)
    files, left_out = _made(context, table, part(progress, 0.05, 0.85))
    own = _frame(workshop, loaded, [key for key in contents if key not in left_out], left_out)
    if context.marks:
        files |= dict.fromkeys(papers.behind_marks(context), "figures")
    every = {**files, **dict.fromkeys(own, "")}
    check_files(list(every))
    lines = [
        FileLine(path=made.path, size=made.size, sha256=made.sha256, content=content, what=made.what)
        for made, content in every.items()
    ]
    manifest = _manifest(loaded, table, lines, left_out, workshop, early=table.date > today)
    hashes = {line.path: line.sha256 for line in lines}
    head = manifest.bytes_of()
    sums = checksums({**hashes, MANIFEST: digest(head)})
    whole = [*every, Made(path=MANIFEST, data=head, what=""), Made(path=CHECKSUMS, data=sums, what="")]
    path = target if target.suffix.lower() == ".zip" else target / file_name(release_id, table.name)
    make_folder(path.parent)
    sha256 = pack(
        path, whole, hashes, loaded.record.date, part(progress, 0.85, 1.0), durable=workshop.durable
    )
    progress(1.0, "done")
    return Built(
        path=path,
        sha256=sha256,
        size=path.stat().st_size,
        manifest=manifest,
        verdicts=tuple(licence_verdicts(workshop, loaded)),
    )


def file_name(release_id: str, audience: str) -> str:
    """The name of a bundle."""
    return f"{release_id}-{audience}.zip"


def _made(
    context: Context, audience: AudienceTable, progress: Progress
) -> tuple[dict[Made, str], dict[str, str]]:
    """Every content's files with the content each is of, and why others are left out."""
    files: dict[Made, str] = {}
    left_out = why_left_out(context.record, audience)
    total = sum(TABLE[key].weight for key in context.contents) or 1.0
    done = 0.0
    for key in context.contents:
        content = TABLE[key]
        progress(done / total, content.title)
        here = part(progress, done / total, (done + content.weight) / total)
        try:
            made = content.make(context.reporting(here))
        except NothingError as nothing:
            left_out[key] = str(nothing)
            continue
        except CancelledError:
            raise
        except (HalfrollError, ImportError) as fault:
            raise _cannot(context, key, fault) from fault
        files |= dict.fromkeys(made, key)
        done += content.weight
    return files, {key: left_out[key] for key in TABLE if key in left_out}


def _cannot(context: Context, key: str, fault: Exception) -> InputError:
    reason = str(fault) if isinstance(fault, HalfrollError) else "this halfroll cannot make it"
    kind = RefusedError if isinstance(fault, RefusedError) else InputError
    others = [f'"{word}"' for word in (*context.record.leave_out, key)]
    return kind(f"The {TABLE[key].title} of the release cannot be made. {reason}", file=str(context.loaded.path), key="leave_out",
                remedy=f"Mend that, or release without it: leave_out = [{', '.join(others)}]")  # fmt: skip


def _frame(
    workshop: Workshop, loaded: Loaded[ReleaseRecord], contents: Sequence[str], left_out: dict[str, str]
) -> list[Made]:
    """README and licence."""
    names = {id_: _name(workshop, id_) for id_ in loaded.record.versions}
    return [
        Made(
            path=LICENCE,
            data=words.licence_file(loaded.record, licence_text(workshop, loaded)),
            what="the licence",
        ),
        Made(
            path=README,
            data=words.readme(loaded.record, contents, left_out, names),
            what="what is in the bundle, and cautions",
        ),
    ]


def _name(workshop: Workshop, version_id: str) -> str:
    record, driver = workshop.version(version_id).record, workshop.driver(version_id.split("/")[0]).record
    name = version_id.split("/")[1]
    return f"{driver.title} {name}" + (f", {record.title}" if record.title else "")


def _manifest(
    loaded: Loaded[ReleaseRecord], audience: AudienceTable, lines: list[FileLine], left_out: dict[str, str], workshop: Workshop, *, early: bool
) -> Manifest:  # fmt: skip
    record, known = loaded.record, licence(loaded.record.licence)
    return Manifest(
        bundle=BUNDLE, format=BUNDLE_FORMAT, release=loaded.id, title=record.title, date=record.date, audience=audience.name, early=early,
        authors=record.authors, licence=LicenceLine(id=record.licence, title="" if known is None else known.title),
        program=ProgramLine(name="halfroll", version=halfroll.__version__), versions=record.versions, settings=workshop.settings.as_dict(),
        left_out=tuple(LeftOutLine(content=key, why=why) for key, why in left_out.items()), files=tuple(sorted(lines, key=lambda line: line.path)),
    )  # fmt: skip


def own_words(workshop: Workshop, loaded: Loaded[ReleaseRecord], progress: Progress = silent) -> CheckedText:
    """The maker's own words with what the figures say to each sentence; one that names no version speaks of the first."""
    return check_claims(
        workshop, loaded.record.notes, version_id=loaded.record.versions[0], progress=progress
    )


def expect_own_words_borne(found: CheckedText, loaded: Loaded[ReleaseRecord]) -> None:
    """Refuse own words the figures do not bear, with `RefusedError`."""
    expect_borne(found, file=str(loaded.path), key="notes")
