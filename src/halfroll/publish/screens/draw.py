"""A laid-out picture as SVG, PNG or PDF, all three from the one drawing."""

from __future__ import annotations

import re
from base64 import b64encode
from functools import cache
from xml.sax.saxutils import escape, quoteattr

from halfroll.publish.render import OutputFormat, drawing_as, to_svg
from halfroll.publish.screens.casing import cased
from halfroll.publish.screens.grounds import TALL, WIDE, Size, check_size
from halfroll.publish.screens.screen import Line, Placed, Screen
from halfroll.publish.theme import font_files

_HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def screen_svg(screen: Screen, size: Size = (WIDE, TALL)) -> str:
    """The picture as SVG of a size (px), with real text, and the house font inside: another font would be too wide.

    Raises
    ------
    InputError
        The size is not 16 to 9.
    """
    svg = _svg(screen, size)
    start = svg.index("</title>") + len("</title>")
    return f"{svg[:start]}<style>{_fonts(svg, screen.look.family)}</style>{svg[start:]}"


def _svg(screen: Screen, size: Size) -> str:
    """The same without the font, for a setter that has it."""
    check_size(size)
    palette = screen.look.palette
    lines = [*screen.words, *screen.finding, *(line for row in screen.rows for line in row)]
    body = "".join([*map(_chart, screen.charts), *(_line(line, screen.look.family) for line in lines)])
    if screen.ground == "transparent":
        ground, body = (
            "",
            cased(_over_film(body, palette.grid), palette.paper, text_px=screen.look.sizes.text),
        )
    else:
        ground = f'<rect width="{WIDE}" height="{TALL}" fill="{palette.paper}"/>'
    return (
        f'{_HEAD} width="{size[0]}" height="{size[1]}" viewBox="0 0 {WIDE} {TALL}" role="img">'
        f"<title>{escape(screen.summary)}</title>{ground}{body}</svg>"
    )


def screen_png(screen: Screen, size: Size = (WIDE, TALL)) -> bytes:
    """The picture as PNG of exactly that size; the ground of a transparent one has alpha 0."""
    return _set(screen, size, 1.0, "png")


def screen_pdf(screen: Screen, size: Size = (WIDE, TALL)) -> bytes:
    """The picture as one page of vectors with its fonts inside, 96 px to the inch."""
    return _set(screen, size, 0.75, "pdf")


def _set(screen: Screen, size: Size, points: float, format: OutputFormat) -> bytes:
    svg = _svg(screen, size)
    through = screen.ground == "transparent"
    return drawing_as(svg, points * size[0], points * size[1], format, screen.summary, see_through=through)


def _fonts(svg: str, family: str) -> str:
    """Rules that carry the faces a drawing uses (SIL Open Font License 1.1, which lets documents hold them)."""
    faces = [("Regular", "400", "normal")]
    faces += [("Semibold", "600", "normal")] if 'font-weight="600"' in svg else []
    faces += [("It", "400", "italic")] if 'font-style="italic"' in svg else []
    return "".join(
        f"@font-face{{font-family:'{family}';font-weight:{weight};font-style:{style};src:url(data:font/ttf;base64,{_face(name)})}}"
        for name, weight, style in faces
    )


@cache
def _face(name: str) -> str:
    return b64encode(font_files()[f"SourceSansPro-{name}.ttf"].read_bytes()).decode()


def _chart(placed: Placed) -> str:
    """A chart's drawing without its own sheet, where it stands."""
    svg = to_svg({**placed.spec, "config": {**placed.spec["config"], "background": None}})
    inner = re.sub(r"<desc>.*?</desc>", "", svg[svg.index(">") + 1 : svg.rindex("</svg>")], flags=re.DOTALL)
    return f'<g transform="translate({placed.x:.2f},{placed.y:.2f})">{inner}</g>'


def _over_film(body: str, grid: str) -> str:
    """Letters semibold, so that enough of them is left beside their casing; the grid lighter."""
    bold = re.sub(
        r"<text (?![^>]*font-weight=\"[67]00)",
        '<text font-weight="600" ',
        body.replace(' font-weight="400"', ""),
    )
    return bold.replace(f'stroke="{grid}"', f'stroke="{grid}" stroke-opacity="0.6"')


def _line(line: Line, family: str) -> str:
    return (
        f'<text x="{line.x:.2f}" y="{line.y:.2f}" font-family={quoteattr(f"{family}, sans-serif")} font-size="{line.size:g}px" '
        f'font-weight="{line.weight}" fill="{line.colour}">{escape(line.text)}</text>'
    )
