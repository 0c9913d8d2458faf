"""The half-section of a motor to scale, with its field under it where that is known.

Sections and hatching by ISO 128-3, lines by ISO 128-2 (outlines thick, hatching and dimensions narrow, the axis long-dashed
dotted), dimensions in the manner of ISO 129-1. A drawing is one SVG text without names, scripts or outside files.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from halfroll.core.text import THIN, count
from halfroll.motor.coil.wound import Coil
from halfroll.motor.results import MotorResult
from halfroll.motor.types import Assembly, Magnet
from halfroll.publish.section_bodies import axis, bodies, coil_drawn, magnetisation
from halfroll.publish.section_dimensions import ROW, all_dimensions, columns, diameters, gap_dimensions
from halfroll.publish.section_field import (
    Seen,
    cut_to_view,
    flux_lines,
    full_lines,
    picture,
)
from halfroll.publish.section_field import seen as field_seen
from halfroll.publish.section_hatch import WORDS, kind_of
from halfroll.publish.section_key import under
from halfroll.publish.section_moving import NOTE, SOLID, moving_drawn, moving_extent, moving_words
from halfroll.publish.section_sheet import Inks, Sheet, inks_of, millimetres
from halfroll.publish.theme import Theme
from halfroll.suspension.design import MovingDesign

Shown = Literal["hatching", "field", "flux lines"]

View = tuple[float, float, float, float]
"""(r_low, r_high, z_low, z_high) of what is shown (m)."""

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
    detail: bool = False,
    reach_m: float | None = None,
    moving: MovingDesign | None = None,
) -> str:
    """SVG of a motor's half-section, with the moving parts where they are designed.

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
        Width of the whole picture. The SVG says its scale: ``data-px-per-mm``, ``data-axis`` and ``data-zero`` (px),
        and ``data-view``, what is shown of the motor's plane (px from the left and the top).
    dimensions
        Dimensions in mm, and the key of the hatching.
    mirrored
        Both halves, as a thumbnail.
    name
        Whom it shows, for those who listen.
    solved
        The motor that `result` is of, when it is not `assembly`: its field is drawn pale, and the drawing says so.
    detail
        The gap alone, enlarged, with the clearances on both sides of the coil.
    reach_m
        Radius the sheet is laid out for, so that several drawings have one scale; the motor's own when None.
    moving
        What moves in it: former, cone, cap, surround, spider; not in the enlarged gap. Without a motor see
        `section_moving.moving_svg`.
    """
    moving = None if detail else moving
    seen_parts = set(show) if result is not None else set(show) - {"field", "flux lines"}
    with_field = bool(seen_parts & {"field", "flux lines"})
    view = _gap_view(assembly) if detail else _whole_view(assembly, coil, with_field, reach_m, moving)
    sheet = _laid_out(assembly, view, inks_of(theme), width_px, dimensions, mirrored, with_field, detail)
    seen = field_seen(result.field, solved or assembly) if result is not None and with_field else None
    earlier = solved is not None and solved != assembly
    coloured = seen is not None and theme is not None and "field" in seen_parts
    hatched = "hatching" in seen_parts
    parts = moving_drawn(sheet, moving, mirrored=mirrored, former=coil is None, hatched=hatched)
    lines = [
        *([_pale(picture(sheet, seen, theme.palette.paper), earlier)] if seen and coloured and theme else []),
        *_within(sheet, bodies(sheet, assembly, hatched, mirrored), detail),
        *([_pale(flux_lines(sheet, seen), earlier)] if seen and "flux lines" in seen_parts else []),
        *_within(sheet, coil_drawn(sheet, assembly, coil, mirrored), detail),
        *([full_lines(sheet, seen)] if seen and coloured and not earlier else []),
        *parts,
        *([] if detail else _over(sheet, assembly)),
    ]
    height = sheet.height
    if dimensions:
        lines.append(gap_dimensions(sheet, assembly, coil) if detail else all_dimensions(sheet, assembly))
    if dimensions or with_field:
        notes = _notes(
            dimensions, parts, seen if "flux lines" in seen_parts else None, seen is not None and earlier
        )
        below, height = under(sheet, assembly, notes, seen if coloured else None, theme)
        lines += below
    return sheet.svg(lines, height, section_words(assembly, result if with_field else None, name, moving))


def section_words(
    assembly: Assembly,
    result: MotorResult | None = None,
    name: str = "",
    moving: MovingDesign | None = None,
) -> str:
    """The drawing in a sentence or two."""
    gap, winding = assembly.gap, assembly.winding
    said = f"{name}: half-section" if name else "Half-section"
    said += f" of a motor of {count(len(assembly.bodies), 'part')}: "
    said += ", ".join(f"{b.name} ({WORDS[kind_of(b)].removesuffix(' or other')})" for b in assembly.bodies)
    said += f". Gap {millimetres(gap.r_outer - gap.r_inner)} mm wide and {millimetres(gap.z_high - gap.z_low)} mm high"
    if winding is not None:
        said += f", winding {millimetres(winding.height_m)} mm high"
    said += "."
    if moving_extent(moving):
        said += f" With {moving_words(moving)}."
    if result is not None:
        said += f" Mean flux density in the gap {result.gap_mean_t:.3g} T."
    return said


def _notes(dimensions: bool, parts: Sequence[str], lines: Seen | None, earlier: bool) -> list[str]:
    """What is said under the drawing."""
    notes = ["Dimensions in mm"] if dimensions else []
    if any(SOLID in part for part in parts):
        notes.append(NOTE)
    if lines is not None:
        notes.append(f"{1e6 * lines.step_wb:g}{THIN}µWb between flux lines")
    if earlier:
        notes.append("pale: field of the earlier dimensions")
    return notes


def _within(sheet: Sheet, lines: list[str], detail: bool) -> list[str]:
    """An enlarged part of the drawing is cut to what it shows."""
    return [cut_to_view(sheet, "".join(lines))] if detail else lines


def _over(sheet: Sheet, assembly: Assembly) -> list[str]:
    """Arrows of magnetisation, and the axis."""
    magnets = [body for body in assembly.bodies if isinstance(body.matter, Magnet)]
    return [*(magnetisation(sheet, body) for body in magnets), axis(sheet)]


def _pale(drawn: str, earlier: bool) -> str:
    return f'<g class="earlier" opacity=".4">{drawn}</g>' if earlier else drawn


def _laid_out(
    assembly: Assembly,
    view: View,
    inks: Inks,
    width: float,
    with_dimensions: bool,
    mirrored: bool,
    field: bool,
    detail: bool,
) -> Sheet:
    """The sheet that holds everything."""
    row = ROW * inks.text
    left = 1.4 * inks.text if with_dimensions or field else 3.0
    uprights = 3 if detail else columns(assembly)
    right = row * (uprights + 0.6) if with_dimensions else left
    top = row * 2.4 if with_dimensions else 0.8 * inks.text
    below = 0 if detail else len(diameters(assembly))
    bottom = row * (below + 0.8) if with_dimensions else 0.8 * inks.text
    across, tall = (view[1] - view[0]) * (2.0 if mirrored else 1.0), view[3] - view[2]
    scale = min((width - left - right) / across, TALLEST * width / tall)
    spare = width - left - right - scale * across
    axis = left + 0.5 * spare + (scale * view[1] if mirrored else -scale * view[0])
    return Sheet(inks=inks, width=width, height=round(top + scale * tall + bottom, 1), axis_px=axis,
                 zero_px=top + scale * view[3], scale=scale, view=view)  # fmt: skip


def _whole_view(
    assembly: Assembly, coil: Coil | None, field: bool, reach_m: float | None, moving: MovingDesign | None
) -> View:
    """All of the motor and what moves in it, and some air around it for its field."""
    r_high, z_low, z_high = _extent(assembly, coil)
    extent = moving_extent(moving)
    if extent is not None:
        r_high, z_low, z_high = max(r_high, extent[0]), min(z_low, extent[1]), max(z_high, extent[2])
    r_high = max(r_high, reach_m or 0.0)
    air = AIR * max(r_high, z_high - z_low) if field else 0.02 * r_high
    return 0.0, r_high + air, z_low - air, z_high + air


def _gap_view(assembly: Assembly) -> View:
    """The gap and the winding with what is near them."""
    gap, winding = assembly.gap, assembly.winding
    low, high = gap.z_low, gap.z_high
    if winding is not None:
        low, high = min(low, winding.z_low), max(high, winding.z_high)
    air, middle = 0.15 * (high - low), 0.5 * (gap.r_inner + gap.r_outer)
    half = max(1.2 * (gap.r_outer - gap.r_inner), 0.6 * (high - low))
    left = max(middle - half, 0.0)
    return left, left + 2.0 * half, low - air, high + air


def _extent(assembly: Assembly, coil: Coil | None) -> tuple[float, float, float]:
    """Largest radius, lowest and highest point (m)."""
    bounds = [body.bounds for body in assembly.bodies]
    r, low, high = max(b[1] for b in bounds), min(b[2] for b in bounds), max(b[3] for b in bounds)
    if assembly.winding is not None:
        low, high = min(low, assembly.winding.z_low), max(high, assembly.winding.z_high)
        if coil is not None:
            high = max(high, assembly.winding.z_low + coil.former_height_m)
    return r, low, high
