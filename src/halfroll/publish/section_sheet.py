"""Where a half-section lies on its sheet: from metres to pixels, in which inks, and the pieces of SVG it is drawn with."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

from halfroll.motor.types import Point
from halfroll.publish.theme import Theme, theme


@dataclass(frozen=True, kw_only=True)
class Inks:
    """Colours and sizes (px) of a drawing. On a page they may be style-sheet variables, so that they follow its look."""

    ink: str
    quiet: str
    paper: str
    hatch: str
    accent: str
    text: float
    thick: float
    thin: float
    gap: float
    family: str


def inks_of(look: Theme | None) -> Inks:
    """The inks of a theme; without one the variables of the page's style sheet."""
    sizes = (look or theme()).sizes
    palette = look.palette if look else None
    return Inks(
        ink=palette.ink if palette else "var(--ink)",
        quiet=palette.quiet if palette else "var(--quiet)",
        paper=palette.paper if palette else "var(--paper)",
        hatch=palette.ink if palette else "var(--ink)",
        accent=palette.accent if palette else "var(--accent)",
        text=sizes.small,
        thick=0.9 * sizes.curve,
        thin=0.8 * sizes.hair,
        gap=sizes.hatch_gap,
        family=f"{look.family}, sans-serif" if look else "inherit",
    )


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """The sheet: size (px), where r = 0 and z = 0 lie (px), px to the metre, and what part of the motor's plane is shown (m)."""

    inks: Inks
    width: float
    height: float
    axis_px: float
    zero_px: float
    scale: float
    view: tuple[float, float, float, float]
    """(r_low, r_high, z_low, z_high)."""

    def x(self, r_m: float) -> float:
        """Pixels from the left edge."""
        return self.axis_px + self.scale * r_m

    def y(self, z_m: float) -> float:
        """Pixels from the top edge."""
        return self.zero_px - self.scale * z_m

    def path(self, points: Iterable[Point], *, closed: bool = False, mirrored: bool = False) -> str:
        """Path data through points (r, z) in metres, to a hundredth of a pixel."""
        sign = -1.0 if mirrored else 1.0
        steps = "L".join(f"{_short(self.x(sign * r))} {_short(self.y(z))}" for r, z in points)
        return f"M{steps}Z" if closed else f"M{steps}"

    def stroke(self, d: str, *, cls: str, width: float | None = None, more: str = "") -> str:
        """A path drawn as a line in ink."""
        w = self.inks.thin if width is None else width
        return (
            f'<path class="{cls}" d="{d}" fill="none" stroke="{self.inks.ink}" stroke-width="{w:g}"{more}/>'
        )

    def word(self, x: float, y: float, text: str, *, anchor: str = "middle", turned: bool = False, cls: str = "dimension",
             quiet: bool = False) -> str:  # fmt: skip
        """Words with a halo of paper, so that lines behind them do not disturb; `turned` reads from the right."""
        ink = self.inks
        place = (
            f'transform="translate({x:.1f} {y:.1f}) rotate(-90)"' if turned else f'x="{x:.1f}" y="{y:.1f}"'
        )
        return (
            f'<text class="{cls}" {place} text-anchor="{anchor}" font-size="{ink.text:g}" font-family="{ink.family}" '
            f'fill="{ink.quiet if quiet else ink.ink}" stroke="{ink.paper}" stroke-width="3" stroke-linejoin="round" '
            f'paint-order="stroke">{escape(text)}</text>'
        )

    def arrow(self, x: float, y: float, direction: Point, *, length: float | None = None) -> str:
        """Path data of a closed arrow head with its tip at (x, y), flying in `direction` (px, y downwards)."""
        dx, dy = direction
        size = (dx * dx + dy * dy) ** 0.5
        dx, dy = dx / size, dy / size
        long = length or 0.75 * self.inks.text
        half = 0.16 * long
        bx, by = x - long * dx, y - long * dy
        return f"M{x:.1f} {y:.1f}L{bx - half * dy:.1f} {by + half * dx:.1f}L{bx + half * dy:.1f} {by - half * dx:.1f}Z"

    def svg(self, lines: Iterable[str], height: float, words: str) -> str:
        """The whole picture, `height` px tall; it says its scale and what part of the plane it shows, and in words what that is."""
        low, high, bottom, top = self.view
        return (
            f'<svg class="half-section" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width:g} {height:g}" '
            f'width="{self.width:g}" height="{height:g}" role="img" aria-label="{escape(words)}" '
            f'data-px-per-mm="{self.scale / 1e3:.6g}" data-axis="{self.axis_px:.6g}" data-zero="{self.zero_px:.6g}" '
            f'data-view="{self.x(low):.1f} {self.x(high):.1f} {self.y(top):.1f} {self.y(bottom):.1f}">{"".join(lines)}</svg>'
        )


def millimetres(length_m: float) -> str:
    """A length as it stands in a drawing: mm without the unit, to a hundredth."""
    return f"{round(1e3 * length_m, 2) + 0.0:g}"


def joined_words(words: Sequence[str]) -> str:
    """Remarks one after another."""
    return " · ".join(word for word in words if word)


def _short(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
