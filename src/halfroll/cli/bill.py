"""``halfroll bill`` and ``halfroll carry-over``: what a version is made of and costs, and what of an older one goes into it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

import click

from halfroll.cli.common import (
    check_ending,
    json_option,
    open_workshop,
    print_json,
    print_rows,
    print_tables,
    progress_bar,
    say_verdicts,
    write_file,
)

if TYPE_CHECKING:
    from halfroll.builds.bill.matching import Apart

units_option = click.option(
    "--units", type=int, default=1, show_default=True, help="Drivers that whole packs are bought for."
)


@click.command()
@click.argument("version_id", metavar="DRIVER/VERSION")
@units_option
@click.option(
    "--pdf",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write the bill to this PDF file.",
)
@json_option
def bill(version_id: str, units: int, pdf: Path | None, as_json: bool) -> None:
    """Show what a version is made of and costs.

    Parts, wire, prints and glue with where each amount comes from; the cost of one driver at the usual, the cheapest and the dearest
    supplier of each line; whole packs for a number of drivers. Prices are those of your own parts.

    \b
    Example:
      halfroll bill avocet/v8
      halfroll bill avocet/v8 --units 3 --pdf bill.pdf
    """
    from halfroll.builds.bill import bill_of

    check_ending(pdf, ".pdf", "--pdf")
    workshop, today = open_workshop(), dt.date.today()
    with progress_bar("Making out the bill") as progress:
        found = bill_of(workshop, version_id, today=today, units=units, progress=progress)
    if pdf is not None:
        from halfroll.publish.bill_paper import bill_pdf

        write_file(pdf, bill_pdf(found, date=today.isoformat()))
    if as_json:
        print_json(found.as_dict())
        return
    from halfroll.core.text import count
    from halfroll.publish.bill_rows import bill_rows, shopping_rows, sum_rows, tool_rows

    click.echo(f"{found.title}, one driver")
    print_tables((bill_rows(found), sum_rows(found), tool_rows(found)))
    if found.shopping is not None and found.shopping.purchases:
        print_rows(shopping_rows(found.shopping), f"To buy for {count(units, 'driver')}, whole packs")
    say_verdicts(found.verdicts)


@click.command("carry-over")
@click.argument("old_id", metavar="OLD")
@click.argument("new_id", metavar="NEW")
@units_option
@click.option(
    "--apart", type=click.Choice(["unglued", "all"]), default="unglued", show_default=True,
    help="Whether only unglued parts come off, or all.",
)  # fmt: skip
@click.option("--from-stock", is_flag=True, help="Use what lies in stock before anything is bought.")
@json_option
def carry_over(old_id: str, new_id: str, units: int, apart: Apart, from_stock: bool, as_json: bool) -> None:
    """Show what of the version OLD goes into the version NEW, and what the step costs.

    For somebody who has built a number of the old one and wants as many of the new: what stays, what is reworked, what is new, what is
    left over, and whole packs to buy.

    \b
    Example:
      halfroll carry-over avocet/v8 avocet/v9 --units 3
      halfroll carry-over avocet/v8 avocet/v9 --apart all
    """
    from halfroll.builds.bill import carry_over as step

    workshop = open_workshop()
    stock = {}
    if from_stock:
        from halfroll.workshop.stock import standings

        stock = {part: one.amount for part, one in standings(workshop).items() if one.amount is not None}
    with progress_bar("Comparing what they are made of") as progress:
        found = step(
            workshop,
            old_id,
            new_id,
            units=units,
            today=dt.date.today(),
            apart=apart,
            stock=stock,
            progress=progress,
        )
    if as_json:
        print_json(found.as_dict())
        return
    from halfroll.core.text import count
    from halfroll.publish.bill_rows import APART, carried_rows, shopping_rows, step_rows

    click.echo(f"From {found.titles[0]} to {found.titles[1]}. {APART[apart]}")
    print_tables((carried_rows(found.lines, found.currency), step_rows(found)))
    if found.buy is not None and found.buy.purchases:
        print_rows(shopping_rows(found.buy), f"To buy for {count(units, 'driver')}, whole packs")
    say_verdicts(found.verdicts)
