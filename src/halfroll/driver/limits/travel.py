"""How far a cone may move, by every rule of the trade: what the winding leaves, what the force factor and the compliance keep, what stops the coil.

Displacements x are positive outwards; a limit has two ends, and an end that is not met within the model's travel is endless.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.polynomial import polynomial

from halfroll.driver.lumped import DriverModel
from halfroll.motor.types import Assembly, Gap, Winding

TravelKey = Literal["travel-geometric", "travel-bl", "travel-compliance", "travel-stop"]

BL_SHARE = 0.82
COMPLIANCE_SHARE = 0.75
"""Bl(x)/Bl(0) and Cms(x)/Cms(0) that go with 10 % of distortion at a resonance tone (W. Klippel, JAES 51, 2003; IEC 62458; from memory)."""

_POINTS = 2001


@dataclass(frozen=True, kw_only=True)
class TravelLimit:
    """Displacements (m) a rule allows: `low_m` below zero, `high_m` above, infinite where the rule is not met within the model's travel."""

    key: TravelKey
    label: str
    low_m: float
    high_m: float

    @property
    def each_way_m(self) -> float:
        """The nearer end: what the trade prints as Xmax (m)."""
        return min(-self.low_m, self.high_m)


def travel_limits(model: DriverModel, assembly: Assembly | None = None) -> tuple[TravelLimit, ...]:
    """Every limit of travel that is known of a driver; without its motor's parts the geometric one and the stop are not."""
    found = [by_force_factor(model), by_compliance(model)]
    if assembly is not None and assembly.winding is not None:
        found.insert(0, by_geometry(assembly.winding, assembly.gap))
    if assembly is not None and assembly.inward_room_m is not None:
        found.append(
            TravelLimit(
                key="travel-stop", label="coil meets the motor", low_m=-max(assembly.inward_room_m, 1e-6), high_m=math.inf
            )
        )  # fmt: skip
    return tuple(one for one in found if math.isfinite(one.low_m) or math.isfinite(one.high_m))


def by_geometry(winding: Winding, gap: Gap) -> TravelLimit:
    """Until an overhung winding no longer fills the gap, or an underhung one leaves it: half the difference of their heights, less
    what the winding rests beside the middle on one side (common practice).
    """
    half = 0.5 * abs(winding.height_m - (gap.z_high - gap.z_low))
    beside = winding.centre_m - 0.5 * (gap.z_high + gap.z_low)
    return TravelLimit(
        key="travel-geometric", label="winding over the gap", low_m=min(-half - beside, -1e-6), high_m=max(half - beside, 1e-6)
    )  # fmt: skip


def by_force_factor(model: DriverModel, share: float = BL_SHARE) -> TravelLimit:
    """Until Bl(x) has fallen to a share of Bl(0)."""
    x, bl = _over(model, model.Bl)
    low, high = _ends(x, bl / model.Bl[0] - share)
    return TravelLimit(key="travel-bl", label=f"Bl at {100 * share:.0f} %", low_m=low, high_m=high)


def by_compliance(model: DriverModel, share: float = COMPLIANCE_SHARE) -> TravelLimit:
    """Until the compliance 1/K(x) has fallen to a share of that at rest."""
    x, stiffness = _over(model, model.K)
    low, high = _ends(x, model.K[0] / stiffness - share)
    return TravelLimit(key="travel-compliance", label=f"Cms at {100 * share:.0f} %", low_m=low, high_m=high)


def _over(model: DriverModel, curve: tuple[float, ...]) -> tuple[np.ndarray, np.ndarray]:
    x = np.linspace(*model.x_range, _POINTS)
    return x, polynomial.polyval(x, curve)


def _ends(x: np.ndarray, left: np.ndarray) -> tuple[float, float]:
    """Where what is left over the rule first reaches zero, inwards and outwards from rest."""
    inwards, outwards = x <= 0.0, x >= 0.0
    return _first(x[inwards][::-1], left[inwards][::-1], -math.inf), _first(
        x[outwards], left[outwards], math.inf
    )


def _first(x: np.ndarray, left: np.ndarray, none: float) -> float:
    under = np.flatnonzero(left <= 0.0)
    if not under.size or under[0] == 0:
        return none
    i = int(under[0])
    return float(x[i - 1] + (x[i] - x[i - 1]) * left[i - 1] / (left[i - 1] - left[i]))
