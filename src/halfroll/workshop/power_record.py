"""``power.toml``: a power-handling run."""

from __future__ import annotations

from typing import ClassVar

from halfroll.workshop.runs import RunRecord


class PowerRecord(RunRecord):
    """``power.toml``: a power-handling run."""

    kind: ClassVar[str] = "power"
