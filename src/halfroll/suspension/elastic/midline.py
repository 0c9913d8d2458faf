"""A curved strip of revolution before it is bent.

Lengths in metres. r from the axis, z along it, positive outwards (towards the listener). s runs along the middle line from 0 at
the inner edge to 1 at the outer one, t across the thickness from -1/2 to 1/2.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from halfroll.core.levels import FloatArray


@dataclass(frozen=True, kw_only=True)
class MidLine:
    """A middle line at given s: place (m), first and second derivative by s."""

    r: FloatArray
    z: FloatArray
    r1: FloatArray
    z1: FloatArray
    r2: FloatArray
    z2: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Profile:
    """A strip's half-section: its middle line and thickness, from the clamped inner edge to the clamped outer one.

    `curve(s)` is smooth between `breaks` and has a continuous tangent across them (a curvature may jump there: element
    boundaries are put on them). `thickness(s)` gives thickness (m) and its derivative by s. `title` names the family in words.
    """

    title: str
    curve: Callable[[FloatArray], MidLine]
    thickness: Callable[[FloatArray], tuple[FloatArray, FloatArray]]
    breaks: tuple[float, ...] = (0.0, 1.0)

    def thicker(self, factor: float) -> Profile:
        """The same middle line with `factor` times the thickness."""

        def scaled(s: FloatArray) -> tuple[FloatArray, FloatArray]:
            h, h1 = self.thickness(s)
            return factor * h, factor * h1

        return replace(self, thickness=scaled)
