"""A planar flexure bent, seen aslant from above, to scale: hub and rim, all arms with the plastic's elongation in colour."""

from __future__ import annotations

import math

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN
from halfroll.publish.ramp import ramp
from halfroll.publish.section_sheet import Inks, Sheet, inks_of
from halfroll.publish.suspension import elongation
from halfroll.publish.suspension_shapes import corners, notes_under, only_words, said_x, svg, whose
from halfroll.publish.suspension_strain import scale_top, strain_scale
from halfroll.publish.theme import Theme
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.results import ArmShape, PartResult

ABOVE = math.radians(35.0)
"""From so far above its plane it is seen."""

_COLOURS = 33
_AROUND = np.linspace(0.0, 2 * np.pi, 121)


def bent_arm_svg(
    design: FlexureDesign, part: PartResult, x_m: float, *, theme: Theme, width_px: float, name: str = "",
    bears: float | None = None,
) -> str:  # fmt: skip
    """SVG of a flexure bent nearest to `x_m`: the arms coloured by their largest elongation on either face, blank within a thickness
    of a clamp; its plan at rest dotted; a mark on the hub that shows how far it turned.

    `bears` is the elongation its material bears for millions of cycles.
    """
    arm = min(part.arm_shapes, key=lambda one: abs(one.x_m - x_m), default=None)
    if arm is None:
        return only_words(theme, width_px, f"No bent arms are known of the {part.name}.")
    inks = inks_of(theme)
    sheet = _sheet(design, part, width_px, inks)
    top = scale_top(part)
    rest = min(part.arm_shapes, key=lambda one: abs(one.x_m))
    drawn = [_ring(sheet, design.outer_radius_m, 0.0, inks.thick), _plan(sheet, design, rest)]
    drawn += [_arms(sheet, design, arm, top, theme), _hub(sheet, design, arm)]
    scale, y = strain_scale(sheet, top, theme, bears)
    at = f"{said_x(arm.x_m)}{THIN}mm"
    turned = f"{abs(math.degrees(arm.turn_rad)):.2f}°" if part.hub_turn_rad is not None else ""
    words = [
        f"hub at x = {at}, to scale",
        "colour: largest elongation",
        "dotted: at rest",
        "blank: within a thickness of a clamp",
    ]
    words += [f"the hub has turned by {turned}, see its mark"] if turned else ["the hub is held from turning"]
    notes, height = notes_under(sheet, words, y)
    said = f"{whose(part, name)} bent to {at}, seen aslant from above" + (
        f"; its hub turned by {turned}." if turned else "."
    )
    return svg(sheet, [*drawn, scale, *notes], height, said, "flexure")


def seen(places: FloatArray) -> FloatArray:
    """Places (..., 3) as they are seen (..., 2): across and up (m)."""
    up = places[..., 1] * math.sin(ABOVE) + places[..., 2] * math.cos(ABOVE)
    return np.stack([places[..., 0], up], axis=-1)


def _sheet(design: FlexureDesign, part: PartResult, width_px: float, inks: Inks) -> Sheet:
    """The sheet that holds the rim and the hub over the whole travel."""
    reach = max(abs(one.x_m) for one in part.arm_shapes)
    wide = design.outer_radius_m + 0.5 * design.width_m  # a spiral's end stands aslant over the rim
    rim, hub = (
        wide * math.sin(ABOVE),
        design.inner_radius_m * math.sin(ABOVE) + (reach + design.thickness_m) * math.cos(ABOVE),
    )
    high = max(rim, hub)
    edge = 1.2 * inks.text
    scale = (width_px - 2 * edge) / (2 * wide)
    return Sheet(
        inks=inks, width=width_px, height=round(2 * edge + 2 * scale * high, 1), axis_px=width_px / 2,
        zero_px=edge + scale * high, scale=scale, view=(-wide, wide, -high, high),
    )  # fmt: skip


def _ring(sheet: Sheet, radius: float, z: float, width: float, more: str = "") -> str:
    places = np.stack([radius * np.cos(_AROUND), radius * np.sin(_AROUND), np.full(len(_AROUND), z)], axis=1)
    return sheet.stroke(sheet.path(corners(seen(places)), closed=True), cls="ring", width=width, more=more)


def _plan(sheet: Sheet, design: FlexureDesign, rest: ArmShape) -> str:
    """Edges of all arms at rest."""
    edges = np.concatenate([rest.upper_m[:, 0], rest.upper_m[::-1, -1]])
    dots = f' stroke-dasharray="0 {2.5 * sheet.inks.thin:g}" stroke-linecap="round"'
    return "".join(
        sheet.stroke(sheet.path(corners(seen(one)), closed=True), cls="rest", more=dots)
        for one in _copies(edges, design.arms)
    )


def _arms(sheet: Sheet, design: FlexureDesign, arm: ArmShape, top: float, theme: Theme) -> str:
    """The upper faces as patches, far ones first, and the arms' edges."""
    colours = ["#{:02x}{:02x}{:02x}".format(*one) for one in ramp(theme.palette.paper, _COLOURS).tolist()]
    stretched = elongation(arm.strain)
    mean = (stretched[:-1, :-1] + stretched[1:, :-1] + stretched[1:, 1:] + stretched[:-1, 1:]) / 4
    patches = []
    for face in _copies(arm.upper_m, design.arms):
        quads = np.stack([face[:-1, :-1], face[1:, :-1], face[1:, 1:], face[:-1, 1:]], axis=2).reshape(
            -1, 4, 3
        )
        far = quads[:, :, 1].mean(axis=1) * math.cos(ABOVE) - quads[:, :, 2].mean(axis=1) * math.sin(ABOVE)
        patches += list(zip(far.tolist(), seen(quads), mean.ravel().tolist(), strict=True))
    drawn = []
    for _, quad, value in sorted(patches, key=lambda one: -one[0]):
        known = math.isfinite(value)
        fill = colours[min(round(value / top * (_COLOURS - 1)), _COLOURS - 1)] if known else sheet.inks.paper
        drawn.append(
            f'<path d="{sheet.path(corners(quad), closed=True)}" fill="{fill}" stroke="{fill}" stroke-width=".6"/>'
        )
    edges = np.concatenate([arm.upper_m[:, 0], arm.upper_m[::-1, -1]])
    drawn += [
        sheet.stroke(sheet.path(corners(seen(one)), closed=True), cls="arm", width=0.6 * sheet.inks.thick)
        for one in _copies(edges, design.arms)
    ]
    return f'<g class="arms">{"".join(drawn)}</g>'


def _hub(sheet: Sheet, design: FlexureDesign, arm: ArmShape) -> str:
    """The hub's circle where it is, and a mark on it that was at the right at rest."""
    z = arm.x_m + 0.5 * design.thickness_m
    tip = design.inner_radius_m * np.array([math.cos(arm.turn_rad), math.sin(arm.turn_rad)])
    mark = np.array([[*(0.8 * tip), z], [*tip, z]])
    line = f'<path class="mark" d="{sheet.path(corners(seen(mark)))}" fill="none" stroke="{sheet.inks.accent}" stroke-width="{sheet.inks.thick:g}"/>'
    return _ring(sheet, design.inner_radius_m, z, 0.6 * sheet.inks.thick) + line


def _copies(places: FloatArray, arms: int) -> list[FloatArray]:
    """Places (..., 3) of the first arm and of all others."""
    turned = []
    for number in range(arms):
        c, s = math.cos(2 * math.pi * number / arms), math.sin(2 * math.pi * number / arms)
        turned.append(places @ np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]]))
    return turned
