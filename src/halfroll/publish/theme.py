"""The look, read from the one theme file: colours, sizes, fonts; and the contrast that makes it readable."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from halfroll.core.errors import choose

CURVE_CONTRAST = 3.0
"""Least contrast of a line or marker against the paper, WCAG 2.2 success criterion 1.4.11."""

TEXT_CONTRAST = 4.5
"""Least contrast of text, WCAG 2.2 success criterion 1.4.3 (AA)."""

_WEIGHTS = {
    "Regular": (400, "normal"),
    "It": (400, "italic"),
    "Semibold": (600, "normal"),
    "Bold": (700, "normal"),
}


@dataclass(frozen=True, kw_only=True)
class Palette:
    """Colours as ``#rrggbb``; what each is for stands in ``theme.toml``."""

    paper: str
    raised: str
    ink: str
    quiet: str
    line: str
    grid: str
    hatch: str
    grey: str
    accent: str
    on_accent: str


@dataclass(frozen=True, kw_only=True)
class Sizes:
    """Sizes in px (96 to the inch): text heights, line widths, marker width, distance of hatching lines."""

    text: float
    small: float
    title: float
    curve: float
    hair: float
    marker: float
    hatch_gap: float


@dataclass(frozen=True, kw_only=True)
class SeriesStyle:
    """How one curve is drawn.

    Parameters
    ----------
    colour
        ``#rrggbb``.
    dash
        On and off lengths in line widths of a 2 px curve; empty for a full line.
    marker
        A marker's name in the chart language.
    cased
        The colour is too pale for this paper and gets an outline in ink.
    """

    colour: str
    dash: tuple[float, ...]
    marker: str
    cased: bool


@dataclass(frozen=True, kw_only=True)
class Theme:
    """One look: a palette, sizes, the order of curve styles, the font family."""

    name: str
    palette: Palette
    sizes: Sizes
    family: str
    series: tuple[SeriesStyle, ...]

    def style(self, index: int) -> SeriesStyle:
        """Style of the `index`-th curve.

        Beyond the eight colours they come again, each time with the dashes and markers moved on, so that no two of
        the first 64 are alike.
        """
        turn, place = divmod(index, len(self.series))
        base, other = self.series[place], self.series[(place + turn) % len(self.series)]
        return SeriesStyle(colour=base.colour, cased=base.cased, dash=other.dash, marker=other.marker)


@cache
def theme(name: str = "light") -> Theme:
    """The theme of that name: ``light``, ``dark``, ``print``, ``slide``, ``slide-dark``, ``video``, ``video-dark`` or ``video-over``."""
    data = _data()
    chosen = data["theme"][choose(name, data["theme"], field="The theme")]
    palette = Palette(**data["palette"][chosen["palette"]])
    sizes = Sizes(**data["size"][chosen["size"]])
    styles = tuple(_style(entry, data["okabe_ito"], palette, sizes) for entry in data["series"])
    return Theme(name=name, palette=palette, sizes=sizes, family=data["font"]["family"], series=styles)


def theme_names() -> tuple[str, ...]:
    """All themes there are."""
    return tuple(_data()["theme"])


def css_variables(look: Theme) -> dict[str, str]:
    """The palette and the font as style-sheet variables: ``--paper``, ``--ink``, ``--on-accent`` ... ``--font``."""
    colours = {f"--{f.name.replace('_', '-')}": getattr(look.palette, f.name) for f in fields(Palette)}
    series = {f"--series-{i + 1}": style.colour for i, style in enumerate(look.series)}
    return {**colours, **series, "--font": f"'{look.family}', sans-serif"}


def contrast(first: str, second: str) -> float:
    """Contrast ratio of two colours, 1 to 21: (L1 + 0.05)/(L2 + 0.05), WCAG 2.2 definition."""
    brighter, darker = sorted((_luminance(first), _luminance(second)), reverse=True)
    return (brighter + 0.05) / (darker + 0.05)


def font_directory() -> Path:
    """The folder of the font files, which come with the `font-source-sans-pro` wheel (SIL Open Font License 1.1)."""
    return Path(str(files("font_source_sans_pro"))) / "files"


def font_files() -> dict[str, Path]:
    """The files a page needs, by file name: regular, italic, semibold, bold."""
    return {path.name: path for path in (font_directory() / f"SourceSansPro-{w}.ttf" for w in _WEIGHTS)}


def font_face_css(url_prefix: str) -> str:
    """Style-sheet rules that load `font_files` from below `url_prefix`, such as ``/fonts``."""
    rule = (
        "@font-face {{ font-family: '{family}'; font-weight: {weight}; font-style: {style}; font-display: swap; "
        "src: url('{prefix}/SourceSansPro-{name}.ttf') format('truetype'); }}"
    )
    family = _data()["font"]["family"]
    return "\n".join(
        rule.format(family=family, weight=weight, style=style, prefix=url_prefix.rstrip("/"), name=name)
        for name, (weight, style) in _WEIGHTS.items()
    )


@cache
def _data() -> dict[str, Any]:
    return tomllib.loads(files("halfroll.publish").joinpath("theme.toml").read_text(encoding="utf-8"))


def _style(entry: dict[str, Any], colours: dict[str, str], palette: Palette, sizes: Sizes) -> SeriesStyle:
    colour = palette.ink if entry["colour"] == "black" else colours[entry["colour"]]
    return SeriesStyle(
        colour=colour,
        dash=tuple(round(length * sizes.curve / 2.0, 2) for length in entry["dash"]),
        marker=entry["marker"],
        cased=contrast(colour, palette.paper) < CURVE_CONTRAST,
    )


def _luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, WCAG 2.2: linear parts weighted 0.2126, 0.7152, 0.0722."""
    parts = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
