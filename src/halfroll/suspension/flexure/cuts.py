"""Where an arm is cut into elements: along it by its length and its turning, closer at the clamps, and along its free edges.

Near a free long edge the twisting of a flat bar changes over about its thickness, near a clamp its bending over about its width:
boundaries are put there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.solid import BarMesh, mesh_bar
from halfroll.suspension.flexure.arm import Arm

_EDGE = 0.75
"""Width of the row of elements along a free edge, in thicknesses."""

_SLENDER = 12
"""An arm is cut into no more pieces than this for its length alone: a slender one changes slowly along itself."""


@dataclass(frozen=True, kw_only=True)
class FlexureSettings:
    """How finely an arm is computed.

    Parameters
    ----------
    orders
        Of the elements' polynomials along the arm, across its width and through its thickness.
    widths, turn_rad
        An element is no longer than so many widths of the arm (or a twelfth of it) and turns by no more than this.
    steps
        Equilibria from rest to the end of the travel, evenly spread.
    tolerance
        More are put between where the curve may miss the force by more than this share of it; `most` is how many there may be.
    """

    orders: tuple[int, int, int] = (4, 3, 3)
    widths: float = 2.5
    turn_rad: float = 0.5
    steps: int = 4
    tolerance: float = 1e-3
    most: int = 24

    def coarser(self) -> FlexureSettings:
        """One order less along and across the arm."""
        along, across, through = self.orders
        return replace(self, orders=(along - 1, across - 1, through))


DEFAULT = FlexureSettings()


def mesh_arm(arm: Arm, settings: FlexureSettings = DEFAULT) -> BarMesh:
    """An arm's mesh: one element through the thickness, three across the width."""
    edge = min(_EDGE * arm.thickness_m / arm.width_m, 0.25)
    across = np.array([-0.5, edge - 0.5, 0.5 - edge, 0.5])
    return mesh_bar(arm.place, (along_arm(arm, settings), across, np.array([-0.5, 0.5])), settings.orders)


def along_arm(arm: Arm, settings: FlexureSettings = DEFAULT) -> FloatArray:
    """Element boundaries along the arm (rising, from 0 to 1): one thickness and about one width from each clamp, and even between."""
    near = _near_clamp(arm)
    reach = near[-1]
    longest = max(settings.widths * arm.width_m, arm.whole_m / _SLENDER)
    pieces = np.maximum(arm.length_m / longest, arm.turned_rad / settings.turn_rad)
    low, high = np.interp([reach, arm.whole_m - reach], arm.length_m, pieces)
    count = max(2, int(np.ceil(high - low)))
    between = np.interp(np.linspace(low, high, count + 1), pieces, arm.s)
    start, stop = arm.at_length(near), arm.at_length(arm.whole_m - near)
    return np.unique(np.concatenate([[0.0], start, between[1:-1], stop, [1.0]]))


def _near_clamp(arm: Arm) -> FloatArray:
    """Distances (m) from a clamp at which boundaries are put; at most a quarter of the arm."""
    most = 0.25 * arm.whole_m
    thickness, width = min(arm.thickness_m, most), min(0.9 * arm.width_m, most)
    return np.array([thickness, width]) if width > 1.5 * thickness else np.array([thickness])
