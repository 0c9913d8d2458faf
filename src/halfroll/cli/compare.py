"""``halfroll compare``: is the new version better, and is that real?"""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from halfroll.cli.common import (
    console,
    json_option,
    open_workshop,
    output_options,
    print_json,
    progress_bar,
    write_file,
)
from halfroll.cli.figures import shown
from halfroll.cli.options import figure_options, settings_of

if TYPE_CHECKING:
    from halfroll.compare.types import Comparison
    from halfroll.workshop import Workshop

SHEET = "sheet"

SHOWN = 16
"""Findings that are printed unless all are asked for."""


@click.command()
@click.argument("ids", nargs=-1, metavar="[DRIVER | DRIVER/VERSION]...")
@click.option("--base", default="first", show_default=True, help="A version's id, first, best or parent.")
@click.option(
    "--spread",
    type=click.Choice(["own", "pooled"]),
    default="own",
    show_default=True,
    help="Each version's own spread, or one pooled over all.",
)
@figure_options
@click.option(
    "--chart",
    default=SHEET,
    show_default=True,
    help="What is drawn: sheet, level, thd, impedance, strip:KEY ...",
)
@click.option("--all", "everything", is_flag=True, help="Print every finding, not only the most important.")
@click.option(
    "--text",
    type=click.Choice(["markdown", "plain"]),
    default=None,
    help="Print findings and figures as text to paste, every number with its mark.",
)
@output_options
@json_option
def compare(
    ids: tuple[str, ...],
    base: str,
    spread: str,
    level: float | None,
    rule: str | None,
    thd: str | None,
    band: tuple[float, float] | None,
    bass: tuple[float, float] | None,
    chart: str,
    theme: str,
    everything: bool,
    text: str | None,
    svg: Path | None,
    png: Path | None,
    pdf: Path | None,
    as_json: bool,
) -> None:
    """Compare versions, like for like.

    It prints findings, figures, and where the comparison would be unfair. A driver's name stands for all its versions; nothing stands for the whole workshop.
    A version that was not measured is predicted from its design; VERSION@predicted is the prediction of one that was.

    \b
    Examples:
      halfroll compare avocet --base parent
      halfroll compare avocet/v1 avocet/v6 dunlin/v2 --pdf sheet.pdf
      halfroll compare avocet --chart level --svg level.svg
      halfroll compare avocet/v8 avocet/v8@predicted
      halfroll compare avocet/v1 avocet/v6 --text markdown
    """
    from halfroll.compare.recipe import compare_versions

    workshop = open_workshop()
    settings = settings_of(workshop, level, rule, thd, band, bass)
    wanted = {"svg": svg, "png": png, "pdf": pdf}
    with progress_bar("analysing") as progress:
        found = compare_versions(
            workshop,
            ids,
            settings=settings,
            base=base,
            spread=spread,  # type: ignore[arg-type]
            with_curves=any(wanted.values()),
            progress=progress,
        )
    for kind, path in wanted.items():
        if path is not None:
            write_file(path, _picture(found, workshop.name, chart, theme, kind))
    if as_json:
        print_json(found.as_dict())
    elif text is not None:
        click.echo(_as_text(workshop, found, text, everything), nl=False)
    else:
        print_comparison(found, None if everything else SHOWN)


def _as_text(workshop: Workshop, found: Comparison, form: str, everything: bool) -> str:
    from halfroll.publish.as_text import comparison_text
    from halfroll.workshop.marks import keep_marks

    marks = keep_marks(workshop, found.columns, found.settings)
    today = datetime.date.today().isoformat()
    return comparison_text(found, marks, form, source=workshop.name, date=today, everything=everything)


def _picture(found: Comparison, title: str, chart: str, theme: str, kind: str) -> str | bytes:
    if chart == SHEET:
        from halfroll.publish import sheet

        draw = {"svg": sheet.sheet_svg, "png": sheet.sheet_png, "pdf": sheet.sheet_pdf}[kind]
        extra = {"width_px": 1600} if kind == "png" else {}
        return draw(found, title=title, date=datetime.date.today().isoformat(), **extra)  # type: ignore[operator,no-any-return]
    from halfroll.publish.comparison import comparison_charts
    from halfroll.publish.theme import theme as theme_named

    return render_chart(comparison_charts(found, theme=theme_named(theme), width_px=900), chart, kind)


def render_chart(charts: dict[str, dict[str, object]], name: str, kind: str) -> str | bytes:
    """One of several charts as a picture; a wrong name is answered by the right ones."""
    from halfroll.core.errors import choose
    from halfroll.publish import render

    spec = charts[choose(name, charts, field="The chart", key="--chart")]
    if kind == "svg":
        return render.to_svg(spec)
    return render.to_png(spec, 1800) if kind == "png" else render.to_pdf(spec)


def print_comparison(found: Comparison, most: int | None = SHOWN) -> None:
    """Findings, the `most` important ones (None: all), cautions, and the table of headline figures."""
    from halfroll.publish.as_text import settings_sentence

    out = console()
    out.print(settings_sentence(found), soft_wrap=True)
    out.print()
    for finding in found.findings[:most]:
        out.print(f"• {finding}", soft_wrap=True)
    if most is not None and len(found.findings) > most:
        out.print(f"  {len(found.findings) - most} more findings with --all.")
    cautions = [*found.cautions, *(caution for column in found.columns for caution in column.cautions)]
    if cautions:
        out.print()
    for caution in sorted(cautions, key=lambda c: -c.severity):
        out.print(
            f"{caution.severity.name.lower()}: {caution.text} {caution.remedy}".rstrip(), soft_wrap=True
        )
    out.print()
    out.print(_table(found))
    if any(column.runs_used for column in found.columns):
        out.print()
        out.print(_parameters(found))


def _parameters(found: Comparison) -> object:
    """The lumped parameters of the versions of which there are any, the symbols of the trade at the head."""
    from rich.table import Table

    symbols = {
        "re_ohm": "Re",
        "fs_hz": "fs",
        "qts": "Qts",
        "mms_g": "Mms",
        "bl_n_per_a": "Bl",
        "vas_l": "Vas",
    }
    table = Table(box=None, pad_edge=False, caption=f"Lumped parameters, mean of the units{_or_predicted(found)} ± half of the 95 % interval.",
                  caption_justify="left")  # fmt: skip
    for name in ("Version", *symbols.values(), "Units"):
        table.add_column(name, no_wrap=name != "Version", overflow="fold")
    for column in found.columns:
        if column.runs_used:
            units = {"/".join(run.split("/")[:3]) for run in column.runs_used}
            cells = [shown(column.figures[key]) for key in symbols]
            basis = "predicted" if column.source == "predicted" else str(len(units))
            table.add_row(column.version.version_id, *cells, basis)
    return table


def _or_predicted(found: Comparison) -> str:
    return ", or prediction," if any(column.source == "predicted" for column in found.columns) else ""


def _table(found: Comparison) -> object:
    from rich.table import Table

    from halfroll.figures.rules import RULES

    table = Table(
        box=None,
        pad_edge=False,
        caption=f"Mean of the units{_or_predicted(found)} ± half of the 95 % interval.",
        caption_justify="left",
    )
    headline = [
        rule for rule in RULES if rule.headline or rule.key in ("thd_worst_percent", "upper_limit_hz")
    ]
    for name in ("Version", *(rule.label for rule in headline), "Units"):
        table.add_column(name, no_wrap=name != "Version", overflow="fold")
    for column in found.columns:
        version = column.version
        mark = " (base)" if version.version_id == found.base_id and found.base_mode != "parent" else ""
        units = {"/".join(take.split("/")[:3]) for take in column.takes_used}
        cells = [shown(column.figures[rule.key]) if rule.key in column.figures else "–" for rule in headline]
        basis = str(len(units)) if units else "published" if version.published else "–"
        basis = "predicted" if column.source == "predicted" else basis
        table.add_row(f"{version.version_id}{mark}", *cells, basis)
    return table
