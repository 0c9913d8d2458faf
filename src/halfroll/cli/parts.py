"""``halfroll parts``: parts and materials of one's own, their prices and stock."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any, TypeVar, get_args

import click

from halfroll.cli.common import InOrder, console, json_option, open_workshop, print_json, say, say_verdicts
from halfroll.cli.part_materials import done, grade, steel
from halfroll.core.errors import InputError
from halfroll.materials.types import PartForm, PartKind

F = TypeVar("F", bound=Callable[..., Any])

UNITS = ("pieces", "m", "g")


@click.group(cls=InOrder)
def parts() -> None:
    """Keep parts and materials of your own.

    A record says what a thing is, what it costs and what is in stock. What can be bought anywhere stands in "halfroll catalogue"; a part of your own names it by its key and adds price and stock. Every record is a
    small text file in parts/ or materials/ that you may edit by hand.
    """


@parts.command("list")
@json_option
def list_(as_json: bool) -> None:
    """List your own parts and materials.

    \b
    Example:
      halfroll parts list
    """
    from halfroll.workshop.part_rows import material_rows, part_rows
    from halfroll.workshop.parts import own_parts
    from halfroll.workshop.stock import stock_of

    shop = open_workshop()
    own = own_parts(shop)
    stock = stock_of(shop, own)
    rows, materials = part_rows(own, dt.date.today(), stock.standings), material_rows(own)
    if as_json:
        faults = [fault.as_dict() for fault in (*own.faults, *stock.faults)]
        print_json({"parts": [row.as_dict() for row in rows], "materials": materials, "faults": faults})
        return
    if rows:
        from rich.table import Table

        table = Table(title="Parts", box=None, pad_edge=False)
        for head in ("id", "what", "material", "price", "stock", "priced"):
            table.add_column(head)
        for row in rows:
            table.add_row(row.id, row.what, row.material, row.price, row.stock, row.date)
        console().print(table)
    for material in materials:
        click.echo(f"{material['id']}: {material['what']}, {material['title']}")
    for fault in (*own.faults, *stock.faults):
        say(f"Left out: {fault}")
    if not (rows or materials or own.faults):
        say(
            "There are no parts of your own yet. Add one with: halfroll parts add NAME --type magnet --catalogue KEY"
        )


@parts.command()
@click.argument("name")
@json_option
def show(name: str, as_json: bool) -> None:
    """Show the part or material NAME.

    \b
    Example:
      halfroll parts show big-magnet
    """
    from halfroll.materials.listing import details
    from halfroll.workshop.part_rows import part_rows
    from halfroll.workshop.parts import load_material, load_part, material_ids, own_parts, part_ids
    from halfroll.workshop.stock import stock_of
    from halfroll.workshop.toml_write import plain

    shop = open_workshop()
    if name in material_ids(shop) and name not in part_ids(shop):
        loaded = load_material(shop, name)
        known = own_parts(shop).catalogue
        entry: Any = known.wire(name) if loaded.record.wire is not None else known.material(name)
        if as_json:
            print_json(
                {
                    "id": name,
                    "file": str(loaded.path),
                    "record": plain(loaded.record),
                    "entry": details(entry),
                }
            )
        else:
            click.echo(loaded.path.read_text(encoding="utf-8").strip())
        return
    part = load_part(shop, name)
    own = own_parts(shop)
    found = own.catalogue.part(name)
    rows = part_rows(own, dt.date.today(), stock_of(shop, own).standings)
    row = next(row for row in rows if row.id == name)
    if as_json:
        print_json({"file": str(part.path), "record": plain(part.record), **row.as_dict()})
        return
    click.echo(f"{name}: {found.title}")
    for what, words in row.facts:
        click.echo(f"  {what}: {words}")
    say_verdicts(row.verdicts)


def part_options(command: F) -> F:
    """What a part is, what it costs and what there is of it."""
    for option in (
        click.option("--notes", help="What you like."),
        click.option(
            "--date",
            type=click.DateTime(["%Y-%m-%d"]),
            help="Day of the price. Default: today, with a new price.",
        ),
        click.option("--supplier", help="Where it comes from."),
        click.option("--place", help="Where it lies: a shelf or a drawer, for pick lists."),
        click.option(
            "--stock", type=float, help="In stock, in the unit of the pack, before the first movement."
        ),
        click.option("--unit", type=click.Choice(UNITS), help="What packs and stock count. Default: pieces."),
        click.option("--pack", type=float, help="How much one pack holds. Default: 1."),
        click.option("--currency", help="Its currency, three letters (ISO 4217)."),
        click.option("--price", type=float, help="Price of one pack."),
        click.option(
            "--material", help="What it is made of: a key of the catalogue or a material of your own."
        ),
        click.option("--height", type=float, help="Height or thickness, mm."),
        click.option("--inner", type=float, help="Hole, mm."),
        click.option("--outer", type=float, help="Outer diameter, mm."),
        click.option(
            "--shape",
            type=click.Choice([one for one in get_args(PartForm) if one != "turned"]),
            help="Its shape.",
        ),
        click.option("--catalogue", help="Key of the catalogue, instead of a shape."),
        click.option("--title", help="What it is called."),
    ):
        command = option(command)
    return json_option(command)


@parts.command()
@click.argument("name")
@click.option(
    "--type", "type_", type=click.Choice(list(get_args(PartKind))), required=True, help="What it is."
)
@part_options
def add(name: str, type_: str, as_json: bool, **given: Any) -> None:
    """Add the part NAME.

    A turned part is described by its half-section in the record itself, see the reference of files.

    \b
    Example:
      halfroll parts add big-magnet --type magnet --catalogue nd-disc-20x5 --material n42 --price 8.40 --currency EUR --pack 4
      halfroll parts add voice-wire --type wire --catalogue cu-0.200-g1 --price 12 --currency EUR --pack 100 --unit g
      halfroll parts add back-plate --type ring --shape ring --outer 60 --inner 6.5 --height 5 --material steel-1008
    """
    from halfroll.workshop.faults import check
    from halfroll.workshop.part_record import PartRecord
    from halfroll.workshop.parts import add_part

    record = check(PartRecord, {"type": type_, **_keys(given)}, file="parts add")
    done("part", "Added", add_part(open_workshop(), name, record), as_json)


@parts.command("set")
@click.argument("name")
@part_options
def set_(name: str, as_json: bool, **given: Any) -> None:
    """Change the part NAME: only what is given; comments and order of the file stay.

    \b
    Example:
      halfroll parts set big-magnet --stock 12
      halfroll parts set big-magnet --price 9.10 --date 2026-03-31
    """
    from halfroll.workshop.faults import check
    from halfroll.workshop.part_record import PartRecord
    from halfroll.workshop.parts import load_part, save_part

    shop = open_workshop()
    loaded = load_part(shop, name)
    record = check(PartRecord, {**dict(loaded.record), **_keys(given)}, file="parts set")
    done("part", "Changed", save_part(shop, loaded, record), as_json)


@parts.command()
@click.argument("name")
@click.option("--supplier", required=True, help="Who offers it.")
@click.option("--price", type=float, help="Price of one pack.")
@click.option("--currency", help="Its currency, three letters (ISO 4217).")
@click.option("--pack", type=float, default=1.0, show_default=True, help="How much one pack holds.")
@click.option("--date", type=click.DateTime(["%Y-%m-%d"]), help="Day of the price. Default: today.")
@click.option("--remove", is_flag=True, help="Take the supplier's offer of that pack away.")
@json_option
def offer(
    name: str, supplier: str, price: float | None, currency: str | None, pack: float, date: dt.datetime | None, remove: bool, as_json: bool
) -> None:  # fmt: skip
    """Add what one more supplier asks for the part NAME; one of the same supplier and pack is replaced.

    The price of the part itself is its usual offer, see "halfroll parts set".

    \b
    Example:
      halfroll parts offer big-magnet --supplier "Harbour Stores" --price 2.40 --currency EUR
    """
    from halfroll.workshop.faults import check
    from halfroll.workshop.part_record import OfferTable, PartRecord
    from halfroll.workshop.parts import load_part, save_part

    shop = open_workshop()
    loaded = load_part(shop, name)
    kept = [one for one in loaded.record.offers if (one.supplier, one.pack_size) != (supplier, pack)]
    if not remove:
        given = {"price": price, "currency": currency, "date": date.date() if date else dt.date.today()}
        stated = {key: value for key, value in given.items() if value is not None}
        kept.append(
            check(OfferTable, {"supplier": supplier, "pack_size": pack, **stated}, file="parts offer")
        )
    elif len(kept) == len(loaded.record.offers):
        raise InputError("There is no such offer", found=f"{supplier}, packs of {pack:g}",
                         allowed=[f"{one.supplier}, packs of {one.pack_size:g}" for one in loaded.record.offers] or "none yet")  # fmt: skip
    record = check(PartRecord, {**dict(loaded.record), "offers": kept}, file="parts offer")
    done("part", "Changed", save_part(shop, loaded, record), as_json)


@parts.command()
@click.argument("name")
@click.argument("amount", type=float)
@click.option("--unit", type=click.Choice(UNITS), help="Unit of AMOUNT. Default: that of the pack.")
@json_option
def cost(name: str, amount: float, unit: str | None, as_json: bool) -> None:
    """Say what AMOUNT of the part NAME costs: its share of packs, and what whole packs cost that must be bought.

    Stock is used first. A length of wire that is sold by mass is turned into grams with its enamel.

    \b
    Example:
      halfroll parts cost big-magnet 2
      halfroll parts cost voice-wire 9.5 --unit m
    """
    from halfroll.workshop.part_cost import cost as cost_of
    from halfroll.workshop.part_cost import in_pack_unit
    from halfroll.workshop.part_rows import cost_words
    from halfroll.workshop.parts import load_part, lookups
    from halfroll.workshop.stock import stock_of

    shop = open_workshop()
    record = load_part(shop, name).record
    named = {"m": "metres", "g": "grams", "pieces": "pieces"}[unit or record.pack_unit]
    wire = lookups(shop).wire(name) if record.type == "wire" else None
    needed = in_pack_unit(record, wire=wire, **{named: amount})
    standing = stock_of(shop).standings.get(name)
    held = None if standing is None else standing.amount
    found = cost_of(record, needed, dt.date.today(), part_id=name, stock=held)
    if as_json:
        print_json({"id": name, **found.as_dict()})
        return
    for words in cost_words(found):
        click.echo(words)
    say_verdicts(found.verdicts)


def _keys(given: dict[str, Any]) -> dict[str, Any]:
    """Options as keys of the record; a new price without a day is of today."""
    names = {
        "outer": "outer_mm",
        "inner": "inner_mm",
        "height": "height_mm",
        "pack": "pack_size",
        "unit": "pack_unit",
    }
    said = {names.get(key, key): value for key, value in given.items() if value is not None}
    if isinstance(said.get("date"), dt.datetime):
        said["date"] = said["date"].date()
    elif "price" in said:
        said["date"] = dt.date.today()
    if "currency" in said:
        said["currency"] = said["currency"].upper()
    return said


parts.add_command(steel)
parts.add_command(grade)
