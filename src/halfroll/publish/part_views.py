"""The views of one part on a sheet of paper: its section on both sides of the axis, its wall enlarged, a flexure's plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.publish.profile_dimensions import Dimension, PartDesign
from halfroll.publish.profile_marks import marks, rows_of
from halfroll.publish.section_bodies import axis
from halfroll.publish.section_moving import outlines_drawn
from halfroll.publish.section_sheet import Inks, Sheet
from halfroll.suspension.profile.outlines import PlaneOutline

PX_PER_M = 96.0 / 25.4e-3
"""CSS pixels to the metre: a drawing of scale 1:1 comes out true on paper."""

SCALES = (20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05)
"""Recommended scales (ISO 5455)."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Piece:
    """What is to be drawn of one part.

    Parameters
    ----------
    name, title
        Short name, and the head of its sheet.
    outlines
        Closed half-sections (n, 2) of (r, z) in metres.
    dimensions
        Its dimensions, places in the same coordinates.
    plan
        A flat part's outline seen along the axis.
    design
        What it is, for a flexure's arms behind the section.
    facts
        Lines of the title block: words and value, such as ``("Material", "TPU 95A")``.
    """

    name: str
    title: str
    outlines: tuple[FloatArray, ...]
    dimensions: tuple[Dimension, ...]
    plan: PlaneOutline | None = None
    design: PartDesign | None = None
    facts: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class View:
    """One view at one scale: its SVG, drawn with its own upper left corner at (0, 0), and its size (px)."""

    caption: str
    scale: float
    width: float
    height: float
    svg: str = field(repr=False)


def scale_words(scale: float) -> str:
    """``5:1``, ``1:2``."""
    return f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"


def views_of(piece: Piece, inks: Inks, width: float, height: float) -> list[View]:
    """The views of a part that fit a field (px): a plan or a whole section, and the wall enlarged where that shows more."""
    if piece.plan is not None:
        return [
            _plan(piece, piece.plan, inks, width, 0.72 * height),
            _wall(piece, inks, width, 0.26 * height),
        ]
    whole = _section(piece, inks, width, 0.45 * height, (), mirrored=True)
    fine = _wall(piece, inks, width, 0.55 * height)
    if fine.scale <= whole.scale:
        return [_section(piece, inks, width, height, piece.dimensions, mirrored=True)]
    diameters = tuple(one for one in piece.dimensions if one.kind == "diameter")
    return [_section(piece, inks, width, 0.45 * height, diameters, mirrored=True), fine]


def _wall(piece: Piece, inks: Inks, width: float, height: float) -> View:
    """The right half enlarged, without diameters where the whole section shows them."""
    kept = tuple(one for one in piece.dimensions if one.kind not in ("diameter", "plan note"))
    return _section(piece, inks, width, height, kept, mirrored=False)


def _section(
    piece: Piece, inks: Inks, width: float, height: float, dimensions: Sequence[Dimension], *, mirrored: bool
) -> View:  # fmt: skip
    every = np.concatenate(piece.outlines)
    low_r, high_r = (0.0 if mirrored else float(every[:, 0].min())), float(every[:, 0].max())
    low_z, high_z = float(every[:, 1].min()), float(every[:, 1].max())
    across = high_r * 2 if mirrored else high_r - low_r
    pad = inks.text
    for scale in SCALES:
        px = PX_PER_M * scale
        rows = rows_of(dimensions, px, inks.text)
        below, beside, above = rows.room(inks.text)
        if (
            px * across + beside + 2 * pad <= width
            and px * (high_z - low_z) + below + above + 2 * pad <= height
        ):
            break
    axis_px = pad + (px * high_r if mirrored else -px * low_r)
    top = pad + above
    bottom = top + px * (high_z - low_z)
    sheet = Sheet(inks=inks, width=axis_px + px * high_r + beside + pad, height=bottom + below + pad, axis_px=axis_px,
                  zero_px=top + px * high_z, scale=px, view=(low_r, high_r, low_z, high_z))  # fmt: skip
    arms: Mapping[str, object] = {piece.name: piece.design}
    lines = outlines_drawn(sheet, {piece.name: piece.outlines}, arms, mirrored=mirrored)
    lines += [axis(sheet)] if mirrored else []
    box = (axis_px - (px * high_r if mirrored else 0.0), axis_px + px * high_r, top, bottom)
    lines.append(marks(sheet, rows, box, mirrored=mirrored, live=False))
    caption = "Section" if mirrored else "Section, right half"
    return View(caption=caption, scale=scale, width=sheet.width, height=sheet.height, svg="".join(lines))


def _plan(piece: Piece, plan: PlaneOutline, inks: Inks, width: float, height: float) -> View:
    """A flat part seen along the axis, its diameters below, with both centre lines."""
    radius = float(np.hypot(*plan.outer.T).max())
    # Seen from above the circles' edges, where extension lines begin, are at the axis's own height.
    shown = [replace(one, high=(one.high[0], 0.0)) for one in piece.dimensions if one.kind == "diameter"]
    shown += [replace(one, kind="note") for one in piece.dimensions if one.kind == "plan note"]
    room, _, head = rows_of(shown, 1.0, inks.text).room(inks.text)
    pad = inks.text
    for scale in SCALES:
        px = PX_PER_M * scale
        if 2 * px * radius + 2 * pad <= width and 2 * px * radius + room + head + 3 * pad <= height:
            break
    middle, level = 2 * pad + px * radius, 2 * pad + head + px * radius
    sheet = Sheet(inks=inks, width=2 * middle, height=level + px * radius + room + pad, axis_px=middle, zero_px=level, scale=px,
                  view=(-radius, radius, -radius, radius))  # fmt: skip
    d = "".join(
        sheet.path([(float(x), float(y)) for x, y in loop], closed=True) for loop in (plan.outer, *plan.holes)
    )
    lines = [
        sheet.stroke(d, cls="outline", width=inks.thick, more=' stroke-linejoin="round"'),
        _cross(sheet, radius),
    ]
    box = (middle - px * radius, middle + px * radius, level - px * radius - pad, level + px * radius)
    lines.append(marks(sheet, rows_of(shown, px, inks.text), box, mirrored=True, live=False))
    return View(
        caption="Seen from the front", scale=scale, width=sheet.width, height=sheet.height, svg="".join(lines)
    )


def _cross(sheet: Sheet, radius: float) -> str:
    """Centre lines in long-dashed dotted narrow lines."""
    over = 0.8 * sheet.inks.text
    x, y, reach = sheet.x(0.0), sheet.y(0.0), sheet.scale * radius + over
    d = f"M{x - reach:.1f} {y:.1f}H{x + reach:.1f}M{x:.1f} {y - reach:.1f}V{y + reach:.1f}"
    return sheet.stroke(d, cls="axis", width=0.75 * sheet.inks.thin, more=' stroke-dasharray="14 3 2 3"')
