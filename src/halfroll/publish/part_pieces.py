"""What is drawn of each part: outlines, dimensions, and the facts of its title block."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.publish.part_views import Piece
from halfroll.publish.profile_dimensions import Dimension, PartDesign, dimensions_of
from halfroll.publish.section_moving import DRAWN_M
from halfroll.publish.section_sheet import millimetres
from halfroll.suspension.design import (
    CapDesign,
    ConeDesign,
    FlexureDesign,
    FormerDesign,
    MovingDesign,
    Point,
    PrintSettings,
    StripDesign,
)
from halfroll.suspension.models.model import Model
from halfroll.suspension.profile.arms import arm_place
from halfroll.suspension.profile.cones import cap_line, cone_line
from halfroll.suspension.profile.families import TITLES, profile_of
from halfroll.suspension.profile.flexure import flexure_section, title_of
from halfroll.suspension.profile.outlines import flexure_outline, former_outline, strip_outline, wall_outline
from halfroll.suspension.profile.placed import flexure_rings, former_line
from halfroll.suspension.profile.thickness import snapped

MOST_CORNERS = 6
"""A part of more diameters or levels is given its outermost ones."""


def piece_of(design: PartDesign, name: str, title: str) -> Piece:
    """What is drawn of a part; `title` heads its sheet.

    Raises
    ------
    InputError
        Dimensions that cannot be.
    """
    outlines: tuple[FloatArray, ...]
    if isinstance(design, StripDesign):
        line, outlines = profile_of(design), (strip_outline(design, DRAWN_M),)
        facts = [("Form", f"{TITLES[design.family]}{_way(design)}")]
    elif isinstance(design, FlexureDesign):
        design = replace(design, height_over_gap_m=0.0)
        line, outlines = flexure_section(design), flexure_rings(design)
        facts = [("Form", _arms(design))]
    elif isinstance(design, ConeDesign):
        line = cone_line(design)
        outlines, facts = (
            (wall_outline(line, DRAWN_M),),
            [("Form", f"{design.shape} {'' if design.shape == 'dome' else 'cone'}".strip())],
        )
    elif isinstance(design, CapDesign):
        line = cap_line(design)
        outlines, facts = (
            (wall_outline(line, DRAWN_M),),
            [("Form", "part of a sphere" if design.height_m else "flat")],
        )
    else:
        line, outlines, facts = former_line(design), (former_outline(design),), [("Form", "tube")]
    plan = flexure_outline(design) if isinstance(design, FlexureDesign) else None
    found = dimensions_of(design, line, name)
    if plan is not None and isinstance(design, FlexureDesign):
        found = (*found, *_rings(design, plan.hub_m, plan.rim_m), _arm_width(design, name))
    return Piece(name=name, title=title, outlines=outlines, dimensions=found, plan=plan, design=design,
                 facts=(*facts, *_facts(design)), notes=_notes(design))  # fmt: skip


def piece_of_outlines(
    name: str, title: str, outlines: Sequence[FloatArray], material: str, *, dimensions: Sequence[Dimension] = ()
) -> Piece:  # fmt: skip
    """What is drawn of any other part of revolution, such as a jig: half-sections in metres. Where no dimensions are given
    those of its corners are drawn: every diameter, and every level over the lowest.
    """
    found = tuple(dimensions) or tuple(_of_corners(np.concatenate(list(outlines))))
    return Piece(
        name=name, title=title, outlines=tuple(outlines), dimensions=found, facts=(("Material", material),)
    )


def _of_corners(corners: FloatArray) -> Iterator[Dimension]:
    """Diameters and levels of a part of few straight edges; of one of many corners the outermost alone."""
    low, widest = float(corners[:, 1].min()), float(corners[:, 0].max())
    levels = sorted({round(float(z), 6) for z in corners[:, 1]})[1:]
    radii = sorted({round(float(r), 6) for r in corners[:, 0] if r > 0})
    if len(radii) > MOST_CORNERS or len(levels) > MOST_CORNERS:
        radii, levels = radii[-1:], levels[-1:]
    for radius in radii:
        at = (radius, float(corners[np.abs(corners[:, 0] - radius) < 1e-6][:, 1].min()))
        yield _dimension("diameter", (0.0, at[1]), at, 2.0 * radius, "Diameter")
    for level in levels:
        reach = float(corners[np.abs(corners[:, 1] - level) < 1e-6][:, 0].max())
        yield _dimension("height", (widest, low), (reach, level), level - low, "Height")


def pieces_of_models(moving: MovingDesign, models: Sequence[Model], title: str) -> list[Piece]:
    """What is drawn of parts that are printed: moving parts as designed, jigs of revolution as they lie on the plate."""
    found = []
    for model in models:
        part = getattr(moving, model.name, None)
        head = f"{model.words.capitalize()} of {title}"
        if part is not None:
            found.append(piece_of(part, model.name, head))
        elif model.shape.is_round:
            found.append(piece_of_outlines(model.name, head, model.shape.sections_m, model.material.title))
    return found


# What stands in the title block.


def _facts(design: PartDesign) -> list[tuple[str, str]]:
    found = [("Material", design.material.title)]
    if isinstance(design, FormerDesign):
        return [*found, ("Wall", f"{millimetres(design.wall_m)} mm")]
    words = _as_printed(design.thickness_m, design.print)
    outer = None if isinstance(design, CapDesign | FlexureDesign) else design.thickness_outer_m
    if outer is not None:
        words += f"; outside {_as_printed(outer, design.print)}"
    settings = design.print
    lines = f"lines {millimetres(settings.line_width_m)} mm, layers {millimetres(settings.layer_m)} mm, {100 * settings.infill:.0f} % filled"
    return [*found, ("Thickness", words), ("Print", lines)]


def _as_printed(thickness_m: float, settings: PrintSettings) -> str:
    if settings.snap == "none":
        return f"{millimetres(thickness_m)} mm"
    return snapped(thickness_m, settings).words


def _notes(design: PartDesign) -> tuple[str, ...]:
    """What a maker must know beside the numbers."""
    if isinstance(design, FlexureDesign):
        if not (design.lip_inner_m and design.lip_outer_m):
            return ("Rings without a stated lip are as wide as an arm.",)
        return ()
    if isinstance(design, StripDesign):
        return ("Diameters are those of the middle line at the clamps.",)
    return (
        () if isinstance(design, FormerDesign) else ("Diameters and heights are those of the middle line.",)
    )


def _way(design: StripDesign) -> str:
    return "" if design.family in ("flat", "corrugated", "free") else f" {design.direction}"


def _arms(design: FlexureDesign) -> str:
    words = f"{title_of(design)} {millimetres(design.width_m)} mm wide"
    return (
        words
        if design.family == "straight-legs"
        else f"{words}, Archimedean, turning through {math.degrees(design.sweep_rad):.4g}°"
    )


def _rings(design: FlexureDesign, hub: float, rim: float) -> list[Dimension]:
    inner, outer = design.inner_radius_m - hub, design.outer_radius_m + rim
    found = [_dimension("diameter", (0.0, 0.0), (outer, 0.0), 2 * outer, "Diameter over all")]
    if inner > 0:
        found.insert(0, _dimension("diameter", (0.0, 0.0), (inner, 0.0), 2 * inner, "Diameter of the hole"))
    return found


def _arm_width(design: FlexureDesign, name: str) -> Dimension:
    """A leader to the middle of an arm in the plan: places there are (x, y)."""
    turn = 2 * math.pi / design.arms
    x, y = arm_place(design, np.array([0.5]), np.array([0.0]))
    # The arm that lies highest is nearest to the words.
    angle = math.atan2(float(y[0]), float(x[0]))
    angle = max((angle + n * turn for n in range(design.arms)), key=math.sin)
    radius = float(np.hypot(x, y)[0])
    at = (radius * math.cos(angle), radius * math.sin(angle))
    return Dimension(key=f"{name}.width_mm", kind="plan note", low=at, high=at, value_m=design.width_m,
                     words="Width of an arm", text=f"{millimetres(design.width_m)} wide")  # fmt: skip


def _dimension(kind: str, low: Point, high: Point, value: float, words: str) -> Dimension:
    text = f"⌀{millimetres(value)}" if kind == "diameter" else millimetres(value)
    return Dimension(key="", kind="diameter" if kind == "diameter" else "height", low=low, high=high, value_m=value, words=words, text=text)  # fmt: skip
