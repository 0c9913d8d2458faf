"""A cabinet seen from above, cut through the driver's axis, to scale: walls, driver, port or passive radiator. The listener is at the top.

Sections and hatching by ISO 128-3, in the same lines as the driver's half-section. A cabinet of which only the volume is known is drawn as a
cube in dashes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halfroll.acoustics.cabinet.types import Cabinet, Cylinder
from halfroll.core.text import THIN
from halfroll.driver.displaced import DriverBody
from halfroll.motor.types import Assembly, Point
from halfroll.publish.section_bodies import bodies
from halfroll.publish.section_hatch import Hatch, hatching
from halfroll.publish.section_moving import moving_drawn
from halfroll.publish.section_sheet import Sheet, inks_of, millimetres
from halfroll.publish.theme import Theme

TALLEST = 1.15
"""The drawing of a deep cabinet is at most so many times as tall as wide."""
_USUAL_WALL_M = 3e-3
Polygon = tuple[Point, ...]


@dataclass(frozen=True, kw_only=True)
class _Plan:
    """Sizes of the drawing (m), x from the driver's axis, z from the front's outer face: left and right of the inside, its depth, the wall."""

    left: float
    right: float
    depth: float
    wall: float
    known: bool

    @property
    def back(self) -> float:
        return -(self.wall + self.depth)


def cabinet_svg(
    cabinet: Cabinet, body: DriverBody | None = None, *, wall_m: float = _USUAL_WALL_M, cone_radius_m: float | None = None, theme: Theme | None = None,
    width_px: float, name: str = "",
) -> str:  # fmt: skip
    """SVG of a cabinet with what stands in it.

    Parameters
    ----------
    body
        The designed driver, drawn in its place; without one a dashed cone of `cone_radius_m` marks it.
    wall_m
        Thickness of the walls.
    theme, width_px
        Look (None: the page's own) and width of the picture.
    name
        Whom it shows, for those who listen.
    """
    plan = _plan(cabinet, wall_m)
    sheet = _sheet(plan, body, theme, width_px)
    hole = body.hole_m if body is not None else cone_radius_m or 0.0
    lines = [*_walls(sheet, plan, hole), *_stuffing(sheet, cabinet, plan), *_opening(sheet, cabinet, plan, hole, 0.0 if body is None else body.size.depth_m)]
    if body is not None:
        lines += _driver(sheet, body)
    elif cone_radius_m:
        lines.append(_some_driver(sheet, cone_radius_m, plan))
    lines += _sizes(sheet, plan)
    lines.append(_axis(sheet, plan))
    return sheet.svg(lines, sheet.height, cabinet_words(cabinet, body, name))


def cabinet_words(cabinet: Cabinet, body: DriverBody | None = None, name: str = "") -> str:
    """The drawing in a sentence."""
    what = {"closed": "closed cabinet", "vented": "vented cabinet", "passive-radiator": "cabinet with a passive radiator"}[cabinet.kind]
    said = f"{name}: section from above of a {what}" if name else f"Section from above of a {what}"
    said += f", {1e3 * cabinet.net_m3:.3g} l net"
    if cabinet.port is not None:
        port = cabinet.port
        across = f"⌀ {millimetres(port.across_m)}" if port.is_round else f"{millimetres(port.across_m)} x {millimetres(port.high_m)}"
        said += f", {'a port' if port.count == 1 else f'{port.count} ports'} of {across} mm, {millimetres(port.length_m)} mm long"
    return f"{said}{', with its driver' if body is not None else ''}."


def _plan(cabinet: Cabinet, wall: float) -> _Plan:
    inside = cabinet.inside
    if inside is None:
        edge = cabinet.gross_m3 ** (1.0 / 3.0)
        return _Plan(left=-edge / 2, right=edge / 2, depth=edge, wall=wall, known=False)
    width = inside.face_m[0]
    x = width / 2.0
    front = cabinet.front
    if front is not None:
        rim = (front.width_m - width) / 2.0
        x = min(max(front.x_m - rim, 0.0), width)
    return _Plan(left=-x, right=width - x, depth=inside.depth_m, wall=wall, known=True)


def _sheet(plan: _Plan, body: DriverBody | None, look: Theme | None, width: float) -> Sheet:
    inks = inks_of(look)
    low, high = plan.left - plan.wall, plan.right + plan.wall
    over = 0.0 if body is None else max(_above(body), 0.0)
    air = 0.03 * (high - low)
    top, bottom = over + air, plan.back - plan.wall - air
    margin = 2.4 * inks.text
    across = high - low + 2 * air
    scale = min((width - 2 * margin) / across, (TALLEST * width - 2 * margin) / (top - bottom))
    axis = width / 2.0 - scale * (low + high) / 2.0
    return Sheet(inks=inks, width=width, height=round(scale * (top - bottom) + 2.2 * margin, 1), axis_px=axis, zero_px=0.6 * margin + scale * top,
                 scale=scale, view=(low - air, high + air, bottom, top))  # fmt: skip


def _above(body: DriverBody) -> float:
    """How far the driver stands out of the front (m)."""
    from halfroll.publish.section_moving import moving_extent

    extent = moving_extent(body.moving)
    return 0.0 if extent is None else extent[2] - body.front_m


def _walls(sheet: Sheet, plan: _Plan, hole: float) -> list[str]:
    """The cut walls: the front on both sides of the opening, sides and back."""
    left, right, wall, back = plan.left, plan.right, plan.wall, plan.back
    pieces: list[Polygon] = [
        ((left - wall, back - wall), (right + wall, back - wall), (right + wall, back), (left - wall, back)),
        ((left - wall, back), (left, back), (left, -wall), (left - wall, -wall)),
        ((right, back), (right + wall, back), (right + wall, -wall), (right, -wall)),
    ]
    if hole < -left:
        pieces.append(((left - wall, -wall), (-hole, -wall), (-hole, 0.0), (left - wall, 0.0)))
    if hole < right:
        pieces.append(((hole, -wall), (right + wall, -wall), (right + wall, 0.0), (hole, 0.0)))
    inside = "".join(_filled(sheet, piece) + hatching(sheet, piece, Hatch("print", 1, 0.8), mirrored=False) for piece in pieces)
    outline = _outline(sheet, plan, hole)
    dashes = "" if plan.known else ' stroke-dasharray="6 4"'
    drawn = inside if plan.known else ""
    return [f'<g class="body" data-part="walls"><title>walls</title>{drawn}{sheet.stroke(outline, cls="outline", width=sheet.inks.thick, more=dashes)}</g>']


def _outline(sheet: Sheet, plan: _Plan, hole: float) -> str:
    left, right, wall, back = plan.left, plan.right, plan.wall, plan.back
    if hole <= 0.0:
        sizes = ((left - wall, 0.0, right + wall, back - wall), (left, -wall, right, back))
        return "".join(sheet.path([(a, b), (c, b), (c, d), (a, d)], closed=True) for a, b, c, d in sizes)
    outer = [(-hole, 0.0), (left - wall, 0.0), (left - wall, back - wall), (right + wall, back - wall), (right + wall, 0.0), (hole, 0.0)]
    inner = [(hole, -wall), (right, -wall), (right, back), (left, back), (left, -wall), (-hole, -wall)]
    return sheet.path([*outer, *inner], closed=True)


def _filled(sheet: Sheet, piece: Polygon) -> str:
    return f'<path d="{sheet.path(piece, closed=True)}" fill="{sheet.inks.paper}"/>'


def _driver(sheet: Sheet, body: DriverBody) -> list[str]:
    """The driver's section, both halves, with its front where the cabinet's is."""
    placed = Sheet(inks=sheet.inks, width=sheet.width, height=sheet.height, axis_px=sheet.axis_px,
                   zero_px=sheet.zero_px + sheet.scale * body.front_m, scale=sheet.scale, view=sheet.view)  # fmt: skip
    parts = [] if body.assembly is None else bodies(placed, body.assembly, True, True)
    winding = [] if body.assembly is None else _winding(placed, body.assembly)
    moving = moving_drawn(placed, body.moving, mirrored=True, former=True)
    return [*parts, *winding, *moving]


def _winding(sheet: Sheet, assembly: Assembly) -> list[str]:
    winding = assembly.winding
    if winding is None:
        return []
    corners = ((winding.r_inner, winding.z_low), (winding.r_outer, winding.z_low), (winding.r_outer, winding.z_high), (winding.r_inner, winding.z_high))
    drawn = "".join(
        f'<path d="{sheet.path(corners, closed=True, mirrored=side)}" fill="{sheet.inks.ink}" fill-opacity=".45" stroke="{sheet.inks.ink}" '
        f'stroke-width="{0.6 * sheet.inks.thin:g}"/>'
        for side in (False, True)
    )
    return [f'<g class="coil"><title>winding</title>{drawn}</g>']


def _some_driver(sheet: Sheet, radius: float, plan: _Plan) -> str:
    """A driver of which only the cone's size is known."""
    deep = min(0.6 * radius, 0.5 * plan.depth)
    cone = sheet.path([(-radius, 0.0), (-0.35 * radius, -deep), (0.35 * radius, -deep), (radius, 0.0)])
    return sheet.stroke(cone, cls="seen", width=0.7 * sheet.inks.thick, more=' stroke-dasharray="6 4"')


def _opening(sheet: Sheet, cabinet: Cabinet, plan: _Plan, hole: float, driver_deep: float) -> list[str]:
    """Port or passive radiator where there is room: beside the driver in the front, else in the back."""
    if cabinet.port is not None:
        return [_port(sheet, cabinet, plan, hole, driver_deep)]
    if cabinet.radiator is not None:
        return [_radiator(sheet, math.sqrt(cabinet.radiator.area_m2 / math.pi), plan, hole)]
    return []


def _port(sheet: Sheet, cabinet: Cabinet, plan: _Plan, hole: float, driver_deep: float) -> str:
    port = cabinet.port
    assert port is not None
    wide = port.high_m if port.across_m > 0.6 * (plan.right - plan.left) else port.across_m
    tube = max(port.tube_wall_m, 0.6 / sheet.scale)
    middle, front = _beside(plan, hole, wide / 2.0 + tube)
    clear = plan.depth if front else plan.depth - (driver_deep if middle - wide / 2.0 < hole else 0.0)
    upright = port.length_m > clear + plan.wall
    corner = (middle, plan.back + wide / 2.0 + tube + 0.003)
    drawn = _upright_tube(sheet, corner, wide / 2.0, tube) if upright else _lying_tube(sheet, plan, middle, wide, tube, port.length_m, front)
    note = f"⌀{THIN}{millimetres(port.across_m)}" if port.is_round else f"{millimetres(port.across_m)} x {millimetres(port.high_m)}"
    note = f"{'' if port.count == 1 else f'{port.count} x '}{note}, {millimetres(round(port.length_m, 4))} long"
    if upright:
        place = sheet.x(corner[0] - wide / 2.0 - tube) - 0.5 * sheet.inks.text, sheet.y(corner[1]) + 0.35 * sheet.inks.text
        words = sheet.word(*place, f"{note}, upright", anchor="end")
    elif port.length_m * sheet.scale > 9 * sheet.inks.text:
        z = -port.length_m / 2.0 if front else plan.back - plan.wall + port.length_m / 2.0
        words = sheet.word(sheet.x(middle), sheet.y(z), note, turned=True)
    else:
        z = -port.length_m if front else plan.back - plan.wall + port.length_m
        words = sheet.word(sheet.x(plan.right) - 4, sheet.y(z) + (1.3 if front else -0.5) * sheet.inks.text, note, anchor="end")
    return f'<g class="body" data-part="port"><title>port</title>{drawn}{words}</g>'


def _lying_tube(sheet: Sheet, plan: _Plan, middle: float, wide: float, tube: float, long: float, front: bool) -> str:
    """A port from the front or the back inwards."""
    start = 0.0 if front else plan.back - plan.wall
    low, high = sorted((start, start - long if front else start + long))
    bore = ((middle - wide / 2, low), (middle + wide / 2, low), (middle + wide / 2, high), (middle - wide / 2, high))
    drawn = _filled(sheet, bore)
    for side in (-1.0, 1.0):
        inner = middle + side * wide / 2.0
        wall = ((inner, low), (inner + side * tube, low), (inner + side * tube, high), (inner, high))
        drawn += f'<path d="{sheet.path(wall, closed=True)}" fill="{sheet.inks.ink}"/>'
    return drawn


def _upright_tube(sheet: Sheet, centre: Point, radius: float, tube: float) -> str:
    """A port along the height, cut across: too long to lie."""
    x, y, r = sheet.x(centre[0]), sheet.y(centre[1]), sheet.scale * (radius + tube / 2.0)
    return f'<circle class="outline" cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}" fill="{sheet.inks.paper}" stroke="{sheet.inks.ink}" stroke-width="{max(sheet.scale * tube, sheet.inks.thick):.2f}"/>'


def _radiator(sheet: Sheet, radius: float, plan: _Plan, hole: float) -> str:
    middle, front = _beside(plan, hole, radius)
    z = 0.0 if front else plan.back - plan.wall
    deep = -plan.wall if front else plan.wall
    opening = ((middle - radius, z), (middle + radius, z), (middle + radius, z + deep), (middle - radius, z + deep))
    plate = ((middle - 0.75 * radius, z + 0.3 * deep), (middle + 0.75 * radius, z + 0.3 * deep), (middle + 0.75 * radius, z + 0.7 * deep),
             (middle - 0.75 * radius, z + 0.7 * deep))  # fmt: skip
    drawn = _filled(sheet, opening) + f'<path d="{sheet.path(plate, closed=True)}" fill="{sheet.inks.ink}"/>'
    bulge = 0.12 * radius * (1.0 if front else -1.0)
    for side in (-1.0, 1.0):
        a, b = sheet.x(middle + side * 0.75 * radius), sheet.x(middle + side * radius)
        y, top = sheet.y(z + 0.5 * deep), sheet.y(z + 0.5 * deep + 2.0 * bulge)
        drawn += sheet.stroke(f"M{a:.1f} {y:.1f}Q{(a + b) / 2:.1f} {top:.1f} {b:.1f} {y:.1f}", cls="seen", width=sheet.inks.thick)
    return f'<g class="moving" data-part="radiator"><title>passive radiator</title>{drawn}</g>'


def _beside(plan: _Plan, hole: float, half: float) -> tuple[float, bool]:
    """Where an opening so wide (half of it, m) has its middle, and whether in the front; else behind the driver in the back."""
    clear = 0.003
    for room, sign in ((plan.right - hole, 1.0), (-plan.left - hole, -1.0)):
        if room >= 2.0 * (half + clear):
            edge = plan.right if sign > 0 else plan.left
            return edge - sign * (half + clear), True
    side = plan.right - half - clear
    return max(side, plan.left + half), False


def _stuffing(sheet: Sheet, cabinet: Cabinet, plan: _Plan) -> list[str]:
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


def _sizes(sheet: Sheet, plan: _Plan) -> list[str]:
    """Inside width below, inside depth at the left, in the manner of ISO 129-1."""
    if not plan.known:
        y = sheet.y(plan.back - plan.wall) + 1.6 * sheet.inks.text
        return [sheet.word(sheet.x((plan.left + plan.right) / 2), y, "only its volume is known: drawn as a cube", quiet=True)]
    below = sheet.y(plan.back - plan.wall) + 1.5 * sheet.inks.text
    aside = sheet.x(plan.left - plan.wall) - 1.1 * sheet.inks.text
    x1, x2 = sheet.x(plan.left), sheet.x(plan.right)
    y1, y2 = sheet.y(-plan.wall), sheet.y(plan.back)
    across = f"M{x1:.1f} {y2:.1f}V{below + 4:.1f}M{x2:.1f} {y2:.1f}V{below + 4:.1f}M{x1:.1f} {below:.1f}H{x2:.1f}"
    deep = f"M{x1:.1f} {y1:.1f}H{aside - 4:.1f}M{x1:.1f} {y2:.1f}H{aside - 4:.1f}M{aside:.1f} {y1:.1f}V{y2:.1f}"
    heads = (sheet.arrow(x1, below, (-1, 0)), sheet.arrow(x2, below, (1, 0)), sheet.arrow(aside, y1, (0, -1)), sheet.arrow(aside, y2, (0, 1)))
    return [
        sheet.stroke(across + deep, cls="dimension"),
        "".join(f'<path d="{head}" fill="{sheet.inks.ink}"/>' for head in heads),
        _labelled(sheet, (x1 + x2) / 2, below + 0.35 * sheet.inks.text, plan.right - plan.left, "inside.width_mm", turned=False),
        _labelled(sheet, aside + 0.35 * sheet.inks.text, (y1 + y2) / 2, plan.depth, "inside.depth_mm", turned=True),
    ]


def _labelled(sheet: Sheet, x: float, y: float, size: float, key: str, *, turned: bool) -> str:
    return f'<g data-key="{key}">{sheet.word(x, y, millimetres(size), turned=turned)}</g>'


def _axis(sheet: Sheet, plan: _Plan) -> str:
    over = 0.6 * sheet.inks.text
    d = f"M{sheet.axis_px:.1f} {sheet.y(sheet.view[3]) - over:.1f}V{sheet.y(0.6 * plan.back):.1f}"
    return sheet.stroke(d, cls="axis", more=' stroke-dasharray="14 3 2 3"')


def drawn_inside(cabinet: Cabinet) -> Sequence[str]:
    """Sizes that the drawing does not show, in words."""
    inside = cabinet.inside
    if inside is None:
        return ()
    if isinstance(inside, Cylinder):
        return (f"⌀{THIN}{millimetres(inside.diameter_m)}{THIN}mm, {millimetres(inside.depth_m)}{THIN}mm deep",)
    return (f"{millimetres(inside.height_m)}{THIN}mm high inside",)
