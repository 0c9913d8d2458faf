"""``halfroll figures``: the figures of versions, one table."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from halfroll.cli.common import MARKS, console, json_option, open_workshop, print_json, progress_bar
from halfroll.cli.options import figure_options, settings_of

if TYPE_CHECKING:
    from halfroll.figures.types import Figure


@click.command()
@click.argument("ids", nargs=-1, metavar="[DRIVER | DRIVER/VERSION]...")
@figure_options
@json_option
def figures(
    ids: tuple[str, ...],
    level: float | None,
    rule: str | None,
    thd: str | None,
    band: tuple[float, float] | None,
    bass: tuple[float, float] | None,
    as_json: bool,
) -> None:
    """Print every figure of versions.

    Each with its uncertainty and the rule behind it. A driver's name stands for all its versions; nothing stands for the whole workshop.

    \b
    Example:
      halfroll figures avocet/v6 --level 1
    """
    from halfroll.compare.recipe import compare_versions
    from halfroll.figures.rules import told_of

    workshop = open_workshop()
    settings = settings_of(workshop, level, rule, thd, band, bass)
    with progress_bar("analysing") as progress:
        found = compare_versions(workshop, ids, settings=settings, with_curves=False, progress=progress)
    if as_json:
        raw = found.as_dict()
        print_json({"settings": raw["settings"], "versions": raw["versions"]})
        return
    for column in found.columns:
        kinds = {run.kind for run in column.version.runs}
        rows = [
            column.figures[rule.key] for rules in told_of([column.figures], kinds).values() for rule in rules
        ]
        print_figures(f"{column.version.driver_title} {column.version.label}", rows)
        for caution in column.cautions:
            console().print(
                f"{MARKS[caution.severity]}: {caution.text} {caution.remedy}".rstrip(), soft_wrap=True
            )
        console().print()


def print_figures(title: str, rows: list[Figure], *, rules: bool = True) -> None:
    """Figures as one table with what must be said; with `rules` also where each comes from and the rule behind it."""
    from halfroll.cli.common import print_rows
    from halfroll.core.text import count
    from halfroll.figures.rules import RULE
    from halfroll.publish.parameter_rows import Rows

    def basis(row: Figure) -> str:
        noun = RULE[row.key].noun
        return f"{count(row.n_units, 'unit')}, {count(row.n_takes, noun)}" if row.n_takes else row.source

    def said(row: Figure) -> str:
        return " ".join(part for part in (rules and row.rule + ".", row.missing, *row.cautions) if part)

    if rules:
        head: tuple[str, ...] = ("Figure", "Value", "From", "Rule, and what must be said")
        cells = [(row.label, shown(row), basis(row), said(row)) for row in rows]
        print_rows(Rows(head=head, rows=tuple(cells)), title)
        return
    noted = any(said(row) for row in rows)
    head = ("Figure", "Value", *(("What must be said",) if noted else ()))
    print_rows(
        Rows(
            head=head, rows=tuple((row.label, shown(row), *((said(row),) if noted else ())) for row in rows)
        ),
        title,
    )


def shown(figure: Figure) -> str:
    """A figure with half of its 95 % interval, a bound with its sign, or a dash."""
    from halfroll.core.text import format_value, format_with_u

    if figure.value is None:
        return "–"
    sign = {"upper": "≤ ", "lower": "≥ ", None: ""}[figure.bound]
    if figure.expanded is None:
        lacking = "" if figure.bound else " (spread unknown)"
        return sign + format_value(figure.value, None, figure.unit) + lacking
    return sign + format_with_u(figure.value, figure.expanded, figure.unit)
