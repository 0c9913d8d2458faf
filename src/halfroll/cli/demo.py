"""``halfroll demo``: a workshop to look at."""

from __future__ import annotations

from pathlib import Path

import click

from halfroll.cli.common import json_option, print_json, progress_bar, say


@click.command()
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
@click.option("--seed", type=int, default=None, help="Another seed gives other units and other noise.")
@json_option
def demo(folder: Path, seed: int | None, as_json: bool) -> None:
    """Make the demo workshop in FOLDER.

    It is invented and computed by a physical model; there are no real drivers in it. Four drivers in a dozen versions, with
    units, takes, impedances, tones and a power log; some takes were spoiled on purpose.

    \b
    Example:
      halfroll demo saltmarsh-workshop
    """
    from halfroll.cli.compare import print_comparison
    from halfroll.compare.recipe import compare_versions
    from halfroll.workshop.demo import build_demo

    options = {} if seed is None else {"seed": seed}
    with progress_bar("recording the demonstration") as progress:
        workshop = build_demo(folder, progress=progress, **options)
    with progress_bar("analysing") as progress:
        found = compare_versions(workshop, base="parent", with_curves=False, progress=progress)
    if as_json:
        print_json({"folder": str(workshop.folder), **found.as_dict()})
        return
    say(f"Made {workshop.name} in {workshop.folder}.")
    print_comparison(found)
    say(f"Next: halfroll --workshop {folder} serve")
