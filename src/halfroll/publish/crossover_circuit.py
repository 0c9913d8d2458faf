"""The circuit diagram of a crossover: symbols after IEC 60617, one row a way, the amplifier at the left, drivers at the right."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from halfroll.core.text import THIN, join_words
from halfroll.driver.crossover.elements import GROUND, SOURCE, Crossover, Element
from halfroll.publish.crossover_layout import Arm, Layout, Row, Series, layout
from halfroll.publish.section_sheet import Inks, inks_of
from halfroll.publish.theme import Theme

LEFT, RIGHT = 66.0, 58.0
"""Room for the amplifier and for the drivers (px)."""
NARROWEST, WIDEST = 52.0, 104.0
"""Width of a slot."""
STEP = 62.0
"""Height of an element in an arm."""
CROWDED = 68.0
"""Below this width of a slot every second value stands lower."""
BESIDE = 40.0
"""Height of an element beside another in the row."""
HALF = 15.0
"""Half the length of a symbol."""


def value_words(element: Element) -> str:
    """The value with its unit, such as 4.7 µF, 0.68 mH, 8.2 Ω."""
    size, unit = {"resistor": (1.0, "Ω"), "coil": (1e-3, "mH"), "capacitor": (1e-6, "µF")}[element.kind]
    return f"{element.value / size:.3g}{THIN}{unit}"


def circuit_words(crossover: Crossover) -> str:
    """The circuit in a sentence a way, for people who do not see it."""
    sentences = []
    for way in crossover.ways:
        parts = [f"{e.name} {value_words(e)} from {e.between[0]} to {e.between[1]}" for e in way.elements]
        turned = ", connected the other way round" if way.inverted else ""
        fed = "the amplifier" if way.fed_by == SOURCE else way.fed_by
        sentences.append(
            f"Way {way.name}, fed by {fed}{turned}: {join_words(parts) if parts else 'nothing before it'}."
        )
    return " ".join(sentences)


def circuit_svg(crossover: Crossover, *, theme: Theme | None, width_px: float) -> str:
    """SVG of the circuit, as wide as asked.

    Without a theme its colours are those of the page it stands in. Elements are groups of class ``element`` with ``data-part``. What has no place in a ladder is named under the diagram.
    """
    plan = layout(crossover)
    slots = max((len(row.slots) for row in plan.rows), default=0)
    slot = min(max((width_px - LEFT - RIGHT) / max(slots, 1), NARROWEST), WIDEST)
    wide = max(LEFT + RIGHT + slot * slots, 300.0)
    inks = inks_of(theme)
    picture = _Diagram(inks, slot, wide)
    lines = list(picture.draw(crossover, plan))
    label = escape(circuit_words(crossover))
    return (
        f'<svg class="circuit" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {picture.height:.0f}" width="{min(width_px, wide):.0f}" style="max-width:100%;height:auto" '
        f'role="img" aria-label="{label}" font-family="{escape(inks.family)}" font-size="{inks.text:.3g}">'
        f'<rect width="{wide:.0f}" height="{picture.height:.0f}" fill="{inks.paper}"/>{"".join(lines)}</svg>'
    )


class _Diagram:
    """Draws row after row; knows where each node's wire runs."""

    def __init__(self, inks: Inks, slot: float, wide: float) -> None:
        self.ink, self.quiet, self.accent, self.paper = inks.ink, inks.quiet, inks.accent, inks.paper
        self.slot, self.wide = slot, wide
        self.height = 0.0
        self.text = inks.text
        self._end = LEFT
        self._shared: set[str] = set()

    def draw(self, crossover: Crossover, plan: Layout) -> Iterator[str]:
        """All lines of the picture."""
        top = 14.0
        feeds: list[float] = []
        grounds: list[float] = []
        self._end = (
            LEFT
            + self.slot * max((len(row.slots) for row in plan.rows), default=0)
            + (0.0 if plan.rows[0].slots else 10.0)
        )
        self._shared = {node for row in plan.rows for node in (row.begins, row.hangs_on)} - {SOURCE, GROUND}
        for row in plan.rows:
            y = top + BESIDE * row.height - 4.0
            foot = y + max(STEP * row.depth, STEP) + 22.0
            yield from self._row(row, y, foot)
            if row.begins == SOURCE:
                feeds.append(y)
            else:
                yield self._text(28.0, y + 4.0, row.begins, quiet=True)
            grounds.append(foot)
            top = foot + 16.0
        yield from self._amplifier(crossover, feeds, grounds)
        self.height = top + 2.0
        if plan.left_out:
            told = join_words(
                [f"{e.name} {value_words(e)} ({e.between[0]} to {e.between[1]})" for e in plan.left_out]
            )
            yield f'<text x="8" y="{self.height + 10:.1f}" fill="{self.accent}">Not drawn: {escape(told)}</text>'
            self.height += 20.0

    def _row(self, row: Row, y: float, foot: float) -> Iterator[str]:
        x = LEFT
        yield self._text(LEFT + 2.0, y - BESIDE * row.height + 11.0, row.way.name, bold=True)
        for number, one in enumerate(row.slots):
            if isinstance(one, Series):
                yield from self._series(one, x, y, 12.0 if self.slot < CROWDED and number % 2 else 0.0)
                if one.to in self._shared:
                    yield self._dot(x + self.slot, y) + self._text(
                        x + self.slot + 3.0, y - 6.0, one.to, quiet=True
                    )
            else:
                yield from self._arm(one, x + 0.28 * self.slot, y, foot)
                yield self._wire(f"M{x:.1f} {y:.1f}h{self.slot:.1f}")
            x += self.slot
        yield self._wire(f"M{x:.1f} {y:.1f}H{self._end:.1f}")
        yield from self._driver(row, self._end, y, foot)

    def _series(self, one: Series, x: float, y: float, lower: float) -> Iterator[str]:
        middle = x + 0.5 * self.slot
        if not one.elements:
            yield self._wire(f"M{x:.1f} {y:.1f}h{self.slot:.1f}")
            return
        for place, element in enumerate(one.elements):
            level = y - BESIDE * place
            if place:
                yield self._wire(
                    f"M{x + 6:.1f} {y:.1f}V{level:.1f}M{x + self.slot - 6:.1f} {y:.1f}V{level:.1f}"
                )
            ends = (x + 6 if place else x, x + self.slot - (6 if place else 0))
            yield self._wire(
                f"M{ends[0]:.1f} {level:.1f}H{middle - HALF:.1f}M{middle + HALF:.1f} {level:.1f}H{ends[1]:.1f}"
            )
            yield self._symbol(element, middle, level, upright=False)
            yield self._text(middle, level - 13.0, element.name, middle=True)
            yield self._text(middle, level + 21.0 + lower, value_words(element), middle=True, quiet=True)

    def _arm(self, one: Arm, x: float, y: float, foot: float) -> Iterator[str]:
        yield self._dot(x, y) + self._dot(x, foot)
        step = (foot - y) / len(one.elements)
        for place, element in enumerate(one.elements):
            middle = y + step * (place + 0.5)
            yield self._wire(
                f"M{x:.1f} {y + step * place:.1f}V{middle - HALF:.1f}M{x:.1f} {middle + HALF:.1f}V{y + step * (place + 1):.1f}"
            )
            yield self._symbol(element, x, middle, upright=True)
            yield self._text(x + 13.0, middle - 1.0, element.name)
            yield self._text(x + 13.0, middle + self.text + 1.0, value_words(element), quiet=True)

    def _driver(self, row: Row, x: float, y: float, foot: float) -> Iterator[str]:
        """A loudspeaker: a box and its horn; plus at the upper terminal, or at the lower when inverted."""
        at, middle = x + 26.0, 0.5 * (y + foot)
        yield self._wire(f"M{x:.1f} {y:.1f}H{at:.1f}V{middle - 13:.1f}M{at:.1f} {middle + 13:.1f}V{foot:.1f}")
        yield (
            f'<g class="driver"><rect x="{at - 7:.1f}" y="{middle - 13:.1f}" width="14" height="26" fill="{self.paper}" stroke="{self.ink}" stroke-width="1.5"/>'
            f'<path d="M{at + 7:.1f} {middle - 9:.1f}l13 -11v40l-13 -11z" fill="{self.paper}" stroke="{self.ink}" stroke-width="1.5"/></g>'
        )
        plus = middle + 26.0 if row.way.inverted else middle - 18.0
        yield self._text(
            at - 15.0, plus, "+", bold=True, colour=self.accent if row.way.inverted else self.ink
        )
        if row.hangs_on == GROUND:
            yield self._wire(f"M24 {foot:.1f}H{at:.1f}")
        else:
            yield self._text(at + 4.0, foot + 4.0, f"to {row.hangs_on}", quiet=True)
            if row.depth:
                yield self._wire(f"M24 {foot:.1f}H{x - self.slot * 0.5:.1f}")

    def _amplifier(self, crossover: Crossover, feeds: list[float], grounds: list[float]) -> Iterator[str]:
        """The source, the line that feeds the rows, and the common line."""
        if not feeds:
            return
        top, foot = feeds[0], grounds[0]
        middle = 0.5 * (top + foot)
        yield self._wire(f"M24 {middle - 12:.1f}V{top:.1f}H{LEFT:.1f}M24 {middle + 12:.1f}V{foot:.1f}")
        yield f'<circle cx="24" cy="{middle:.1f}" r="12" fill="{self.paper}" stroke="{self.ink}" stroke-width="1.5"/>'
        yield f'<path d="M17 {middle:.1f}q3.5 -8 7 0t7 0" fill="none" stroke="{self.ink}" stroke-width="1.5"/>'
        if crossover.source_ohm:
            yield f'<rect x="30" y="{top - 4:.1f}" width="20" height="8" fill="{self.paper}" stroke="{self.ink}" stroke-width="1.5"/>'
            yield self._text(40.0, top + 20.0, f"{crossover.source_ohm:.3g}{THIN}Ω", middle=True, quiet=True)
        for y in feeds[1:]:
            yield self._wire(f"M{LEFT - 8:.1f} {top:.1f}V{y:.1f}H{LEFT:.1f}") + self._dot(LEFT - 8, top)
        for y in grounds[1:]:
            yield self._wire(f"M24 {foot:.1f}V{y:.1f}") + self._dot(24.0, foot)

    def _symbol(self, element: Element, x: float, y: float, *, upright: bool) -> str:
        """Resistor: a box; coil: four half circles; capacitor: two plates (IEC 60617)."""
        turn = f' transform="rotate(90 {x:.1f} {y:.1f})"' if upright else ""
        stroke = f'fill="none" stroke="{self.ink}" stroke-width="1.5"'
        if element.kind == "resistor":
            body = f'<rect x="{x - HALF:.1f}" y="{y - 5:.1f}" width="{2 * HALF:.0f}" height="10" {stroke}/>'
        elif element.kind == "coil":
            body = f'<path d="M{x - HALF:.1f} {y:.1f}' + "a3.75 3.75 0 0 1 7.5 0" * 4 + f'" {stroke}/>'
            if element.construction == "iron-core":
                body += f'<path d="M{x - HALF:.1f} {y - 7:.1f}h{2 * HALF:.0f}" {stroke}/>'
        else:
            body = f'<path d="M{x - HALF:.1f} {y:.1f}H{x - 3:.1f}m0 -10v20M{x + 3:.1f} {y - 10:.1f}v20m0 -10H{x + HALF:.1f}" {stroke}/>'
        hit = f'<rect x="{x - HALF:.1f}" y="{y - 12:.1f}" width="{2 * HALF:.0f}" height="24" fill="transparent" style="cursor:pointer"/>'
        return f'<g class="element" data-part="{escape(element.name)}"{turn}>{hit}{body}</g>'

    def _wire(self, path: str) -> str:
        return f'<path d="{path}" fill="none" stroke="{self.ink}" stroke-width="1.5"/>'

    def _dot(self, x: float, y: float) -> str:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.6" fill="{self.ink}"/>'

    def _text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        middle: bool = False,
        quiet: bool = False,
        bold: bool = False,
        colour: str = "",
    ) -> str:
        anchor = ' text-anchor="middle"' if middle else ""
        weight = ' font-weight="600"' if bold else ""
        return f'<text x="{x:.1f}" y="{y:.1f}"{anchor}{weight} fill="{colour or (self.quiet if quiet else self.ink)}">{escape(words)}</text>'
