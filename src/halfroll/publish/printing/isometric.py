"""Parts on their build plate as a still picture: an isometric view (ISO 5456-3), shaded, with sizes in words and the way layers go.

For paper, and for where the turning picture cannot be. Faces are painted from the farthest to the nearest.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from html import escape

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.publish.printing.plate import places_on_plate
from halfroll.publish.theme import Theme
from halfroll.suspension.models.checks import USUAL_BED_M, Volume
from halfroll.suspension.models.model import Model, Shape

AROUND = 48
"""Flat faces around a round part."""

STEP_MM = 0.12
"""A half-section is drawn with corners no farther off than this."""

SHADES = 8
LIGHT = np.array([0.35, -0.55, 0.76])
"""Where the light comes from, in x, y, z: over the left shoulder."""

_C, _S = math.cos(math.radians(30.0)), math.sin(math.radians(30.0))
_VIEW = np.array([[_C, -_C, 0.0], [-_S, -_S, -1.0]])
"""From x, y, z to the sheet, y downwards: axes 120° apart, all to one scale."""
_TOWARDS = np.array([-1.0, -1.0, 1.0]) / math.sqrt(3.0)
"""Towards the eye."""


def isometric_svg(models: Sequence[Model], *, bed_m: Volume = USUAL_BED_M, look: Theme | None = None) -> str:
    """The picture of models side by side on a plate.

    Parameters
    ----------
    models
        At least one, as `models_of` makes them; coarse ones do.
    bed_m
        Build volume (m); its plate is drawn.
    look
        Colours of a theme; None takes the page's own style-sheet variables, so the picture follows the page.
    """
    places = [1e3 * place for place in places_on_plate(models, bed_m[0])]
    faces: list[tuple[float, float, FloatArray]] = []
    for model, place in zip(models, places, strict=True):
        faces += [
            (float((corners + place).mean(axis=0) @ _TOWARDS), shade, corners + place)
            for shade, corners in _faces(model)
        ]
    faces.sort(key=lambda face: face[0])
    ink, raised, quiet = _inks(look)
    drawn = "".join(f'<path d="{_path(corners)}" class="s{_step(shade)}"/>' for _, shade, corners in faces)
    plate = np.array([[0, 0, 0], [bed_m[0], 0, 0], [bed_m[0], bed_m[1], 0], [0, bed_m[1], 0]]) * 1e3
    words = "".join(_label(model, place) for model, place in zip(models, places, strict=True))
    box = _box(models, places, plate)
    size = 0.013 * (box[2] + box[3])
    colours = "".join(f".iso .s{k}{{{_fill(k, look)}}}" for k in range(SHADES))
    style = (
        f"<style>.iso path{{stroke-width:.5;stroke-linejoin:round}}{colours}.iso .plate{{fill:none;stroke:{quiet};stroke-width:.5}}"
        f".iso text{{fill:{ink};font-size:{size:.1f}px;text-anchor:middle;paint-order:stroke;stroke:{raised};stroke-width:{0.2 * size:.1f};stroke-linejoin:round}}"
        f".iso .up{{stroke:{ink};stroke-width:.6;fill:none}}</style>"
    )
    return (
        f'<svg class="iso" xmlns="http://www.w3.org/2000/svg" viewBox="{" ".join(f"{value:.1f}" for value in box)}" role="img" '
        f'aria-label="{escape(in_words(models))}">{style}<path class="plate" d="{_path(plate)}"/>{drawn}{words}{_layers(plate, size)}</svg>'
    )


def in_words(models: Sequence[Model]) -> str:
    """What is to be seen, in a sentence: every part with its size."""
    sizes = "; ".join(f"{model.title}, {size_words(model)}" for model in models)
    return f"On the build plate, layers upwards: {sizes}."


def size_words(model: Model) -> str:
    """Extent of a part as it lies: a round one by diameter and height."""
    x, y, z = (1e3 * float(side) for side in model.size_m)
    return f"⌀ {x:.1f} × {z:.1f} mm" if model.shape.is_round else f"{x:.1f} × {y:.1f} × {z:.1f} mm"


def _faces(model: Model) -> Iterator[tuple[float, FloatArray]]:
    """Faces that look towards the eye: how light each is, and its corners (n, 3) in mm."""
    corners = list(_round(model.shape) if model.shape.is_round else _plate(model))
    for face in corners:
        a, b, c = face[0], face[len(face) // 3], face[2 * len(face) // 3]
        normal = np.cross(b - a, c - a)
        length = float(np.linalg.norm(normal))
        if length > 1e-12 and float(normal @ _TOWARDS) > 1e-3 * length:
            yield float(normal @ LIGHT) / length, face


def _round(shape: Shape) -> Iterator[FloatArray]:
    angles = np.linspace(0.0, 2.0 * np.pi, AROUND + 1)
    turn = np.column_stack([np.cos(angles), np.sin(angles)])
    for section in shape.sections_m:
        outline = _thinned(1e3 * section)
        for (r1, z1), (r2, z2) in zip(outline, np.roll(outline, -1, axis=0), strict=True):
            for one, two in itertools.pairwise(turn):
                face = np.array([[*(r1 * one), z1], [*(r1 * two), z1], [*(r2 * two), z2], [*(r2 * one), z2]])
                yield face if r1 > 0.0 else face[[0, 2, 3]]


def _plate(model: Model) -> Iterator[FloatArray]:
    corners = 1e3 * model.mesh.corners_m
    for triangle in model.mesh.triangles:
        yield corners[triangle]


def _thinned(outline: FloatArray) -> FloatArray:
    """An outline without the corners that hardly matter, anticlockwise."""
    kept = [outline[0]]
    start = 0
    for n in range(2, len(outline) + 1):
        end = outline[n % len(outline)]
        along = end - outline[start]
        between = outline[start + 1 : n] - outline[start]
        length = max(float(np.hypot(*along)), 1e-9)
        if np.abs(between[:, 0] * along[1] - between[:, 1] * along[0]).max() > STEP_MM * length:
            start = n - 1
            kept.append(outline[start])
    found = np.array(kept)
    x, y = found[:, 0], found[:, 1]
    return found if np.dot(x, np.roll(y, -1)) >= np.dot(y, np.roll(x, -1)) else found[::-1]


def _step(shade: float) -> int:
    return min(max(int((0.5 + 0.5 * shade) * SHADES), 0), SHADES - 1)


def _inks(look: Theme | None) -> tuple[str, str, str]:
    if look is None:
        return "var(--ink)", "var(--raised)", "var(--quiet)"
    return look.palette.ink, look.palette.raised, look.palette.quiet


def _fill(step: int, look: Theme | None) -> str:
    """The style of a shade, from 0 in shadow to the light: ink on paper, or ink as the light where it is the lighter one."""
    on_paper, in_dark = 62 - 7 * step, 14 + 9 * step
    if look is not None:
        share = in_dark if _bright(look.palette.ink) > _bright(look.palette.raised) else on_paper
        return _both(_mixed(share, look.palette.ink, look.palette.raised))
    paper, dark = (f"color-mix(in srgb,var(--ink) {share}%,var(--raised))" for share in (on_paper, in_dark))
    return _both(paper) + _both(f"light-dark({paper},{dark})")  # the second for browsers that know it


def _both(colour: str) -> str:
    return f"fill:{colour};stroke:{colour};"


def _mixed(share: int, ink: str, raised: str) -> str:
    mixed = (
        (share * one + (100 - share) * other) / 100
        for one, other in zip(_levels(ink), _levels(raised), strict=True)
    )
    return "#" + "".join(f"{round(value):02x}" for value in mixed)


def _levels(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def _bright(colour: str) -> int:
    return sum(_levels(colour))


def _path(corners: FloatArray) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in corners @ _VIEW.T) + "Z"


def _label(model: Model, place: FloatArray) -> str:
    x, y = _VIEW @ (place + np.array([0.0, 0.0, 0.5e3 * float(model.size_m[2])]))
    return f'<text x="{x:.1f}" y="{y:.1f}">{escape(model.words)}<tspan x="{x:.1f}" dy="1.1em">{escape(size_words(model))}</tspan></text>'


def _layers(plate: FloatArray, size: float) -> str:
    """An arrow at the plate's left corner: the way layers go."""
    x, y = _VIEW @ plate[3]
    top = y - 4.0 * size
    head = f"M{x - 0.3 * size:.1f} {top + 0.9 * size:.1f}L{x:.1f} {top:.1f}L{x + 0.3 * size:.1f} {top + 0.9 * size:.1f}"
    return f'<path class="up" d="M{x:.1f} {y:.1f}V{top:.1f}{head}"/><text x="{x:.1f}" y="{top - 0.4 * size:.1f}">layers</text>'


def _box(
    models: Sequence[Model], places: Sequence[FloatArray], plate: FloatArray
) -> tuple[float, float, float, float]:
    corners = [plate, plate[3:] + np.array([0.0, 0.0, 30.0])]
    for model, place in zip(models, places, strict=True):
        size = 1e3 * model.size_m
        corners += [
            place + np.array([[sx, sy, 0.0]]) * 0.5 * size + np.array([0, 0, h * size[2]])
            for sx in (-1, 1)
            for sy in (-1, 1)
            for h in (0, 1)
        ]
    seen = np.vstack(corners) @ _VIEW.T
    low, high = seen.min(axis=0) - 8.0, seen.max(axis=0) + 8.0
    return float(low[0]), float(low[1]), float(high[0] - low[0]), float(high[1] - low[1])
