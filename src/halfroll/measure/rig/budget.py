"""Uncertainty budgets of calibrations: contributions in decibels, put together as JCGM 100:2008, clauses 4.3 and 5.1, says."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

from halfroll.core.errors import InputError
from halfroll.core.levels import DB_OF_RELATIVE

Shape = Literal["normal", "rectangular"]

PERCENT_DB = DB_OF_RELATIVE / 100.0
"""Decibels of one percent in an amplitude, to first order: 0.0869 dB."""


@dataclass(frozen=True, kw_only=True)
class Contribution:
    """One source of uncertainty.

    Parameters
    ----------
    name
        What it is, in words.
    u_db
        Standard uncertainty it brings (dB).
    shape
        ``rectangular``: from a half-width within which the value certainly lies, divided by sqrt(3) (JCGM 100:2008,
        4.3.7); ``normal``: a standard uncertainty as it stands.
    half_width_db
        That half-width (dB).
    """

    name: str
    u_db: float
    shape: Shape = "normal"
    half_width_db: float | None = None

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "name": self.name, "u_db": self.u_db, "shape": self.shape, "half_width_db": self.half_width_db,
        }  # fmt: skip


def normal(name: str, u_db: float) -> Contribution:
    """A contribution known by its standard uncertainty (dB)."""
    return Contribution(name=name, u_db=float(u_db))


def rectangular(name: str, half_width_db: float) -> Contribution:
    """A contribution known by limits of plus and minus `half_width_db` (dB)."""
    return Contribution(
        name=name,
        u_db=float(half_width_db) / math.sqrt(3.0),
        shape="rectangular",
        half_width_db=float(half_width_db),
    )


def combined_db(contributions: Iterable[Contribution]) -> float:
    """Root of the sum of squares (dB): the contributions are independent."""
    return math.sqrt(sum(c.u_db**2 for c in contributions))


def not_negative(value: float, what: str, key: str) -> float:
    """Return a tolerance or an uncertainty that is a number of 0 or more."""
    if not (math.isfinite(value) and value >= 0.0):
        raise InputError(f"{what} must be a number of 0 or more", key=key, found=f"{value:g}")
    return value


def above_zero(value: float, what: str, key: str) -> float:
    """Return a quantity that is a number above 0."""
    if not (math.isfinite(value) and value > 0.0):
        raise InputError(f"{what} must be a number above 0", key=key, found=f"{value:g}")
    return value
