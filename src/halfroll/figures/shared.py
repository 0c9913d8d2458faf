"""What moves all takes of a rig or a place together: calibration, room, and what repeats do not show.

Many takes do not make these smaller; two versions that share them lose them in their difference.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from typing import NamedTuple

from halfroll.core.uncertainty import Quantity, Sources
from halfroll.figures.rules import FigureRule
from halfroll.figures.types import Reading, TakeReadings


class Counted(NamedTuple):
    """A take that has the figure, and its weight in the version's mean."""

    take: TakeReadings
    reading: Reading
    weight: float


def calibration(
    rule: FigureRule, counted: Sequence[Counted], unit_per_db: float, sources: Sources
) -> Quantity:
    """The rig's scales: one source a rig, channel and calibration, weighed by how many takes came from it.

    Where the current's scale comes from the voltage's, as with one meter for both, an error of the voltage is the current's
    too: an impedance loses it.
    """
    u_db: dict[tuple[str, str, str], float] = {}
    for c in counted if rule.microphone_db or rule.voltage_db or rule.current_db else ():
        take = c.take
        voltage_db = rule.voltage_db + (rule.current_db if take.current_shares_voltage else 0.0)
        shares = (
            ("microphone", take.microphone_u_db * rule.microphone_db),
            ("voltage", take.voltage_u_db * voltage_db),
            ("current", take.current_u_db * rule.current_db),
        )
        for (channel, part), date in zip(shares, take.calibration_dates, strict=True):
            name = (channel, take.rig, date)
            u_db[name] = u_db.get(name, 0.0) + c.weight * part
    return sum(u * unit_per_db * sources.source(name) for name, u in u_db.items() if u)


def room(rule: FigureRule, counted: Sequence[Counted], version_id: str, sources: Sources) -> Quantity:
    """The room: one source a place (rig, space, distance and gate) where it moves versions alike, else the version's own."""
    parts: dict[Hashable, float] = {}
    for c in counted:
        if not c.reading.u_room:
            continue
        place = ("room", *_place(c.take)) if rule.room_shared else ("room", version_id, rule.key)
        parts[place] = parts.get(place, 0.0) + c.weight * c.reading.u_room
    return sum(u * sources.source(name) for name, u in parts.items())


def fixed(rule: FigureRule, counted: Sequence[Counted], version_id: str, sources: Sources) -> Quantity:
    """What else stays the same in repeats, such as orders under the noise; the version's own."""
    u = sum(c.weight * c.reading.u_fixed for c in counted)
    dof = min((c.reading.dof or math.inf for c in counted), default=math.inf)
    return u * sources.source(("fixed", version_id, rule.key), dof=dof) if u else 0.0


def _place(take: TakeReadings) -> tuple[Hashable, ...]:
    gate = None if take.gate_s is None else round(take.gate_s, 4)
    return take.rig, take.conditions.space, float(f"{take.conditions.distance_m:.2g}"), gate
