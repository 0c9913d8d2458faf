"""``halfroll check``: what is wrong with a builder's unit?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import (
    check_ending,
    json_option,
    open_workshop,
    print_json,
    print_rows,
    print_tables,
    progress_bar,
    say,
    say_faults,
    say_verdicts,
    write_file,
)

if TYPE_CHECKING:
    from halfroll.builds.checks import Checked
    from halfroll.workshop import Workshop
    from halfroll.workshop.builder_record import BuilderRecord
    from halfroll.workshop.builders import NewRecording

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command()
@click.argument("version", metavar="[VERSION]", required=False)
@click.option("--re", help="Resistance between the terminals, ohm.")
@click.option("--fs", help="Resonance in free air, Hz.")
@click.option("--peak", help="Impedance at the resonance, ohm.")
@click.option("--qts", help="Qts.")
@click.option("--mass", help="Moving mass, g.")
@click.option("--height", help="How far the coil stands over its drawn place, mm.")
@click.option("--stiffness", help="Stiffness by a weight on the cone, N/mm.")
@click.option("--pull", help="Pull of the magnet beside a good one; 1 is alike.")
@click.option("--polarity", metavar="right|reversed", help="Does the cone move out with + on +?")
@click.option("--rub", metavar="none|some|clear", help="Does it scrape when the cone is pushed?")
@click.option("--leak", metavar="none|some|clear", help="Does its closed box leak?")
@click.option("--recording", type=FILE, help="A telephone's recording of the sweep.")
@click.option(
    "--sweep",
    "sweep_file",
    type=FILE,
    help="The sweep that was played, or its .toml; else the builders' sweep.",
)
@click.option("--reference", type=FILE, help="A good unit recorded by the same telephone in the same place.")
@click.option("--distance", default=3.0, show_default=True, help="Telephone to cone, cm.")
@click.option(
    "--mounted",
    type=click.Choice(["free-air", "baffle", "box"]),
    default="free-air",
    show_default=True,
    help="What it sat in.",
)
@click.option("--box", "box_l", type=float, help="Volume of the box, l.")
@click.option("--port", "port_hz", type=float, help="What its port is tuned to, Hz.")
@click.option("--drive", "drive_v", type=float, help="Volts at the terminals while the sweep played.")
@click.option(
    "--unit", metavar="UNIT", help="A unit of the version whose readings in the workshop count too."
)
@click.option("--builder", default="", help="A nickname; nothing else about a person is kept.")
@click.option("--says", "complaint", default="", help='The builder\'s own words, such as "sounds thin".')
@click.option("--save", metavar="NAME", help="Keep it in the workshop under this name.")
@click.option("--saved", metavar="NAME", help="Answer a kept check again.")
@click.option(
    "--sheet",
    type=FILE,
    help="Write a page for builders of VERSION to this PDF file: what to read, how, blanks.",
)
@click.option("--list", "list_", is_flag=True, help="List the kept checks and what was found.")
@json_option
def check(
    version: str | None,
    save: str | None,
    saved: str | None,
    sheet: Path | None,
    list_: bool,
    as_json: bool,
    **given: Any,
) -> None:
    """Find what is wrong with a builder's unit of VERSION.

    Give what was read, as little as the resistance; units may be written behind a number ("6.4 ohm"), an uncertainty after "+-".
    The answer is a verdict for every reading, what may be wrong with its chance and size, and what to read next.

    Near resonance and from 2 to 5 kHz a sweep is far louder than music: play it quietly, and mind your ears.

    \b
    Examples:
      halfroll check avocet/v8 --re 6.4 --polarity right --rub none
      halfroll sweep builders.wav --for-telephones
      halfroll check avocet/v8 --re 6.9 --recording tern.wav --says "sounds thin" --save tern
      halfroll check avocet/v8 --sheet for-builders.pdf
      halfroll check --list
    """
    workshop = open_workshop()
    if list_:
        _list(workshop, as_json)
        return
    if saved is not None:
        _answer_saved(workshop, saved, as_json)
        return
    if version is None:
        raise click.UsageError("Which version? Name it as DRIVER/VERSION, or use --saved or --list.")
    if sheet is not None:
        _write_sheet(workshop, version, sheet)
        return
    record, recordings = _given(workshop, version, given)
    with progress_bar("looking for faults") as progress:
        from halfroll.builds.checks import check_unit

        found = check_unit(workshop, record, recordings, progress)
    if save is not None:
        from halfroll.workshop.builders import add_check

        loaded = add_check(workshop, save, record, recordings)
        say(f"Saved {loaded.path.relative_to(workshop.folder)}")
    _tell(found, save, as_json)


def _write_sheet(workshop: Workshop, version: str, path: Path) -> None:
    import datetime as dt

    from halfroll.publish.builders_sheet import check_sheet

    check_ending(path, ".pdf", "--sheet")
    write_file(path, check_sheet(workshop, version, dt.date.today().isoformat()))


def _given(
    workshop: Workshop, version: str, given: dict[str, Any]
) -> tuple[BuilderRecord, dict[str, NewRecording]]:
    """The record and recordings that the options describe."""
    import datetime as dt

    from halfroll.workshop.builder_readings import OPTIONS, READINGS, typed_reading
    from halfroll.workshop.builders import checked_record

    readings = []
    for key, option in OPTIONS.items():
        if given[option] is not None:
            value, u = typed_reading(key, given[option], name=f"--{option}")
            readings.append(
                {"what": key, "value": value, "how": READINGS[key].usual} | ({} if u is None else {"u": u})
            )
    values: dict[str, Any] = {
        "date": dt.date.today(), "version": version, "builder": given["builder"], "complaint": given["complaint"],
        "mounting": given["mounted"], "readings": readings,
    }  # fmt: skip
    values |= {
        key: given[option]
        for key, option in (
            ("from_unit", "unit"),
            ("box_l", "box_l"),
            ("port_hz", "port_hz"),
            ("drive_v", "drive_v"),
        )
        if given[option] is not None
    }
    return checked_record(workshop, values), _recordings(given)


def _recordings(given: dict[str, Any]) -> dict[str, NewRecording]:
    from halfroll.core.errors import InputError
    from halfroll.measure.phone.signal import PHONE_SWEEP
    from halfroll.workshop.builders import PLACES, NewRecording
    from halfroll.workshop.phone_audio import read_phone_audio
    from halfroll.workshop.sweep_file import named_sweep

    if given["recording"] is None and given["reference"] is not None:
        raise InputError(
            "A recording of a good unit needs one of the unit to be compared", key="--recording", found="none"
        )
    if not 0.0 < given["distance"] <= 500.0:
        raise InputError("The distance of the telephone is out of range", key="--distance", found=f"{given['distance']:g} cm", allowed="0 to 500 cm")  # fmt: skip
    sweep = PHONE_SWEEP if given["sweep_file"] is None else named_sweep(given["sweep_file"])
    return {
        place: NewRecording(audio=read_phone_audio(given[place]), sweep=sweep, distance_cm=given["distance"])
        for place in PLACES if given[place] is not None
    }  # fmt: skip


def _answer_saved(workshop: Workshop, name: str, as_json: bool) -> None:
    from halfroll.builds.checks import check_unit
    from halfroll.workshop.builders import check_named, kept_recordings, load_check

    loaded = load_check(workshop, name)
    check_named(workshop, loaded)
    with progress_bar("looking for faults") as progress:
        found = check_unit(workshop, loaded.record, kept_recordings(loaded), progress)
    _tell(found, name, as_json)


def _list(workshop: Workshop, as_json: bool) -> None:
    from halfroll.publish.builders_rows import list_rows, record_dict
    from halfroll.workshop.builders import standing

    found = standing(workshop)
    if as_json:
        print_json({
            "checks": [record_dict(one) for one in found.checks], "by_status": dict(found.by_status), "by_fault": dict(found.by_fault),
            "faults": [fault.as_dict() for fault in found.faults],
        })  # fmt: skip
        return
    if found.checks:
        print_rows(list_rows(found))
    elif not found.faults:
        say("No checks yet. Begin with: halfroll check DRIVER/VERSION --re 6.4 --save NAME")
    say_faults(found.faults)


def _tell(found: Checked, name: str | None, as_json: bool) -> None:
    from halfroll.publish.builders_rows import check_dict, check_rows, next_rows, suspect_rows

    if as_json:
        print_json(check_dict(found, name))
        return
    click.echo(found.diagnosis.said)
    click.echo()
    tables = [check_rows(found.diagnosis)]
    if found.diagnosis.outcome != "no fault":
        tables += [suspect_rows(found.diagnosis), next_rows(found.diagnosis)]
    print_tables(tables)
    say_verdicts(found.verdicts)
