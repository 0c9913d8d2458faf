"""``halfroll power``: the log of a power-handling test."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import InOrder, json_option, open_workshop, print_json, say, say_verdicts
from halfroll.core.errors import InputError

if TYPE_CHECKING:
    from halfroll.measure.heat.power_log import StepResult
    from halfroll.workshop import Workshop
    from halfroll.workshop.power_record import PowerRecord


@click.group(cls=InOrder)
def power() -> None:
    """Log what power a unit bears, step by step.

    Each step has its volts, its hours, the temperature of the coil and a verdict.
    """


@power.command("add")
@click.argument("unit_id", metavar="DRIVER/VERSION/UNIT")
@click.option(
    "--log",
    "name",
    default="endurance",
    show_default=True,
    help="Name of the log; a new one is begun when there is none.",
)
@click.option("--volts", type=float, default=None, help="Drive, V r.m.s.")
@click.option("--watts", type=float, default=None, help="Drive instead, W into the rated impedance.")
@click.option("--hours", type=float, required=True, help="How long.")
@click.option("--temperature", "temperature_c", type=float, default=None, help="Air temperature, degrees C.")
@click.option(
    "--re-before", "re_before_ohm", type=float, default=None, help="DC resistance cold, before, ohm."
)
@click.option(
    "--re-warm",
    "re_warm_ohm",
    type=float,
    default=None,
    help="DC resistance at once after switching off, ohm.",
)
@click.option("--re-after", "re_after_ohm", type=float, default=None, help="DC resistance cold again, ohm.")
@click.option("--fs-before", "fs_before_hz", type=float, default=None, help="Resonance before, Hz.")
@click.option("--fs-after", "fs_after_hz", type=float, default=None, help="Resonance after, Hz.")
@click.option(
    "--level-change",
    "level_change_db",
    type=float,
    default=None,
    help="Level after minus before at one drive, dB.",
)
@click.option(
    "--judged", type=click.Choice(["passed", "changed", "failed"]), default=None, help="What you found."
)
@click.option("--note", default="", help="What was seen, heard or smelt.")
@click.option(
    "--glue-bears", "glue_c", type=float, default=None, help="Temperature the glue bears, degrees C."
)
@click.option(
    "--filament-bears",
    "filament_c",
    type=float,
    default=None,
    help="Temperature the filament bears, degrees C.",
)
@click.option(
    "--enamel-bears",
    "enamel_c",
    type=float,
    default=None,
    help="Temperature the wire's enamel bears, degrees C.",
)
@click.option(
    "--metal", type=click.Choice(["copper", "aluminium"]), default=None, help="Wire. Default: copper."
)
@click.option("--signal", default=None, help="What is played, such as pink noise with a high-pass.")
@json_option
def add(
    unit_id: str, name: str, volts: float | None, watts: float | None, as_json: bool, **given: Any
) -> None:
    """Add a step to a unit's log, and judge it.

    Never leave the test alone: a coil can reach the temperature at which paper and plastic burn. Wear hearing protection.
    Air the room; hot glue and filament give off fumes. Keep an extinguisher at hand and follow your local codes.

    \b
    Example:
      halfroll power add avocet/v8/03 --watts 4 --hours 8 --temperature 20 \\
          --re-before 6.6 --re-warm 7.9 --filament-bears 75
    """
    from halfroll.workshop.faults import check
    from halfroll.workshop.levels import add_power_step, start_power_log
    from halfroll.workshop.power_record import PowerRecord, PowerStepTable
    from halfroll.workshop.runs import run_ids

    workshop = open_workshop()
    workshop.existing(unit_id, "unit")
    now = dt.datetime.now().astimezone().replace(microsecond=0)
    about = {key: given.pop(key) for key in ("glue_c", "filament_c", "enamel_c", "metal", "signal")}
    stated = {key: value for key, value in about.items() if value is not None}
    step = {key: value for key, value in given.items() if value is not None}
    table = check(
        PowerStepTable,
        {"when": now, "drive_v": drive_v(workshop, unit_id, volts, watts), **step},
        file="power add",
    )
    run_id = f"{unit_id}/power/{name}"
    if run_id not in run_ids(workshop, unit_id, "power"):
        record = check(PowerRecord, {"when": now, **stated}, file="power add")
        judge_first(record, table)
        start_power_log(workshop, unit_id, name, record)
    loaded = add_power_step(workshop, run_id, table, **stated)
    say(f"Step {len(loaded.record.steps)} of {run_id} was added.")
    _print(run_id, loaded.record, rated(workshop, unit_id), as_json)


@power.command("show")
@click.argument("unit_id", metavar="DRIVER/VERSION/UNIT")
@click.option("--log", "name", default=None, help="Name of the log. Default: the only one there is.")
@json_option
def show(unit_id: str, name: str | None, as_json: bool) -> None:
    """Show a unit's log with the temperature of its coil and the verdicts.

    \b
    Example:
      halfroll power show avocet/v8/03
    """
    from halfroll.core.errors import choose
    from halfroll.workshop.runs import load_run, run_ids

    workshop = open_workshop()
    names = [run_id.rpartition("/")[2] for run_id in run_ids(workshop, unit_id, "power")]
    if not names:
        raise InputError(
            f"{unit_id} has no log of power handling yet", remedy="Begin one with: halfroll power add"
        )
    if name is None and len(names) > 1:
        raise InputError("There are several logs; one must be named", key="--log", allowed=names)
    run_id = f"{unit_id}/power/{choose(name or names[0], names, field='The log', key='--log')}"
    _print(run_id, load_run(workshop, run_id).record, rated(workshop, unit_id), as_json)


def judge_first(record: PowerRecord, step: Any) -> None:
    """Refuse readings that cannot be, before a log is begun for them."""
    from halfroll.measure.heat.power_log import judge

    judge([step.step()], record.limits(), record.metal)


def drive_v(workshop: Workshop, unit_id: str, volts: float | None, watts: float | None) -> float:
    """The drive (V) from volts, or from watts into the rated impedance."""
    if (volts is None) == (watts is None):
        raise InputError(
            "Either volts or watts must be given", key="--volts", found="none" if volts is None else "both"
        )
    if volts is not None:
        return volts
    impedance = rated(workshop, unit_id)
    assert watts is not None
    if impedance is None:
        raise InputError("Watts need the version's rated impedance, which is not stated", key="--watts",
                         remedy="Give volts, or enter the rated impedance")  # fmt: skip
    if not watts > 0:
        raise InputError("The power must be above 0 W", key="--watts", found=f"{watts:g}")
    return math.sqrt(watts * impedance)


def rated(workshop: Workshop, unit_id: str) -> float | None:
    """Rated impedance of the unit's version (ohm)."""
    from halfroll.workshop.paths import version_of

    return workshop.version(version_of(unit_id)).record.rated_impedance_ohm


def _print(run_id: str, record: PowerRecord, rated_ohm: float | None, as_json: bool) -> None:
    from halfroll.core.text import format_value
    from halfroll.workshop.levels import power_result

    result = power_result(record)
    if as_json:
        print_json({
            "run": run_id, "signal": record.signal, "metal": record.metal, "glue_c": record.glue_c,
            "filament_c": record.filament_c, "enamel_c": record.enamel_c, "hours": result.hours, "borne_v": result.borne_v,
            "borne_w": None if result.borne_v is None or rated_ohm is None else result.borne_v**2 / rated_ohm,
            "steps": [_step_dict(one, rated_ohm) for one in result.steps],
        })  # fmt: skip
        return
    for number, one in enumerate(result.steps, 1):
        watts = one.step.power_w(rated_ohm)
        power_ = "" if watts is None else f"{format_value(watts, None, 'W')}, "
        coil = (
            ""
            if one.coil is None
            else f", coil {format_value(one.coil.temperature_c, one.coil.u_k, 'degC', digits=1)}"
        )
        judged = f", {one.step.judged}" if one.step.judged else ""
        click.echo(
            f"{number}. {power_}{format_value(one.step.drive_v, None, 'V')} for {one.step.hours:g} h{coil}{judged}"
        )
        say_verdicts(one.verdicts)
    if result.borne_v is not None:
        click.echo(f"Borne so far: {format_value(result.borne_v, None, 'V')}, {result.hours:g} h altogether.")


def _step_dict(one: StepResult, rated_ohm: float | None) -> dict[str, Any]:
    step = one.step
    return {
        **{key: getattr(step, key) for key in step.__dataclass_fields__},
        "drive_w": step.power_w(rated_ohm),
        "coil_temperature_c": None if one.coil is None else one.coil.temperature_c,
        "coil_temperature_u_k": None if one.coil is None else one.coil.u_k,
        "coil_rise_k": None if one.coil is None else one.coil.rise_k,
        "verdicts": [verdict.as_dict() for verdict in one.verdicts],
    }
