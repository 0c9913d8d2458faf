"""What the commands that calibrate a rig share: their options, and how a result is said and kept."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from halfroll.cli.common import json_option, print_json, say, say_verdicts

if TYPE_CHECKING:
    from halfroll.measure.rig.meter import MeterReading
    from halfroll.workshop import Workshop
    from halfroll.workshop.calibrate import Proposal

FILE = click.Path(dir_okay=False, path_type=Path)

AMPLIFIER = (
    "Mind your ears and the driver: start quietly. A mains-powered amplifier with bridged outputs must never have an output "
    "tied to ground, as the grounded input of an interface does; if in doubt, measure with a meter on batteries."
)

F = TypeVar("F", bound=Callable[..., Any])


def kept_options(command: F) -> F:
    """``--date``, ``--valid-days``, ``--note``, ``--dry-run`` and ``--anyway``: what every calibration takes."""
    for option in (
        click.option("--anyway", is_flag=True, help="Keep it although something speaks against it."),
        click.option("--dry-run", is_flag=True, help="Only say what would be kept."),
        click.option("--note", default="", help="Why the calibration before is replaced."),
        click.option("--valid-days", type=int, default=None, help="How long it counts, days. Default: 365."),
        click.option(
            "--date", type=click.DateTime(["%Y-%m-%d"]), default=None, help="Day of it. Default: today."
        ),
    ):
        command = option(command)
    return json_option(command)


def meter_options(command: F) -> F:
    """``--reading``, ``--hertz``, ``--percent`` and ``--digits``: what the meter showed, and how well it knows."""
    for option in (
        click.option(
            "--digits", type=float, default=3.0, show_default=True, help="Accuracy of the meter, digits."
        ),
        click.option(
            "--percent",
            type=float,
            default=1.0,
            show_default=True,
            help="Accuracy of the meter, % of the reading.",
        ),
        click.option("--hertz", type=float, required=True, help="Frequency of the tone, Hz; best 50 to 400."),
        click.option(
            "--reading", required=True, help="R.m.s. volts as the meter shows them, with all their digits."
        ),
    ):
        command = option(command)
    return command


def reading_of(reading: str, hertz: float, percent: float, digits: float) -> MeterReading:
    """What the meter showed; the digits as typed say what the last one is worth."""
    from halfroll.measure.rig.meter import MeterReading, resolution_of

    worth = resolution_of(reading)
    return MeterReading(volts=float(reading.replace(",", ".")), frequency_hz=hertz, percent=percent, digits=digits,
                        resolution_v=worth)  # fmt: skip


def dated(kept: dict[str, Any]) -> dict[str, Any]:
    """Day and validity as they were given."""
    date = kept["date"]
    return {"date": None if date is None else date.date(), "valid_days": kept["valid_days"]}


def finish(workshop: Workshop, proposal: Proposal, kept: dict[str, Any]) -> None:
    """Say what was found, and keep it."""
    from halfroll.workshop.calibrate import keep

    if kept["as_json"]:
        loaded = (
            None if kept["dry_run"] else keep(workshop, proposal, anyway=kept["anyway"], note=kept["note"])
        )
        print_json({**proposal.as_dict(), "kept": loaded is not None, "file": loaded and str(loaded.path)})
        return
    for key, value in proposal.facts.items():
        click.echo(f"{key}: {value:.6g}" if isinstance(value, float) else f"{key}: {value}")
    if proposal.contributions:
        click.echo("Uncertainty budget, standard uncertainty in dB:")
    for part in proposal.contributions:
        limits = "" if part.half_width_db is None else f"  (limits of ±{part.half_width_db:.3f}, rectangular)"
        click.echo(f"  {part.u_db:.4f}  {part.name}{limits}")
    say_verdicts(proposal.verdicts)
    if kept["dry_run"]:
        say("Nothing was kept.")
        return
    loaded = keep(workshop, proposal, anyway=kept["anyway"], note=kept["note"])
    say(f"Kept in {loaded.path}")
