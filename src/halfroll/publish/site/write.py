"""A site on the disk: written beside and put in place whole, or not at all; a folder that is not one of ours is left alone."""

from __future__ import annotations

import io
import json
import secrets
import shutil
import zipfile
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.publish.site.files import FORMAT, MANIFEST, site_files
from halfroll.workshop import Workshop
from halfroll.workshop.files import make_folder, reporting
from halfroll.workshop.paths import FOLDERS


@dataclass(frozen=True, kw_only=True)
class Built:
    """What was written: the folder, its first page, how many files and bytes."""

    folder: Path
    index: Path
    files: int
    size_bytes: int


def build_site(
    workshop: Workshop, folder: Path, *, versions: Sequence[str] = (), date: str, predict: bool = False, progress: Progress = silent
) -> Built:  # fmt: skip
    """Write the pages of a workshop into a folder, new or an earlier site of ours.

    Raises
    ------
    InputError
        The folder holds something else, lies inside the workshop's records, or cannot be written. `RefusedError` where there is nothing to show.
    CancelledError
        Through `progress`; the folder is as it was.
    """
    target = folder.resolve()
    check_folder(workshop, target)
    files = site_files(
        workshop, versions=versions, date=date, predict=predict, progress=part(progress, 0.0, 0.95)
    )
    progress(0.96, "writing the folder")
    swap(target, files)
    progress(1.0, "done")
    return Built(
        folder=target, index=target / "index.html", files=len(files), size_bytes=sum(map(len, files.values()))
    )


def check_folder(workshop: Workshop, target: Path) -> None:
    """Refuse a folder that a site must not replace."""
    inside = workshop.folder.resolve()
    if target == inside or inside.is_relative_to(target):
        raise InputError(
            "A site must not replace the workshop", file=str(target), remedy="Name a folder of its own"
        )
    if target.is_relative_to(inside) and target.relative_to(inside).parts[0] in FOLDERS:
        raise InputError("A site must not stand among the records of the workshop", file=str(target),
                         remedy="Name a folder beside the workshop")  # fmt: skip
    with reporting(target, "read"):
        if not target.exists():
            return
        if not target.is_dir():
            raise InputError(
                "A site is a folder; a file has that name", file=str(target), remedy="Name another folder"
            )
        if not any(target.iterdir()):
            return
        try:
            ours = json.loads((target / MANIFEST).read_bytes())["halfroll_site"] == FORMAT
        except (OSError, ValueError, KeyError, TypeError):
            ours = False
    if not ours:
        raise InputError("A site replaces only a folder that is empty or an earlier site", file=str(target),
                         found=f"a folder without a {MANIFEST} of ours", remedy="Name another folder, or empty this one yourself")  # fmt: skip


def swap(target: Path, files: Mapping[str, bytes]) -> None:
    """Put the files in place of what is at `target`; on any fault it is as it was."""
    make_folder(target.parent)
    token = secrets.token_hex(4)
    fresh, old = (target.with_name(f".{target.name}.{token}.{word}") for word in ("new", "old"))
    with reporting(target, "written"):
        try:
            for name, data in files.items():
                path = fresh / name
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(data)
            if target.exists():
                target.rename(old)
            try:
                fresh.rename(target)
            except BaseException:  # Ctrl-C too
                if old.exists() and not target.exists():
                    old.rename(target)
                raise
        finally:
            for rest in (fresh, old) if target.exists() else (fresh,):  # the only copy there is stays
                with suppress(OSError):
                    shutil.rmtree(rest)


def zipped(files: Mapping[str, bytes], folder: str = "site") -> bytes:
    """The files as one ZIP under a folder's name, with the earliest date a ZIP can hold: the same files give the same bytes."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for name, data in sorted(files.items()):
            info = zipfile.ZipInfo(f"{folder}/{name}", (1980, 1, 1, 0, 0, 0))
            info.external_attr = 0o644 << 16
            info.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(info, data)
    return made.getvalue()
