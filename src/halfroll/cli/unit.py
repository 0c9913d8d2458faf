"""``halfroll unit``: what was really built: weighed parts, glue, deviations, photographs; and the driver it makes."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import (
    InOrder,
    json_option,
    open_workshop,
    print_json,
    print_rows,
    progress_bar,
    say,
    say_verdicts,
)
from halfroll.core.errors import InputError

if TYPE_CHECKING:
    from halfroll.workshop.records import UnitRecord

UNIT = "DRIVER/VERSION/UNIT"
PARTS = ("cone", "cap", "surround", "spider", "former", "coil", "glue", "leads")


@click.group(cls=InOrder)
def unit() -> None:
    """Note what was really built, and see what driver it makes."""


@unit.command(name="as-built")
@click.argument("unit_id", metavar=UNIT)
@json_option
def as_built(unit_id: str, as_json: bool) -> None:
    """The driver as it was built, beside its version's prediction and its measurement.

    Resistance, moving mass and weighed parts of the unit's record move the prediction, each as far as its uncertainty bears.

    \b
    Example:
      halfroll unit as-built avocet/v8/01
    """
    from halfroll.builds.guide.side_by_side import side_by_side
    from halfroll.publish.as_built_rows import as_dict, reading_rows, value_rows
    from halfroll.workshop.photographs import photographs_of
    from halfroll.workshop.photographs import said_of as photographs_said

    workshop = open_workshop()
    with progress_bar("predicting") as progress:
        shown = side_by_side(workshop, unit_id, progress)
    photographs = photographs_of(workshop, unit_id)
    said = photographs_said(photographs)
    if as_json:
        told = as_dict(shown)
        told["photographs"] = [
            {"file": one.file, "shows": one.shows, "date": one.date, "state": one.state}
            for one in photographs
        ]
        told["verdicts"] += [one.as_dict() for one in said]
        print_json(told)
        return
    print_rows(value_rows(shown), unit_id)
    click.echo()
    if shown.found.readings or shown.found.unused:
        print_rows(reading_rows(shown))
    else:
        say(
            f"Nothing was read of it yet, so it is taken as predicted: halfroll unit note {unit_id} --weighed cone=3.1"
        )
    say_verdicts((*shown.found.verdicts, *said))


def weighed_option(command: Any) -> Any:
    """``--weighed PART=GRAMS`` and ``--scale-u``."""
    command = click.option(
        "--scale-u", type=float, default=None, help="Standard uncertainty of each weighing, g."
    )(command)
    return click.option(
        "--weighed", "weighed", multiple=True, metavar="PART=GRAMS", help=f"A part on the scale: {', '.join(PARTS)}. May be given several times."
    )(command)  # fmt: skip


def weighed_values(given: tuple[str, ...], scale_u: float | None) -> dict[str, float]:
    """Keys of ``[weighed]`` from what was typed; `InputError` names what is wrong."""
    found: dict[str, float] = {} if scale_u is None else {"u_g": scale_u}
    for text in given:
        part, sign, grams = text.partition("=")
        if not sign or part not in PARTS:
            raise InputError(
                "A weighed part must be PART=GRAMS",
                key="--weighed",
                found=text,
                allowed=[f"{one}=3.1" for one in PARTS],
            )
        try:
            found[f"{part}_g"] = float(grams.replace(",", ".").removesuffix("g").strip())
        except ValueError:
            raise InputError(
                "A weighed part must be PART=GRAMS", key="--weighed", found=text, allowed=f"{part}=3.1"
            ) from None
    return found


@unit.command()
@click.argument("unit_id", metavar=UNIT)
@click.option("--re", "re_ohm", type=float, help="DC resistance as built, ohm.")
@click.option("--re-u", "re_u_ohm", type=float, help="Standard uncertainty of it, ohm.")
@click.option("--mass", "moving_mass_g", type=float, help="Moving mass as weighed, without air, g.")
@click.option("--mass-u", "moving_mass_u_g", type=float, help="Standard uncertainty of it, g.")
@weighed_option
@click.option(
    "--glued", multiple=True, metavar="SEAM=GLUE", help="A joint and its glue. May be given several times."
)
@click.option(
    "--deviation",
    nargs=4,
    multiple=True,
    metavar="WHAT PLANNED BUILT WHY",
    help="What was built otherwise, in four texts. May be given several times.",
)
@click.option(
    "--faulty",
    default=None,
    metavar="WHY",
    help="What is known to be wrong with it; it no longer counts for the bands. An empty text takes that back.",
)
@json_option
def note(
    unit_id: str, weighed: tuple[str, ...], scale_u: float | None, glued: tuple[str, ...], deviation: tuple[tuple[str, str, str, str], ...],
    as_json: bool, **values: Any,
) -> None:  # fmt: skip
    """Note what was read of a unit, and what was built otherwise than planned. What is not given stays.

    \b
    Example:
      halfroll unit note avocet/v8/01 --weighed cone=3.12 --weighed coil=1.71 --re 6.55
      halfroll unit note avocet/v8/01 --deviation "dust cap" "0.6 mm" "0.8 mm" "the thin one tore"
    """
    from halfroll.workshop.built_notes import noted

    workshop = open_workshop()
    loaded = workshop.unit(unit_id)
    record: UnitRecord = noted(
        loaded.record, file=str(loaded.path), weighed=weighed_values(weighed, scale_u), glued=[_joint(one) for one in glued],
        deviations=[dict(zip(("what", "planned", "built", "why"), one, strict=True)) for one in deviation],
        **{key: value for key, value in values.items() if value is not None},
    )  # fmt: skip
    saved = workshop.save(loaded, record)
    _done(unit_id, saved.path, as_json)


def _joint(text: str) -> dict[str, str]:
    seam, sign, glue = text.partition("=")
    if not sign or not seam.strip():
        raise InputError(
            "A joint must be SEAM=GLUE",
            key="--glued",
            found=text,
            allowed='"surround to cone=contact cement"',
        )
    return {"seam": seam.strip(), "glue": glue.strip()}


def _done(unit_id: str, path: Path, as_json: bool, **more: Any) -> None:
    if as_json:
        print_json({"unit": unit_id, "file": str(path), **more})
    else:
        say(f"Noted: {path}")


@unit.command()
@click.argument("unit_id", metavar=UNIT)
@click.argument("picture", metavar="PICTURE", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--shows", required=True, help="What it shows, one sentence for whoever cannot see it.")
@click.option("--date", type=click.DateTime(["%Y-%m-%d"]), default=None, help="When it was taken.")
@json_option
def photograph(unit_id: str, picture: Path, shows: str, date: dt.datetime | None, as_json: bool) -> None:
    """Copy a photograph into a unit's folder.

    JPEG, PNG or WebP up to 20 MB, told by what is in the file. The copy is without what the camera added, the place among it; your file stays as it is.

    \b
    Example:
      halfroll unit photograph avocet/v8/01 coil.jpg --shows "The coil before it was glued in"
    """
    from halfroll.workshop.photographs import add_photograph, read_file

    workshop = open_workshop()
    data = read_file(picture)
    loaded, table, made = add_photograph(
        workshop, unit_id, picture.name, data, shows, None if date is None else date.date()
    )
    if as_json:
        print_json(
            {
                "unit": unit_id,
                "file": table.file,
                "sha256": table.sha256,
                "width": made.width,
                "height": made.height,
                "taken_out": list(made.taken_out),
            }
        )
        return
    out = f" Taken out of the copy: {', '.join(made.taken_out)}." if made.taken_out else ""
    say(f"Added {loaded.path.parent / 'photographs' / table.file}.{out}")


@unit.command(name="remove-photograph")
@click.argument("unit_id", metavar=UNIT)
@click.argument("file", metavar="FILE")
@json_option
def remove_photograph(unit_id: str, file: str, as_json: bool) -> None:
    """Take a photograph out of a unit's record, and its file out of the unit's folder.

    \b
    Example:
      halfroll unit remove-photograph avocet/v8/01 coil.jpg
    """
    from halfroll.workshop import photographs

    saved = photographs.remove_photograph(open_workshop(), unit_id, file)
    _done(unit_id, saved.path, as_json, removed=file)
