"""``halfroll release check`` and ``bring-in``: what others published, checked wholly before anything is written."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import json_option, open_workshop, print_json, progress_bar, say_verdicts

if TYPE_CHECKING:
    from halfroll.workshop.bundle import BundleReport

REFUSED = 2
"""Exit code where a bundle is refused, as for any input that is wrong."""


def _expected(command: Any) -> Any:
    return click.option(
        "--sha256",
        "expected",
        default=None,
        metavar="HASH",
        help="The hash of the bundle as its maker published it.",
    )(command)


@click.command("check")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@_expected
@json_option
def check(file: Path, expected: str | None, as_json: bool) -> None:
    """Check a bundle somebody else made; nothing is written.

    Names, sizes, every file against its hash, every record. A bundle that is refused ends with code 2.

    \b
    Example:
      halfroll release check avocet-v8-everyone.zip
    """
    from halfroll.workshop.bundle import check_bundle

    with progress_bar("checking") as progress:
        report = check_bundle(file, expected=expected, progress=progress)
    if as_json:
        print_json(report.as_dict())
    else:
        _say_report(report)
    click.get_current_context().exit(0 if report.sound else REFUSED)


def _say_report(report: BundleReport) -> None:
    manifest = report.manifest
    if manifest is not None:
        by = f" by {', '.join(manifest.authors)}" if manifest.authors else ""
        click.echo(
            f"{manifest.title}, {manifest.date.isoformat()}{by}, {manifest.licence.id}, for {manifest.audience}"
        )
        click.echo(f"Versions: {', '.join(manifest.versions)}")
    click.echo(f"{report.sha256}  {report.path.name}")
    for problem in report.problems:
        click.echo(f"refused: {problem}")
    say_verdicts(report.verdicts)


@click.command("bring-in")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--as",
    "names",
    multiple=True,
    metavar="NAME",
    help="What its driver is called here; OLD=NEW for each where it has several.",
)
@_expected
@json_option
def bring_in_(file: Path, names: tuple[str, ...], expected: str | None, as_json: bool) -> None:
    """Bring a release of somebody else into the workshop: all of it or nothing, and nothing is overwritten.

    \b
    Example:
      halfroll release bring-in avocet-v8-everyone.zip --as saltmarsh-avocet
    """
    from halfroll.workshop.bring_in import bring_in, names_by_driver

    workshop = open_workshop()
    with progress_bar("bringing the release in") as progress:
        found = bring_in(
            workshop,
            file,
            as_name=names_by_driver(names),
            expected=expected,
            today=dt.date.today(),
            progress=progress,
        )
    if as_json:
        print_json(found.as_dict())
        return
    for id_ in found.versions:
        click.echo(id_)
    say_verdicts(found.verdicts)
