"""``joined.toml``: a response joined of a near field and a far field."""

from __future__ import annotations

from typing import ClassVar

from halfroll.workshop.runs import RunRecord


class JoinedRecord(RunRecord):
    """``joined.toml``: a response joined of a near field and a far field."""

    kind: ClassVar[str] = "joined"
