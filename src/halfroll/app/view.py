"""Templates: everything on a page that does not change while it is looked at.

Text that a person wrote is escaped where it enters a template; a name that is missing stops the page instead of
leaving a gap.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from halfroll.app.dom import html
from halfroll.core.text import SYMBOLS, THIN, format_with_u, octaves_of, parts_with_u
from halfroll.core.verdicts import Severity
from halfroll.figures.types import Figure

if TYPE_CHECKING:
    from jinja2 import Environment
    from nicegui import ui

SIGNS = {Severity.GOOD: "✓", Severity.NOTE: "·", Severity.CAUTION: "△", Severity.BAD: "✕"}
SPOKEN = {Severity.GOOD: "good", Severity.NOTE: "note", Severity.CAUTION: "caution", Severity.BAD: "bad"}
_BOUNDS = {"upper": f"≤{THIN}", "lower": f"≥{THIN}"}


def show(template: str, *, tag: str = "div", **names: Any) -> ui.html:
    """Put a rendered template on the page, as one block."""
    return html(render(template, **names), tag=tag).classes("block")


def render(template: str, **names: Any) -> str:
    """A template as markup."""
    return _environment().get_template(template).render(**names)


def number(figure: Figure | None) -> Markup:
    """A figure as a large quiet number, with half its 95 % interval and its unit."""
    if figure is None or figure.value is None:
        return Markup('<span class="number"><span class="none">–</span></span>')
    half = None if figure.bound else figure.expanded
    value, u, unit = parts_with_u(figure.value, half, figure.unit, digits=1)
    octaves = "" if octaves_of(figure.value, half, figure.unit) is None else f"{THIN}octaves"
    spread = Markup(' <span class="u">±{}{}{}</span>').format(THIN, u, octaves) if u else ""
    big = Markup("<b>{}{}</b>").format(_BOUNDS.get(figure.bound or "", ""), value)
    shown = Markup('<span class="unit">{}</span>').format(SYMBOLS.get(unit, unit))
    inner = (
        Markup("{} {}{}").format(big, shown, spread)
        if octaves
        else Markup("{}{} {}").format(big, spread, shown)
    )
    return Markup('<span class="number">{}</span>').format(inner)


def brief(figure: Figure | None) -> str:
    """A figure on one line of a table, with half its 95 % interval."""
    if figure is None or figure.value is None:
        return "–"
    half = None if figure.bound else figure.expanded
    return _BOUNDS.get(figure.bound or "", "") + format_with_u(figure.value, half, figure.unit)


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("halfroll.app", "templates"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    environment.filters.update(number=number, brief=brief)
    environment.globals.update(SIGNS=SIGNS, SPOKEN=SPOKEN, SYMBOLS=SYMBOLS, THIN=THIN)
    return environment
