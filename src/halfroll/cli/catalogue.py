"""``halfroll catalogue``: what can be looked up: magnets, steels, metals, wires, washers, magnet sizes, filaments."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import console, json_option, output_options, print_json, say, write_file
from halfroll.core.errors import InputError

if TYPE_CHECKING:
    from halfroll.materials.catalogue import Catalogue
    from halfroll.materials.listing import Column, Entry, Kind


@click.command()
@click.argument("kind", required=False)
@click.argument("key", required=False)
@click.option(
    "--find", "word", default="", metavar="TEXT", help="Only entries whose key or title holds this text."
)
@click.option("--temperature", type=float, help="Temperature of a magnet's curve, °C. Default: several.")
@json_option
@output_options
def catalogue(
    kind: str | None, key: str | None, word: str, temperature: float | None, as_json: bool, theme: str, svg: Path | None,
    png: Path | None, pdf: Path | None,
) -> None:  # fmt: skip
    """Look up magnets, steels, wires, washers.

    KIND is magnets, steels, conductors, wires, washers, magnet-sizes or filaments. With a KEY everything about that entry is shown, with where its values come from; a key alone will do too. Inside a workshop its own parts and
    materials are among them. A steel's magnetisation curve and a magnet's demagnetisation curve can be written as a picture.

    \b
    Example:
      halfroll catalogue magnets
      halfroll catalogue wires --find 0.2
      halfroll catalogue n42 --svg n42.svg
    """
    from halfroll.materials.listing import KINDS, details, find, kind_of

    known = _known()
    names = [one.name for one in KINDS]
    if kind is None:
        _overview(known, as_json)
        return
    if kind not in names:
        if key is not None:
            kind_of(kind)
        kind, key = None, kind
    if key is None:
        assert kind is not None
        _list(known, kind_of(kind), word, as_json)
        return
    found_kind, entry = find(known, key, None if kind is None else kind_of(kind))
    said = details(entry, temperature)
    if as_json:
        print_json({"kind": found_kind.name, **said})
    else:
        _show(said)
    _pictures(entry, temperature, theme, {"svg": svg, "png": png, "pdf": pdf})


def _known() -> Catalogue:
    """The catalogue, with the workshop's own entries where a workshop is."""
    from halfroll.cli.common import open_workshop
    from halfroll.materials.catalogue import catalogue as shipped
    from halfroll.workshop.parts import own_parts

    try:
        workshop = open_workshop()
    except InputError:
        if click.get_current_context().find_root().obj is not None:
            raise
        return shipped()
    own = own_parts(workshop)
    for fault in own.faults:
        say(f"Left out: {fault}")
    return own.catalogue


def _overview(known: Catalogue, as_json: bool) -> None:
    from halfroll.materials.listing import KINDS

    if as_json:
        print_json({kind.name: list(kind.of(known)) for kind in KINDS})
        return
    for kind in KINDS:
        keys = list(kind.of(known))
        click.echo(f"{kind.name}: {len(keys)}, such as {', '.join(keys[:4])}")


def _list(known: Catalogue, kind: Kind, word: str, as_json: bool) -> None:
    from halfroll.materials.listing import matching, row

    rows = [row(entry) for entry in matching(kind.of(known), word)]
    if as_json:
        print_json({"kind": kind.name, "entries": rows})
        return
    if not rows:
        say(f"Nothing in {kind.name} holds {word!r}.")
        return
    from rich.table import Table

    table = Table(title=kind.title, box=None, pad_edge=False)
    for column in kind.columns:
        table.add_column(_head(column), justify="right" if column.digits else "left")
    for one in rows:
        table.add_row(*(column.text(one[column.key]) for column in kind.columns))
    console().print(table)


def _head(column: Column) -> str:
    return f"{column.head} ({column.unit})" if column.unit else column.head


def _show(said: dict[str, Any]) -> None:
    """An entry, one value a line; long lists by their ends."""
    from halfroll.materials.listing import SUPPORT

    for key, value in said.items():
        if key in ("origin", "mechanics"):
            continue
        if isinstance(value, dict):
            _show({f"{key}: {name}": inner for name, inner in value.items()})
        elif isinstance(value, list):
            click.echo(f"{key}: {len(value)} points, {value[0]:.4g} to {value[-1]:.4g}")
        elif value not in (None, ""):
            click.echo(f"{key}: {value:.5g}" if isinstance(value, float) else f"{key}: {value}")
    for name, head in (("origin", "from"), ("mechanics", "Poisson's ratio, loss, creep and limits from")):
        if origin := said.get(name):
            click.echo(f"{head}: {origin['source']} ({SUPPORT[origin['support']]})")
            if origin["note"]:
                click.echo(f"note: {origin['note']}")


def _pictures(entry: Entry, temperature: float | None, theme: str, files: dict[str, Path | None]) -> None:
    if not any(files.values()):
        return
    from halfroll.materials.types import MagnetGrade, Steel
    from halfroll.publish import render
    from halfroll.publish.materials import demagnetisation_chart, magnetisation_chart
    from halfroll.publish.theme import theme as look_of

    look, width = look_of(theme), 760.0
    if isinstance(entry, MagnetGrade):
        chosen = None if temperature is None else [temperature]
        spec = demagnetisation_chart(entry, theme=look, width_px=width, temperatures_c=chosen)
    elif isinstance(entry, Steel):
        spec = magnetisation_chart([entry], theme=look, width_px=width)
    else:
        raise InputError("Only steels and magnets have a curve to draw", found=entry.key)
    makers: dict[str, Callable[[], str | bytes]] = {
        "svg": lambda: render.to_svg(spec), "png": lambda: render.to_png(spec, 1600), "pdf": lambda: render.to_pdf(spec),
    }  # fmt: skip
    for kind, path in files.items():
        if path is not None:
            write_file(path, makers[kind]())
