"""Files that pages hand out, and the words that come in place of one that cannot be made."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import Response

from halfroll.core.errors import HalfrollError

PDF = "application/pdf"


def handed(data: bytes | str, kind: str, name: str, *, inline: bool = False) -> Response:
    """A file of a media type under a plain name: shown where the browser can, or kept."""
    where = "inline" if inline else "attachment"
    return Response(data, media_type=kind, headers={"Content-Disposition": f'{where}; filename="{name}"'})


def refused(fault: HalfrollError | str, status: int = 422) -> Response:
    """What is wrong, as plain text."""
    return Response(f"{fault}\n", status_code=status, media_type="text/plain; charset=utf-8")


def answered(make: Callable[[], Response]) -> Response:
    """What `make` gives, or what it says is wrong."""
    try:
        return make()
    except HalfrollError as fault:
        return refused(fault)
