"""``halfroll parts steel`` and ``grade``: materials of one's own."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from halfroll.cli.common import json_option, open_workshop, print_json, say


@click.command()
@click.argument("name")
@click.argument("table", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--title", default="", help="What it is called.")
@click.option("--source", default="", help="Where the curve comes from.")
@click.option(
    "--conductivity", type=click.FloatRange(0, 100), help="Electrical conductivity, MS/m. Default: 6.5."
)
@click.option(
    "--spread",
    type=click.FloatRange(0, 2),
    help="Relative standard uncertainty of H at a given B. Default: 0.",
)
@json_option
def steel(
    name: str,
    table: Path,
    title: str,
    source: str,
    conductivity: float | None,
    spread: float | None,
    as_json: bool,
) -> None:
    """Add the steel NAME by its B-H TABLE, a CSV file with the columns h_a_m and b_t.

    The table begins at 0 and rises; it is copied into materials/.

    \b
    Example:
      halfroll parts steel lathe-bar bar.csv --title "Bright bar from the lathe" --source "own ring test"
    """
    from halfroll.workshop.faults import check
    from halfroll.workshop.material_record import MaterialRecord
    from halfroll.workshop.parts import add_steel

    inside: dict[str, Any] = {"table": f"{name}.csv"}
    if conductivity is not None:
        inside["conductivity_s_m"] = 1e6 * conductivity
    if spread is not None:
        inside["h_factor_u"] = spread
    record = check(MaterialRecord, {"title": title, "source": source, "steel": inside}, file="parts steel")
    done("material", "Added", add_steel(open_workshop(), name, table, record), as_json)


@click.command()
@click.argument("name")
@click.option("--like", required=True, help="Grade of the catalogue that says what is not given.")
@click.option("--br", type=float, help="Remanence, T.")
@click.option("--hcj", type=float, help="Coercivity of the polarisation, kA/m.")
@click.option("--highest", type=float, help="Highest temperature, °C.")
@click.option("--title", default="", help="What it is called.")
@click.option("--source", default="", help="Where the values come from.")
@json_option
def grade(
    name: str,
    like: str,
    br: float | None,
    hcj: float | None,
    highest: float | None,
    title: str,
    source: str,
    as_json: bool,
) -> None:
    """Add the magnet grade NAME by what differs from a grade of the catalogue.

    \b
    Example:
      halfroll parts grade my-n42 --like n42 --br 1.24 --source "field measured over the disc"
    """
    from halfroll.workshop.faults import check
    from halfroll.workshop.material_record import MaterialRecord
    from halfroll.workshop.parts import add_material

    stated = {"like": like, "br_t": br, "hcj_ka_m": hcj, "highest_c": highest}
    inside = {key: value for key, value in stated.items() if value is not None}
    record = check(MaterialRecord, {"title": title, "source": source, "magnet": inside}, file="parts grade")
    done("material", "Added", add_material(open_workshop(), name, record), as_json)


def done(kind: str, what: str, loaded: Any, as_json: bool) -> None:
    """Say what was added or changed."""
    if as_json:
        print_json({"kind": kind, "id": loaded.id, "file": str(loaded.path)})
    else:
        say(f"{what} the {kind} {loaded.id}: {loaded.path}")
