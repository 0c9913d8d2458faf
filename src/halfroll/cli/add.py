"""``halfroll add``: new records for rig, driver, version and unit."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import InOrder, json_option, open_workshop, print_json, say
from halfroll.cli.unit import weighed_option, weighed_values
from halfroll.core.errors import InputError

if TYPE_CHECKING:
    from halfroll.workshop import VersionRecord, Workshop


@click.group(cls=InOrder)
def add() -> None:
    """Add a rig, a driver, a version or a unit.

    Every record is a small text file that you may edit by hand later.
    """


def _given(values: dict[str, Any]) -> dict[str, Any]:
    """Only what was given on the command line."""
    return {key: value for key, value in values.items() if value is not None}


def _done(kind: str, loaded: Any, as_json: bool) -> None:
    if as_json:
        print_json({"kind": kind, "id": loaded.id, "file": str(loaded.path)})
    else:
        say(f"Added the {kind} {loaded.id}: {loaded.path}")


@add.command()
@click.argument("name")
@click.option("--title", default="", help="What it is, in a few words.")
@click.option("--mic-pa", type=float, help="Sound pressure of one full scale of the microphone channel, Pa.")
@click.option("--mic-u", type=float, default=0.0, help="Standard uncertainty of that, dB.")
@click.option("--volts", type=float, help="Terminal voltage of one full scale of the voltage channel, V.")
@click.option("--volts-u", type=float, default=0.0, help="Standard uncertainty of that, dB.")
@click.option("--amps", type=float, help="Current of one full scale of the current channel, A.")
@click.option("--amps-u", type=float, default=0.0, help="Standard uncertainty of that, dB.")
@click.option(
    "--drive-u", type=float, default=0.0, help="Uncertainty of a drive voltage that is only stated, dB."
)
@click.option("--date", type=click.DateTime(["%Y-%m-%d"]), default=None, help="Day of the calibration.")
@json_option
def rig(
    name: str,
    title: str,
    mic_pa: float | None,
    mic_u: float,
    volts: float | None,
    volts_u: float,
    amps: float | None,
    amps_u: float,
    drive_u: float,
    date: dt.datetime | None,
    as_json: bool,
) -> None:
    """Add the rig NAME, with what full scale means.

    A rig is a microphone, an interface, an amplifier and perhaps a shunt.

    \b
    Example:
      halfroll add rig bench --mic-pa 6.3 --mic-u 0.3 --volts 20 --volts-u 0.1
    """
    from halfroll.workshop import RigRecord
    from halfroll.workshop.faults import check

    tables: dict[str, Any] = {"title": title, "drive_u_db": drive_u}
    if date is not None:
        tables["date"] = date.date()
    if mic_pa is not None:
        tables["microphone"] = {"pa_per_full_scale": mic_pa, "u_db": mic_u}
    if volts is not None:
        tables["voltage"] = {"v_per_full_scale": volts, "u_db": volts_u}
    if amps is not None:
        tables["current"] = {"a_per_full_scale": amps, "u_db": amps_u}
    _done("rig", open_workshop().create_rig(name, check(RigRecord, tables, file="add rig")), as_json)


@add.command()
@click.argument("name")
@click.option("--title", default=None, help="Title. Default: the name.")
@click.option("--aim", default="", help="What the line is to become, one sentence.")
@json_option
def driver(name: str, title: str | None, aim: str, as_json: bool) -> None:
    """Add the driver NAME, a line of development.

    \b
    Example:
      halfroll add driver avocet --title Avocet --aim "A 3 inch bass for small hides"
    """
    from halfroll.workshop import DriverRecord

    _done("driver", open_workshop().create_driver(name, DriverRecord(title=title or name, aim=aim)), as_json)


@add.command()
@click.argument("id_", metavar="DRIVER/NAME")
@click.option("--title", default="", help="Title.")
@click.option("--parent", default=None, help="Version it was developed from.")
@click.option("--summary", default="", help="One sentence about it.")
@click.option("--impedance", type=float, help="Rated impedance, ohm.")
@click.option("--power", type=float, help="Rated power, W.")
@click.option("--area", type=float, help="Effective piston area, cm2.")
@click.option("--area-u", type=float, help="Standard uncertainty of it, cm2.")
@click.option(
    "--change", "changes", multiple=True, metavar="TEXT", help="What changed; may be given several times."
)
@click.option("--with-design", is_flag=True, help="Take motor, coil and moving parts over from the parent.")
@json_option
def version(
    id_: str,
    title: str,
    parent: str | None,
    summary: str,
    impedance: float | None,
    power: float | None,
    area: float | None,
    area_u: float | None,
    changes: tuple[str, ...],
    with_design: bool,
    as_json: bool,
) -> None:
    """Add a version of a driver.

    \b
    Example:
      halfroll add version avocet/v2 --parent v1 --impedance 8 --power 5 --change "softer spider"
    """
    from halfroll.workshop import VersionRecord
    from halfroll.workshop.faults import check
    from halfroll.workshop.paths import expect

    driver_id, name = expect(id_, "version")
    given = {
        "title": title,
        "parent": parent,
        "summary": summary,
        "rated_impedance_ohm": impedance,
        "rated_power_w": power,
        "effective_area_cm2": area,
        "effective_area_u_cm2": area_u,
        "changes": [{"what": what} for what in changes],
    }
    record = check(VersionRecord, _given(given), file="add version")
    workshop = open_workshop()
    files: dict[str, bytes] = {}
    if with_design:
        record, files = _with_design(workshop, driver_id, record)
    made = workshop.create_version(driver_id, name, record)
    if files:
        from halfroll.workshop.files import write_whole

        for file, content in files.items():
            write_whole(made.path.with_name(file), content, durable=workshop.durable)
    _done("version", made, as_json)


def _with_design(
    workshop: Workshop, driver_id: str, record: VersionRecord
) -> tuple[VersionRecord, dict[str, bytes]]:
    """The record with the design of its parent, a version of the same driver unless it names another's, and its profiles' files."""
    from halfroll.workshop.motors import copy_design
    from halfroll.workshop.suspensions import profile_files

    if record.parent is None:
        raise InputError("A design can only be taken over from a parent", key="--with-design", found="no --parent",
                         remedy="Name the version it comes from, for example --parent v1")  # fmt: skip
    source = record.parent if "/" in record.parent else f"{driver_id}/{record.parent}"
    return copy_design(workshop, source, record), profile_files(workshop.version(source))


@add.command()
@click.argument("id_", metavar="DRIVER/VERSION/NAME")
@click.option("--built-by", default="", help="Who built it.")
@click.option("--re", "re_ohm", type=float, help="DC resistance as built, ohm.")
@click.option("--re-u", "re_u_ohm", type=float, help="Standard uncertainty of it, ohm.")
@click.option("--mass", "moving_mass_g", type=float, help="Moving mass as weighed, g.")
@click.option("--mass-u", "moving_mass_u_g", type=float, help="Standard uncertainty of it, g.")
@weighed_option
@json_option
def unit(
    id_: str, built_by: str, weighed: tuple[str, ...], scale_u: float | None, as_json: bool, **readings: float | None
) -> None:  # fmt: skip
    """Add a unit: one built copy of a version. More of what was built is noted with: halfroll unit note.

    \b
    Example:
      halfroll add unit avocet/v2/01 --built-by me --re 6.9 --weighed cone=3.1
    """
    from halfroll.workshop import UnitRecord
    from halfroll.workshop.faults import check
    from halfroll.workshop.paths import expect

    driver_id, version_name, name = expect(id_, "unit")
    given: dict[str, Any] = {
        "built_by": built_by,
        **readings,
        "weighed": weighed_values(weighed, scale_u) or None,
    }
    record = check(UnitRecord, _given(given), file="add unit")
    _done("unit", open_workshop().create_unit(f"{driver_id}/{version_name}", name, record), as_json)
