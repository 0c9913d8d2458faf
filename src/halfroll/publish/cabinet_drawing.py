"""A cabinet seen from above, cut through the driver's axis, to scale: walls, driver, port or passive radiator. The listener is at the top.

Sections and hatching by ISO 128-3, in the same lines as the driver's half-section. A cabinet of which only the volume is known is drawn as a
cube in dashes.
"""

from __future__ import annotations

from collections.abc import Sequence

from halfroll.acoustics.cabinet.types import Cabinet, Cylinder
from halfroll.core.text import THIN
from halfroll.driver.displaced import DriverBody
from halfroll.motor.types import Assembly
from halfroll.publish.cabinet_openings import Plan, Polygon, filled, opening, stuffing
from halfroll.publish.section_bodies import bodies
from halfroll.publish.section_hatch import Hatch, hatching
from halfroll.publish.section_moving import moving_drawn
from halfroll.publish.section_sheet import Sheet, inks_of, millimetres
from halfroll.publish.theme import Theme

TALLEST = 1.15
"""The drawing of a deep cabinet is at most so many times as tall as wide."""
_USUAL_WALL_M = 3e-3


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
    lines = [
        *_walls(sheet, plan, hole),
        *stuffing(sheet, cabinet, plan),
        *opening(sheet, cabinet, plan, hole, 0.0 if body is None else body.size.depth_m),
    ]
    if body is not None:
        lines += _driver(sheet, body)
    elif cone_radius_m:
        lines.append(_some_driver(sheet, cone_radius_m, plan))
    lines += _sizes(sheet, plan)
    lines.append(_axis(sheet, plan))
    return sheet.svg(lines, sheet.height, cabinet_words(cabinet, body, name))


def cabinet_words(cabinet: Cabinet, body: DriverBody | None = None, name: str = "") -> str:
    """The drawing in a sentence."""
    what = {
        "closed": "closed cabinet",
        "vented": "vented cabinet",
        "passive-radiator": "cabinet with a passive radiator",
    }[cabinet.kind]
    said = f"{name}: section from above of a {what}" if name else f"Section from above of a {what}"
    said += f", {1e3 * cabinet.net_m3:.3g} l net"
    if cabinet.port is not None:
        port = cabinet.port
        across = (
            f"⌀ {millimetres(port.across_m)}"
            if port.is_round
            else f"{millimetres(port.across_m)} x {millimetres(port.high_m)}"
        )
        said += f", {'a port' if port.count == 1 else f'{port.count} ports'} of {across} mm, {millimetres(port.length_m)} mm long"
    return f"{said}{', with its driver' if body is not None else ''}."


def _plan(cabinet: Cabinet, wall: float) -> Plan:
    inside = cabinet.inside
    if inside is None:
        edge = cabinet.gross_m3 ** (1.0 / 3.0)
        return Plan(left=-edge / 2, right=edge / 2, depth=edge, wall=wall, known=False)
    width = inside.face_m[0]
    x = width / 2.0
    front = cabinet.front
    if front is not None:
        rim = (front.width_m - width) / 2.0
        x = min(max(front.x_m - rim, 0.0), width)
    return Plan(left=-x, right=width - x, depth=inside.depth_m, wall=wall, known=True)


def _sheet(plan: Plan, body: DriverBody | None, look: Theme | None, width: float) -> Sheet:
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


def _walls(sheet: Sheet, plan: Plan, hole: float) -> list[str]:
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
    inside = "".join(
        filled(sheet, piece) + hatching(sheet, piece, Hatch("print", 1, 0.8), mirrored=False)
        for piece in pieces
    )
    outline = _outline(sheet, plan, hole)
    dashes = "" if plan.known else ' stroke-dasharray="6 4"'
    drawn = inside if plan.known else ""
    return [
        f'<g class="body" data-part="walls"><title>walls</title>{drawn}{sheet.stroke(outline, cls="outline", width=sheet.inks.thick, more=dashes)}</g>'
    ]


def _outline(sheet: Sheet, plan: Plan, hole: float) -> str:
    left, right, wall, back = plan.left, plan.right, plan.wall, plan.back
    if hole <= 0.0:
        sizes = ((left - wall, 0.0, right + wall, back - wall), (left, -wall, right, back))
        return "".join(sheet.path([(a, b), (c, b), (c, d), (a, d)], closed=True) for a, b, c, d in sizes)
    outer = [
        (-hole, 0.0),
        (left - wall, 0.0),
        (left - wall, back - wall),
        (right + wall, back - wall),
        (right + wall, 0.0),
        (hole, 0.0),
    ]
    inner = [(hole, -wall), (right, -wall), (right, back), (left, back), (left, -wall), (-hole, -wall)]
    return sheet.path([*outer, *inner], closed=True)


def _driver(sheet: Sheet, body: DriverBody) -> list[str]:
    """The driver's section, both halves, with its front where the cabinet's is."""
    placed = Sheet(inks=sheet.inks, width=sheet.width, height=sheet.height, axis_px=sheet.axis_px,
                   zero_px=sheet.zero_px + sheet.scale * body.front_m, scale=sheet.scale, view=sheet.view)  # fmt: skip
    # on paper, so that no stuffing is seen through it
    under = [] if body.assembly is None else [
        f'<path d="{placed.path(one.outline, closed=True, mirrored=side)}" fill="{sheet.inks.paper}"/>'
        for one in body.assembly.bodies for side in (False, True)
    ]  # fmt: skip
    parts = under if body.assembly is None else [*under, *bodies(placed, body.assembly, True, True)]
    winding = [] if body.assembly is None else _winding(placed, body.assembly)
    moving = moving_drawn(placed, body.moving, mirrored=True, former=True)
    return [*parts, *winding, *moving]


def _winding(sheet: Sheet, assembly: Assembly) -> list[str]:
    winding = assembly.winding
    if winding is None:
        return []
    corners = (
        (winding.r_inner, winding.z_low),
        (winding.r_outer, winding.z_low),
        (winding.r_outer, winding.z_high),
        (winding.r_inner, winding.z_high),
    )
    drawn = "".join(
        f'<path d="{sheet.path(corners, closed=True, mirrored=side)}" fill="{sheet.inks.ink}" fill-opacity=".45" stroke="{sheet.inks.ink}" '
        f'stroke-width="{0.6 * sheet.inks.thin:g}"/>'
        for side in (False, True)
    )
    return [f'<g class="coil"><title>winding</title>{drawn}</g>']


def _some_driver(sheet: Sheet, radius: float, plan: Plan) -> str:
    """A driver of which only the cone's size is known."""
    deep = min(0.6 * radius, 0.5 * plan.depth)
    cone = sheet.path([(-radius, 0.0), (-0.35 * radius, -deep), (0.35 * radius, -deep), (radius, 0.0)])
    return sheet.stroke(cone, cls="seen", width=0.7 * sheet.inks.thick, more=' stroke-dasharray="6 4"')


def _sizes(sheet: Sheet, plan: Plan) -> list[str]:
    """Inside width below, inside depth at the left, in the manner of ISO 129-1."""
    if not plan.known:
        y = sheet.y(plan.back - plan.wall) + 1.6 * sheet.inks.text
        return [
            sheet.word(
                sheet.x((plan.left + plan.right) / 2),
                y,
                "only its volume is known: drawn as a cube",
                quiet=True,
            )
        ]
    below = sheet.y(plan.back - plan.wall) + 1.5 * sheet.inks.text
    aside = sheet.x(plan.left - plan.wall) - 1.1 * sheet.inks.text
    x1, x2 = sheet.x(plan.left), sheet.x(plan.right)
    y1, y2 = sheet.y(-plan.wall), sheet.y(plan.back)
    across = (
        f"M{x1:.1f} {y2:.1f}V{below + 4:.1f}M{x2:.1f} {y2:.1f}V{below + 4:.1f}M{x1:.1f} {below:.1f}H{x2:.1f}"
    )
    deep = (
        f"M{x1:.1f} {y1:.1f}H{aside - 4:.1f}M{x1:.1f} {y2:.1f}H{aside - 4:.1f}M{aside:.1f} {y1:.1f}V{y2:.1f}"
    )
    heads = (
        sheet.arrow(x1, below, (-1, 0)),
        sheet.arrow(x2, below, (1, 0)),
        sheet.arrow(aside, y1, (0, -1)),
        sheet.arrow(aside, y2, (0, 1)),
    )
    return [
        sheet.stroke(across + deep, cls="dimension"),
        "".join(f'<path d="{head}" fill="{sheet.inks.ink}"/>' for head in heads),
        _labelled(
            sheet,
            (x1 + x2) / 2,
            below + 0.35 * sheet.inks.text,
            plan.right - plan.left,
            "inside.width_mm",
            turned=False,
        ),
        _labelled(
            sheet, aside + 0.35 * sheet.inks.text, (y1 + y2) / 2, plan.depth, "inside.depth_mm", turned=True
        ),
    ]


def _labelled(sheet: Sheet, x: float, y: float, size: float, key: str, *, turned: bool) -> str:
    return f'<g data-key="{key}">{sheet.word(x, y, millimetres(size), turned=turned)}</g>'


def _axis(sheet: Sheet, plan: Plan) -> str:
    over = 0.6 * sheet.inks.text
    d = f"M{sheet.axis_px:.1f} {sheet.y(sheet.view[3]) - over:.1f}V{sheet.y(0.6 * plan.back):.1f}"
    return sheet.stroke(d, cls="axis", more=' stroke-dasharray="14 3 2 3"')


def drawn_inside(cabinet: Cabinet) -> Sequence[str]:
    """Sizes that the drawing does not show, in words."""
    inside = cabinet.inside
    if inside is None:
        return ()
    if isinstance(inside, Cylinder):
        return (
            f"⌀{THIN}{millimetres(inside.diameter_m)}{THIN}mm, {millimetres(inside.depth_m)}{THIN}mm deep",
        )
    return (f"{millimetres(inside.height_m)}{THIN}mm high inside",)
