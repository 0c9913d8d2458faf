"""A computed take as it is kept: its response, and how sure its curves are."""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.core.levels import FloatArray
from halfroll.measure.analysis.response import Response

SERIES_OHM = 0.1
"""Before the terminals, as a rig's shunt and leads (common practice)."""


@dataclass(frozen=True, kw_only=True, eq=False)
class CurveSpread:
    """Standard uncertainty of curves from all assumptions, over `frequency_hz` (n,): level (dB), THD (1), modulus of the impedance (ohm)."""

    frequency_hz: FloatArray
    level_u_db: FloatArray
    thd_u: FloatArray
    impedance_u_ohm: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class ComputedTake:
    """The response of a computed take, and the spread of its curves; None where nothing was assumed."""

    response: Response
    spread: CurveSpread | None = None
