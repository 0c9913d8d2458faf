"""``halfroll stock``: what is there, and what was bought, used, spoiled and counted."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import (
    F,
    InOrder,
    json_option,
    open_workshop,
    print_json,
    print_rows,
    say,
    say_faults,
    say_verdicts,
)

if TYPE_CHECKING:
    from halfroll.workshop.standing import Standing
    from halfroll.workshop.stock_record import MovementKind, MovementTable

DAY = click.DateTime(["%Y-%m-%d"])


@click.group(cls=InOrder)
def stock() -> None:
    """Keep the books of your parts: bought, used, spoiled, counted.

    What the record of a part says under stock is its opening count; movements lie in stock/YEAR.toml, one file a year.
    """


def movement_options(command: F) -> F:
    """Day and note of a movement, and whether it is booked although too little is there."""
    for option in (
        click.option("--anyway", is_flag=True, help="Book it although the stock goes below zero; it is said ever after."),
        click.option("--note", default="", help="What it was for."),
        click.option("--date", type=DAY, default=None, help="Its day. Default: today."),
    ):  # fmt: skip
        command = option(command)
    return json_option(command)


@stock.command()
@click.argument("part", required=False)
@json_option
def show(part: str | None, as_json: bool) -> None:
    """Show what is in stock, of all parts or of PART with its history.

    \b
    Example:
      halfroll stock show
      halfroll stock show disc-20
    """
    from halfroll.workshop.parts import current_id, load_part, own_parts
    from halfroll.workshop.stock import stock_of

    shop = open_workshop()
    owned = own_parts(shop)
    found = stock_of(shop, owned)
    if part is not None:
        id_ = current_id(owned, part)
        load_part(shop, id_)
        _one(found.standings[id_], as_json)
        return
    if as_json:
        print_json(
            {
                "stock": [one.as_dict() for one in found.standings.values()],
                "faults": [f.as_dict() for f in found.faults],
            }
        )
        return
    _all(list(found.standings.values()))
    for one in found.standings.values():
        say_verdicts(one.verdicts)
    say_faults(found.faults)


@stock.command()
@click.argument("part")
@click.argument("amount", type=float)
@click.option("--paid", type=float, default=None, help="What was paid for all of it, without postage.")
@click.option(
    "--currency",
    default=None,
    help="Its currency, three letters (ISO 4217). Default: that of the part's price.",
)
@click.option("--supplier", default="", help="Where it was bought.")
@movement_options
def bought(
    part: str, amount: float, paid: float | None, currency: str | None, supplier: str, **common: Any
) -> None:
    """Book that AMOUNT of PART was bought, in the unit of its pack.

    \b
    Example:
      halfroll stock bought disc-20 8 --paid 18 --supplier "Tideline Magnets"
    """
    if paid is not None and currency is None:
        currency = _currency_of(part)
    more = {"paid": paid, "currency": currency.upper() if currency else None, "supplier": supplier}
    _book("bought", part, amount, common, **{key: value for key, value in more.items() if value is not None})


@stock.command()
@click.argument("part")
@click.argument("amount", type=float)
@click.option("--unit", default="", metavar="DRIVER/VERSION/UNIT", help="The built copy it went into.")
@click.option("--kit", default="", help="The kit it went into.")
@movement_options
def used(part: str, amount: float, unit: str, kit: str, **common: Any) -> None:
    """Book that AMOUNT of PART was used.

    \b
    Example:
      halfroll stock used disc-20 2 --unit avocet/v8/01
    """
    _book("used", part, amount, common, unit=unit, kit=kit)


@stock.command()
@click.argument("part")
@click.argument("amount", type=float)
@movement_options
def spoiled(part: str, amount: float, **common: Any) -> None:
    """Book that AMOUNT of PART was broken, lost or thrown away.

    \b
    Example:
      halfroll stock spoiled disc-20 1 --note "chipped when it jumped"
    """
    _book("spoiled", part, amount, common)


@stock.command()
@click.argument("part")
@click.argument("amount", type=float)
@movement_options
def counted(part: str, amount: float, **common: Any) -> None:
    """Book that AMOUNT of PART was found when it was counted; the books are set to it.

    \b
    Example:
      halfroll stock counted wire-020 37.5
    """
    _book("counted", part, amount, common)


@stock.command()
@json_option
def undo(as_json: bool) -> None:
    """Take the last booking back, with everything booked together with it.

    \b
    Example:
      halfroll stock undo
    """
    from halfroll.workshop.stock import undo as take_back
    from halfroll.workshop.toml_write import plain

    gone = take_back(open_workshop())
    if as_json:
        print_json({"taken_back": [plain(one) for one in gone]})
        return
    for one in gone:
        click.echo(f"Taken back: {one.date.isoformat()}, {one.part} {one.what} {one.amount:g}")


def _book(what: MovementKind, part: str, amount: float, common: dict[str, Any], **more: Any) -> None:
    """Write one movement and say where the part stands now."""
    from halfroll.workshop.faults import check
    from halfroll.workshop.stock import move, standings
    from halfroll.workshop.stock_record import MovementTable

    day = common["date"].date() if common["date"] else dt.date.today()
    data = {"date": day, "part": part, "what": what, "amount": amount, "note": common["note"], **more}
    shop = open_workshop()
    (written,) = move(shop, check(MovementTable, data, file=f"stock {what}"), anyway=common["anyway"])
    standing = standings(shop)[written.part]
    if common["as_json"]:
        print_json({"movement": _plain(written), "standing": standing.as_dict()})
        return
    from halfroll.publish.stock_rows import signed
    from halfroll.workshop.standing import amount_text

    line = next(line for line in standing.lines if line.movement.number == written.number)
    change = "" if what != "counted" else f" ({signed(line.change, standing.unit)} against the books)"
    click.echo(
        f"{written.part}: {what} {amount_text(written.amount, standing.unit)}{change}; {_stands(standing)}."
    )
    say_verdicts(standing.verdicts)


def _plain(movement: MovementTable) -> dict[str, Any]:
    from halfroll.workshop.toml_write import plain

    return plain(movement)


def _stands(standing: Standing) -> str:
    from halfroll.workshop.standing import amount_text

    return f"{amount_text(standing.amount or 0.0, standing.unit)} in stock"


def _currency_of(part: str) -> str | None:
    """The currency of a part's own price."""
    from halfroll.workshop.parts import current_id, own_parts

    owned = own_parts(open_workshop())
    loaded = owned.parts.get(current_id(owned, part))
    return None if loaded is None else loaded.record.currency


def _one(standing: Standing, as_json: bool) -> None:
    from halfroll.publish.stock_rows import history_rows

    if as_json:
        print_json(standing.as_dict())
        return
    if standing.amount is None:
        say(
            f"{standing.part_id} was never counted. Count it with: halfroll stock counted {standing.part_id} AMOUNT"
        )
        return
    print_rows(history_rows(standing))
    click.echo(f"{standing.part_id}: {_stands(standing)}.")
    say_verdicts(standing.verdicts)


def _all(standings: Collection[Standing]) -> None:
    from halfroll.publish.stock_rows import stock_table, worth_words

    print_rows(stock_table(standings))
    if worth := worth_words(standings):
        click.echo(f"Worth {worth} at the prices of the records, else at what was paid last.")
    if not standings:
        say("There are no parts of your own yet. Add one with: halfroll parts add NAME --type magnet")
