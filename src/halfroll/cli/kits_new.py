"""``halfroll kits new``: a kit of its drivers, extras and price."""

from __future__ import annotations

from typing import Any

import click

from halfroll.cli.common import json_option, open_workshop, print_json
from halfroll.core.errors import InputError


@click.command()
@click.argument("name", metavar="KIT")
@click.option("--title", required=True, help="What it is called.")
@click.option(
    "--driver",
    "drivers",
    multiple=True,
    required=True,
    metavar="DRIVER/VERSION[=COUNT]",
    help="A version and how many of it; may be repeated.",
)
@click.option(
    "--extra",
    "extras",
    multiple=True,
    metavar="PART=AMOUNT",
    help="A part that goes into each kit beside; may be repeated.",
)
@click.option(
    "--leave-out",
    "leave_out",
    multiple=True,
    metavar="NAME",
    help="A part, or a line of the bill, that stays out; may be repeated.",
)
@click.option(
    "--printed",
    type=click.Choice(["in the bag", "by the builder"]),
    default="by the builder",
    show_default=True,
    help="Where printed parts come from.",
)
@click.option(
    "--spares",
    type=float,
    default=0.0,
    show_default=True,
    help="More of everything, percent; pieces are rounded up.",
)
@click.option(
    "--currency", default=None, help="Currency of its price (ISO 4217); without it the kit has no price."
)
@click.option("--margin", type=float, default=0.0, show_default=True, help="Margin, percent of the cost.")
@click.option("--tax", type=float, default=0.0, show_default=True, help="Tax, percent.")
@click.option("--postage", type=float, default=0.0, show_default=True, help="Postage the builder pays.")
@click.option("--packing", type=float, default=0.0, show_default=True, help="Bag and box.")
@click.option(
    "--rounding", type=float, default=None, help="Step the price is rounded to. Default: the smallest coin."
)
@json_option
def new(name: str, as_json: bool, **given: Any) -> None:  # fmt: skip
    """Make the kit KIT.

    Everything else, such as spares of one part, is written into its file by hand.

    \b
    Example:
      halfroll kits new hide-single --title "One driver for a hide" --driver avocet/v8 --currency EUR --margin 25 --tax 19
    """
    from halfroll.workshop.faults import check
    from halfroll.workshop.kit_record import KitRecord
    from halfroll.workshop.kits import add_kit
    from halfroll.workshop.toml_write import plain

    loaded = add_kit(open_workshop(), name, check(KitRecord, _record(given), file="kits new"))
    if as_json:
        print_json({"kit": name, "file": str(loaded.path), "record": plain(loaded.record)})
        return
    click.echo(f"Made the kit {name}: {loaded.path}")


def _record(given: dict[str, Any]) -> dict[str, Any]:
    """Options as the keys of a record."""
    record: dict[str, Any] = {
        "title": given["title"], "printed": given["printed"], "leave_out": given["leave_out"], "spares_percent": given["spares"],
        "drivers": [_driver(one) for one in given["drivers"]], "extras": [_extra(one) for one in given["extras"]],
    }  # fmt: skip
    if given["currency"]:
        record["price"] = {
            "currency": given["currency"].upper(), "margin_percent": given["margin"], "tax_percent": given["tax"],
            "postage": given["postage"], "packing": given["packing"],
            **({"rounding": given["rounding"]} if given["rounding"] is not None else {}),
        }  # fmt: skip
    return record


def _driver(text: str) -> dict[str, Any]:
    version, _, many = text.partition("=")
    try:
        return {"version": version, "count": int(many or 1)}
    except ValueError:
        raise InputError("How many drivers of a version must be a whole number", key="--driver", found=text,
                         allowed="DRIVER/VERSION or DRIVER/VERSION=COUNT") from None  # fmt: skip


def _extra(text: str) -> dict[str, Any]:
    part, _, amount = text.partition("=")
    try:
        return {"part": part, "amount": float(amount or 1)}
    except ValueError:
        raise InputError(
            "The amount of an extra must be a number", key="--extra", found=text, allowed="PART=AMOUNT"
        ) from None
