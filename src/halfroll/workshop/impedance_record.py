"""``impedance.toml``: impedance measured of a unit."""

from __future__ import annotations

from typing import ClassVar

from halfroll.workshop.runs import RunRecord


class ImpedanceRecord(RunRecord):
    """``impedance.toml``: impedance measured of a unit."""

    kind: ClassVar[str] = "impedance"
