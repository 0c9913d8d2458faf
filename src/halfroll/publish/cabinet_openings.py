"""What stands in a drawn cabinet beside its driver: port, passive radiator, stuffing, each where there is room."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfroll.acoustics.cabinet.types import Cabinet
from halfroll.core.text import THIN
from halfroll.motor.types import Point
from halfroll.publish.section_sheet import Sheet, millimetres

Polygon = tuple[Point, ...]


@dataclass(frozen=True, kw_only=True)
class Plan:
    """Sizes of the drawing (m), x from the driver's axis, z from the front's outer face: left and right of the inside, its depth, the wall."""

    left: float
    right: float
    depth: float
    wall: float
    known: bool

    @property
    def back(self) -> float:
        """Where the inner face of the back lies."""
        return -(self.wall + self.depth)


def filled(sheet: Sheet, piece: Polygon) -> str:
    """A piece of paper colour, so that what lies under it is hidden."""
    return f'<path d="{sheet.path(piece, closed=True)}" fill="{sheet.inks.paper}"/>'


def opening(sheet: Sheet, cabinet: Cabinet, plan: Plan, hole: float, driver_deep: float) -> list[str]:
    """Port or passive radiator where there is room: beside the driver in the front, else in the back."""
    if cabinet.port is not None:
        return [_port(sheet, cabinet, plan, hole, driver_deep)]
    if cabinet.radiator is not None:
        return [_radiator(sheet, math.sqrt(cabinet.radiator.area_m2 / math.pi), plan, hole)]
    return []


def _port(sheet: Sheet, cabinet: Cabinet, plan: Plan, hole: float, driver_deep: float) -> str:
    port = cabinet.port
    assert port is not None
    wide = port.high_m if port.across_m > 0.6 * (plan.right - plan.left) else port.across_m
    tube = max(port.tube_wall_m, 0.6 / sheet.scale)
    middle, front = _beside(plan, hole, wide / 2.0 + tube)
    clear = plan.depth if front else plan.depth - (driver_deep if middle - wide / 2.0 < hole else 0.0)
    upright = port.length_m > clear + plan.wall
    corner = (middle, plan.back + wide / 2.0 + tube + 0.003)
    drawn = (
        _upright_tube(sheet, corner, wide / 2.0, tube)
        if upright
        else _lying_tube(sheet, plan, middle, wide, tube, port.length_m, front)
    )
    note = (
        f"⌀{THIN}{millimetres(port.across_m)}"
        if port.is_round
        else f"{millimetres(port.across_m)} x {millimetres(port.high_m)}"
    )
    note = (
        f"{'' if port.count == 1 else f'{port.count} x '}{note}, {millimetres(round(port.length_m, 4))} long"
    )
    if upright:
        place = (
            sheet.x(corner[0] - wide / 2.0 - tube) - 0.5 * sheet.inks.text,
            sheet.y(corner[1]) + 0.35 * sheet.inks.text,
        )
        words = sheet.word(*place, f"{note}, upright", anchor="end")
    elif port.length_m * sheet.scale > 9 * sheet.inks.text:
        z = -port.length_m / 2.0 if front else plan.back - plan.wall + port.length_m / 2.0
        words = sheet.word(sheet.x(middle), sheet.y(z), note, turned=True)
    else:
        z = -port.length_m if front else plan.back - plan.wall + port.length_m
        words = sheet.word(
            sheet.x(plan.right) - 4,
            sheet.y(z) + (1.3 if front else -0.5) * sheet.inks.text,
            note,
            anchor="end",
        )
    return f'<g class="body" data-part="port"><title>port</title>{drawn}{words}</g>'


def _lying_tube(
    sheet: Sheet, plan: Plan, middle: float, wide: float, tube: float, long: float, front: bool
) -> str:
    """A port from the front or the back inwards."""
    start = 0.0 if front else plan.back - plan.wall
    low, high = sorted((start, start - long if front else start + long))
    bore = (
        (middle - wide / 2, low),
        (middle + wide / 2, low),
        (middle + wide / 2, high),
        (middle - wide / 2, high),
    )
    drawn = filled(sheet, bore)
    for side in (-1.0, 1.0):
        inner = middle + side * wide / 2.0
        wall = ((inner, low), (inner + side * tube, low), (inner + side * tube, high), (inner, high))
        drawn += f'<path d="{sheet.path(wall, closed=True)}" fill="{sheet.inks.ink}"/>'
    return drawn


def _upright_tube(sheet: Sheet, centre: Point, radius: float, tube: float) -> str:
    """A port along the height, cut across: too long to lie."""
    x, y, r = sheet.x(centre[0]), sheet.y(centre[1]), sheet.scale * (radius + tube / 2.0)
    return f'<circle class="outline" cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" fill="{sheet.inks.paper}" stroke="{sheet.inks.ink}" stroke-width="{max(sheet.scale * tube, sheet.inks.thick):.2f}"/>'


def _radiator(sheet: Sheet, radius: float, plan: Plan, hole: float) -> str:
    middle, front = _beside(plan, hole, radius)
    z = 0.0 if front else plan.back - plan.wall
    deep = -plan.wall if front else plan.wall
    opening = (
        (middle - radius, z),
        (middle + radius, z),
        (middle + radius, z + deep),
        (middle - radius, z + deep),
    )
    plate = ((middle - 0.75 * radius, z + 0.3 * deep), (middle + 0.75 * radius, z + 0.3 * deep), (middle + 0.75 * radius, z + 0.7 * deep),
             (middle - 0.75 * radius, z + 0.7 * deep))  # fmt: skip
    drawn = filled(sheet, opening) + f'<path d="{sheet.path(plate, closed=True)}" fill="{sheet.inks.ink}"/>'
    bulge = 0.12 * radius * (1.0 if front else -1.0)
    for side in (-1.0, 1.0):
        a, b = sheet.x(middle + side * 0.75 * radius), sheet.x(middle + side * radius)
        y, top = sheet.y(z + 0.5 * deep), sheet.y(z + 0.5 * deep + 2.0 * bulge)
        drawn += sheet.stroke(
            f"M{a:.1f} {y:.1f}Q{(a + b) / 2:.1f} {top:.1f} {b:.1f} {y:.1f}",
            cls="seen",
            width=sheet.inks.thick,
        )
    return f'<g class="moving" data-part="radiator"><title>passive radiator</title>{drawn}</g>'


def _beside(plan: Plan, hole: float, half: float) -> tuple[float, bool]:
    """Where an opening so wide (half of it, m) has its middle, and whether in the front; else behind the driver in the back."""
    clear = 0.003
    for room, sign in ((plan.right - hole, 1.0), (-plan.left - hole, -1.0)):
        if room >= 2.0 * (half + clear):
            edge = plan.right if sign > 0 else plan.left
            return edge - sign * (half + clear), True
    side = plan.right - half - clear
    return max(side, plan.left + half), False


def stuffing(sheet: Sheet, cabinet: Cabinet, plan: Plan) -> list[str]:
    """Loose waves where fibre is."""
    if cabinet.stuffing is None:
        return []
    share = max(cabinet.stuffing.share, 0.05)
    step, d = 0.16 * plan.depth, ""
    rows = max(1, round(share * plan.depth / step) - 1)
    for row in range(rows):
        z = plan.back + (row + 0.7) * step
        y, x, end = sheet.y(z), sheet.x(plan.left) + 6.0, sheet.x(plan.right) - 6.0
        wave = max((end - x) / 14.0, 4.0)
        d += f"M{x:.1f} {y:.1f}"
        up = -1.0
        while x + wave <= end:
            d += f"q{wave / 2:.1f} {up * 0.5 * wave:.1f} {wave:.1f} 0"
            x, up = x + wave, -up
    waves = sheet.stroke(d, cls="seen", more=' opacity=".6"')
    return [f'<g class="body" data-part="stuffing"><title>stuffing</title>{waves}</g>']
