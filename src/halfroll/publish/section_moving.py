"""The moving parts in a half-section: former, cone, cap, surround, spider.

Sections too thin for hatching are drawn solid (ISO 128-3: narrow areas may be shown entirely black), wider ones hatched as
printed parts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from html import escape

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import join_words
from halfroll.motor.placing.polygons import Polygon
from halfroll.publish.section_bodies import axis, off_the_axis
from halfroll.publish.section_hatch import Hatch, hatching
from halfroll.publish.section_sheet import Sheet, inks_of
from halfroll.publish.theme import Theme
from halfroll.suspension.design import FlexureDesign, MovingDesign
from halfroll.suspension.profile.outlines import WITHIN_M
from halfroll.suspension.profile.placed import moving_outlines

SOLID_PX = 5.0
"""A wall thinner than this is drawn solid."""

SOLID = 'class="solid"'
NOTE = "solid: printed moving parts"

DRAWN_M = 5e-6
"""How far the steps of a drawn curve may lie off it."""

MOST_HATCHED = 1500
"""An outline of more corners is drawn without hatching, which would take long."""

TALLEST = 0.95
"""A drawing without a motor is at most so many times as tall as wide."""

Extent = tuple[float, float, float]
"""Largest radius, lowest and highest point (m)."""


def moving_extent(moving: MovingDesign | None) -> Extent | None:
    """How far the moving parts reach; None when there are none that are drawn."""
    places = [one for part in _shown(moving, former=True).values() for one in part]
    if not places:
        return None
    every = np.concatenate(places)
    return float(every[:, 0].max()), float(every[:, 1].min()), float(every[:, 1].max())


def moving_drawn(
    sheet: Sheet, moving: MovingDesign | None, *, mirrored: bool, former: bool, hatched: bool = True
) -> list[str]:
    """SVG of every part as one group named after it; `former` False where the coil is drawn with its own."""
    arms = {} if moving is None else {"surround": moving.surround, "spider": moving.spider}
    return outlines_drawn(sheet, _shown(moving, former=former), arms, mirrored=mirrored, hatched=hatched)


def outlines_drawn(
    sheet: Sheet, outlines: Mapping[str, Sequence[FloatArray]], arms: Mapping[str, object], *, mirrored: bool, hatched: bool = True
) -> list[str]:  # fmt: skip
    """SVG of closed half-sections by the names of their parts; of flexures among `arms` what is seen behind the section."""
    drawn = []
    for name, loops in outlines.items():
        inside = ""
        for side in (False, True) if mirrored else (False,):
            inside += "".join(_cut(sheet, outline, side, hatched) for outline in loops)
        inside += _seen_arms(sheet, arms.get(name), mirrored)
        drawn.append(
            f'<g class="moving" data-part="{escape(name)}"><title>{escape(name)}</title>{inside}</g>'
        )
    return drawn


def moving_svg(
    moving: MovingDesign, *, theme: Theme | None, width_px: float, mirrored: bool = True, name: str = "", reach_m: float | None = None
) -> str:  # fmt: skip
    """SVG of moving parts that have no motor yet, both halves; see `section.section_svg` for the parameters."""
    extent = moving_extent(moving)
    r_high, low, high = extent or (1e-2, 0.0, 1e-2)
    r_high = max(r_high, reach_m or 0.0) * 1.02
    air = 0.02 * r_high
    inks = inks_of(theme)
    pad = 0.8 * inks.text
    across, tall = r_high * (2.0 if mirrored else 1.0), high - low + 2 * air
    scale = min((width_px - 2 * pad) / across, TALLEST * width_px / tall)
    spare = width_px - 2 * pad - scale * across
    sheet = Sheet(
        inks=inks, width=width_px, height=round(2 * pad + scale * tall, 1), scale=scale, view=(0.0, r_high, low - air, high + air),
        axis_px=pad + 0.5 * spare + (scale * r_high if mirrored else 0.0), zero_px=pad + scale * (high + air),
    )  # fmt: skip
    lines = [*moving_drawn(sheet, moving, mirrored=mirrored, former=True), axis(sheet)]
    said = f"{name}: section" if name else "Section"
    return sheet.svg(lines, sheet.height, f"{said} of {moving_words(moving)}.")


def moving_words(moving: MovingDesign | None) -> str:
    """The parts by name, ``cone, cap and surround``; empty when there are none."""
    return join_words(list(_parts(moving)))


def _parts(moving: MovingDesign | None) -> list[str]:
    if moving is None:
        return []
    return [
        name for name in ("former", "cone", "cap", "surround", "spider") if getattr(moving, name) is not None
    ]


def _shown(moving: MovingDesign | None, *, former: bool) -> dict[str, Sequence[FloatArray]]:
    """The outlines that are drawn; a former alone is the motor's."""
    if moving is None or not any(name != "former" for name in _parts(moving)):
        return {}
    return {name: one for name, one in _outlines(moving).items() if former or name != "former"}


@lru_cache(maxsize=32)
def _outlines(moving: MovingDesign) -> dict[str, tuple[FloatArray, ...]]:
    """A drawing asks for them several times, and a page draws the same parts again and again."""
    return moving_outlines(moving, DRAWN_M)


def _cut(sheet: Sheet, outline: FloatArray, mirrored: bool, hatched: bool) -> str:
    corners: Polygon = tuple((float(r), float(z)) for r, z in outline)
    d = sheet.path(corners, closed=True, mirrored=mirrored)
    ink = sheet.inks
    if _thin(outline) * sheet.scale < SOLID_PX:
        return f'<path {SOLID} d="{d}" fill="{ink.ink}" stroke="{ink.ink}" stroke-width="{0.5 * ink.thin:g}" stroke-linejoin="round"/>'
    around, closed = off_the_axis(corners)
    inside = f'<path d="{d}" fill="{ink.paper}"/>'
    if hatched and len(corners) <= MOST_HATCHED:
        inside += hatching(sheet, corners, Hatch("print", 1, 0.6), mirrored=mirrored)
    edge = sheet.path(around, closed=closed, mirrored=mirrored)
    return inside + sheet.stroke(edge, cls="outline", width=0.7 * ink.thick, more=' stroke-linejoin="round"')


def _thin(outline: FloatArray) -> float:
    """How thick a long narrow outline is (m): twice its area over its circumference."""
    r, z = outline.T
    area = 0.5 * abs(float((r * np.roll(z, -1) - np.roll(r, -1) * z).sum()))
    around = float(np.hypot(*(np.roll(outline, -1, axis=0) - outline).T).sum())
    return 2.0 * area / max(around, WITHIN_M)


def _seen_arms(sheet: Sheet, design: object, mirrored: bool) -> str:
    """Arms that wind lie behind the plane of the section: their edges in thin lines between the rings."""
    if not isinstance(design, FlexureDesign) or design.family != "spiral-arms":
        return ""
    d = ""
    for side in (False, True) if mirrored else (False,):
        for way in (-0.5, 0.5):
            z = design.height_over_gap_m + way * design.thickness_m
            ends = ((design.inner_radius_m, z), (design.outer_radius_m, z))
            d += sheet.path(ends, mirrored=side)
    return sheet.stroke(d, cls="seen", width=0.75 * sheet.inks.thin)
