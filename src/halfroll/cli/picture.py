"""``halfroll picture``: a chart of a comparison at the size of a film, on paper, on slate, or to be laid over film."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from halfroll.cli.common import json_option, open_workshop, print_json, progress_bar, say, write_file
from halfroll.cli.options import figure_options, settings_of

if TYPE_CHECKING:
    from halfroll.publish.screens.screen import Screen

F = TypeVar("F", bound=Callable[..., Any])


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What a picture shows, as given on the command line."""

    ids: tuple[str, ...]
    chart: str
    ground: str
    base: str
    spread: str
    title: str
    finding: bool
    figures: tuple[Any, ...]


def picture_options(command: F) -> F:
    """What ``picture`` and ``build-up`` share: versions, chart, size, ground, words, how figures are read."""
    for option in (
        click.option("--title", default="", help="Title. Default: the chart and the versions."),
        click.option("--finding/--no-finding", default=True, help="Tell the weightiest finding the chart bears out."),
        click.option("--spread", type=click.Choice(["own", "pooled"]), default="own", show_default=True,
                     help="Each version's own spread, or one pooled over all."),
        click.option("--base", default="first", show_default=True, help="A version's id, first, best or parent."),
        click.option("--ground", default="plain", show_default=True, help="plain (paper), dark (slate), or transparent, to be laid over film."),
        click.option("--size", default="1920x1080", show_default=True, help="1920x1080 or 3840x2160."),
        click.option("--chart", default="level", show_default=True,
                     help="level, thd, impedance, h2 ..., figures (all headline figures), strip:KEY."),
    ):  # fmt: skip
        command = option(command)
    return click.argument("ids", nargs=-1, required=True, metavar="[DRIVER | DRIVER/VERSION]...")(
        figure_options(command)
    )


@click.command()
@picture_options
@click.option(
    "--out", required=True, type=click.Path(dir_okay=False, path_type=Path), help="File: .svg, .png or .pdf."
)
@json_option
def picture(
    size: str, out: Path, as_json: bool, level: float | None, rule: str | None, thd: str | None,
    band: tuple[float, float] | None, bass: tuple[float, float] | None, **asked: Any,
) -> None:  # fmt: skip
    """Draw a chart of a comparison for a film.

    Up to eight versions, with title, finding, settings, source and marks. Letters are large enough for a film: the smallest are 1/36 of the picture's height.

    \b
    Examples:
      halfroll picture avocet/v1 avocet/v6 --out level.png
      halfroll picture avocet/v1 avocet/v6 avocet/v8 --chart figures --ground dark --size 3840x2160 --out figures.png
      halfroll picture avocet/v1 avocet/v6 --ground transparent --out over.png
    """
    from halfroll.core.errors import InputError
    from halfroll.publish.screens import draw
    from halfroll.publish.screens.grounds import size_of

    kinds: dict[str, Callable[[Screen, tuple[int, int]], str | bytes]] = {
        ".svg": draw.screen_svg,
        ".png": draw.screen_png,
        ".pdf": draw.screen_pdf,
    }
    kind = out.suffix.lower()
    if kind not in kinds:
        raise InputError(
            "The picture's file must be of a kind that can be drawn",
            key="--out",
            found=out.name,
            allowed=list(kinds),
        )
    wide, tall = size_of(size)
    shown = screen_asked(Asked(figures=(level, rule, thd, band, bass), **asked))
    data = kinds[kind](shown, (wide, tall))
    write_file(out, data)
    if as_json:
        print_json(
            {
                "file": str(out),
                "width_px": wide,
                "height_px": tall,
                "ground": shown.ground,
                "summary": shown.summary,
            }
        )


def screen_asked(asked: Asked) -> Screen:
    """The picture, with the marks of its figures kept in the workshop."""
    from halfroll.compare.recipe import compare_versions, expand
    from halfroll.publish.screens.grounds import look_of
    from halfroll.publish.screens.layout import check, expect_few, screen
    from halfroll.workshop.marks import keep_marks

    workshop = open_workshop()
    look_of(asked.ground)  # what is wrong is said before anything is analysed
    expect_few(len(expand(workshop, asked.ids)))
    with progress_bar("analysing") as progress:
        found = compare_versions(
            workshop, asked.ids, settings=settings_of(workshop, *asked.figures), base=asked.base,
            spread=asked.spread, with_curves=True, progress=progress,  # type: ignore[arg-type]
        )  # fmt: skip
    check(found, asked.chart)
    made = screen(
        found, asked.chart, ground=asked.ground, title=asked.title, source=workshop.name,
        date=datetime.date.today().isoformat(), marks=keep_marks(workshop, found.columns, found.settings), finding=asked.finding,
    )  # fmt: skip
    if asked.finding and not made.finding:
        say("No finding of this comparison is about this chart; none is told.")
    return made
