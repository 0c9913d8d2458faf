"""``halfroll residue``: what a take holds above its harmonics, and whether the unit rubs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from halfroll.cli.common import (
    MARKS,
    console,
    json_option,
    open_workshop,
    output_options,
    print_json,
    progress_bar,
    write_file,
)
from halfroll.cli.compare import render_chart

if TYPE_CHECKING:
    from halfroll.compare.residues import ResidueReport
    from halfroll.core.verdicts import Verdict


@click.command()
@click.argument("wanted", metavar="DRIVER/VERSION/UNIT[/TAKE]")
@click.option(
    "--chart",
    type=click.Choice(["residue", "moment"]),
    default="residue",
    show_default=True,
    help="Over the frequency played, or the waveform of the worst moment.",
)
@output_options
@json_option
def residue(
    wanted: str,
    chart: str,
    theme: str,
    svg: Path | None,
    png: Path | None,
    pdf: Path | None,
    as_json: bool,
) -> None:
    """Look for rub, buzz and leaks.

    It looks at one take, or at all takes of a unit.     What is left above order 12 of the frequency played is compared with the noise of the silence, with the
    unit's other takes, and with the version's other units at the same drive.

    \b
    Example:
      halfroll residue avocet/v6/01 --json
      halfroll residue avocet/v6/01/1w-a --svg rub.svg
    """
    from halfroll.compare.residues import residue_reports

    workshop = open_workshop()
    with progress_bar("analysing") as progress:
        reports = residue_reports(workshop, wanted, progress)
    shown = worst_of(reports)
    for kind, path in {"svg": svg, "png": png, "pdf": pdf}.items():
        if path is not None:
            write_file(path, _picture(shown, chart, theme, kind))
    if as_json:
        print_json({"takes": [report.as_dict() for report in reports]})
        return
    _print(reports)


def worst_of(reports: tuple[ResidueReport, ...]) -> ResidueReport:
    """The report with the loudest noise in step; without any the first."""
    return max(
        reports,
        key=lambda report: max((e.level_db for e in report.events if e.kind == "in step"), default=-1e9),
    )


def _picture(report: ResidueReport, chart: str, theme: str, kind: str) -> str | bytes:
    from halfroll.core.errors import InputError
    from halfroll.publish.residue import residue_charts
    from halfroll.publish.theme import theme as theme_named

    if report.residue is None:
        raise InputError(
            "There is no picture of this take",
            found="the sweep is too short or the recording ends too low for orders from 12 up",
        )
    others = [other for _, other in report.others]
    charts = residue_charts(
        report.residue, theme=theme_named(theme), width_px=900, against=report.against, others=others
    )
    return render_chart(charts, chart, kind)


def _print(reports: tuple[ResidueReport, ...]) -> None:
    from rich.table import Table

    table = Table(box=None, pad_edge=False)
    for name in ("Take", "Noise in step", "At", "Silence", "Compared with"):
        table.add_column(name, overflow="fold")
    for report in reports:
        table.add_row(report.take_id, *summary_of(report))
    console().print(table)
    if not any(report.verdicts for report in reports):
        click.echo("good: No rub, no buzz, no hum that matters.")
    for verdict, takes in gravest(reports):
        many = f" ({takes} of {len(reports)} takes)" if len(reports) > 1 else ""
        click.echo(f"{MARKS[verdict.severity]}: {verdict.text}{many} {verdict.remedy}".rstrip())


def gravest(reports: tuple[ResidueReport, ...]) -> list[tuple[Verdict, int]]:
    """One verdict of each code, of the take that has it loudest, and how many takes have it; the gravest first."""
    found: dict[str, tuple[Verdict, int]] = {}
    for report in reports:
        for verdict in report.verdicts:
            known, takes = found.get(verdict.code, (verdict, 0))
            louder = verdict.data.get("level_db", 0.0) > known.data.get("level_db", 0.0)
            found[verdict.code] = (verdict if louder else known, takes + 1)
    return sorted(found.values(), key=lambda pair: -pair[0].severity)


def summary_of(report: ResidueReport) -> tuple[str, str, str, str]:
    """Level of the loudest noise in step, where, level of the silence, and with how many takes it was compared."""
    from halfroll.core.text import count, format_value

    steps = [event for event in report.events if event.kind == "in step"]
    worst = max(steps, key=lambda event: event.level_db, default=None)
    silence = (
        "–"
        if report.hum is None or not report.calibrated
        else f"{format_value(report.hum.level_dba, None, 'dB')}(A)"
    )
    return (
        "–" if worst is None else f"{format_value(worst.level_db, None, 'dB')} re fundamental",
        "–" if worst is None else format_value(worst.worst_hz, None, "Hz"),
        silence,
        f"{count(report.repeats, 'repeat')}, {count(len(report.others), 'take')} of other units",
    )
