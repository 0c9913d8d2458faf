"""``halfroll import``: recordings into the workshop."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from halfroll.cli.common import json_option, open_workshop, print_json, progress_bar, say

if TYPE_CHECKING:
    from halfroll.measure.recording import Role


@click.command("import")
@click.argument("sources", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE...")
@click.option(
    "--unit", "unit_id", required=True, metavar="DRIVER/VERSION/UNIT", help="Unit that was recorded."
)
@click.option("--rig", required=True, help="Rig it was recorded with.")
@click.option(
    "--roles",
    default=None,
    metavar="ROLE,ROLE...",
    help="Per channel: microphone, voltage, current, source, unused.",
)
@click.option("--distance", "distance_m", type=float, required=True, help="Microphone to cone, m.")
@click.option(
    "--space",
    type=click.Choice(["half-space", "free-field", "near-field", "in-cabinet"]),
    required=True,
    help="Into what it radiated.",
)
@click.option("--volts", "drive_v", type=float, default=None, help="R.m.s. voltage at the terminals, V.")
@click.option("--gate", "gate_ms", default="auto", show_default=True, help='"auto", "none" or a length, ms.')
@click.option("--temperature", "temperature_c", type=float, default=None, help="Air temperature, degrees C.")
@click.option("--note", default="", help="A note.")
@click.option("--together", is_flag=True, help="All files are channels of one take.")
@json_option
def import_(
    sources: tuple[Path, ...],
    unit_id: str,
    rig: str,
    roles: str | None,
    distance_m: float,
    space: str,
    drive_v: float | None,
    gate_ms: str,
    temperature_c: float | None,
    note: str,
    together: bool,
    as_json: bool,
) -> None:
    """Bring recordings in as takes of a unit.

    Files or folders of .wav and .flac are copied into the workshop.

    The parameters of the sweep are read from the .toml file that "halfroll sweep" wrote, when it lies beside the
    recordings; otherwise they are the defaults of "halfroll sweep".

    \b
    Example:
      halfroll import tuesday/ --unit avocet/v2/01 --rig bench --roles microphone,voltage \\
          --distance 1 --space half-space
    """
    from halfroll.workshop import TakeSetup
    from halfroll.workshop.faults import check
    from halfroll.workshop.importing import import_takes

    given: dict[str, object] = {
        "rig": rig,
        "distance_m": distance_m,
        "space": space,
        "gate_ms": _gate(gate_ms),
        "note": note,
    }
    stated = {"drive_v": drive_v, "temperature_c": temperature_c}
    given |= {key: value for key, value in stated.items() if value is not None}
    setup = check(TakeSetup, given, file="import")
    with progress_bar("importing") as progress:
        done = import_takes(
            open_workshop(),
            unit_id,
            sources,
            setup,
            roles=roles_of(roles),
            together=together,
            progress=progress,
        )
    if as_json:
        print_json({"takes": list(done.takes), "refused": [fault.as_dict() for fault in done.refused]})
    for fault in done.refused:
        say(str(fault))
    for take in done.takes:
        say(f"Imported {take}")
    if done.refused:
        click.get_current_context().exit(2)


def _gate(text: str) -> object:
    try:
        return float(text)
    except ValueError:
        return text


def roles_of(text: str | None) -> list[Role] | None:
    """The roles in a list with commas; None when none is given."""
    from halfroll.core.errors import choose
    from halfroll.measure.recording import Role

    if text is None:
        return None
    return [
        Role(choose(word.strip(), [str(r) for r in Role], field="A role", key="--roles"))
        for word in text.split(",")
    ]
