"""``halfroll kits``: bags of parts for builders, what a batch takes and costs, its papers, and booking what was packed."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

import click

from halfroll.cli.common import (
    InOrder,
    check_ending,
    json_option,
    open_workshop,
    print_json,
    print_rows,
    progress_bar,
    say,
    say_verdicts,
    write_file,
)
from halfroll.cli.kits_new import new

if TYPE_CHECKING:
    from halfroll.builds.kits import KitPlan

NAME = click.argument("name", metavar="KIT")
KITS = click.argument("n", metavar="N", type=int)
DAY = click.DateTime(["%Y-%m-%d"])


@click.group(cls=InOrder)
def kits() -> None:
    """Plan batches of kits: bags of parts for people who build a version.

    A kit is a file in the folder kits; the page /kits shows the same.
    """


@kits.command("list")
@json_option
def list_(as_json: bool) -> None:
    """List all kits.

    \b
    Example:
      halfroll kits list
    """
    from halfroll.publish.parameter_rows import Rows
    from halfroll.workshop.kits import all_kits
    from halfroll.workshop.toml_write import plain

    known, faults = all_kits(open_workshop())
    if as_json:
        print_json(
            {
                "kits": [{"kit": one.id, **plain(one.record)} for one in known],
                "faults": [f.as_dict() for f in faults],
            }
        )
        return
    rows = tuple(
        (one.id, one.record.title, ", ".join(f"{d.count} × {d.version}" for d in one.record.drivers))
        for one in known
    )
    note = () if rows else ("There is no kit yet. Make one with: halfroll kits new",)
    print_rows(Rows(head=("Kit", "Title", "Drivers"), rows=rows, notes=note))
    for fault in faults:
        say(f"Left out: {fault}")


kits.add_command(new)


@kits.command()
@NAME
@click.argument("n", metavar="[N]", type=int, default=1)
@json_option
def show(name: str, n: int, as_json: bool) -> None:
    """Plan a batch of N kits: what the stock allows, what to buy, what one costs, what is left over.

    \b
    Example:
      halfroll kits show hide-pair 10
    """
    planned = _planned(name, n)
    if as_json:
        print_json(planned.as_dict())
        return
    from halfroll.publish.kit_rows import part_rows, price_rows, stock_words

    click.echo(f"{planned.record.title}: {stock_words(planned)}")
    print_rows(part_rows(planned))
    if planned.price is not None:
        click.echo()
        print_rows(price_rows(planned.price))
    click.echo()
    _print_shopping(planned)
    if planned.left_over:
        from halfroll.publish.kit_rows import left_words

        click.echo(left_words(planned))
    say_verdicts(planned.verdicts)


@kits.command()
@NAME
@KITS
@json_option
def shopping(name: str, n: int, as_json: bool) -> None:
    """List what to buy where for N kits, after the stock, at the lowest total.

    \b
    Example:
      halfroll kits shopping hide-pair 10
    """
    planned = _planned(name, n)
    if as_json:
        print_json({"kit": name, "kits": n, **planned.as_dict()["shopping"]})
        return
    _print_shopping(planned)
    say_verdicts(planned.shopping.verdicts)


@kits.command("pick-list")
@NAME
@KITS
@click.option("--pdf", type=click.Path(dir_okay=False, path_type=Path), required=True, help="File to write.")
@json_option
def pick_list(name: str, n: int, pdf: Path, as_json: bool) -> None:
    """Write the pick list of N kits, by place, with boxes to tick.

    \b
    Example:
      halfroll kits pick-list hide-pair 10 --pdf pick-list.pdf
    """
    from halfroll.publish.kits import pick_list_pdf

    check_ending(pdf, ".pdf", "--pdf")
    planned = _planned(name, n)
    write_file(pdf, pick_list_pdf(planned, date=dt.date.today().isoformat()))
    if as_json:
        print_json({"kit": name, "kits": n, "file": str(pdf)})


@kits.command()
@NAME
@KITS
@click.option("--pdf", type=click.Path(dir_okay=False, path_type=Path), required=True, help="File to write.")
@click.option("--columns", type=int, default=3, show_default=True, help="Labels side by side on A4.")
@click.option("--rows", type=int, default=8, show_default=True, help="Labels below each other.")
@click.option(
    "--width", type=float, default=None, help="Width of one label, mm. Default: what the sheet gives."
)
@click.option(
    "--height", type=float, default=None, help="Height of one label, mm. Default: what the sheet gives."
)
@click.option("--gap-across", type=float, default=0.0, show_default=True, help="Gap between columns, mm.")
@click.option("--gap-down", type=float, default=0.0, show_default=True, help="Gap between rows, mm.")
@click.option(
    "--skip", type=int, default=0, show_default=True, help="Labels of the first sheet that are used up."
)
@json_option
def labels(
    name: str, n: int, pdf: Path, columns: int, rows: int, width: float | None, height: float | None, gap_across: float, gap_down: float,
    skip: int, as_json: bool,
) -> None:  # fmt: skip
    """Write labels for the bags of N kits, one for each bag of each part.

    \b
    Example:
      halfroll kits labels hide-pair 10 --pdf labels.pdf
      halfroll kits labels hide-pair 10 --pdf labels.pdf --columns 2 --rows 7 --width 99 --height 38 --gap-across 2.5
    """
    from halfroll.publish.kits import LabelGrid, label_sheet_pdf

    check_ending(pdf, ".pdf", "--pdf")
    grid = LabelGrid(
        columns=columns,
        rows=rows,
        width_mm=width,
        height_mm=height,
        gap_across_mm=gap_across,
        gap_down_mm=gap_down,
    )
    planned = _planned(name, n)
    write_file(pdf, label_sheet_pdf(planned, date=dt.date.today().isoformat(), grid=grid, skip=skip))
    if as_json:
        wide, high = grid.size_mm
        print_json(
            {
                "kit": name,
                "kits": n,
                "labels": n * len(planned.parts),
                "width_mm": wide,
                "height_mm": high,
                "file": str(pdf),
            }
        )


@kits.command()
@NAME
@KITS
@click.option("--date", type=DAY, default=None, help="Day of packing. Default: today.")
@click.option("--note", default="", help="What you like.")
@click.option(
    "--anyway", is_flag=True, help="Book it although the stock goes below zero; it is said ever after."
)
@json_option
def packed(name: str, n: int, date: dt.datetime | None, note: str, anyway: bool, as_json: bool) -> None:
    """Book that N kits were packed: every part as used, or nothing. "halfroll stock undo" takes it back.

    \b
    Example:
      halfroll kits packed hide-pair 1
    """
    from halfroll.builds.kits import pack
    from halfroll.workshop.standing import amount_text
    from halfroll.workshop.toml_write import plain

    with progress_bar("What goes into a bag") as progress:
        planned, written = pack(open_workshop(), name, n, date=date.date() if date else dt.date.today(), note=note, anyway=anyway,
                                progress=progress)  # fmt: skip
    if as_json:
        print_json({"kit": name, "kits": n, "movements": [plain(one) for one in written]})
        return
    units = {part.need.part_id: part.need.unit for part in planned.parts}
    for one in written:
        click.echo(f"{one.part}: used {amount_text(one.amount, units[one.part])}")


def _planned(name: str, n: int) -> KitPlan:
    from halfroll.builds.kits import plan

    with progress_bar("What goes into a bag") as progress:
        return plan(open_workshop(), name, n, progress=progress)


def _print_shopping(planned: KitPlan) -> None:
    from halfroll.publish.kit_rows import shopping_rows

    print_rows(shopping_rows(planned))
