"""``halfroll measure``: play, record, judge and keep."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import MARKS, ask_before_sound, json_option, open_workshop, print_json, say
from halfroll.core.progress import Progress, silent

if TYPE_CHECKING:
    from halfroll.measure.level.ramp import FoundLevel
    from halfroll.workshop.live import Decision, Drive, Heard, Kept

SWEEP = ("start_hz", "stop_hz", "duration_s")
DEVICES = ("input", "output", "rate_hz", "output_channel", "block")


@click.command()
@click.argument("unit_id", metavar="DRIVER/VERSION/UNIT")
@click.option("--rig", required=True, help="Rig to measure with.")
@click.option("--watts", type=float, default=None, help="Power into the rated impedance, W.")
@click.option("--volts", type=float, default=None, help="Voltage at the terminals instead, V r.m.s.")
@click.option(
    "--max-volts", "v_max", type=float, default=None, help="Never more than this at the terminals, V r.m.s."
)
@click.option("--repeats", default=3, show_default=True, help="Takes to make.")
@click.option("--distance", "distance_m", type=float, required=True, help="Microphone to cone, m.")
@click.option(
    "--space",
    type=click.Choice(["half-space", "free-field", "near-field", "in-cabinet"]),
    required=True,
    help="Into what it radiates.",
)
@click.option("--temperature", "temperature_c", type=float, default=None, help="Air temperature, degrees C.")
@click.option("--note", default="", help="A note for every take.")
@click.option("--start", "start_hz", type=float, default=None, help="Start of the sweep, Hz. Default: 20.")
@click.option("--stop", "stop_hz", type=float, default=None, help="End of the sweep, Hz. Default: 20000.")
@click.option(
    "--duration", "duration_s", type=float, default=None, help="Length of the sweep, s. Default: 6."
)
@click.option("--tone", "tone_hz", default=315.0, show_default=True, help="Tone for finding the level, Hz.")
@click.option(
    "--roles", default=None, metavar="ROLE,ROLE...", help="What the inputs hold, in place of the rig's."
)
@click.option("--input", default=None, help="Input device, in place of the rig's.")
@click.option("--output", default=None, help="Output device, in place of the rig's.")
@click.option("--rate", "rate_hz", type=int, default=None, help="Sample rate, Hz, in place of the rig's.")
@click.option("--output-channel", type=int, default=None, help="Output channel, in place of the rig's.")
@click.option("--block", type=int, default=None, help="Samples in a block, in place of the rig's.")
@click.option("--keep-bad", is_flag=True, help="Keep a take with a bad verdict too.")
@click.option("--yes", is_flag=True, help="I have read the cautions; do not ask.")
@json_option
def measure(
    unit_id: str, rig: str, watts: float | None, volts: float | None, v_max: float | None, repeats: int, roles: str | None,
    tone_hz: float, keep_bad: bool, yes: bool, as_json: bool, **given: Any,
) -> None:  # fmt: skip
    """Measure a unit with a sound card.

    Finds the level, plays the sweep, records, judges each take and keeps it.
    The level is found from below with short tone bursts; it never passes the rig's limit, --max-volts, or the version's rated
    power. Ctrl-C stops the sound at once. A take is saved whole or not at all.

    \b
    Example:
      halfroll measure avocet/v2/01 --rig bench --watts 1 --distance 1 --space half-space
    """
    from halfroll.cli.importing import roles_of
    from halfroll.measure.level.ramp import RampSettings
    from halfroll.workshop import TakeSetup, live, paths
    from halfroll.workshop.bench import capture_setup, open_player
    from halfroll.workshop.faults import check

    workshop = open_workshop()
    unit_id = workshop.existing(unit_id, "unit")
    record = workshop.rig(rig).record
    version = workshop.version(paths.version_of(unit_id)).record
    drive = live.drive_of(record, version, watts=watts, volts=volts, v_max=v_max)
    chosen = {key: given[key] for key in DEVICES} | {
        "inputs": None if roles is None else tuple(roles_of(roles) or ())
    }
    rate_hz = capture_setup(record, v_max=v_max, **chosen).rate_hz
    sweep = {key: given[key] for key in SWEEP if given[key] is not None} | {"rate_hz": rate_hz}
    stated = {
        key: given[key] for key in ("distance_m", "space", "temperature_c", "note") if given[key] is not None
    }
    setup = check(TakeSetup, {"rig": rig, "sweep": sweep, **stated}, file="measure")
    ask_before_sound(drive.target_v, drive.limit_v, drive.limit_from, yes)
    with open_player(record, v_max=v_max, **chosen) as card, _line() as progress:
        say(f"Recording from {card.names[0]}, playing to {card.names[1]}. Ctrl-C stops the sound.")
        settings = RampSettings(frequency_hz=tone_hz)
        found = live.level_for(card, record, card.roles, drive, settings=settings, progress=progress)
        progress(1.0, "")
        say(live.say_found(found))
        setup, _ = live.setup_at(setup, setup.sweep.sweep(), found)
        deciding = _Deciding(keep_bad)
        kept = live.measure(
            workshop, card, unit_id, card.roles, setup, drive.label,
            repeats=repeats, decide=deciding, told=lambda one: say(f"Saved {one.take_id}"), progress=progress,
        )  # fmt: skip
    if as_json:
        print_json(_result(unit_id, drive, found, kept, deciding.thrown_away))
    if len(kept) < repeats:
        say(f"{len(kept)} of {repeats} takes were kept.")
        click.get_current_context().exit(2)


class _Deciding:
    """Says each verdict; asks what to do with a bad one where somebody can answer, else tries once more."""

    def __init__(self, keep_bad: bool) -> None:
        self.keep_bad = keep_bad
        self.thrown_away: list[Heard] = []

    def __call__(self, heard: Heard) -> Decision:
        say(f"\r{heard.summary()}")
        for verdict in sorted(heard.verdicts, key=lambda one: -one.severity):
            say(f"{MARKS[verdict.severity]}: {verdict.text} {verdict.remedy}".rstrip())
        if not heard.bad or self.keep_bad:
            return "keep"
        self.thrown_away.append(heard)
        if not (sys.stdin.isatty() and sys.stderr.isatty()):
            return "again" if len(self.thrown_away) < 2 else "stop"
        choices: tuple[Decision, ...] = ("again", "keep", "stop")
        answer = click.prompt(
            "Record it again, keep it all the same, or stop",
            default="again",
            err=True,
            type=click.Choice(choices),
        )
        return next(choice for choice in choices if choice == answer)


@contextlib.contextmanager
def _line() -> Iterator[Progress]:
    """Progress in one line of a terminal, written only when something is reported, so that questions stay readable."""
    if not sys.stderr.isatty():
        yield silent
        return

    def report(done: float, step: str) -> None:
        click.echo(f"\r{100 * done:3.0f} %  {step:60.60}", nl=False, err=True)

    try:
        yield report
    finally:
        click.echo("\r" + " " * 70 + "\r", nl=False, err=True)


def _result(
    unit_id: str, drive: Drive, found: FoundLevel, kept: list[Kept], thrown_away: list[Heard]
) -> dict[str, Any]:
    return {
        "unit": unit_id,
        "target_v": drive.target_v,
        "limit_v": drive.limit_v,
        "limit_from": drive.limit_from,
        "level": found.as_dict(),
        "takes": [
            {"take": one.take_id, "when": one.heard.when.isoformat(), "verdicts": _verdicts(one.heard)} for one in kept
        ],
        "thrown_away": [{"when": one.when.isoformat(), "verdicts": _verdicts(one)} for one in thrown_away],
    }  # fmt: skip


def _verdicts(heard: Heard) -> list[dict[str, Any]]:
    return [verdict.as_dict() for verdict in heard.verdicts]
