"""What a page loads besides itself, all from this server: style sheet, fonts, chart library, a little script."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import cache
from importlib.resources import files

from fastapi import HTTPException
from fastapi.responses import FileResponse, Response
from nicegui import app

from halfroll.publish import render
from halfroll.publish.theme import css_variables, font_directory, font_face_css, theme

PREFIX = "/assets"
_LIGHT = "SourceSansPro-Light.ttf"
"""Large numbers and headings are set in the light weight."""
_KEEP = {"Cache-Control": "max-age=31536000, immutable"}

MARK = (
    '<svg viewBox="0 0 44 20" aria-hidden="true" fill="none" stroke="currentColor" stroke-width="1.6">'
    '<path d="M1 17H12A10 10 0 0 1 32 17H43"/><path d="M22 1.5V19" stroke-width=".7" stroke-dasharray="5 1.5 1 1.5"/>'
    "</svg>"
)
"""The sign of the house: the section of a half roll."""

FAVICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32"><rect width="32" height="32" fill="#faf6ec"/>'
    '<path d="M2 22H8A8 8 0 0 1 24 22H30" fill="none" stroke="#22262a" stroke-width="2.6"/></svg>'
)


@cache
def style_sheet() -> str:
    """The whole style sheet: fonts, colours of both looks, rules."""
    light, dark, paper = (_variables(name) for name in ("light", "dark", "print"))
    light_face = (
        f"@font-face {{ font-family: '{theme().family}'; font-weight: 300; font-display: swap; "
        f"src: url('{PREFIX}/fonts/{_LIGHT}') format('truetype'); }}"
    )
    return "\n".join((
        font_face_css(f"{PREFIX}/fonts"),
        light_face,
        f":root {{ color-scheme: light; {light} }}",
        f':root[data-theme="dark"] {{ color-scheme: dark; {dark} }}',
        f"@media print {{ :root, :root[data-theme] {{ color-scheme: light; {paper} }} }}",
        _file("style.css"),
    ))  # fmt: skip


def head_html() -> str:
    """What goes into the head of every page."""
    return (
        f'<script src="{PREFIX}/halfroll.js?{_stamp(_file("halfroll.js"))}"></script>'
        f'<link rel="stylesheet" href="{PREFIX}/style.css?{_stamp(style_sheet())}">'
    )


def charts_url() -> str:
    """Address of the chart library."""
    return f"{PREFIX}/charts.js"


def register() -> None:
    """Add the routes."""
    served: dict[str, Callable[[], str]] = {
        "style.css": style_sheet,
        "halfroll.js": lambda: _file("halfroll.js"),
        "charts.js": _charts,
    }
    kinds = {"css": "text/css", "js": "text/javascript"}
    fonts = {path.name: path for path in font_directory().glob("SourceSansPro-*.ttf")}

    @app.get(PREFIX + "/fonts/{name}")
    def font(name: str) -> Response:
        if name not in fonts:
            raise HTTPException(404)
        return FileResponse(fonts[name], media_type="font/ttf", headers=_KEEP)

    @app.get(PREFIX + "/{name}")
    def asset(name: str) -> Response:
        if name not in served:
            raise HTTPException(404)
        return Response(served[name](), media_type=kinds[name.rsplit(".", 1)[1]], headers=_KEEP)


def warm_up() -> None:
    """Make what takes its time to make, so that the first chart need not wait for it."""
    _charts()


@cache
def _charts() -> str:
    return render.browser_bundle()


@cache
def _file(name: str) -> str:
    return files("halfroll.app").joinpath("static", name).read_text(encoding="utf-8")


def _variables(name: str) -> str:
    return " ".join(f"{key}: {value};" for key, value in css_variables(theme(name)).items()) + _chevron(name)


def _chevron(name: str) -> str:
    """The arrow of a list box, in the look's ink (a style sheet variable cannot reach into an image)."""
    ink = theme(name).palette.ink.replace("#", "%23")
    path = f"<path d='M1 1l4 4 4-4' fill='none' stroke='{ink}' stroke-width='1.4'/>"
    image = f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 10 6'>{path}</svg>"
    return f' --chevron: url("data:image/svg+xml,{image}");'


def _stamp(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:12]
