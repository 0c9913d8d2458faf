"""Drafts: what a person has typed into a page and not yet saved. One small file a page in ``drafts/``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

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


def _path(workshop: Workshop, page: str) -> Path:
    return workshop.folder / "drafts" / f"{check_name(page, 'draft')}.json"
