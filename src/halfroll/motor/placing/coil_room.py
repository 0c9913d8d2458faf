"""The coil in a motor: where it rests, that nothing is in its way, and how far it may go before it meets a part."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from halfroll.core.errors import InputError
from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.placing.polygons import (
    TOUCH_M,
    Polygon,
    distance,
    intervals,
    overlap,
    rectangle,
    upside_down,
)
from halfroll.motor.types import Assembly, Body, Gap, Winding


@dataclass(frozen=True, kw_only=True)
class Stop:
    """What the moving coil meets first in one direction, and after how much travel from rest (m)."""

    body: str
    room_m: float


def moving_sections(coil: CoilDesign) -> tuple[Winding, tuple[Polygon, Polygon]]:
    """The winding at rest in a gap whose middle is z = 0, and half-sections of all that moves: turns with the glue over them,
    and the former, which ends flush with the winding inwards and goes on outwards to the cone (common practice).
    """
    from halfroll.motor.coil.wound import wind

    wound = wind(coil)
    exact = wound.winding()
    winding = replace(exact, z_low=round(exact.z_low, 12), z_high=round(exact.z_high, 12))
    low, top = winding.z_low, winding.z_low + wound.former_height_m
    wire = rectangle(wound.inner_m, wound.outermost_m, low, winding.z_high)
    return winding, (wire, rectangle(wound.former_inner_m, wound.former_outer_m, low, top))


def place_coil(assembly: Assembly, coil: CoilDesign, travel_m: float | None = None) -> Assembly:
    """The motor with its coil at rest; `InputError` when a part is in its way or the gap out of its reach."""
    winding, (wire, former) = moving_sections(coil)
    _refuse_out_of_reach(assembly, winding)
    walls = (assembly.gap.inner, assembly.gap.outer)
    for body in sorted(assembly.bodies, key=lambda body: body.name not in walls):
        _refuse_meeting(body, wire, former)
    inward = stop_below(assembly.bodies, (wire, former))
    outward = stop_above(assembly.bodies, (wire, former))
    if travel_m is not None and outward is not None and outward.room_m < travel_m:
        raise InputError(
            f"The coil must not hit {outward.body} within the stated travel", key="motor.travel_mm",
            found=f"{travel_m * 1e3:.4g} mm stated, {outward.room_m * 1e3:.4g} mm of room outwards from rest",
            remedy=f"Make the bore of {outward.body} wider than the coil, shorten the coil, or state less travel",
        )  # fmt: skip
    if travel_m is not None and inward is not None and inward.room_m < travel_m:
        raise InputError(
            f"The coil must not hit {inward.body} within the stated travel", key="motor.travel_mm",
            found=f"{travel_m * 1e3:.4g} mm stated, {inward.room_m * 1e3:.4g} mm of room inwards from rest",
            remedy=f"Raise the gap over {inward.body} (a higher magnet or spacer), shorten the coil, or state less travel",
        )  # fmt: skip
    return replace(
        assembly,
        winding=winding,
        inward_room_m=None if inward is None else inward.room_m,
        inward_stop=None if inward is None else inward.body,
    )


def clear_gap(assembly: Assembly) -> Gap:
    """The gap as the coil finds it: walls of any body beside the coil, such as a copper cap on the pole or a pole that is wider under
    the gap, where they are nearer.

    Beside the coil is what reaches into its height at rest or into the gap's; without a coil, into the gap's.
    """
    gap, winding = assembly.gap, assembly.winding
    low, high, middle = gap.z_low, gap.z_high, 0.5 * (gap.r_inner + gap.r_outer)
    if winding is not None:
        low, high = min(low, winding.z_low), max(high, winding.z_high)
        middle = 0.5 * (winding.r_inner + winding.r_outer)
    for body in assembly.bodies:
        for inside, outside in _spans(body.outline, low, high):
            if gap.r_inner < outside < middle:
                gap = replace(gap, inner=body.name, r_inner=outside)
            elif middle < inside < gap.r_outer:
                gap = replace(gap, outer=body.name, r_outer=inside)
    return gap


def _spans(outline: Polygon, low: float, high: float) -> list[tuple[float, float]]:
    """Radii (inside, outside) a half-section takes up at all heights between two where it may be widest."""
    sideways = tuple((z, r) for r, z in outline)
    tiny = 1e-9
    heights = {low, high, *(z for z, _ in sideways)}
    return [
        span
        for height in heights
        for z in (height - tiny, height + tiny)
        if low < z < high
        for span in intervals(sideways, z)
    ]


def _refuse_out_of_reach(assembly: Assembly, winding: Winding) -> None:
    """Refuse a winding that at rest stands wholly above or below the gap."""
    gap = assembly.gap
    apart = max(winding.z_low - gap.z_high, gap.z_low - winding.z_high)
    if apart >= 0.0:
        raise InputError(
            f"The coil must reach into the gap between {gap.inner} and {gap.outer} where it rests", key="coil.offset_mm",
            found=f"{apart * 1e3:.4g} mm from its nearest turn to the gap",
            remedy="Bring its middle nearer to the middle of the gap, which is offset 0",
        )  # fmt: skip
    middle = 0.5 * (winding.r_inner + winding.r_outer)
    if not gap.r_inner < middle < gap.r_outer:
        raise InputError(
            f"The coil must stand between {gap.inner} and {gap.outer}", key="coil.former_inner_mm",
            found=f"a winding from {_span(winding.r_inner, winding.r_outer)}; the gap goes from "
                  f"{_span(gap.r_inner, gap.r_outer)}",
        )  # fmt: skip


def _refuse_meeting(body: Body, wire: Polygon, former: Polygon) -> None:
    """Refuse a body that the coil crosses or touches at rest."""
    hits = [(name, part) for name, part in (("winding", wire), ("former", former))
            if overlap(part, body.outline) is not None or distance(part, body.outline) <= TOUCH_M]  # fmt: skip
    if not hits:
        return
    name, part = hits[0]
    inner_body = body.bounds[1] <= 0.5 * (wire[0][0] + wire[1][0])
    key = "former_inner_mm" if inner_body or name == "former" else "layers"
    raise InputError(
        f"There must be clearance between the coil and {body.name}", key=f"coil.{key}",
        found=f"a {name} from {_span(part[0][0], part[1][0])} diameter, {body.name} from "
              f"{_span(body.bounds[0], body.bounds[1])}",
        remedy="Change the former's diameter, take fewer layers or thinner wire, or widen the gap",
    )  # fmt: skip


def _span(low: float, high: float) -> str:
    return f"{2e3 * low:.5g} to {2e3 * high:.5g} mm"


def stop_below(bodies: Iterable[Body], moving: Iterable[Polygon]) -> Stop | None:
    """What moving half-sections meet first on their way down, from faces wholly below them; None when nothing is there."""
    stops = [
        Stop(body=body.name, room_m=round(room, 12))
        for body in bodies
        for part in moving
        if (room := _room_below(part, body.outline)) is not None
    ]
    return min(stops, key=lambda stop: stop.room_m, default=None)


def stop_above(bodies: Iterable[Body], moving: Iterable[Polygon]) -> Stop | None:
    """The same upwards."""
    flipped = [replace(body, outline=upside_down(body.outline)) for body in bodies]
    return stop_below(flipped, [upside_down(part) for part in moving])


def _room_below(part: Polygon, ground: Polygon) -> float | None:
    """Height (m) from a half-section straight down to another; None when that is nowhere below it."""
    low, high = min(r for r, _ in part), max(r for r, _ in part)
    tiny = 1e-9
    corners = sorted({r for r, _ in (*part, *ground) if low < r < high} | {low, high})
    rooms = [
        under - top
        for corner in corners
        for r in (corner - tiny, corner + tiny)
        for under, _ in intervals(part, r)
        for _, top in intervals(ground, r)
        if top <= under + TOUCH_M
    ]
    return min(rooms, default=None)
