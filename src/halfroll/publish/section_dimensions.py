"""Dimensions of a motor's drawing in the manner of ISO 129-1: narrow lines, closed arrows, numbers in mm over the line."""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.motor.coil.wound import Coil
from halfroll.motor.placing.coil_room import clear_gap
from halfroll.motor.types import Assembly, Magnet, SoftSteel
from halfroll.publish.section_sheet import Sheet, millimetres

ROW = 1.9
"""Distance of dimension lines in text heights."""


_SAME_M = 5e-6
"""Ends nearer than this are one, to a hundredth of a millimetre in the drawing."""

COLUMNS = 5
"""At most so many columns of heights stand beside the drawing."""


@dataclass(frozen=True, kw_only=True)
class Upright:
    """A height beside the drawing: its ends (m), where its extension lines begin (m from the axis), its key, and in which column from
    the drawing outwards it stands.
    """

    key: str
    low: float
    high: float
    from_r: float
    column: int = 0


def heights(assembly: Assembly) -> list[Upright]:
    """The heights that are given, from the drawing outwards: gap, coil, then magnets and steel, the short ones first; what does
    not lie beside each other shares a column, as a chain.
    """
    gap, winding = assembly.gap, assembly.winding
    plate = next((b.bounds[1] for b in assembly.bodies if b.name == gap.outer), gap.r_outer)
    found = [Upright(key="gap-height", low=gap.z_low, high=gap.z_high, from_r=plate)]
    if winding is not None:
        found.append(
            Upright(
                key="coil-height", low=winding.z_low, high=winding.z_high, from_r=winding.r_outer, column=1
            )
        )
    first = len(found)
    solid = [body for body in assembly.bodies if isinstance(body.matter, Magnet | SoftSteel)]
    for body in sorted(solid, key=lambda body: (body.bounds[3] - body.bounds[2], body.bounds[2])):
        _, r, low, high = body.bounds
        if any(abs(low - one.low) < _SAME_M and abs(high - one.high) < _SAME_M for one in found):
            continue
        free = next(
            c
            for c in range(first, first + len(solid))
            if not any(_beside(one, low, high) for one in found if one.column == c)
        )
        if free < COLUMNS:
            found.append(Upright(key=f"height-{body.name}", low=low, high=high, from_r=r, column=free))
    return found


def _beside(one: Upright, low: float, high: float) -> bool:
    return low < one.high - _SAME_M and high > one.low + _SAME_M


def columns(assembly: Assembly) -> int:
    """How many columns the heights take."""
    return 1 + max(one.column for one in heights(assembly))


def diameters(assembly: Assembly) -> list[tuple[str, float, float]]:
    """(key, radius, height at which it is found) of the diameters given below: magnets, then the largest of all."""
    found: dict[float, tuple[str, float, float]] = {}
    for body in assembly.bodies:
        _, r, low, _ = body.bounds
        if isinstance(body.matter, Magnet):
            found.setdefault(r, (f"outer-{body.name}", r, low))
    widest = max(assembly.bodies, key=lambda b: b.bounds[1])
    found.setdefault(widest.bounds[1], (f"outer-{widest.name}", widest.bounds[1], widest.bounds[2]))
    return sorted(found.values(), key=lambda one: one[1])[-3:]


def all_dimensions(sheet: Sheet, assembly: Assembly) -> str:
    """SVG of all dimensions."""
    row = ROW * sheet.inks.text
    right = sheet.x(sheet.view[1])
    drawn = [_upright(sheet, one, right + row * (one.column + 0.7)) for one in heights(assembly)]
    bottom = sheet.y(sheet.view[2])
    drawn += [
        _diameter(sheet, r, z, bottom + row * (n + 0.8)) for n, (_, r, z) in enumerate(diameters(assembly))
    ]
    return "".join([*drawn, *_gap(sheet, assembly)])


def gap_dimensions(sheet: Sheet, assembly: Assembly, coil: Coil | None) -> str:
    """SVG of the dimensions in the enlarged gap: its width and height, the coil's height and offset, clearances on both sides."""
    gap, winding = assembly.gap, assembly.winding
    row = ROW * sheet.inks.text
    top = sheet.y(sheet.view[3])
    drawn = [_across(sheet, "gap-width", gap.r_inner, gap.r_outer, top - 0.5 * row)]
    edge = sheet.x(sheet.view[1])
    uprights = [Upright(key="gap-height", low=gap.z_low, high=gap.z_high, from_r=gap.r_outer)]
    if winding is not None:
        inner = winding.r_inner if coil is None else coil.former_inner_m
        outer = winding.r_outer if coil is None else coil.outermost_m
        clear = clear_gap(assembly)
        drawn.append(_across(sheet, "clearance-inside", clear.r_inner, inner, top - 1.5 * row, before=True))
        drawn.append(_across(sheet, "clearance-outside", outer, clear.r_outer, top - 1.5 * row))
        uprights.append(
            Upright(key="coil-height", low=winding.z_low, high=winding.z_high, from_r=winding.r_outer)
        )
        if abs(winding.centre_m) > 5e-6:
            low, high = sorted((0.0, winding.centre_m))
            uprights.append(Upright(key="coil-offset", low=low, high=high, from_r=winding.r_outer))
    drawn += [_upright(sheet, one, edge + row * (n + 0.7)) for n, one in enumerate(uprights)]
    return "".join(drawn)


def _across(sheet: Sheet, key: str, r_low: float, r_high: float, y: float, *, before: bool = False) -> str:
    """A small width above the drawing, its arrows from outside, the number behind it or before it."""
    left, right, text = sheet.x(r_low), sheet.x(r_high), sheet.inks.text
    foot, over = sheet.y(sheet.view[3]) + 0.5 * text, 0.3 * text
    lines = f"M{left:.1f} {foot:.1f}V{y - over:.1f}M{right:.1f} {foot:.1f}V{y - over:.1f}M{left - 1.6 * text:.1f} {y:.1f}H{right + 1.6 * text:.1f}"
    arrows = sheet.arrow(left, y, (1.0, 0.0)) + sheet.arrow(right, y, (-1.0, 0.0))
    place = (left - 0.9 * text, "end") if before else (right + 0.9 * text, "start")
    word = sheet.word(place[0], y - 3.0, millimetres(r_high - r_low), anchor=place[1])
    return f'<g data-dimension="{key}">{_inked(sheet, lines, arrows)}{word}</g>'


def _upright(sheet: Sheet, one: Upright, x: float) -> str:
    low, high = sheet.y(one.low), sheet.y(one.high)
    start = sheet.x(one.from_r) + 2.0
    over = 0.3 * sheet.inks.text
    outside = low - high < 2.2 * sheet.inks.text
    lines = f"M{start:.1f} {low:.1f}H{x + over:.1f}M{start:.1f} {high:.1f}H{x + over:.1f}"
    reach = 1.3 * sheet.inks.text if outside else 0.0
    lines += f"M{x:.1f} {low + reach:.1f}V{high - reach:.1f}"
    way = -1.0 if outside else 1.0
    arrows = sheet.arrow(x, low, (0.0, way)) + sheet.arrow(x, high, (0.0, -way))
    middle = 0.5 * (low + high)
    number = millimetres(one.high - one.low)
    if outside:  # no room between the arrows: the number stands on the drawn-out line above them
        word = sheet.word(x - 3.0, high - reach, number, anchor="start", turned=True)
    else:
        word = sheet.word(x - 3.0, middle, number, turned=True)
    return f'<g data-dimension="{one.key}">{_inked(sheet, lines, arrows)}{word}</g>'


def _diameter(sheet: Sheet, r: float, z: float, y: float) -> str:
    """A diameter of which only one half is drawn: one arrow, and a line that goes on past the axis."""
    x, over = sheet.x(r), 0.3 * sheet.inks.text
    past = max(sheet.axis_px - 1.2 * sheet.inks.text, 2.0)
    lines = f"M{x:.1f} {sheet.y(z) + 2.0:.1f}V{y + over:.1f}M{past:.1f} {y:.1f}H{x:.1f}"
    word = sheet.word(0.5 * (sheet.axis_px + x), y - 3.0, f"⌀{millimetres(2.0 * r)}")
    return f'<g data-dimension="diameter">{_inked(sheet, lines, sheet.arrow(x, y, (1.0, 0.0)))}{word}</g>'


def _gap(sheet: Sheet, assembly: Assembly) -> list[str]:
    """Above the drawing: the gap's width, and the diameter of its inner wall."""
    gap, text = assembly.gap, sheet.inks.text
    row = ROW * text
    inner, outer = sheet.x(gap.r_inner), sheet.x(gap.r_outer)
    top, foot = sheet.y(sheet.view[3]), sheet.y(gap.z_high) - 2.0
    y, over = top - 0.5 * row, 0.3 * text
    number = millimetres(gap.r_outer - gap.r_inner)
    lines = f"M{inner:.1f} {foot:.1f}V{y - row - over:.1f}M{outer:.1f} {foot:.1f}V{y - over:.1f}"
    lines += f"M{inner - 1.6 * text:.1f} {y:.1f}H{outer + 1.9 * text:.1f}"
    arrows = sheet.arrow(inner, y, (1.0, 0.0)) + sheet.arrow(outer, y, (-1.0, 0.0))
    width = f'<g data-dimension="gap-width">{_inked(sheet, lines, arrows)}{sheet.word(outer + 1.0 * text, y - 3.0, number, anchor="start")}</g>'
    level = y - row
    past = max(sheet.axis_px - 1.2 * text, 2.0)
    lines = f"M{past:.1f} {level:.1f}H{inner:.1f}"
    word = sheet.word(0.5 * (sheet.axis_px + inner), level - 3.0, f"⌀{millimetres(2.0 * gap.r_inner)}")
    pole = f'<g data-dimension="pole">{_inked(sheet, lines, sheet.arrow(inner, level, (1.0, 0.0)))}{word}</g>'
    return [width, pole] if gap.r_inner > 0 else [width]


def _inked(sheet: Sheet, lines: str, arrows: str) -> str:
    return (
        sheet.stroke(lines, cls="narrow", width=0.75 * sheet.inks.thin)
        + f'<path class="arrow" d="{arrows}" fill="{sheet.inks.ink}"/>'
    )
