"""``halfroll sweep``: write a test signal."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from halfroll.cli.common import json_option, print_json, say

CAUTION = (
    "Caution: near resonance and from 2 to 5 kHz a sweep is far louder than music at the same setting. Start with the "
    "volume right down, protect your ears above 85 dB(A), and stop at the first rattle."
)


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--start", "start_hz", default=20.0, show_default=True, help="Start frequency, Hz.")
@click.option("--stop", "stop_hz", default=20_000.0, show_default=True, help="Stop frequency, Hz.")
@click.option("--duration", "duration_s", default=6.0, show_default=True, help="Length of the sweep, s.")
@click.option("--rate", "rate_hz", default=48_000, show_default=True, help="Sample rate, Hz.")
@click.option("--level", default=0.5, show_default=True, help="Peak re full scale, 0 to 1.")
@click.option("--fade-in", "fade_in_s", default=0.05, show_default=True, help="Fade-in inside the sweep, s.")
@click.option(
    "--fade-out", "fade_out_s", default=0.01, show_default=True, help="Fade-out inside the sweep, s."
)
@click.option(
    "--before", "silence_before_s", default=0.5, show_default=True, help="Silence before the sweep, s."
)
@click.option(
    "--after", "silence_after_s", default=1.0, show_default=True, help="Silence after the sweep, s."
)
@click.option(
    "--for-telephones",
    is_flag=True,
    help="The sweep of a builder's check, with tones that tell a telephone's gain and clock.",
)
@json_option
def sweep(file: Path, for_telephones: bool, as_json: bool, **parameters: float) -> None:
    """Write a sweep to play to FILE.

    FILE is a .wav or .flac and holds a synchronized exponential sweep, to be played anywhere. Its parameters are written beside it as FILE.toml, so that importing the recording needs no typing.

    \b
    Example:
      halfroll sweep sweep.wav --start 15 --duration 8
    """
    from halfroll.measure.phone.signal import PHONE_SWEEP
    from halfroll.measure.sweep import Sweep
    from halfroll.workshop.sweep_file import write_sweep

    signal = Sweep(**parameters)  # type: ignore[arg-type]
    if for_telephones:
        if signal != Sweep():
            raise click.UsageError("--for-telephones has a sweep of its own; leave the other options out.")
        signal = PHONE_SWEEP
    written = write_sweep(file, signal, with_tones=for_telephones)
    lead = {f"harmonic_{n}_lead_s": signal.harmonic_lead_s(n) for n in (2, 3, 4, 5)}
    if as_json:
        print_json({"files": [str(p) for p in written], "length_s": signal.length / signal.rate_hz,
                    "rate_constant_s": signal.rate_constant_s, **lead, "sweep": asdict(signal)})  # fmt: skip
        return
    for path in written:
        say(f"Wrote {path}")
    say(f"{signal.length / signal.rate_hz:.2f} s, L = {signal.rate_constant_s:.4f} s.")
    say(CAUTION)
