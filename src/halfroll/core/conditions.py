"""The conditions under which a response was taken; without them a level means nothing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Any


class Space(StrEnum):
    """Into what the driver radiated.

    ``half-space``: flush in a large baffle or the ground (2π sr). ``free-field``: nothing near (4π sr).
    ``near-field``: microphone almost touching the cone. ``in-cabinet``: mounted in its own cabinet, which is part
    of the result.
    """

    HALF = "half-space"
    FREE = "free-field"
    NEAR = "near-field"
    CABINET = "in-cabinet"


@dataclass(frozen=True, kw_only=True)
class Conditions:
    """Conditions of a take.

    Parameters
    ----------
    drive_v
        R.m.s. voltage at the driver's terminals (V); None when neither stated nor recorded.
    distance_m
        Microphone to cone (m).
    space
        Radiation space.
    rated_impedance_ohm
        Rated impedance of the version (ohm), which turns a voltage into the trade's power.
    radius_m
        Effective piston radius (m), needed for near-field scaling; None when unknown.
    temperature_c
        Air temperature (°C) when stated.
    """

    drive_v: float | None
    distance_m: float
    space: Space
    rated_impedance_ohm: float | None = None
    radius_m: float | None = None
    temperature_c: float | None = None

    @property
    def drive_w(self) -> float | None:
        """Power (W) of the drive voltage into the rated impedance, U²/R; None when one of the two is unknown."""
        if self.drive_v is None or self.rated_impedance_ohm is None:
            return None
        return self.drive_v**2 / self.rated_impedance_ohm

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON, keys carry units."""
        return {
            "drive_v": self.drive_v,
            "drive_w": self.drive_w,
            "distance_m": self.distance_m,
            "space": str(self.space),
            "rated_impedance_ohm": self.rated_impedance_ohm,
            "radius_m": self.radius_m,
            "temperature_c": self.temperature_c,
        }


def radius_of_area(area_m2: float) -> float:
    """Radius (m) of the circle of an effective piston area (m²)."""
    return math.sqrt(area_m2 / math.pi)
