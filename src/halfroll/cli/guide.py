"""``halfroll guide``: how a version is put together, what to measure at each step, and what is good."""

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
    say,
    say_verdicts,
    write_file,
)

if TYPE_CHECKING:
    from halfroll.builds.guide.types import Guide


@click.command()
@click.argument("version_id", metavar="DRIVER/VERSION")
@click.option(
    "--pdf",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write the guide to this PDF file, with boxes to tick.",
)
@click.option("--bands", "only_bands", is_flag=True, help="Only what a good unit reads.")
@click.option(
    "--date", type=click.DateTime(["%Y-%m-%d"]), default=None, help="Date on the paper; today when left out."
)
@json_option
def guide(
    version_id: str, pdf: Path | None, only_bands: bool, date: dt.datetime | None, as_json: bool
) -> None:
    """The assembly guide of a version, with what to measure and what is good.

    Steps come from the design, bands from its prediction and the units measured so far: 95 % of good units read within.
    guide.toml beside the version's record may rewrite a step, or add one.

    \b
    Example:
      halfroll guide avocet/v8 --pdf guide.pdf
      halfroll guide avocet/v8 --bands
    """
    from halfroll.builds.guide.guide import as_dict, guide_of

    check_ending(pdf, ".pdf", "--pdf")
    workshop = open_workshop()
    with progress_bar("predicting") as progress:
        found = guide_of(workshop, version_id, progress)
    if pdf is not None:
        from halfroll.publish.guide import guide_pdf

        write_file(pdf, guide_pdf(found, date=(date or dt.datetime.now()).date()))
    if as_json:
        print_json(as_dict(found))
        return
    if pdf is not None and not only_bands:
        say(f"Wrote {pdf}.")
        return
    _print_bands(found) if only_bands else _print(found)
    say_verdicts(found.verdicts)


def _print_bands(found: Guide) -> None:
    from halfroll.publish.guide_rows import band_rows

    print_rows(band_rows(found.bands), f"{found.title}: what a good unit reads")


def _print(found: Guide) -> None:
    if found.note:
        click.echo(in_lines(found.note))
    for number, step in enumerate(found.steps, 1):
        click.echo(f"\n{number}. {step.title} ({step.key})")
        for label, words in (("parts", step.parts), ("tools", step.tools)):
            if words:
                click.echo(in_lines(f"  {label}: {', '.join(words)}"))
        for caution in step.cautions:
            click.echo(in_lines(f"  caution: {caution.text}"))
        for line in step.text:
            click.echo(in_lines(f"  - {line}"))
        if step.last_chance:
            click.echo(in_lines(f"  {step.last_chance}"))
        for check in step.checks:
            click.echo(in_lines(f"  [ ] {check.label}: {check.good}. {check.how} If not: {check.if_not}"))
    click.echo()
