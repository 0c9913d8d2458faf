"""The set-up of a strip test as a drawing: how the strip is held, where the weight hangs, and what to measure.

Hatching after ISO 128-3, lines after ISO 128-2, dimensions after ISO 129-1; the letters are those of the form's fields.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from html import escape

import numpy as np

from halfroll.materials.calibrate.elastica import bent_fixed_free
from halfroll.materials.calibrate.strip import MOST_FIXED_FREE, MOST_OF_SPAN
from halfroll.materials.calibrate.types import Setup
from halfroll.publish.theme import Theme

ASPECT = 0.52


@dataclass(frozen=True, kw_only=True)
class SetupDrawing:
    """What the drawing shows: dimensions in mm as typed, empty where nothing is, and how far it bends over its length."""

    setup: Setup
    length: str = ""
    width: str = ""
    thickness: str = ""
    load: str = ""
    sinks: str = ""
    reach: float = 0.2


@dataclass
class _Sheet:
    """Lines of an SVG under way; sizes in px."""

    look: Theme
    width: float
    height: float
    parts: list[str] = field(default_factory=list)

    def line(
        self,
        points: list[tuple[float, float]],
        wide: float = 0.8,
        dash: str = "",
        fill: str = "none",
        colour: str = "",
    ) -> None:
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self.parts.append(f'<polyline points="{path}" fill="{fill}" stroke="{colour or self.look.palette.ink}" stroke-width="{wide}"'
                          f'{dashed} stroke-linejoin="round"/>')  # fmt: skip

    def text(self, x: float, y: float, words: str, anchor: str = "middle") -> None:
        self.parts.append(
            f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{self.look.palette.ink}">{escape(words)}</text>'
        )

    def arrow(self, x: float, y: float, dx: float, dy: float) -> None:
        """A closed arrow head at a point, pointing along (dx, dy)."""
        s, c = 7.0, 1.8
        tail = [(x - s * dx - c * dy, y - s * dy + c * dx), (x - s * dx + c * dy, y - s * dy - c * dx)]
        self.line([(x, y), *tail, (x, y)], 0.5, fill=self.look.palette.ink)

    def dimension(
        self, a: tuple[float, float], b: tuple[float, float], words: str, side: float = 6.0
    ) -> None:
        """A dimension line between two points, across or upright, with its words beside the middle."""
        self.line([a, b], 0.6)
        if abs(b[0] - a[0]) > abs(b[1] - a[1]):
            self.arrow(*a, -1, 0)
            self.arrow(*b, 1, 0)
            self.text(0.5 * (a[0] + b[0]), a[1] - side, words)
        elif abs(b[1] - a[1]) > 20.0:
            self.arrow(*a, 0, -1)
            self.arrow(*b, 0, 1)
            self.text(a[0] + side, 0.5 * (a[1] + b[1]) + 4, words, "start")
        else:  # too little room between: the arrows stand outside
            for (x, y), way in ((a, 1), (b, -1)):
                self.arrow(x, y, 0, way)
                self.line([(x, y), (x, y - 16 * way)], 0.6)
            self.text(a[0] + side, b[1] + 18, words, "start")

    def hatched(self, x: float, y: float, w: float, h: float) -> None:
        """A block cut at 45 degrees."""
        self.line([(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)], 1.4)
        for k in np.arange(-h, w, 7.0):
            a, b = (x + max(k, 0.0), y + max(-k, 0.0)), (x + min(k + h, w), y + min(h, w - k))
            self.line([a, b], 0.5)

    def svg(self, words: str) -> str:
        size, family = self.look.sizes.text, self.look.family
        return (f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width:.0f}" height="{self.height:.0f}" '
                f'viewBox="0 0 {self.width:.0f} {self.height:.0f}" role="img" font-family="{escape(family)}, sans-serif" font-size="{size}">'
                f"<title>{escape(words)}</title>{''.join(self.parts)}</svg>")  # fmt: skip


def setup_svg(drawing: SetupDrawing, *, theme: Theme, width_px: float) -> str:
    """The set-up drawn for a width: the strip as it lies without and with the weight, and its cross-section."""
    sheet = _Sheet(look=theme, width=width_px, height=round(max(ASPECT * width_px, 190.0)))
    (_hanging if drawing.setup == "fixed-free" else _spanning)(sheet, drawing)
    _section(sheet, drawing)
    return sheet.svg(setup_words(drawing))


def setup_words(drawing: SetupDrawing) -> str:
    """What the drawing shows, in words."""
    sizes = f"length L {drawing.length or 'not yet typed'} mm, width b {drawing.width or 'not yet typed'} mm, thickness t {drawing.thickness or 'not yet typed'} mm"
    if drawing.setup == "fixed-free":
        return (
            f"A strip clamped at its left end sinks by w where a weight m hangs near its right end: {sizes}."
        )
    return f"A strip on two supports sinks by w in its middle, where a weight m hangs: {sizes}."


def _hanging(sheet: _Sheet, drawing: SetupDrawing) -> None:
    left, right, top = 0.15 * sheet.width, 0.62 * sheet.width, 0.34 * sheet.height
    span = right - left
    reach = min(max(drawing.reach, 0.02), MOST_FIXED_FREE)
    scale = min(1.0, (0.62 * sheet.height - 20.0) / (reach * span))  # a strip that hangs far is drawn shorter
    x, y = bent_fixed_free(reach).T * span * scale
    end = (left + float(x[-1]), top + float(y[-1]))
    flat = left + scale * span
    sheet.hatched(left - 0.1 * sheet.width, top - 26, 0.1 * sheet.width, 22)
    sheet.hatched(left - 0.1 * sheet.width, top + 4, 0.1 * sheet.width, 22)
    sheet.line([(left - 0.1 * sheet.width, top), (flat, top)], 0.8, dash="12 3 2 3 2 3")
    sheet.line(
        [
            (left - 0.1 * sheet.width, top),
            (left, top),
            *zip((left + x).tolist(), (top + y).tolist(), strict=True),
        ],
        3.0,
    )
    _weight(sheet, end, drawing)
    sheet.line([(left, top - 30), (left, top - 54)], 0.5)
    sheet.line([(flat, top - 4), (flat, top - 54)], 0.5)
    sheet.dimension((left, top - 48), (flat, top - 48), _said("L", drawing.length))
    over = max(flat, end[0]) + 18
    sheet.line([(flat + 3, top), (over + 6, top)], 0.5)
    sheet.line([(end[0] + 4, end[1]), (over + 6, end[1])], 0.5)
    sheet.dimension((over, top), (over, end[1]), _said("w", drawing.sinks))
    sheet.text(left - 0.05 * sheet.width, top + 44, "clamp")


def _spanning(sheet: _Sheet, drawing: SetupDrawing) -> None:
    left, right, top = 0.1 * sheet.width, 0.72 * sheet.width, 0.36 * sheet.height
    span, middle = right - left, 0.41 * sheet.width
    reach = min(max(drawing.reach, 0.02), MOST_OF_SPAN)
    u = np.linspace(0.0, 1.0, 30)
    half = reach * span * (1.5 * u - 0.5 * u**3)
    x = np.concatenate([left + 0.5 * span * u, right - 0.5 * span * u[::-1][1:]])
    y = top + np.concatenate([half, half[::-1][1:]])
    sheet.line([(left - 20, top), (right + 20, top)], 0.8, dash="12 3 2 3 2 3")
    slope = 1.5 * reach * span / (0.5 * span)
    ends = [
        (left - 20, top - 20 * slope),
        *zip(x.tolist(), y.tolist(), strict=True),
        (right + 20, top - 20 * slope),
    ]
    sheet.line(ends, 3.0)
    for at in (left, right):
        sheet.line([(at, top + 2), (at - 11, top + 24), (at + 11, top + 24), (at, top + 2)], 1.4)
        sheet.line([(at, top - 34), (at, top - 54)], 0.5)
    _weight(sheet, (middle, top + reach * span), drawing)
    sheet.dimension((left, top - 48), (right, top - 48), _said("L", drawing.length))
    over = middle + 0.12 * sheet.width
    sheet.line([(middle + 4, top + reach * span), (over + 6, top + reach * span)], 0.5)
    sheet.dimension((over, top), (over, top + reach * span), _said("w", drawing.sinks))
    sheet.text(left, top + 42, "support")


def _weight(sheet: _Sheet, at: tuple[float, float], drawing: SetupDrawing) -> None:
    """A thread with a block on it."""
    x, y = at
    low = min(y + 22.0, sheet.height - 30.0)
    sheet.line([(x, y), (x, low)], 0.8)
    sheet.hatched(x - 12, low, 24, 20)
    sheet.text(x + 18, low + 15, _said("m", drawing.load, "g"), "start")


def _section(sheet: _Sheet, drawing: SetupDrawing) -> None:
    """The strip's cross-section, larger, with width and thickness."""
    x, y, w, h = 0.86 * sheet.width - 0.02 * sheet.width, 0.46 * sheet.height, 0.11 * sheet.width, 14.0
    sheet.hatched(x, y, w, h)
    sheet.line([(x, y - 3), (x, y - 28)], 0.5)
    sheet.line([(x + w, y - 3), (x + w, y - 28)], 0.5)
    sheet.dimension((x, y - 22), (x + w, y - 22), _said("b", drawing.width))
    sheet.text(x + 0.5 * w, y + h + 20, _said("t", drawing.thickness))
    sheet.line([(x + 0.5 * w, y + h), (x + 0.5 * w, y + h + 7)], 0.6)


def _said(letter: str, value: str, unit: str = "") -> str:
    return f"{letter} {value}{f' {unit}' if unit else ''}" if value else letter
