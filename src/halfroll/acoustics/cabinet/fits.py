"""Whether things fit: a driver in a cabinet, a port in its depth and face, a radiator beside the driver; what walls and pipe resonances do."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.cabinet.types import Box, Cabinet, Cylinder
from halfroll.core.errors import RefusedError
from halfroll.core.text import format_percent, format_plain, format_stated, format_value
from halfroll.core.verdicts import Severity, Verdict

SOFT_WALLS = 0.05
"""Share of the air's compliance from which walls are soft, in the middle between held edges and edges that turn."""
_NEAR_WALL = 1.0
"""A port's inner end nearer to a wall than this times its diameter is loaded by it (common practice)."""
_WAVE = 12.0
"""The air in the cabinet is one spring while the inside is shorter than a twelfth of the wave (common practice)."""


@dataclass(frozen=True, kw_only=True)
class DriverSize:
    """What must go into the cabinet (m): widest diameter of the frame, hole it needs, depth behind the front."""

    outer_m: float
    depth_m: float


def check_fit(cabinet: Cabinet, driver: DriverSize | None = None) -> None:
    """Refuse what cannot be built.

    Raises
    ------
    RefusedError
        The driver is larger than the inside, the port longer than the inside or wider than the face, the driver does not stand within the front.
    """
    if cabinet.inside is None:
        return
    face, depth = cabinet.inside.face_m, cabinet.inside.depth_m
    if driver is not None:
        _within(
            "The driver's frame is wider than the inside of the cabinet", "inside", driver.outer_m, min(face)
        )
        _within(
            "The driver is deeper than the inside of the cabinet", "inside.depth_mm", driver.depth_m, depth
        )
    port = cabinet.port
    if port is not None:
        _within("The port is wider than the inside of the cabinet", "port", port.across_m, max(face))
        _within("The port is higher than the inside of the cabinet", "port", port.high_m, min(face))
        _within("The port is longer than the inside of the cabinet", "port.length_mm", port.length_m, _longest(cabinet),
                remedy="Bend it, use a narrower one, or tune higher")  # fmt: skip
        room = math.prod(face)
        taken = port.all_area_m2 + (0.0 if driver is None else math.pi * driver.outer_m**2 / 4.0)
        if taken > room:
            raise RefusedError("Driver and port together are larger than the front", key="port",
                               found=f"{1e4 * taken:.0f} cm² in {1e4 * room:.0f} cm²",
                               remedy="Put the port in another wall or make it smaller")  # fmt: skip


def _longest(cabinet: Cabinet) -> float:
    """The longest straight port the inside holds."""
    inside = cabinet.inside
    if isinstance(inside, Box):
        return max(inside.width_m, inside.height_m, inside.depth_m)
    assert isinstance(inside, Cylinder)
    return max(inside.diameter_m, inside.depth_m)


def _within(what: str, key: str, size: float, room: float, remedy: str = "Make the cabinet larger") -> None:
    if size > room:
        raise RefusedError(what, key=key, found=f"{1e3 * size:.4g} mm in {1e3 * room:.4g} mm", remedy=remedy)


def cabinet_verdicts(cabinet: Cabinet, *, used_to_hz: float, air: Air = STANDARD_AIR) -> tuple[Verdict, ...]:
    """What must be said of the cabinet itself, used up to a frequency (Hz)."""
    return (
        *_port(cabinet, used_to_hz, air),
        *_walls(cabinet, used_to_hz, air),
        *_standing(cabinet, used_to_hz, air),
    )


def _port(cabinet: Cabinet, used_to_hz: float, air: Air) -> Iterator[Verdict]:
    port = cabinet.port
    if port is None:
        return
    pipe = port.pipe_resonance_hz(air)
    if pipe < used_to_hz:
        yield Verdict(
            code="port-resonates", severity=Severity.CAUTION,
            text=f"The port is a pipe that sings near {format_value(pipe, None, 'Hz')} (half a wave along it), inside the range used, up to {format_stated(used_to_hz, 'Hz')}.",
            remedy="Let it open at the back, or make it shorter; a short wide port in a larger cabinet sings higher.",
            data={"resonance_hz": pipe, "used_to_hz": used_to_hz},
        )  # fmt: skip
    depth = None if cabinet.inside is None else cabinet.inside.depth_m
    near = None if depth is None else depth - port.length_m
    if near is not None and 0.0 <= near < _NEAR_WALL * port.high_m:
        yield Verdict(
            code="port-near-wall", severity=Severity.NOTE,
            text=f"Straight back, the port would end {format_plain(1e3 * near, 'mm', 2)} before the wall, less than its own width; that lowers the tuning.",
            remedy="Lead it along the longest side, or measure the tuning and cut it to length.",
            data={"distance_mm": 1e3 * near},
        )  # fmt: skip


def _walls(cabinet: Cabinet, used_to_hz: float, air: Air) -> Iterator[Verdict]:
    reading = cabinet.wall_reading(air)
    if reading is None:
        return
    if reading.share > SOFT_WALLS:
        yield Verdict(
            code="walls-soft", severity=Severity.CAUTION,
            text=f"The walls give: {format_percent(reading.least_share)} (edges held) to {format_percent(reading.most_share)} (edges that turn) of what the air "
            "in the cabinet does. Tuning and resonance come out lower by half of that, and the walls sound. It is not in the curves.",
            remedy="Thicker walls or ribs: stiffness grows with the cube of the thickness.",
            data={"least_percent": 100 * reading.least_share, "most_percent": 100 * reading.most_share},
        )  # fmt: skip
    if reading.lowest_hz < used_to_hz:
        sides = " x ".join(f"{1e3 * side:.0f}" for side in reading.panel_m)
        yield Verdict(
            code="walls-resonate", severity=Severity.CAUTION,
            text=f"The wall of {sides} mm first resonates between {format_value(reading.lowest_hz, None, 'Hz')} (edges that turn) and {format_value(reading.highest_hz, None, 'Hz')} "
            "(edges held), inside the range used.",
            remedy="Brace it across the middle, curve it, or line it with something that damps.",
            data={"lowest_hz": reading.lowest_hz, "highest_hz": reading.highest_hz},
        )  # fmt: skip


def _standing(cabinet: Cabinet, used_to_hz: float, air: Air) -> Iterator[Verdict]:
    if cabinet.inside is None:
        return
    longest = _longest(cabinet)
    holds_to = air.speed_of_sound / (_WAVE * longest)
    wave = air.speed_of_sound / (2.0 * longest)
    tuning = cabinet.tuning_hz(air)
    if tuning is not None and tuning > holds_to:
        yield Verdict(
            code="cabinet-long", severity=Severity.CAUTION,
            text=f"The cabinet is {format_plain(1e3 * longest, 'mm', 2)} long; up to about {format_value(holds_to, None, 'Hz')} its air is one spring. At the tuning of {format_value(tuning, None, 'Hz')} it "
            "is not, and what is computed errs.",
            remedy="Use a more compact shape.", data={"holds_to_hz": holds_to, "tuning_hz": tuning},
        )  # fmt: skip
    if wave < used_to_hz:
        yield Verdict(
            code="standing-wave", severity=Severity.NOTE,
            text=f"Sound stands between the walls from {format_value(wave, None, 'Hz')} (half a wave along {format_plain(1e3 * longest, 'mm', 2)}). It is not in these curves.",
            remedy="Line the walls or stuff the cabinet lightly.", data={"first_hz": wave},
        )  # fmt: skip
