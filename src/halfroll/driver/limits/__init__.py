"""How loud a driver can play, and what limits it."""

from __future__ import annotations

from halfroll.driver.limits.compression import power_compression
from halfroll.driver.limits.maximum import maximum_level
from halfroll.driver.limits.travel import travel_limits
from halfroll.driver.limits.types import LimitCurve, Lowest, MaximumLevel, PowerCompression

__all__ = [
    "LimitCurve",
    "Lowest",
    "MaximumLevel",
    "PowerCompression",
    "maximum_level",
    "power_compression",
    "travel_limits",
]
