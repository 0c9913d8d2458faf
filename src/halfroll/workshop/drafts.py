"""Drafts: what a person has typed into a page or dropped on it and not yet saved.

One small file a page in ``drafts/``, and a folder of the page's name for the files dropped on it.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any, BinaryIO

from halfroll.core.errors import InputError
from halfroll.workshop.files import make_folder, read_whole, reporting, write_whole
from halfroll.workshop.paths import check_name
from halfroll.workshop.store import Workshop


def save_draft(workshop: Workshop, page: str, values: dict[str, Any]) -> None:
    """Keep what stands in the form of a page; `page` is a plain name."""
    path = _path(workshop, page)
    make_folder(path.parent)
    write_whole(path, json.dumps(values, ensure_ascii=False, indent=1).encode(), durable=False)


def load_draft(workshop: Workshop, page: str) -> dict[str, Any] | None:
    """What was kept for a page; None when there is nothing."""
    path = _path(workshop, page)
    if not path.exists():
        return None
    try:
        values = json.loads(read_whole(path))
    except ValueError as error:
        raise InputError(
            "The draft is damaged", file=str(path), remedy="Save what you need of it, then delete it"
        ) from error
    return values if isinstance(values, dict) else None


def clear_draft(workshop: Workshop, page: str) -> None:
    """Forget the draft of a page, because it was saved or is not wanted."""
    path = _path(workshop, page)
    with reporting(path, "written"):
        path.unlink(missing_ok=True)
    shutil.rmtree(path.with_suffix(""), ignore_errors=True)


def keep_draft_file(workshop: Workshop, page: str, name: str, source: BinaryIO) -> Path:
    """Keep a file dropped on a page, whole or not at all; `name` is the plain name it gets there."""
    path = draft_file(workshop, page, name)
    make_folder(path.parent)
    unfinished = path.with_name(f".{path.name}.tmp")
    with reporting(path, "written"):
        try:
            with unfinished.open("wb") as file:
                shutil.copyfileobj(source, file)
            unfinished.replace(path)
        finally:
            unfinished.unlink(missing_ok=True)
    return path


def draft_file(workshop: Workshop, page: str, name: str) -> Path:
    """Where a file dropped on a page is kept; it need not be there."""
    return _path(workshop, page).with_suffix("") / check_name(name, "draft")


def _path(workshop: Workshop, page: str) -> Path:
    return workshop.folder / "drafts" / f"{check_name(page, 'draft')}.json"
