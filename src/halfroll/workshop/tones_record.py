"""``tones.toml``: a series of stepped tones."""

from __future__ import annotations

from typing import ClassVar

from halfroll.workshop.runs import RunRecord


class TonesRecord(RunRecord):
    """``tones.toml``: a series of stepped tones."""

    kind: ClassVar[str] = "tones"
