"""The field under a motor's drawing: smooth colour by flux density with its scale, lines where steel is full, flux lines."""

from __future__ import annotations

import base64
import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN
from halfroll.motor.results import FieldMap
from halfroll.motor.types import Assembly, SoftSteel
from halfroll.publish.ramp import png, ramp
from halfroll.publish.scales import round_step
from halfroll.publish.section_sheet import Sheet
from halfroll.publish.triangles import Line, contour, pixels

FULL_T = (1.5, 1.8)
"""Flux densities (T) at which steel gets lines: about the knee of low-carbon steel, and nearly full."""

COLOURS = 96
LINES = 15
"""About so many flux lines are drawn."""

AROUND = 0.3
"""Air around the motor for which colours and lines are worked out, as a share of its size."""

_PIXELS = 330_000
_PER_TRIANGLE = 15
"""A coarse mesh does not bear more pixels than so many to a triangle, and is drawn the faster."""

_LEAST_PX = 14.0
"""Shorter closed lines (px) are left out."""


@dataclass(frozen=True, eq=False)
class Seen:
    """A field map in the surroundings of its motor: colours and lines, worked out once for drawings of any size."""

    field: FieldMap
    assembly: Assembly

    @cached_property
    def view(self) -> tuple[float, float, float, float]:
        """(r_low, r_high, z_low, z_high) of the surroundings (m)."""
        bounds = [body.bounds for body in self.assembly.bodies]
        r, low, high = max(b[1] for b in bounds), min(b[2] for b in bounds), max(b[3] for b in bounds)
        if self.assembly.winding is not None:
            low, high = min(low, self.assembly.winding.z_low), max(high, self.assembly.winding.z_high)
        air = AROUND * max(r, high - low)
        return 0.0, r + air, low - air, high + air

    @cached_property
    def triangles(self) -> NDArray[np.intp]:
        """The triangles that reach into the view, (m, 3)."""
        return np.asarray(self.field.triangles, dtype=np.intp)[self._inside]

    @cached_property
    def _inside(self) -> NDArray[np.bool_]:
        corner = self.field.points_m[np.asarray(self.field.triangles, dtype=np.intp)]
        low, high = corner.min(axis=1), corner.max(axis=1)
        r_low, r_high, z_low, z_high = self.view
        return np.asarray(
            (high[:, 0] >= r_low) & (low[:, 0] <= r_high) & (high[:, 1] >= z_low) & (low[:, 1] <= z_high)
        )

    @cached_property
    def size_t(self) -> FloatArray:
        """Flux density (T) at the nodes, (n,)."""
        return np.asarray(np.hypot(self.field.b_t[:, 0], self.field.b_t[:, 1]))

    @cached_property
    def top_t(self) -> float:
        """Upper end of the colour scale (T): half a tesla's multiple over all but the sharpest corners."""
        nodes = np.unique(self.triangles)
        inside = self._in_view(self.field.points_m[nodes])
        most = float(np.quantile(self.size_t[nodes[inside]], 0.98)) if inside.any() else 1.0
        step = 0.5 if most > 0.6 else 0.1
        return min(max(step * math.ceil(most / step - 0.1), step), 2.5)

    @cached_property
    def step_wb(self) -> float:
        """Flux between two neighbouring lines (Wb), a round number."""
        nodes = np.unique(self.triangles)
        flux = self.field.flux_wb[nodes][self._in_view(self.field.points_m[nodes])]
        reach = float(np.ptp(flux)) if flux.size else 0.0
        return round_step(reach / LINES) if reach > 0 else 1e-6

    @cached_property
    def flux_lines(self) -> list[Line]:
        """Lines of equal flux, in metres, so many webers apart."""
        nodes = np.unique(self.triangles)
        flux = self.field.flux_wb[nodes]
        first, last = (
            math.ceil(float(flux.min()) / self.step_wb),
            math.floor(float(flux.max()) / self.step_wb),
        )
        levels = [k * self.step_wb for k in range(max(first, -200), min(last, 200) + 1) if k]
        return [
            line
            for level in levels
            for line in contour(self.field.points_m, self.triangles, self.field.flux_wb, level)
        ]

    @cached_property
    def full_lines(self) -> list[tuple[float, Line]]:
        """Lines in steel at `FULL_T`, with their flux density."""
        steel = [n for n, body in enumerate(self.assembly.bodies) if isinstance(body.matter, SoftSteel)]
        triangles = np.asarray(self.field.triangles, dtype=np.intp)[
            self._inside & np.isin(self.field.body, steel)
        ]
        return [
            (level, line)
            for level in FULL_T
            for line in contour(self.field.points_m, triangles, self.size_t, level)
        ]

    def _in_view(self, points: FloatArray) -> NDArray[np.bool_]:
        r_low, r_high, z_low, z_high = self.view
        return np.asarray(
            (points[:, 0] >= r_low)
            & (points[:, 0] <= r_high)
            & (points[:, 1] >= z_low)
            & (points[:, 1] <= z_high)
        )


@lru_cache(maxsize=8)
def seen(field: FieldMap, assembly: Assembly) -> Seen:
    """The field map of a motor made ready; kept for the next drawing."""
    return Seen(field, assembly)


def picture(sheet: Sheet, seen: Seen, paper: str) -> str:
    """SVG of the colours, cut to the view."""
    r_low, r_high, z_low, z_high = seen.view
    return cut_to_view(
        sheet,
        f'<image class="field" x="{sheet.x(r_low):.2f}" y="{sheet.y(z_high):.2f}" width="{sheet.scale * (r_high - r_low):.2f}" '
        f'height="{sheet.scale * (z_high - z_low):.2f}" preserveAspectRatio="none" href="data:image/png;base64,{_colours(seen, paper)}"/>',
    )


@lru_cache(maxsize=8)
def _colours(seen: Seen, paper: str) -> str:
    """The colours as PNG in base 64."""
    r_low, r_high, z_low, z_high = seen.view
    many = min(_PIXELS, _PER_TRIANGLE * len(seen.triangles))
    fine = math.sqrt(many / ((r_high - r_low) * (z_high - z_low)))
    shape = (int(fine * (z_high - z_low)), int(fine * (r_high - r_low)))
    grid = pixels(seen.field.points_m, seen.triangles, seen.field.b_t, seen.view, shape)
    size = np.hypot(grid[..., 0], grid[..., 1])
    with np.errstate(invalid="ignore"):
        index = 1.0 + np.round(np.minimum(size / seen.top_t, 1.0) * (COLOURS - 1))
    chosen = np.where(np.isfinite(index), index, 0.0).astype(np.uint8)
    colours = np.vstack([np.zeros((1, 3), dtype=np.uint8), ramp(paper, COLOURS)])
    return base64.b64encode(png(chosen, colours)).decode("ascii")


def flux_lines(sheet: Sheet, seen: Seen) -> str:
    """SVG of the flux lines, cut to the view."""
    d = "".join(_thin(sheet, line) for line in seen.flux_lines)
    return cut_to_view(sheet, sheet.stroke(d, cls="flux-line", width=1.1 * sheet.inks.thin))


def full_lines(sheet: Sheet, seen: Seen) -> str:
    """SVG of the lines in full steel with their numbers, dashed below the upper one."""
    drawn, words = [], []
    for level, line in seen.full_lines:
        d = _thin(sheet, line)
        if not d:
            continue
        dash = "" if level == FULL_T[-1] else ' stroke-dasharray="5 2.5"'
        drawn.append(f'<path d="{d}" fill="none" stroke="{sheet.inks.paper}" stroke-opacity=".7" stroke-width="{5 * sheet.inks.thin:g}"/>'
                     f'<path class="full" data-tesla="{level:g}" d="{d}" fill="none" stroke="{sheet.inks.accent}" '
                     f'stroke-width="{2.2 * sheet.inks.thin:g}"{dash}/>')  # fmt: skip
        words.append((level, line))
    placed = _labels(sheet, words)
    return "".join([*drawn, *placed])


def _labels(sheet: Sheet, lines: list[tuple[float, Line]]) -> list[str]:
    """One number on each of the longest lines, none over another."""
    taken: list[tuple[float, float]] = []
    made = []
    for level, line in sorted(lines, key=lambda one: -_length(one[1])):
        if float(np.ptp(line, axis=0).max()) * sheet.scale < 3.0 * sheet.inks.text:
            continue
        r, z = line[len(line) // 2]
        x, y = sheet.x(r), sheet.y(z)
        if any(abs(x - a) < 2.4 * sheet.inks.text and abs(y - b) < 1.2 * sheet.inks.text for a, b in taken):
            continue
        taken.append((x, y))
        made.append(sheet.word(x, y + 0.35 * sheet.inks.text, f"{level:g}{THIN}T", cls="full"))
    return made[:8]


def scale_bar(sheet: Sheet, seen: Seen, paper: str, left: float, top: float, width: float) -> str:
    """SVG of the colour scale with its numbers in T."""
    text = sheet.inks.text
    colours = ramp(paper, 33)
    slot = width / len(colours)
    blocks = "".join(
        f'<rect x="{left + n * slot:.2f}" y="{top:.1f}" width="{slot + 0.6:.2f}" height="{0.8 * text:.1f}" fill="#{r:02x}{g:02x}{b:02x}"/>'
        for n, (r, g, b) in enumerate(colours.tolist())
    )
    frame = sheet.stroke(f"M{left:.1f} {top:.1f}h{width:.1f}v{0.8 * text:.1f}h{-width:.1f}Z", cls="narrow")
    step = 0.5 if seen.top_t > 0.6 else 0.1
    many = round(seen.top_t / step)
    numbers = "".join(
        sheet.word(
            left + width * n / many,
            top + 2.0 * text,
            f"{n * step:g}" + (f"{THIN}T" if n == many else ""),
            cls="scale",
        )
        for n in range(many + 1)
    )
    return f'<g class="scale">{blocks}{frame}{numbers}</g>'


def cut_to_view(sheet: Sheet, drawn: str) -> str:
    """What is drawn cut to the view, by a picture in the picture; no names, so that many drawings may stand on one page."""
    r_low, r_high, z_low, z_high = sheet.view
    box = f"{sheet.x(r_low):.1f} {sheet.y(z_high):.1f} {sheet.scale * (r_high - r_low):.1f} {sheet.scale * (z_high - z_low):.1f}"
    x, y, width, height = box.split()
    return f'<svg x="{x}" y="{y}" width="{width}" height="{height}" viewBox="{box}">{drawn}</svg>'


def _thin(sheet: Sheet, line: Line) -> str:
    """Path data of a line with points nearer than 1.5 px left out; empty when it is outside the view or tiny."""
    r_low, r_high, z_low, z_high = sheet.view
    at = np.column_stack([sheet.axis_px + sheet.scale * line[:, 0], sheet.zero_px - sheet.scale * line[:, 1]])
    closed = bool(np.allclose(line[0], line[-1]))
    if closed and float(np.ptp(at, axis=0).max()) < _LEAST_PX / 3.0:
        return ""
    inside = (line[:, 0] <= r_high) & (line[:, 0] >= r_low) & (line[:, 1] >= z_low) & (line[:, 1] <= z_high)
    if not inside.any():
        return ""
    pieces: list[list[tuple[float, float]]] = []
    kept: list[tuple[float, float]] = []
    near = inside | np.append(inside[1:], False) | np.insert(inside[:-1], 0, False)
    for k, (x, y) in enumerate(at.tolist()):
        if not near[k]:
            pieces, kept = ([*pieces, kept] if len(kept) > 1 else pieces), []
            continue
        last = k == len(at) - 1 or not near[k + 1]
        if not kept or last or math.hypot(x - kept[-1][0], y - kept[-1][1]) >= 1.5:
            kept.append((x, y))
    pieces = [*pieces, kept] if len(kept) > 1 else pieces
    return "".join("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in piece) for piece in pieces)


def _length(line: Line) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())
