"""``halfroll impedance``: a table or a recording of an impedance into the workshop."""

from __future__ import annotations

from pathlib import Path

import click

from halfroll.cli.common import json_option, open_workshop, print_json, progress_bar, say, say_verdicts


@click.command()
@click.argument("unit_id", metavar="DRIVER/VERSION/UNIT")
@click.argument("source", required=False, default=None, type=click.Path(path_type=Path), metavar="[FILE]")
@click.option(
    "--mounting", type=click.Choice(["free-air", "baffle", "closed-box"]), default=None,
    help="How the driver was mounted. Default: free-air; closed-box with a volume.",
)  # fmt: skip
@click.option("--added-mass", "added_mass_g", type=float, default=None, help="Mass stuck to the cone, g.")
@click.option(
    "--added-mass-u", "added_mass_u_g", type=float, default=0.0, help="Standard uncertainty of it, g."
)
@click.option("--volume", "volume_l", type=float, default=None, help="Net volume of the closed box, l.")
@click.option("--volume-u", "volume_u_l", type=float, default=0.0, help="Standard uncertainty of it, l.")
@click.option(
    "--take", default="", help="In place of a file: a take of the unit that holds voltage and current."
)
@click.option("--rig", default="", help="Rig of a recording; of a table the instrument, any name.")
@click.option(
    "--roles",
    default=None,
    metavar="ROLE,ROLE...",
    help="Per channel of a recording. Default: voltage,current.",
)
@click.option(
    "--scale-u",
    "scale_u_percent",
    type=float,
    default=None,
    help="Uncertainty of all ohms of a table together, %.",
)
@click.option("--volts", "drive_v", type=float, default=None, help="R.m.s. voltage at the terminals, V.")
@click.option("--temperature", "temperature_c", type=float, default=None, help="Air temperature, degrees C.")
@click.option("--name", default="", help="Name of the run. Default: made of what was measured.")
@click.option("--note", default="", help="A note.")
@json_option
def impedance(
    unit_id: str,
    source: Path | None,
    mounting: str | None,
    roles: str | None,
    name: str,
    as_json: bool,
    **stated: object,
) -> None:
    """Add an impedance that was measured.

    It comes from a table, from a recording of voltage and current, or from a take of the unit that holds both. A table may come from any program: columns are found by name and unit (frequency in Hz or kHz, modulus in ohm with phase
    in deg or rad, or real and imaginary part). Measure small: a few tenths of a volt.

    \b
    Example:
      halfroll impedance avocet/v2/01 alone.csv
      halfroll impedance avocet/v2/01 putty.csv --added-mass 3
    """
    from halfroll.cli.importing import roles_of
    from halfroll.workshop.impedance_import import import_impedance

    boxed = stated["volume_l"] is not None
    stated["mounting"] = mounting or ("closed-box" if boxed else "free-air")
    with progress_bar("reading the impedance") as progress:
        found = import_impedance(
            open_workshop(), unit_id, source, stated, roles=roles_of(roles), name=name, progress=progress
        )
    curve = found.curve
    if as_json:
        print_json({
            "run": found.run_id,
            "method": found.record.method,
            "points": len(curve.frequency_hz),
            "band_hz": [float(curve.frequency_hz[0]), float(curve.frequency_hz[-1])],
            "phase_known": curve.phase_known,
            "impedance_min_ohm": float(curve.modulus_ohm.min()),
            "impedance_max_ohm": float(curve.modulus_ohm.max()),
            "verdicts": [v.as_dict() for v in curve.verdicts],
        })  # fmt: skip
        return
    say(
        f"Added {found.run_id}: {len(curve.frequency_hz)} points from {curve.frequency_hz[0]:.4g} to {curve.frequency_hz[-1]:.5g} Hz"
    )
    say_verdicts(curve.verdicts)
