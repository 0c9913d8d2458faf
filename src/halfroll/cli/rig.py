"""``halfroll rig``: calibrate the bench, and see how it stands."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import click

from halfroll.cli.common import InOrder, json_option, open_workshop, print_json, say
from halfroll.cli.rig_latency import latency
from halfroll.cli.rig_options import AMPLIFIER, FILE, dated, finish, kept_options, meter_options, reading_of


@click.group(cls=InOrder)
def rig() -> None:
    """Calibrate a rig, and see how it stands.

    A calibration carries its date and its uncertainty. The one it follows goes to the rig's history, so that older takes keep
    theirs. Make a rig with "halfroll add rig".
    """


@rig.command("list")
@json_option
def list_(as_json: bool) -> None:
    """List the rigs and how current they are.

    \b
    Example:
      halfroll rig list
    """
    from halfroll.workshop.rig_state import states

    shop, today = open_workshop(), dt.date.today()
    found = {name: states(shop.rig(name).record, today) for name in shop.rig_names()}
    if as_json:
        print_json({"rigs": {name: {s.table: s.state for s in tables} for name, tables in found.items()}})
        return
    for name, tables in found.items():
        told = [f"{s.name.lower()} {s.state}" for s in tables if s.state != "not calibrated"]
        click.echo(f"{name}: {', '.join(told) or 'nothing calibrated'}")
    if not found:
        say("There is no rig yet. Make one with: halfroll add rig NAME")


@rig.command()
@click.argument("name")
@json_option
def show(name: str, as_json: bool) -> None:
    """Show what the rig NAME states, now and earlier.

    \b
    Example:
      halfroll rig show bench
    """
    from halfroll.workshop.rig_state import earlier_states, states

    record = open_workshop().rig(name).record
    now, before = states(record, dt.date.today()), earlier_states(record)
    if as_json:
        earlier = [{**s.as_dict(), "replaced": replaced, "note": note} for s, replaced, note in before]
        print_json(
            {"rig": name, "title": record.title, "now": [s.as_dict() for s in now], "earlier": earlier}
        )
        return
    click.echo(f"{name}: {record.title}" if record.title else name)
    for state in now:
        _say_state(state.name, state, state.state)
    for state, replaced, note in before:
        until = f"replaced {replaced or 'at an unknown time'}"
        _say_state(f"earlier: {state.name.lower()}", state, f"{until}, {note}" if note else until)


def _say_state(title: str, state: Any, standing: str) -> None:
    u = "" if not state.u_db else f", u {state.u_db:.2f} dB"
    date = "" if state.date is None else f"; {state.date}"
    method = f", {state.method}" if state.method else ""
    click.echo(
        f"  {title}: {state.value}{u}{date}{method} ({standing})" if state.value else f"  {title}: {standing}"
    )
    for what, words in state.details:
        click.echo(f"      {what}: {words}")


@rig.command()
@click.argument("name")
@click.argument("recording", type=FILE, required=False)
@click.option(
    "--level", type=float, default=94.0, show_default=True, help="Level of the calibrator, dB: 94 or 114."
)
@click.option("--hertz", type=float, help="Its frequency, Hz. Default: 250 or 1000, as found.")
@click.option(
    "--class", "grade", type=click.Choice(["LS", "1", "2", "none"]), default="none", show_default=True,
    help="Its class of IEC 60942.",
)  # fmt: skip
@click.option(
    "--certificate-u", type=float, help="Standard uncertainty by its certificate, dB, in place of the class."
)
@click.option("--pressure", type=float, help="Air pressure, kPa; for a pistonphone.")
@click.option("--channel", type=int, help="Channel of the file that holds the microphone, from 1.")
@click.option("--pa", type=float, help="Instead of a recording: sound pressure of one full scale, Pa.")
@click.option("--u", type=float, default=0.5, show_default=True, help="Standard uncertainty of --pa, dB.")
@kept_options
def microphone(
    name: str, recording: Path | None, level: float, hertz: float | None, grade: Any, certificate_u: float | None,
    pressure: float | None, channel: int | None, pa: float | None, u: float, **kept: Any,
) -> None:  # fmt: skip
    """Calibrate the microphone of the rig NAME.

    Its sensitivity comes from the RECORDING of a sound calibrator (IEC 60942), or is typed in. Record 10 s with the calibrator seated on the microphone, at the gain that all takes will have.

    \b
    Example:
      halfroll rig microphone bench calibrator.wav --level 94 --class 1
      halfroll rig microphone bench --pa 6.3 --u 0.3
    """
    from halfroll.measure.rig.calibrator import Calibrator
    from halfroll.workshop.calibrate_sound import propose_calibrator, propose_sensitivity

    if (recording is None) == (pa is None):
        raise click.UsageError("Give either the recording of a calibrator or --pa.")
    shop, day = open_workshop(), dated(kept)
    if recording is None:
        assert pa is not None
        proposal = propose_sensitivity(shop, name, pa, u, **day)
    else:
        calibrator = Calibrator(level_db=level, frequency_hz=hertz, grade=grade, certificate_u_db=certificate_u,
                                pressure_kpa=pressure)  # fmt: skip
        proposal = propose_calibrator(shop, name, recording, calibrator, channel=channel, **day)
    finish(shop, proposal, kept)


@rig.command()
@click.argument("name")
@click.argument("curve", type=FILE)
@click.option(
    "--turned",
    is_flag=True,
    help="The file states what must be added, not what the microphone reads too high.",
)
@click.option(
    "--u", type=float, default=0.0, show_default=True, help="Standard uncertainty of the curve, dB."
)
@kept_options
def correction(name: str, curve: Path, turned: bool, u: float, **kept: Any) -> None:
    """Give the microphone its correction CURVE.

    The table holds frequency in Hz, level in dB and, if known, phase in degrees. The level is what the microphone reads TOO HIGH; it is taken off, at every harmonic's own frequency. Outside the curve's
    range nothing is corrected. The curve joins the present calibration: takes that use it are analysed anew.

    \b
    Example:
      halfroll rig correction bench mic-17.csv --u 0.2
    """
    from halfroll.workshop.calibrate_sound import propose_correction

    shop = open_workshop()
    finish(shop, propose_correction(shop, name, curve, turned=turned, u_db=u), kept)


@rig.command()
@click.argument("name")
@click.option("--level", type=float, required=True, help="Digital peak of the tone re full scale, 0 to 1.")
@meter_options
@kept_options
def output(
    name: str, level: float, reading: str, hertz: float, percent: float, digits: float, **kept: Any
) -> None:
    """Calibrate the output of the rig NAME.

    One reading of a multimeter says how many volts a digital level puts at the terminals. Play a sine of known level through the amplifier at its marked setting, and read the meter at the terminals.

    \b
    Example:
      halfroll rig output bench --level 0.1 --hertz 100 --reading 2.83
    """
    from halfroll.workshop.calibrate_electric import propose_output

    say(AMPLIFIER)
    shop = open_workshop()
    proposal = propose_output(shop, name, reading_of(reading, hertz, percent, digits), level, **dated(kept))
    finish(shop, proposal, kept)


@rig.command()
@click.argument("name")
@click.argument("recording", type=FILE)
@click.option("--channel", type=int, help="Channel of the file that holds the voltage, from 1.")
@meter_options
@kept_options
def voltage(
    name: str, recording: Path, channel: int | None, reading: str, hertz: float, percent: float, digits: float,
    **kept: Any,
) -> None:  # fmt: skip
    """Calibrate the voltage input of the rig NAME.

    The RECORDING holds a tone whose voltage a multimeter read meanwhile.

    \b
    Example:
      halfroll rig voltage bench tone.wav --hertz 100 --reading 2.83 --percent 0.8 --digits 5
    """
    from halfroll.workshop.calibrate_electric import propose_voltage

    say(AMPLIFIER)
    shop = open_workshop()
    meter = reading_of(reading, hertz, percent, digits)
    finish(shop, propose_voltage(shop, name, recording, meter, channel=channel, **dated(kept)), kept)


@rig.command()
@click.argument("name")
@click.option("--shunt", type=float, help="Shunt, ohm: the current channel holds the voltage across it.")
@click.option(
    "--series", type=float, help="Series resistor, ohm: one channel before it (source), one behind (voltage)."
)
@click.option("--tolerance", type=float, default=1.0, show_default=True, help="Limits of that resistor, %.")
@click.option(
    "--input-volts", type=float, help="Full scale of the shunt's input, V. Default: as the voltage input."
)
@click.option(
    "--input-u", type=float, default=0.0, show_default=True, help="Standard uncertainty of that, dB."
)
@click.option("--before-shunt", is_flag=True, help="The voltage channel is connected before the shunt.")
@click.option(
    "--open", "open_path", type=FILE, help="Recording with nothing connected, both inputs on one voltage."
)
@click.option(
    "--check", "check_path", type=FILE, help="Recording with a known resistor in place of the driver."
)
@click.option("--known", type=float, help="That resistor, ohm.")
@click.option("--known-tolerance", type=float, default=1.0, show_default=True, help="Its limits, %.")
@click.option(
    "--roles",
    default=None,
    metavar="ROLE,ROLE...",
    help="Per channel of these recordings, such as source,voltage.",
)
@kept_options
def current(
    name: str, shunt: float | None, series: float | None, tolerance: float, input_volts: float | None, input_u: float,
    before_shunt: bool, open_path: Path | None, check_path: Path | None, known: float | None, known_tolerance: float,
    roles: str | None, **kept: Any,
) -> None:  # fmt: skip
    """Say how the rig NAME knows the current.

    Either by a shunt, or by a divider with a known series resistor. The open check removes gain and delay between the inputs; the check with a known resistor corrects the shunt or the series
    resistor.

    \b
    Example:
      halfroll rig current bench --shunt 0.1 --check resistor.wav --known 8.2
      halfroll rig current bench --series 10 --open open.wav --check resistor.wav --known 8.2
    """
    from halfroll.cli.importing import roles_of
    from halfroll.workshop.calibrate_electric import propose_current

    if (shunt is None) == (series is None):
        raise click.UsageError("Give either --shunt or --series.")
    shop = open_workshop()
    proposal = propose_current(
        shop, name, "divider" if shunt is None else "shunt", shunt or series or 0.0, tolerance_percent=tolerance,
        input_v=input_volts, input_u_db=input_u, voltage_includes_shunt=before_shunt, open_path=open_path,
        check_path=check_path, known_ohm=known, known_tolerance_percent=known_tolerance,
        roles=None if roles is None else roles_of(roles), **dated(kept),
    )  # fmt: skip
    finish(shop, proposal, kept)


rig.add_command(latency)
