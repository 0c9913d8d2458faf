"""Moving parts as a dimensioned half-section on a page: the dimensions carry the keys of the record, so that they can be edited there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.text import join_words
from halfroll.motor.coil.wound import Coil
from halfroll.motor.types import Assembly
from halfroll.publish.profile_dimensions import Dimension, PartDesign, dimensions_of
from halfroll.publish.profile_marks import marks, rows_of
from halfroll.publish.section_bodies import axis, bodies, coil_drawn
from halfroll.publish.section_moving import DRAWN_M, outlines_drawn
from halfroll.publish.section_sheet import Sheet, inks_of
from halfroll.publish.theme import Theme
from halfroll.suspension.design import (
    CapDesign,
    ConeDesign,
    FlexureDesign,
    FormerDesign,
    MovingDesign,
    StripDesign,
)
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.profile.cones import cap_line
from halfroll.suspension.profile.outlines import wall_outline
from halfroll.suspension.profile.placed import moving_lines, moving_outlines

TALLEST = 0.9
"""The drawing itself is at most so many times as tall as the picture is wide."""

NEAR = 0.35
"""A part whose inner edge is farther out than this share of its outer one is drawn without the space about the axis."""


def profile_svg(
    design: MovingDesign | PartDesign, *, theme: Theme | None, width_px: float, live: bool = True, name: str = "", dimensions: bool = True,
    assembly: Assembly | None = None, coil: Coil | None = None,
) -> str:  # fmt: skip
    """SVG of the half-section of one part or of all that moves, dimensioned.

    Parameters
    ----------
    design
        One part, or all; they stand where the design puts them over the gap (a cap alone on its rim's level).
    theme, width_px
        As for `section.section_svg`; the SVG says its scale in the same attributes.
    live
        Each dimension that is a key of the record is a group of class ``live`` with ``data-key`` (``surround.inner_mm``),
        ``data-value`` and ``data-unit`` (mm) and ``data-words``.
    name
        Whom it shows.
    dimensions
        Whether they are drawn.
    assembly, coil
        The motor, drawn behind without dimensions of its own.

    Raises
    ------
    InputError
        Dimensions that cannot be.
    """
    parts = _parts(design)
    many = isinstance(design, MovingDesign)
    found = [one for part in parts for one in part.dimensions(placed=many)] if dimensions else []
    outlines = {part.name: part.outlines for part in parts}
    if not outlines:
        raise InputError("There must be a part to draw", key="surround", found="no moving parts")
    behind = () if assembly is None else tuple(np.array(body.outline) for body in assembly.bodies)
    every = np.concatenate([*(one for part in outlines.values() for one in part), *behind])
    low_r, high_r = (0.0 if _near(every) else float(every[:, 0].min())), float(every[:, 0].max())
    low_z, high_z = float(every[:, 1].min()), float(every[:, 1].max())
    sheet, box = _laid_out(found, (low_r, high_r, low_z, high_z), theme, width_px)
    rows = rows_of(found, sheet.scale, sheet.inks.text)
    lines: list[str] = []
    if assembly is not None:
        lines += [*bodies(sheet, assembly, True, False), *coil_drawn(sheet, assembly, coil, False)]
        outlines.pop("former", None)  # the coil is drawn with its own
    lines += outlines_drawn(sheet, outlines, {part.name: part.design for part in parts}, mirrored=False)
    lines += [axis(sheet)] if low_r == 0.0 else []
    lines.append(marks(sheet, rows, box, mirrored=False, live=live))
    said = f"{name}: half-section" if name else "Half-section"
    with_motor = "" if assembly is None else " in their motor"
    names = join_words([part.name for part in parts])
    return sheet.svg(lines, sheet.height, f"{said} of {names}{with_motor}, to scale, dimensions in mm.")


def _near(outline: FloatArray) -> bool:
    return float(outline[:, 0].min()) < NEAR * float(outline[:, 0].max())


@dataclass(frozen=True, kw_only=True, eq=False)
class _Part:
    """A part with its middle line and outlines where it is drawn."""

    name: str
    design: PartDesign
    line: Profile
    outlines: tuple[FloatArray, ...]

    def dimensions(self, *, placed: bool) -> list[Dimension]:
        """Its dimensions; among other parts only those that the record has, and none of the former: the coil's design says what it is."""
        if placed and self.name == "former":
            return []
        every = dimensions_of(self.design, self.line, self.name, placed=placed)
        return [one for one in every if one.key or not placed]


def _parts(design: MovingDesign | PartDesign) -> list[_Part]:
    if isinstance(design, CapDesign):
        line = cap_line(design)
        return [_Part(name="cap", design=design, line=line, outlines=(wall_outline(line, DRAWN_M),))]
    moving = design if isinstance(design, MovingDesign) else _alone(design)
    outlines = moving_outlines(moving, DRAWN_M)
    return [
        _Part(name=name, design=getattr(moving, name), line=line, outlines=outlines[name])
        for name, line in moving_lines(moving).items()
    ]


def _alone(design: StripDesign | FlexureDesign | ConeDesign | FormerDesign) -> MovingDesign:
    if isinstance(design, ConeDesign):
        return MovingDesign(cone=design)
    if isinstance(design, FormerDesign):
        return MovingDesign(former=design)
    return MovingDesign(spider=design) if design.name == "spider" else MovingDesign(surround=design)


def _laid_out(
    found: list[Dimension], extent: tuple[float, float, float, float], theme: Theme | None, width_px: float
) -> tuple[Sheet, tuple[float, float, float, float]]:
    """The sheet, and the edges of the drawing on it (left, right, top, bottom)."""
    low_r, high_r, low_z, high_z = extent
    inks = inks_of(theme)
    pad = 0.6 * inks.text
    left = pad + 1.2 * inks.text
    _, beside, _ = rows_of(found, width_px / high_r, inks.text).room(inks.text)
    scale = min(
        (width_px - left - pad - beside) / (high_r - low_r), TALLEST * width_px / max(high_z - low_z, 1e-4)
    )
    below, beside, above = rows_of(found, scale, inks.text).room(inks.text)
    axis_px = left - scale * low_r
    top = pad + above
    bottom = top + scale * (high_z - low_z)
    sheet = Sheet(
        inks=inks, width=width_px, height=round(bottom + below + pad, 1), axis_px=axis_px, zero_px=top + scale * high_z,
        scale=scale, view=(low_r, high_r, low_z, high_z),
    )  # fmt: skip
    return sheet, (left, axis_px + scale * high_r, top, bottom)
