"""``halfroll rig latency``: the delay of the sound card, from recordings of a loop or measured on the spot."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from halfroll.cli.common import open_workshop, say
from halfroll.cli.rig_options import AMPLIFIER, FILE, dated, finish, kept_options


@click.command()
@click.argument("name")
@click.argument("loops", type=FILE, nargs=-1)
@click.option("--played", type=FILE, help="The file that was played.")
@click.option("--channel", type=int, help="Channel of the recordings that holds the loop, from 1.")
@click.option(
    "--now", is_flag=True, help="Play and record now, 30 dB below full scale, by the rig's sound card."
)
@click.option("--by", type=click.Choice(["voltage", "current", "source", "microphone"]), default="voltage", show_default=True,
              help="With --now: the input that hears the output.")  # fmt: skip
@kept_options
def latency(
    name: str,
    loops: tuple[Path, ...],
    played: Path | None,
    channel: int | None,
    now: bool,
    by: str,
    **kept: Any,
) -> None:
    """Find the delay of the sound card.

    Join an output to an input, or take the voltage at the terminals. Measure --now, or record the LOOPS, once or several times.

    \b
    Example:
      halfroll rig latency bench --now
      halfroll rig latency bench loop-1.wav loop-2.wav --played sweep.wav
    """
    from halfroll.workshop.calibrate_electric import propose_latency

    if now == bool(loops) or bool(loops) != (played is not None):
        raise click.UsageError("Give either --now, or recordings of the loop with --played.")
    shop, date = open_workshop(), dated(kept)["date"]
    if played is None:
        from halfroll.measure.recording import Role
        from halfroll.workshop.calibrate_live import measure_latency

        say(AMPLIFIER)
        finish(shop, measure_latency(shop, name, role=Role(by), date=date), kept)
        return
    finish(shop, propose_latency(shop, name, played, loops, channel=channel, date=date), kept)
