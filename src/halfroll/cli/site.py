"""``halfroll site``: web pages of the workshop for visitors."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from halfroll.cli.common import json_option, open_workshop, print_json, progress_bar, say


@click.command()
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path), metavar="FOLDER")
@click.option(
    "--version",
    "versions",
    multiple=True,
    metavar="DRIVER[/VERSION]",
    help="Only this version, or all of this driver; may be given again. Default: all.",
)
@click.option(
    "--date", type=click.DateTime(["%Y-%m-%d"]), default=None, help="Date on the pages; today when left out."
)
@click.option("--predict", is_flag=True, help="Work out predictions that are not kept (slower).")
@json_option
def site(
    folder: Path, versions: tuple[str, ...], date: dt.datetime | None, predict: bool, as_json: bool
) -> None:
    """Write web pages of the workshop for visitors.

    Plain files that need no server: open index.html, or copy the folder to any web space. A page for every driver's line, every version with its
    figures and live curves, comparisons, what changed, and what stands behind each number. Stock, prices, builders' checks, photographs and
    paragraphs of notes that begin with "Private:" do not come along. FOLDER is new, empty, or an earlier site, which is replaced whole.

    \b
    Example:
      halfroll site pages --version avocet
    """
    from halfroll.publish.site import build_site

    workshop = open_workshop()
    day = dt.datetime.now().astimezone().date() if date is None else date.date()
    with progress_bar("gathering") as progress:
        built = build_site(
            workshop, folder, versions=versions, date=day.isoformat(), predict=predict, progress=progress
        )
    if as_json:
        print_json(
            {
                "folder": str(built.folder),
                "index": str(built.index),
                "files": built.files,
                "size_bytes": built.size_bytes,
            }
        )
        return
    say(f"Wrote {built.files} files, {built.size_bytes / 1e6:.1f} MB. Open {built.index}")
