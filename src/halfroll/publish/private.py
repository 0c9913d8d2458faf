"""What of a note is nobody else's business: paragraphs that begin with ``Private:`` are never published."""

from __future__ import annotations

import re
from typing import TypeVar

from halfroll.workshop.fields import Record

R = TypeVar("R", bound=Record)

PRIVATE = re.compile(r"^\s*private\s*:", re.IGNORECASE)


def public(text: str) -> tuple[str, ...]:
    """Paragraphs of a note without those that begin with ``Private:``."""
    return tuple(one.strip() for one in re.split(r"\n\s*\n", text) if one.strip() and not PRIVATE.match(one))


def published(record: R) -> R:
    """A record without the private paragraphs of its notes; as it is where it has none."""
    notes = getattr(record, "notes", "")
    if not isinstance(notes, str) or not any(PRIVATE.match(one) for one in re.split(r"\n\s*\n", notes)):
        return record
    return record.changed(notes="\n\n".join(public(notes)))
