"""Photographs on their way in: dropped on a unit's page, kept as a draft until it is said what they show."""

from __future__ import annotations

import secrets
from pathlib import Path
from typing import Any

from fastapi import Form, UploadFile
from nicegui import app

from halfroll.app.intake import keep_sent
from halfroll.core.text import join_words
from halfroll.workshop import Workshop, draft_file
from halfroll.workshop.photographs import read_file
from halfroll.workshop.picture_bytes import picture_of

URL = "/unit-photograph"
PAGE = "unit-photographs"
KINDS = "JPEG, PNG or WebP up to 20 MB. The copy is without what the camera added, the place among it"


def register(workshop: Workshop) -> None:
    """Add the route photographs are sent to."""

    @app.post(URL)
    def receive_photograph(file: UploadFile, written_ms: float = Form(0.0)) -> dict[str, Any]:
        name, token = file.filename or "photograph", secrets.token_hex(8)

        def told(path: Path) -> dict[str, Any]:
            found = picture_of(read_file(path), file=name)
            about = f"{found.format.upper()}, {found.width} by {found.height} pixels"
            if found.taken_out:
                about += f"; taken out of the copy: {join_words(found.taken_out)}"
            return {"token": token, "about": about}

        return keep_sent(workshop, PAGE, file, token, name, told)


def kept_bytes(workshop: Workshop, token: str) -> bytes:
    """The bytes of a kept photograph; `InputError` when it is gone."""
    return read_file(draft_file(workshop, PAGE, token))


def drop(workshop: Workshop, token: str) -> None:
    """Forget a kept photograph."""
    draft_file(workshop, PAGE, token).unlink(missing_ok=True)
