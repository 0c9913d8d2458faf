"""The strain on a suspension part's bent section, in colour and without it.

Within a thickness of a clamp none is shown: at a clamp's sharp corner it grows without end as a mesh gets finer and says nothing
of the part.
"""

from __future__ import annotations

import base64
import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from halfroll.core.text import THIN
from halfroll.publish.ramp import png, ramp
from halfroll.publish.scales import round_step
from halfroll.publish.section_sheet import Sheet, inks_of
from halfroll.publish.suspension import elongation
from halfroll.publish.suspension_shapes import (
    clamp,
    corners,
    inner_edge,
    laid_out,
    nearest,
    notes_under,
    only_words,
    outer_edge,
    said_x,
    svg,
    whose,
)
from halfroll.publish.theme import Theme
from halfroll.publish.triangles import Line, contour, pixels
from halfroll.suspension.results import BentShape, PartResult

_COLOURS = 96
_PIXELS = 260_000
MOST_NUMBERS = 10
"""So many lines of equal strain carry their number."""


def strain_svg(
    part: PartResult, x_m: float, *, theme: Theme, width_px: float, name: str = "", bears: float | None = None
) -> str:
    """SVG of the largest elongation on a part's section, bent nearest to `x_m`: colour with its scale in %, lines of equal strain with their
    numbers, the largest strain with its place; blank with a word near the clamps. The scale holds for the whole travel.

    `bears` is the strain its material bears for millions of cycles.
    """
    shape = nearest(part.shapes, x_m)
    if shape is None or not np.isfinite(shape.strain).any():
        return only_words(theme, width_px, f"No strain map is known of the {part.name}.")
    shape = replace(shape, strain=elongation(shape.strain))
    inks = inks_of(theme)
    top = scale_top(part)
    sheet = laid_out(
        [one.outline_m for one in part.shapes], inks, width_px, 2.2 * inks.text, 3.4 * inks.text, foot=3.4
    )
    outline = sheet.path(corners(shape.outline_m), closed=True)
    drawn = [_colours(sheet, shape, top, theme), _lines(sheet, shape, top)]
    drawn += [
        sheet.stroke(outline, cls="bent", width=0.7 * inks.thick),
        *_clamp_words(sheet, shape),
        _largest(sheet, shape),
    ]
    drawn.append(clamp(sheet, part.shapes))
    scale, y = strain_scale(sheet, top, theme, bears)
    most, at = f"{100.0 * float(np.nanmax(shape.strain)):.2g}{THIN}%", f"{said_x(shape.x_m)}{THIN}mm"
    words = [f"largest elongation at x = {at}", f"orange dot: the largest, {most}", "lines: equal strain",
             "blank: within a thickness of a clamp", "one scale over the whole travel"]  # fmt: skip
    notes, height = notes_under(sheet, words, y)
    said = f"{whose(part, name)} bent to {at}: largest elongation {most} away from the clamps."
    return svg(sheet, [*drawn, scale, *notes], height, said, "strained")


def scale_top(part: PartResult) -> float:
    """Upper end of the strain scale, a round number over the largest strain in the travel."""
    shown = [
        float(np.nanmax(elongation(shape.strain))) for shape in part.shapes if np.isfinite(shape.strain).any()
    ]
    most = max(*shown, 1e-6) if shown else 1e-6
    step = round_step(most / 5.0)
    return step * math.ceil(most / step - 1e-9)


def _colours(sheet: Sheet, shape: BentShape, top: float, theme: Theme) -> str:
    low, high = shape.places_m.min(axis=0), shape.places_m.max(axis=0)
    wide, tall = high - low
    fine = min(2.0 * sheet.scale, math.sqrt(_PIXELS / max(wide * tall, 1e-12)))
    rows, columns = max(int(fine * tall), 2), max(int(fine * wide), 2)
    triangles = np.asarray(shape.triangles, dtype=np.intp)
    known = np.isfinite(shape.strain)[triangles].all(axis=1)
    grid = pixels(
        shape.places_m,
        triangles[known],
        shape.strain[:, None],
        (low[0], high[0], low[1], high[1]),
        (rows, columns),
    )[..., 0]
    with np.errstate(invalid="ignore"):
        index = 1.0 + np.round(np.clip(grid / top, 0.0, 1.0) * (_COLOURS - 1))
    picked: NDArray[np.uint8] = np.where(np.isfinite(index), index, 0.0).astype(np.uint8)
    colours = np.vstack([np.zeros((1, 3), dtype=np.uint8), ramp(theme.palette.paper, _COLOURS)])
    data = base64.b64encode(png(picked, colours)).decode("ascii")
    return (
        f'<image x="{sheet.x(low[0]):.2f}" y="{sheet.y(high[1]):.2f}" width="{sheet.scale * wide:.2f}" height="{sheet.scale * tall:.2f}" '
        f'preserveAspectRatio="none" href="data:image/png;base64,{data}"/>'
    )


def _steps(top: float) -> list[float]:
    step = round_step(top / 5.0)
    return [step * n for n in range(1, round(top / step))]


def _lines(sheet: Sheet, shape: BentShape, top: float) -> str:
    """Lines of equal strain at the steps of the scale, with numbers where there is room beside the strip."""
    filled = np.array([(sheet.x(r), sheet.y(z)) for r, z in shape.places_m])
    triangles = np.asarray(shape.triangles, dtype=np.intp)
    triangles = triangles[np.isfinite(shape.strain)[triangles].all(axis=1)]
    middle = float(np.median(shape.places_m[:, 1]))
    drawn: list[str] = []
    taken: list[tuple[float, float]] = []
    for level in reversed(_steps(top)):
        for line in contour(shape.places_m, triangles, shape.strain, level):
            drawn.append(sheet.stroke(sheet.path(corners(line)), cls="equal", width=0.8 * sheet.inks.thin))
            drawn.append(_number(sheet, line, level, line[:, 1].mean() >= middle, taken, filled))
    return "".join(drawn)


def _number(
    sheet: Sheet,
    line: Line,
    level: float,
    above: bool,
    taken: list[tuple[float, float]],
    filled: NDArray[np.float64],
) -> str:
    """The number of a line of equal strain beside it, outside the strip (`filled`, px), where none stands yet."""
    text = sheet.inks.text
    r, z = line[np.argmax(line[:, 1])] if above else line[np.argmin(line[:, 1])]
    x, y = sheet.x(r), sheet.y(z) + (-0.5 if above else 1.2) * text
    if len(taken) >= MOST_NUMBERS or any(
        abs(x - a) < 2.6 * text and abs(y - b) < 1.6 * text for a, b in taken
    ):
        return ""
    on_strip = (np.abs(filled[:, 0] - x) < 1.1 * text) & (
        np.abs(filled[:, 1] - (y - 0.35 * text)) < 0.6 * text
    )
    if on_strip.any():
        return ""
    taken.append((x, y))
    return sheet.word(x, y, f"{100 * level:.3g}", cls="equal", quiet=True)


def _largest(sheet: Sheet, shape: BentShape) -> str:
    """A dot where strain is largest."""
    r, z = shape.places_m[int(np.nanargmax(shape.strain))]
    ink = sheet.inks
    return (
        f'<circle class="largest" cx="{sheet.x(r):.1f}" cy="{sheet.y(z):.1f}" r="{0.33 * ink.text:.1f}" fill="{ink.accent}" '
        f'stroke="{ink.paper}"/>'
    )


def _clamp_words(sheet: Sheet, shape: BentShape) -> list[str]:
    text = sheet.inks.text
    drawn = []
    for (r, z), anchor, push in ((inner_edge(shape), "start", -0.2), (outer_edge(shape), "end", 0.2)):
        drawn.append(
            sheet.word(
                sheet.x(r) + push * text,
                sheet.y(z) + 2.4 * text,
                "clamp",
                anchor=anchor,
                cls="note",
                quiet=True,
            )
        )
    return drawn


def strain_scale(sheet: Sheet, top: float, theme: Theme, bears: float | None) -> tuple[str, float]:
    """The scale of colour under the drawing with its numbers, and what the material bears; and where it ends (px)."""
    text = sheet.inks.text
    left, y, width = 2.0 * text, sheet.height + 0.6 * text, min(sheet.width - 8.0 * text, 24.0 * text)
    colours = ramp(theme.palette.paper, 33)
    slot = width / len(colours)
    blocks = "".join(
        f'<rect x="{left + n * slot:.2f}" y="{y:.1f}" width="{slot + 0.6:.2f}" height="{0.8 * text:.1f}" fill="#{r:02x}{g:02x}{b:02x}"/>'
        for n, (r, g, b) in enumerate(colours.tolist())
    )
    frame = sheet.stroke(f"M{left:.1f} {y:.1f}h{width:.1f}v{0.8 * text:.1f}h{-width:.1f}Z", cls="narrow")
    numbers = "".join(
        sheet.word(
            left + width * level / top,
            y + 2.0 * text,
            f"{100 * level:.3g}" + (f"{THIN}%" if level == top else ""),
            cls="scale",
        )
        for level in (0.0, *_steps(top), top)
    )
    limit = ""
    if bears is not None and bears <= top:
        x = left + width * bears / top
        limit = f'<path d="M{x:.1f} {y - 0.3 * text:.1f}v{1.4 * text:.1f}" stroke="{sheet.inks.accent}" stroke-width="{sheet.inks.thick:g}"/>'
    words = (
        ""
        if bears is None
        else sheet.word(
            left, y + 3.5 * text, _bears_words(bears, top), anchor="start", cls="note", quiet=True
        )
    )
    return f'<g class="scale">{blocks}{frame}{numbers}{limit}</g>{words}', y + (
        2.4 if bears is None else 3.7
    ) * text


def _bears_words(bears: float, top: float) -> str:
    mark = ", the orange mark" if bears <= top else ", beyond the scale"
    return f"the material bears {100 * bears:.2g}{THIN}% for millions of cycles{mark}"
