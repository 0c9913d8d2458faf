"""``halfroll init``: make a workshop."""

from __future__ import annotations

from pathlib import Path

import click

from halfroll.cli.common import json_option, print_json, say


@click.command()
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
@click.option("--name", default=None, help="Name of the workshop. Default: the folder's name.")
@json_option
def init(folder: Path, name: str | None, as_json: bool) -> None:
    """Make an empty workshop in FOLDER.

    \b
    Example:
      halfroll init my-workshop --name "Saltmarsh Workshop"
    """
    from halfroll.workshop import Workshop

    workshop = Workshop.init(folder, name or folder.resolve().name)
    if as_json:
        print_json({"folder": str(workshop.folder), "name": workshop.name})
        return
    here = workshop.folder.resolve() == Path.cwd()
    say(f"Made the workshop {workshop.name} in {'this folder' if here else workshop.folder}.")
    serve = "halfroll serve" if here else f"halfroll --workshop {workshop.folder} serve"
    say(f"Next: {serve}, and go on in the browser; or add rig, driver, version and unit "
        "here with halfroll add, then import a take.")  # fmt: skip
