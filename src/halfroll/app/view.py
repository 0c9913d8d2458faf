"""Templates: everything on a page that does not change while it is looked at.

Text that a person wrote is escaped where it enters a template; a name that is missing stops the page instead of
leaving a gap.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from halfroll.app.dom import html
from halfroll.core.text import SYMBOLS, THIN, format_value, format_with_u
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
    value, unit = _split(format_value(figure.value, half, figure.unit, digits=1))
    u = (
        ""
        if half is None
        else _split(format_with_u(figure.value, half, figure.unit, digits=1))[0].partition("±")[2]
    )
    return Markup('<span class="number"><b>{}{}</b>{} <span class="unit">{}</span></span>').format(
        _BOUNDS.get(figure.bound or "", ""), value,
        Markup(' <span class="u">±{}{}</span>').format(THIN, u.strip(THIN)) if u else "", unit,
    )  # fmt: skip


def brief(figure: Figure | None) -> str:
    """A figure on one line of a table, with half its 95 % interval."""
    if figure is None or figure.value is None:
        return "–"
    half = None if figure.bound else figure.expanded
    return _BOUNDS.get(figure.bound or "", "") + format_with_u(figure.value, half, figure.unit)


def _split(text: str) -> tuple[str, str]:
    """Number and unit of a formatted value."""
    head, _, unit = text.rpartition(THIN)
    return (head, unit) if unit and not unit[0].isdigit() else (text, "")


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
