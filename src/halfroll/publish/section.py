"""The half-section of a motor to scale, with its field under it where that is known.

Sections and hatching by ISO 128-3, lines by ISO 128-2 (outlines thick, hatching and dimensions narrow, the axis long-dashed
dotted), dimensions in the manner of ISO 129-1. A drawing is one SVG text without names, scripts or outside files.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Literal

from halfroll.core.text import THIN, count
from halfroll.motor.coil import Coil
from halfroll.motor.results import MotorResult
from halfroll.motor.types import Assembly, Body, Magnet
from halfroll.publish.frame import text_width, wrapped
from halfroll.publish.section_dimensions import ROW, all_dimensions, diameters, heights
from halfroll.publish.section_field import FULL_T, Seen, flux_lines, full_lines, picture, scale_bar
from halfroll.publish.section_field import seen as field_seen
from halfroll.publish.section_hatch import WORDS, Hatch, hatches, hatching, kind_of
from halfroll.publish.section_sheet import Inks, Sheet, inks_of, joined_words, millimetres
from halfroll.publish.theme import Theme

Shown = Literal["hatching", "field", "flux lines"]

AIR = 0.12
"""Air around the motor with its field, as a share of its size."""

TALLEST = 0.95
"""The drawing of a slim motor is at most so many times as tall as wide."""


def section_svg(
    assembly: Assembly,
    *,
    coil: Coil | None = None,
    result: MotorResult | None = None,
    show: Sequence[Shown] = ("hatching", "field", "flux lines"),
    theme: Theme | None,
    width_px: float,
    dimensions: bool = True,
    mirrored: bool = False,
    name: str = "",
    solved: Assembly | None = None,
) -> str:
    """SVG of a motor's half-section.

    Parameters
    ----------
    assembly
        The bodies, the gap, the winding.
    coil
        The coil as wound: its former and every turn are drawn; without it the winding is a hatched rectangle.
    result
        The field; without it, and without ``field`` and ``flux lines`` in `show`, only the drawing.
    show
        What is drawn besides outlines.
    theme
        The look; None for the colours of the page it stands in (then without the colours of a field).
    width_px
        Width of the whole picture. The SVG says its scale: ``data-px-per-mm``, ``data-axis`` and ``data-zero`` (px).
    dimensions
        Dimensions in mm, and the key of the hatching.
    mirrored
        Both halves, as a thumbnail.
    name
        Whom it shows, for those who listen.
    solved
        The motor that `result` is of, when it is not `assembly`: its field is drawn pale, and the drawing says so.
    """
    seen_parts = set(show) if result is not None else set(show) - {"field", "flux lines"}
    with_field = bool(seen_parts & {"field", "flux lines"})
    sheet = _laid_out(assembly, coil, inks_of(theme), width_px, dimensions, mirrored, with_field)
    lines: list[str] = []
    notes = ["Dimensions in mm"] if dimensions else []
    earlier = solved is not None and solved != assembly
    seen = field_seen(result.field, solved or assembly) if result is not None and with_field else None
    coloured = seen is not None and theme is not None and "field" in seen_parts
    if seen is not None and coloured and theme is not None:
        lines.append(_pale(picture(sheet, seen, theme.palette.paper), earlier))
    lines += _bodies(sheet, assembly, "hatching" in seen_parts, mirrored)
    if seen is not None and "flux lines" in seen_parts:
        lines.append(_pale(flux_lines(sheet, seen), earlier))
        notes.append(f"{1e6 * seen.step_wb:g}{THIN}µWb between flux lines")
    lines += _coil(sheet, assembly, coil, mirrored)
    if seen is not None and coloured and not earlier:
        lines.append(full_lines(sheet, seen))
    if seen is not None and earlier:
        notes.append("pale: field of the earlier dimensions")
    lines += [_magnetisation(sheet, body) for body in assembly.bodies if isinstance(body.matter, Magnet)]
    lines.append(_axis(sheet))
    height = sheet.height
    if dimensions:
        lines.append(all_dimensions(sheet, assembly))
    if dimensions or with_field:
        under, height = _under(sheet, assembly, notes, seen if coloured else None, theme)
        lines += under
    return _svg(sheet, lines, height, section_words(assembly, result if with_field else None, name))


def section_words(assembly: Assembly, result: MotorResult | None = None, name: str = "") -> str:
    """The drawing in a sentence or two."""
    gap, winding = assembly.gap, assembly.winding
    said = f"{name}: half-section" if name else "Half-section"
    said += f" of a motor of {count(len(assembly.bodies), 'part')}: "
    said += ", ".join(f"{b.name} ({WORDS[kind_of(b)].removesuffix(' or other')})" for b in assembly.bodies)
    said += f". Gap {millimetres(gap.r_outer - gap.r_inner)} mm wide and {millimetres(gap.z_high - gap.z_low)} mm high"
    if winding is not None:
        said += f", winding {millimetres(winding.height_m)} mm high"
    said += "."
    if result is not None:
        said += f" Mean flux density in the gap {result.gap_mean_t:.3g} T."
    return said


def _pale(drawn: str, earlier: bool) -> str:
    return f'<g class="earlier" opacity=".4">{drawn}</g>' if earlier else drawn


def _laid_out(
    assembly: Assembly, coil: Coil | None, inks: Inks, width: float, with_dimensions: bool, mirrored: bool, field: bool
) -> Sheet:  # fmt: skip
    """The sheet that holds everything."""
    r_high, z_low, z_high = _extent(assembly, coil)
    air = AIR * max(r_high, z_high - z_low) if field else 0.02 * r_high
    view = (0.0, r_high + air, z_low - air, z_high + air)
    row = ROW * inks.text
    left = 1.4 * inks.text if with_dimensions or field else 3.0
    right = row * (len(heights(assembly)) + 0.6) if with_dimensions else left
    top = row * 2.4 if with_dimensions else 0.8 * inks.text
    bottom = row * (len(diameters(assembly)) + 0.8) if with_dimensions else 0.8 * inks.text
    across, tall = view[1] * (2.0 if mirrored else 1.0), view[3] - view[2]
    scale = min((width - left - right) / across, TALLEST * width / tall)
    spare = width - left - right - scale * across
    axis = left + 0.5 * spare + (scale * view[1] if mirrored else 0.0)
    return Sheet(inks=inks, width=width, height=round(top + scale * tall + bottom, 1), axis_px=axis,
                 zero_px=top + scale * view[3], scale=scale, view=view)  # fmt: skip


def _extent(assembly: Assembly, coil: Coil | None) -> tuple[float, float, float]:
    """Largest radius, lowest and highest point (m)."""
    bounds = [body.bounds for body in assembly.bodies]
    r, low, high = max(b[1] for b in bounds), min(b[2] for b in bounds), max(b[3] for b in bounds)
    if assembly.winding is not None:
        low, high = min(low, assembly.winding.z_low), max(high, assembly.winding.z_high)
        if coil is not None:
            high = max(high, assembly.winding.z_low + coil.former_height_m)
    return r, low, high


def _bodies(sheet: Sheet, assembly: Assembly, hatched: bool, mirrored: bool) -> list[str]:
    drawn = []
    for body, hatch in zip(assembly.bodies, hatches(assembly.bodies), strict=True):
        sides = (False, True) if mirrored else (False,)
        inside = (
            "".join(hatching(sheet, body.outline, hatch, mirrored=side) for side in sides) if hatched else ""
        )
        for side in sides:
            outline = sheet.path(body.outline, closed=True, mirrored=side)
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


def _coil(sheet: Sheet, assembly: Assembly, coil: Coil | None, mirrored: bool) -> list[str]:
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


def _magnetisation(sheet: Sheet, body: Body) -> str:
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


def _axis(sheet: Sheet) -> str:
    """The axis, long-dashed dotted (ISO 128-2, line 04.1), a little beyond the drawing."""
    over = 0.6 * sheet.inks.text
    d = f"M{sheet.axis_px:.1f} {sheet.y(sheet.view[3]) - over:.1f}V{sheet.y(sheet.view[2]) + over:.1f}"
    return sheet.stroke(d, cls="axis", more=' stroke-dasharray="14 3 2 3"')


def _key_rows(inks: Inks, assembly: Assembly, width: float) -> list[list[tuple[str, float]]]:
    """Kinds of matter that occur, in rows that fit, each with its place from the left."""
    kinds = [kind for kind in WORDS if kind in {kind_of(b) for b in assembly.bodies}]
    rows: list[list[tuple[str, float]]] = [[]]
    x = 0.0
    for kind in kinds:
        wide = 3.0 * inks.text + text_width(WORDS[kind], inks.text) + 1.2 * inks.text
        if rows[-1] and x + wide > width - inks.text:
            rows.append([])
            x = 0.0
        rows[-1].append((kind, x))
        x += wide
    return rows


def _under(
    sheet: Sheet, assembly: Assembly, notes: list[str], seen: Seen | None, theme: Theme | None
) -> tuple[list[str], float]:
    """Key of the hatching, colour scale, notes; and where the picture ends (px)."""
    ink, text = sheet.inks, sheet.inks.text
    left, y, drawn = 0.4 * text, sheet.height + 0.5 * text, []
    for row in _key_rows(ink, assembly, sheet.width):
        for kind, x in row:
            drawn.append(_swatch(sheet, kind, left + x, y))
            drawn.append(
                sheet.word(
                    left + x + 2.7 * text, y + 0.95 * text, WORDS[kind], anchor="start", cls="key", quiet=True
                )
            )
        y += 1.5 * text
    y += 0.4 * text
    if seen is not None and theme is not None:
        drawn.append(
            scale_bar(
                sheet,
                seen,
                theme.palette.paper,
                left + 0.6 * text,
                y,
                min(sheet.width - 4.0 * text, 22.0 * text),
            )
        )
        y += 2.6 * text
        full = " and ".join(f"{level:g}" for level in FULL_T)
        notes = [
            *notes,
            "colour: flux density, above the scale as at its end",
            f"orange lines: steel at {full}{THIN}T",
        ]
    for line in wrapped(joined_words(notes), sheet.width - text, text):
        y += 1.35 * text
        drawn.append(sheet.word(left, y, line, anchor="start", cls="note", quiet=True))
    return drawn, round(y + 0.6 * text, 1)


def _swatch(sheet: Sheet, kind: str, x: float, y: float) -> str:
    """A piece of the hatching of a kind of matter."""
    text = sheet.inks.text
    r = (x - sheet.axis_px) / sheet.scale
    z = (sheet.zero_px - y) / sheet.scale
    wide, tall = 2.2 * text / sheet.scale, 1.1 * text / sheet.scale
    box = ((r, z - tall), (r + wide, z - tall), (r + wide, z), (r, z))
    return hatching(sheet, box, Hatch(kind, 1, 0.6)) + sheet.stroke(
        sheet.path(box, closed=True), cls="swatch"
    )


def _svg(sheet: Sheet, lines: list[str], height: float, words: str) -> str:
    return (
        f'<svg class="half-section" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {sheet.width:g} {height:g}" '
        f'width="{sheet.width:g}" height="{height:g}" role="img" aria-label="{escape(words)}" '
        f'data-px-per-mm="{sheet.scale / 1e3:.6g}" data-axis="{sheet.axis_px:.6g}" data-zero="{sheet.zero_px:.6g}">{"".join(lines)}</svg>'
    )
