"""What is drawn of a motor: cut bodies with their hatching, the coil turn by turn, arrows of magnetisation, the axis."""

from __future__ import annotations

from html import escape

from halfroll.motor.coil.wound import Coil
from halfroll.motor.placing.polygons import Polygon
from halfroll.motor.types import Assembly, Body, Magnet
from halfroll.publish.section_hatch import WORDS, Hatch, hatches, hatching
from halfroll.publish.section_sheet import Sheet

AXIS_M = 1e-9
"""What is nearer to the axis lies on it."""


def bodies(sheet: Sheet, assembly: Assembly, hatched: bool, mirrored: bool) -> list[str]:
    """Every body with its hatching and its outline, as one group named after it."""
    drawn = []
    for body, hatch in zip(assembly.bodies, hatches(assembly.bodies), strict=True):
        sides = (False, True) if mirrored else (False,)
        inside = (
            "".join(hatching(sheet, body.outline, hatch, mirrored=side) for side in sides) if hatched else ""
        )
        for side in sides:
            points, closed = off_the_axis(body.outline)
            outline = sheet.path(points, closed=closed, mirrored=side)
            inside += sheet.stroke(
                outline,
                cls="outline",
                width=sheet.inks.thick,
                more=' stroke-linejoin="round" pointer-events="all"',
            )
        words = f"{body.name}, {WORDS[hatch.kind].removesuffix(' or other')}"
        drawn.append(
            f'<g class="body" data-body="{escape(body.name)}" data-kind="{hatch.kind}"><title>{escape(words)}</title>{inside}</g>'
        )
    return drawn


def off_the_axis(outline: Polygon) -> tuple[Polygon, bool]:
    """An outline without its edge on the axis, where a solid part has none, and whether it is still closed."""
    for k in range(len(outline)):
        (r, _), (next_r, _) = outline[k], outline[(k + 1) % len(outline)]
        if max(abs(r), abs(next_r)) < AXIS_M:
            return (*outline[k + 1 :], *outline[: k + 1]), False
    return outline, True


def coil_drawn(sheet: Sheet, assembly: Assembly, coil: Coil | None, mirrored: bool) -> list[str]:
    """The winding on paper, so that it stands out: turns as circles where they are known, else hatched across."""
    winding = assembly.winding
    if winding is None:
        return []
    drawn = ""
    for side in (False, True) if mirrored else (False,):
        corners = ((winding.r_inner, winding.z_low), (winding.r_outer, winding.z_low),
                   (winding.r_outer, winding.z_high), (winding.r_inner, winding.z_high))  # fmt: skip
        outline = sheet.path(corners, closed=True, mirrored=side)
        drawn += f'<path d="{outline}" fill="{sheet.inks.paper}"/>'
        if coil is not None:
            drawn += _former(sheet, coil, winding.z_low, side)
        turns = "" if coil is None else _turns(sheet, coil, winding.z_low, side)
        drawn += turns or hatching(sheet, corners, Hatch("winding", 1, 1.0), mirrored=side)
        drawn += sheet.stroke(outline, cls="outline", width=0.7 * sheet.inks.thick)
    return [f'<g class="coil"><title>winding of {winding.turns:g} turns</title>{drawn}</g>']


def _former(sheet: Sheet, coil: Coil, low: float, mirrored: bool) -> str:
    inner, outer, top = coil.former_inner_m, coil.former_outer_m, low + coil.former_height_m
    d = sheet.path(((inner, low), (outer, low), (outer, top), (inner, top)), closed=True, mirrored=mirrored)
    return f'<path class="former" d="{d}" fill="{sheet.inks.paper}" stroke="{sheet.inks.ink}" stroke-width="{0.5 * sheet.inks.thick:g}"/>'


def _turns(sheet: Sheet, coil: Coil, low: float, mirrored: bool) -> str:
    """Every turn as the circle it is cut in; empty when they would be specks."""
    pitch = coil.design.wire.overall_m
    radius = 0.5 * coil.design.wire.bare_m * sheet.scale
    if radius < 1.0 or coil.turns > 600:
        return ""
    d = ""
    for layer, (turns, r) in enumerate(zip(coil.layer_turns, coil.layer_radii_m, strict=True)):
        shift = 0.5 * pitch if coil.design.packing == "nested" and layer % 2 else 0.0
        for k in range(turns):
            x, y = sheet.x(-r if mirrored else r), sheet.y(low + shift + (k + 0.5) * pitch)
            d += f"M{x - radius:.1f} {y:.1f}a{radius:.1f} {radius:.1f} 0 1 0 {2 * radius:.1f} 0a{radius:.1f} {radius:.1f} 0 1 0 {-2 * radius:.1f} 0"
    ink = sheet.inks
    return f'<path class="turns" d="{d}" fill="{ink.ink}" fill-opacity=".35" stroke="{ink.ink}" stroke-width="{0.6 * ink.thin:g}"/>'


def magnetisation(sheet: Sheet, body: Body) -> str:
    """An arrow from the south to the north pole of a magnet."""
    assert isinstance(body.matter, Magnet)
    r_low, r_high, z_low, z_high = body.bounds
    dr, dz = body.matter.direction
    size = (dr * dr + dz * dz) ** 0.5
    dr, dz = dr / size, dz / size
    room = (r_high - r_low if abs(dr) > abs(dz) else z_high - z_low) * sheet.scale
    long = min(0.62 * room, 5.0 * sheet.inks.text)
    x, y = sheet.x(0.5 * (r_low + r_high)), sheet.y(0.5 * (z_low + z_high))
    dx, dy = 0.5 * long * dr, -0.5 * long * dz
    head = min(1.1 * sheet.inks.text, 0.5 * long)
    shaft = f"M{x - dx:.1f} {y - dy:.1f}L{x + dx * (1 - 1.6 * head / long):.1f} {y + dy * (1 - 1.6 * head / long):.1f}"
    tip = sheet.arrow(x + dx, y + dy, (dr, -dz), length=head)
    ink = sheet.inks
    halo = f'<path d="{shaft}{tip}" fill="{ink.paper}" stroke="{ink.paper}" stroke-width="{3.4 * ink.thick:g}" stroke-linejoin="round"/>'
    return (
        f'<g class="magnetisation" data-body="{escape(body.name)}">{halo}{sheet.stroke(shaft, cls="shaft", width=1.2 * ink.thick)}'
        f'<path d="{tip}" fill="{ink.ink}" stroke="{ink.ink}" stroke-width="{0.6 * ink.thick:g}"/></g>'
    )


def axis(sheet: Sheet) -> str:
    """The axis, long-dashed dotted (ISO 128-2, line 04.1), a little beyond the drawing."""
    over = 0.6 * sheet.inks.text
    d = f"M{sheet.axis_px:.1f} {sheet.y(sheet.view[3]) - over:.1f}V{sheet.y(sheet.view[2]) + over:.1f}"
    return sheet.stroke(d, cls="axis", more=' stroke-dasharray="14 3 2 3"')
