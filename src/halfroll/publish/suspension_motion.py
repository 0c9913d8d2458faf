"""The moving parts through their travel as a sequence of pictures in one SVG: a page shows one after another, paper the one at rest.

Every frame is a group with its displacement in mm (``data-x``); all but the one at rest are hidden. There is no script in it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.publish.section_sheet import Sheet, inks_of
from halfroll.publish.suspension_shapes import clamp, laid_out, notes_under, only_words, said_x, svg
from halfroll.publish.theme import Theme
from halfroll.suspension.design import FlexureDesign, MovingDesign
from halfroll.suspension.results import BentShape, PartResult

FRAMES = 33
"""Frames from one end of the travel to the other; odd, so that one is at rest."""

_APART_PX = 1.2
"""Points nearer together than this are left out."""


def motion_svg(
    parts: Sequence[PartResult],
    *,
    theme: Theme,
    width_px: float,
    design: MovingDesign | None = None,
    name: str = "",
) -> str:
    """SVG of the parts, where the `design` has them, with former, cone and cap that move with their inner edges as one piece.

    Between the computed shapes outlines run along a cubic spline over x; a part with shapes of unlike outlines shows the nearest.
    """
    bent = [_raised(part, design) for part in parts if part.shapes]
    if not bent:
        return only_words(theme, width_px, "No bent shape is known yet.")
    inks = inks_of(theme)
    low = max(min(shape.x_m for shape in part.shapes) for part in bent)
    high = min(max(shape.x_m for shape in part.shapes) for part in bent)
    solid = {} if design is None else rigid_outlines(design)
    reach = [shape.outline_m for part in bent for shape in part.shapes]
    reach += [outline + np.array([0.0, x]) for outline in solid.values() for x in (low, high)]
    sheet = laid_out(reach, inks, width_px, 1.4 * inks.text, 2.4 * inks.text)
    drawn = [_ghost(sheet, bent, solid)]
    for x in stops(low, high):
        hidden = "" if x == 0.0 else ' visibility="hidden"'
        drawn.append(f'<g class="frame" data-x="{1e3 * x:.4g}"{hidden}>{_frame(sheet, bent, solid, x)}</g>')
    drawn += [clamp(sheet, part.shapes) for part in bent]
    flat = ["arms drawn as the ring they lie in"] if any(part.arm_shapes for part in parts) else []
    notes, height = notes_under(sheet, ["thin: at rest", "to scale", *flat])
    said = f"Moving parts{f' of {name}' if name else ''} between {said_x(low)} and {said_x(high)} mm of travel, to scale."
    return svg(sheet, [*drawn, *notes], height, said, "motion")


def rigid_outlines(design: MovingDesign) -> dict[str, FloatArray]:
    """Half-sections (n, 2) of former, cone, cap and a flexure's ring on the former at rest, over the gap (m)."""
    from halfroll.suspension.profile.placed import moving_outlines

    rigid = replace(design, surround=None, spider=None)
    found = {name: np.concatenate(outlines) for name, outlines in moving_outlines(rigid).items()}
    return found | {f"{one.name} ring": _hub_ring(one) for one in _flexures(design) if one.lip_inner_m > 0}


def _flexures(design: MovingDesign) -> list[FlexureDesign]:
    return [one for one in (design.surround, design.spider) if isinstance(one, FlexureDesign)]


def _hub_ring(design: FlexureDesign) -> FloatArray:
    outer, half, height = design.inner_radius_m, design.thickness_m / 2, design.height_over_gap_m
    inner = outer - design.lip_inner_m
    corners = [(inner, -half), (outer, -half), (outer, half), (inner, half)]
    return np.array([(r, height + z) for r, z in corners])


def _raised(part: PartResult, design: MovingDesign | None) -> PartResult:
    """A part's shapes where the part stands over the gap."""
    drawn = None if design is None else getattr(design, part.name, None)
    if drawn is None:
        return part
    up = np.array([0.0, drawn.height_over_gap_m])
    shapes = tuple(replace(shape, outline_m=shape.outline_m + up) for shape in part.shapes)
    return replace(part, shapes=shapes)


def stops(low: float, high: float) -> list[float]:
    """The displacements (m) of the frames, with 0 among them."""
    half = FRAMES // 2
    below = [low * (half - k) / half for k in range(half)] if low < 0 else []
    above = [high * (k + 1) / half for k in range(half)] if high > 0 else []
    return [*below, 0.0, *above]


def between(shapes: Sequence[BentShape], x_m: float) -> FloatArray:
    """The outline (n, 2) of a part at any displacement in its travel."""
    ordered = sorted(shapes, key=lambda shape: shape.x_m)
    near = min(ordered, key=lambda shape: abs(shape.x_m - x_m))
    alike = len({len(shape.outline_m) for shape in ordered}) == 1
    if len(ordered) < 3 or not alike or near.x_m == x_m:
        return near.outline_m
    from scipy.interpolate import CubicSpline

    spline = CubicSpline([shape.x_m for shape in ordered], np.stack([shape.outline_m for shape in ordered]))
    return np.asarray(spline(x_m))


def _frame(sheet: Sheet, parts: Sequence[PartResult], solid: Mapping[str, FloatArray], x_m: float) -> str:
    ink = sheet.inks
    paths = [_path(sheet, between(part.shapes, x_m)) for part in parts]
    paths += [_path(sheet, outline + np.array([0.0, x_m])) for outline in solid.values()]
    return "".join(
        f'<path d="{d}" fill="{ink.ink}" fill-opacity=".14" stroke="{ink.ink}" stroke-width="{0.7 * ink.thick:g}" stroke-linejoin="round"/>'
        for d in paths
    )


def _ghost(sheet: Sheet, parts: Sequence[PartResult], solid: Mapping[str, FloatArray]) -> str:
    d = "".join(_path(sheet, between(part.shapes, 0.0)) for part in parts)
    return sheet.stroke(
        d + "".join(_path(sheet, outline) for outline in solid.values()),
        cls="rest",
        width=0.6 * sheet.inks.thin,
    )


def _path(sheet: Sheet, outline: FloatArray) -> str:
    px = sheet.scale * outline
    kept = [0]
    for k in range(1, len(px)):
        if np.hypot(*(px[k] - px[kept[-1]])) >= _APART_PX:
            kept.append(k)
    return (
        "M" + "L".join(f"{sheet.axis_px + px[k, 0]:.1f} {sheet.zero_px - px[k, 1]:.1f}" for k in kept) + "Z"
    )
