"""``halfroll sheet``: the data sheet of a version."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

import click

from halfroll.cli.common import (
    check_ending,
    in_lines,
    json_option,
    open_workshop,
    print_json,
    print_rows,
    progress_bar,
    write_file,
)

if TYPE_CHECKING:
    from halfroll.publish.data_sheet_rows import DataSheet
    from halfroll.workshop import Workshop


@click.command()
@click.argument("version_id", metavar="DRIVER/VERSION")
@click.option(
    "--pdf",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write the sheet to this PDF file.",
)
@click.option(
    "--svg",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write its pages to SVG files: NAME-1.svg, NAME-2.svg.",
)
@click.option(
    "--png",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write its pages to PNG files: NAME-1.png, NAME-2.png.",
)
@click.option(
    "--width",
    type=click.IntRange(200, 8000),
    default=1240,
    show_default=True,
    help="Width of a PNG page, pixels.",
)
@click.option(
    "--date", type=click.DateTime(["%Y-%m-%d"]), default=None, help="Date on the sheet; today when left out."
)
@click.option("--predict", is_flag=True, help="Work its prediction out first where it is not kept (slower).")
@json_option
def sheet(
    version_id: str, pdf: Path | None, svg: Path | None, png: Path | None, width: int, date: dt.datetime | None, predict: bool, as_json: bool
) -> None:  # fmt: skip
    """Make the data sheet of a version.

    Drawing with dimensions, figures with conditions, expanded uncertainty and marks, curves, limits, cautions, and what is not known.
    Measured and predicted numbers stand apart. What stands behind each number is kept in releases/marks and found by its mark.

    \b
    Example:
      halfroll sheet avocet/v8 --pdf avocet-v8.pdf
    """  # fmt: skip
    for path, ending in ((pdf, ".pdf"), (svg, ".svg"), (png, ".png")):
        check_ending(path, ending, f"--{ending[1:]}")
    from halfroll.publish.data_sheet_rows import data_sheet

    workshop = open_workshop()
    with progress_bar("gathering") as progress:
        found = data_sheet(workshop, version_id, predict=predict, progress=progress)
    day = dt.datetime.now().astimezone().date() if date is None else date.date()
    _write(found, workshop, day.isoformat(), pdf, svg, png, width)
    if as_json:
        print_json(found.as_dict())
        return
    _print(found)


def _write(
    found: DataSheet, workshop: Workshop, day: str, pdf: Path | None, svg: Path | None, png: Path | None, width: int
) -> None:  # fmt: skip
    from halfroll.publish.data_sheet import data_sheet_pages, data_sheet_pdf

    if pdf is not None:
        write_file(pdf, data_sheet_pdf(found, workshop, date=day))
    if svg is not None:
        _write_pages(svg, data_sheet_pages(found, workshop, date=day, format="svg"))
    if png is not None:
        _write_pages(png, data_sheet_pages(found, workshop, date=day, format="png", width_px=width))


def _write_pages(path: Path, pages: list[bytes]) -> None:
    for number, page in enumerate(pages, start=1):
        write_file(path if len(pages) == 1 else path.with_stem(f"{path.stem}-{number}"), page)


def _print(found: DataSheet) -> None:
    from halfroll.publish.data_sheet_rows import HEADS
    from halfroll.publish.parameter_rows import Rows

    heads = [word for source in found.sources for word in (HEADS[source], "Rests on", "Mark")]
    rows = tuple(
        (
            row.label,
            *(
                text
                for cell in row.cells
                for text in (("–", "", "") if cell is None else (cell.text, cell.basis, cell.mark))
            ),
        )
        for row in found.rows
    )
    print_rows(Rows(head=("Figure", *heads), rows=rows), found.title)
    for title, told in (
        ("Limits", found.limits), ("Cabinets", found.cabinets), ("Not known", found.unknown), ("Must be said", found.said),
    ):  # fmt: skip
        if told:
            click.echo(f"\n{title}:")
            for sentence in told:
                click.echo(in_lines(f"- {sentence}"))
