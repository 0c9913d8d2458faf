"""``halfroll calibrate``: the modulus of a printing material from what was measured."""

from __future__ import annotations

import click

from halfroll.cli.calibrate_driver import curve, resonance
from halfroll.cli.calibrate_strips import creep, ring, strip
from halfroll.cli.common import (
    InOrder,
    in_lines,
    json_option,
    open_workshop,
    print_json,
    print_rows,
    say_verdicts,
)
from halfroll.core.errors import InputError


@click.group(cls=InOrder)
def calibrate() -> None:
    """Calibrate a printing material.

    All predictions then follow the real plastic.

    MATERIAL is the key of a filament, of the catalogue or your own. One of the catalogue becomes your own under the same key, and every version that names it
    follows. Readings are kept with the result, several calibrations are weighed together.

    A printer's hot end and bed burn, and hot plastic gives off fumes: print strips in a room that is aired.

    \b
    Example:
      halfroll calibrate strip tpu-95a --length 60 --width 12 --thickness 1.2
        --load 2 --sinks 8.9 --load 4 --sinks 17.1
      halfroll calibrate show tpu-95a
    """


for way in (strip, ring, resonance, curve, creep):
    calibrate.add_command(way)


@calibrate.command("show")
@click.argument("material")
@json_option
def show(material: str, as_json: bool) -> None:
    """Show a material and its calibrations.

    The starting value, each calibration, and what they make together.
    """
    from halfroll.publish.calibrations import calibrated_dict, history_rows, modulus_words
    from halfroll.workshop.calibrations import filament_of, versions_using

    workshop = open_workshop()
    found = filament_of(workshop, material)
    using = versions_using(workshop).get(found.key, ())
    if as_json:
        print_json({"material": found.key, "versions": list(using), **calibrated_dict(found.calibrated)})
        return
    click.echo(f"{found.filament.title}: modulus {modulus_words(found.filament)}")
    print_rows(history_rows(found.calibrated))
    say_verdicts(found.calibrated.combined.verdicts)
    click.echo(f"Used by {', '.join(using)}." if using else "No version uses it yet.")


@calibrate.command("leave-out")
@click.argument("material")
@click.argument("number", type=int)
@click.option("--undo", is_flag=True, help="Let it count again.")
@json_option
def leave_out(material: str, number: int, undo: bool, as_json: bool) -> None:
    """Let one calibration not count.

    NUMBER is the one that `halfroll calibrate show` gives it. Its readings stay in the record.
    """
    from halfroll.publish.calibrations import calibrated_dict, change_words
    from halfroll.workshop.calibrations import filament_of, use_calibration

    workshop = open_workshop()
    before = filament_of(workshop, material)
    if before.loaded is None:
        raise InputError("This material has no calibrations yet", found=before.key)
    after = use_calibration(workshop, before.loaded, number, used=undo)
    if as_json:
        print_json({"material": after.key, **calibrated_dict(after.calibrated)})
    else:
        click.echo(in_lines(change_words(before, after)))
