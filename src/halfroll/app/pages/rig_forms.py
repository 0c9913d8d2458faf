"""The forms of a rig's page: what each calibration asks for, and how it is worked out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from halfroll.app.calibration_form import Ask, CalibrationForm, Given, Slot
from halfroll.core.errors import InputError
from halfroll.measure.recording import Role
from halfroll.measure.rig.calibrator import Calibrator
from halfroll.measure.rig.meter import MeterReading, resolution_of
from halfroll.workshop import RigRecord, Workshop
from halfroll.workshop.calibrate import Proposal

AMPLIFIER = (
    "Mind your ears and the driver: come up from a low level. Mains-powered amplifiers with bridged outputs must never have an "
    "output tied to ground, as the grounded input of an interface does; if you are not sure, measure with a meter on batteries."
)
METER = (
    Ask(key="reading", label="Meter shows, V", hint="r.m.s., with all its digits, such as 2.83"),
    Ask(key="hertz", label="Tone, Hz", hint="plain meters are right from about 50 Hz to 1 kHz", value="100"),
    Ask(
        key="percent",
        label="Accuracy, % of reading",
        hint="from the meter's manual, alternating voltage",
        value="1",
    ),
    Ask(key="digits", label="Accuracy, digits", hint="the second number in the manual", value="3"),
)
CHANNEL = Ask(key="channel", label="Channel of the file", hint="from 1; empty when it has one")


def forms(workshop: Workshop, rig: str, record: RigRecord) -> Iterator[Callable[[], CalibrationForm]]:
    """The forms in the order of the work."""
    yield lambda: _calibrator(workshop, rig)
    yield lambda: _sensitivity(workshop, rig)
    if record.microphone is not None:
        yield lambda: _correction(workshop, rig)
    yield lambda: _output(workshop, rig)
    yield lambda: _voltage(workshop, rig)
    if record.voltage is not None:
        yield lambda: _current(workshop, rig)
    yield lambda: _latency_now(workshop, rig, record)
    yield lambda: _latency(workshop, rig)


def _calibrator(workshop: Workshop, rig: str) -> CalibrationForm:
    from halfroll.workshop.calibrate_sound import propose_calibrator

    def propose(given: Given) -> Proposal:
        grade: Any = given.text("grade")
        calibrator = Calibrator(
            level_db=given.number("level_db", "The level"), grade=grade,
            certificate_u_db=given.maybe("certificate_u_db", "The uncertainty"),
            pressure_kpa=given.maybe("pressure_kpa", "The air pressure"),
        )  # fmt: skip
        path = given.path("recording", "The recording of the calibrator")
        return propose_calibrator(workshop, rig, path, calibrator, channel=_channel(given), date=given.date(),
                                  shown=given.name("recording"))  # fmt: skip

    return CalibrationForm(
        workshop, "microphone", "Microphone, with a sound calibrator",
        "Set the gain that all takes will have and note its position. Seat the calibrator firmly on the microphone, wait until it has "
        "settled, and record ten seconds. The tone is quiet outside its coupler. A level that does not fit the calibration before is refused.",
        slots=(Slot(key="recording", label="Recording of the calibrator"),),
        asks=(
            Ask(key="level_db", label="Level, dB", hint="94 or 114, as switched", value="94"),
            Ask(key="grade", label="Class (IEC 60942)", value="none",
                choices=(("none", "none: within 1 dB"), ("2", "class 2"), ("1", "class 1"), ("LS", "laboratory standard"))),
            Ask(key="certificate_u_db", label="Uncertainty by certificate, dB", hint="standard, in place of the class; may be empty"),
            Ask(key="pressure_kpa", label="Air pressure, kPa", hint="only for a pistonphone; may be empty"),
            CHANNEL,
        ), propose=propose,
    )  # fmt: skip


def _sensitivity(workshop: Workshop, rig: str) -> CalibrationForm:
    from halfroll.workshop.calibrate_sound import propose_sensitivity

    def propose(given: Given) -> Proposal:
        return propose_sensitivity(
            workshop, rig, given.number("pa_per_full_scale", "Full scale"), given.number("u_db", "The uncertainty"),
            method=given.text("method"), date=given.date(),
        )  # fmt: skip

    return CalibrationForm(
        workshop, "sensitivity", "Microphone, typed in",
        "Where there is no calibrator: sound pressure of a sample of full scale, from data sheets of microphone and interface. Without a "
        "calibrator half a decibel of uncertainty or more is usual.",
        asks=(
            Ask(key="pa_per_full_scale", label="Full scale, Pa"),
            Ask(key="u_db", label="Standard uncertainty, dB", value="0.5"),
            Ask(key="method", label="Where from", hint="such as: data sheet"),
        ), propose=propose,
    )  # fmt: skip


def _correction(workshop: Workshop, rig: str) -> CalibrationForm:
    from halfroll.workshop.calibrate_sound import propose_correction

    def propose(given: Given) -> Proposal:
        path = given.path("curve", "The curve")
        return propose_correction(workshop, rig, path, turned=given.text("sign") == "add", shown=given.name("curve"),
                                  u_db=given.number("u_db", "The uncertainty", 0.0))  # fmt: skip

    return CalibrationForm(
        workshop, "correction", "Correction curve of the microphone",
        "A table of frequency in hertz, level in decibels and, if known, phase in degrees. It is taken off the fundamental and off every "
        "harmonic at its own frequency; outside its range nothing is corrected, and charts say so. It joins the present calibration: takes "
        "that use it are worked out anew.",
        slots=(Slot(key="curve", label="The curve", accept=".csv,.txt", kinds="CSV or text"),),
        asks=(
            Ask(key="sign", label="The levels are", value="high",
                choices=(("high", "what the microphone reads too high"), ("add", "what has to be added"))),
            Ask(key="u_db", label="Standard uncertainty, dB", value="0.2"),
        ), propose=propose,
    )  # fmt: skip


def _output(workshop: Workshop, rig: str) -> CalibrationForm:
    from halfroll.workshop.calibrate_electric import propose_output

    def propose(given: Given) -> Proposal:
        return propose_output(
            workshop, rig, _meter(given), given.number("level", "The digital level"), date=given.date()
        )

    return CalibrationForm(
        workshop, "output", "Output, with a multimeter",
        "Play a sine of known digital level through the amplifier at its marked setting, with the driver or a resistor connected, and read "
        "the meter at the terminals. Then a wanted voltage can be found without trying.", beware=AMPLIFIER,
        asks=(Ask(key="level", label="Digital peak of the tone", hint="re full scale, 0 to 1", value="0.1"), *METER), propose=propose,
    )  # fmt: skip


def _voltage(workshop: Workshop, rig: str) -> CalibrationForm:
    from halfroll.workshop.calibrate_electric import propose_voltage

    def propose(given: Given) -> Proposal:
        path = given.path("recording", "The recording of the tone")
        return propose_voltage(workshop, rig, path, _meter(given), channel=_channel(given), date=given.date(),
                               shown=given.name("recording"))  # fmt: skip

    return CalibrationForm(
        workshop, "voltage", "Voltage input, with a multimeter",
        "Record the same tone with the voltage input while the meter is read at the terminals.", beware=AMPLIFIER,
        slots=(Slot(key="recording", label="Recording of the tone"),), asks=(*METER, CHANNEL), propose=propose,
    )  # fmt: skip


def _current(workshop: Workshop, rig: str) -> CalibrationForm:
    from halfroll.workshop.calibrate_electric import propose_current

    def propose(given: Given) -> Proposal:
        method: Any = given.text("method")
        opened, checked = given.paths("open"), given.paths("check")
        return propose_current(
            workshop, rig, method, given.number("resistance_ohm", "The resistor"),
            tolerance_percent=given.number("tolerance", "The tolerance", 1.0),
            input_v=given.maybe("input_v", "Full scale of the input"), input_u_db=given.number("input_u_db", "Its uncertainty", 0.0),
            voltage_includes_shunt=given.text("before") == "before", open_path=opened[-1] if opened else None,
            check_path=checked[-1] if checked else None, known_ohm=given.maybe("known_ohm", "The known resistor"),
            known_tolerance_percent=given.number("known_tolerance", "Its tolerance", 1.0), date=given.date(),
        )  # fmt: skip

    return CalibrationForm(
        workshop, "current", "Current, by a shunt or a divider",
        "Shunt: a small resistor in the lead of the driver, its voltage on the current channel. Divider: a series resistor near the driver's "
        "impedance, its two ends on the channels source and voltage. With nothing connected the open check takes gain and delay between the "
        "inputs out; a known resistor in place of the driver corrects the resistor itself.", beware=AMPLIFIER,
        slots=(
            Slot(key="open", label="Open check: two channels, nothing connected (may be left out)"),
            Slot(key="check", label="Check with a known resistor: two channels (may be left out)"),
        ),
        asks=(
            Ask(key="method", label="Way", value="shunt", hint="recordings: voltage, current; or source, voltage",
                choices=(("shunt", "shunt"), ("divider", "divider"))),
            Ask(key="resistance_ohm", label="Shunt or series resistor, Ω"),
            Ask(key="tolerance", label="Its tolerance, %", value="1"),
            Ask(key="before", label="Voltage connected", value="behind",
                choices=(("behind", "at the terminals"), ("before", "before the shunt"))),
            Ask(key="input_v", label="Full scale of the shunt's input, V", hint="empty: as the voltage input"),
            Ask(key="input_u_db", label="Its standard uncertainty, dB", value="0"),
            Ask(key="known_ohm", label="Known resistor, Ω"),
            Ask(key="known_tolerance", label="Its tolerance, %", value="1"),
        ), propose=propose,
    )  # fmt: skip


def _latency_now(workshop: Workshop, rig: str, record: RigRecord) -> CalibrationForm:
    from halfroll.workshop.calibrate_live import measure_latency

    def propose(given: Given) -> Proposal:
        role = Role(given.text("role")) if given.text("role") else None
        return measure_latency(workshop, rig, role=role, date=given.date(), progress=given.progress)

    inputs = () if record.devices is None else record.devices.inputs
    there = [role for role in (Role.VOLTAGE, *inputs) if role is not Role.UNUSED]
    return CalibrationForm(
        workshop, "loop", "Delay, measured now with the rig's sound card",
        "Three sweeps of one second go out 30 dB below full scale, and come back by an input: by a cable from output to input, or by the "
        "voltage at the terminals with the amplifier at its marked setting. Stepped tones need it; takes with a voltage channel do not.",
        beware=AMPLIFIER,
        asks=(Ask(key="role", label="Comes back by", value=str(there[0]), choices=tuple((str(role), str(role)) for role in dict.fromkeys(there))),),
        propose=propose,
    )  # fmt: skip


def _latency(workshop: Workshop, rig: str) -> CalibrationForm:
    from halfroll.workshop.calibrate_electric import propose_latency

    def propose(given: Given) -> Proposal:
        played = given.path("played", "What was played")
        loops = given.paths("loops")
        if not loops:
            raise InputError("A recording of the loop is needed: drop it above", key="loops")
        return propose_latency(workshop, rig, played, loops, channel=_channel(given), date=given.date())

    return CalibrationForm(
        workshop, "latency", "Delay, from recordings of a loop",
        "Join an output of the interface to an input, play a sweep and record it, best three times. Takes with a voltage channel do not "
        "depend on it.",
        slots=(Slot(key="played", label="What was played"), Slot(key="loops", label="Recordings of the loop", several=True)),
        asks=(CHANNEL,), propose=propose,
    )  # fmt: skip


def _meter(given: Given) -> MeterReading:
    try:
        worth = resolution_of(given.text("reading"))
    except InputError as error:
        raise InputError(error.message, key="reading", found=error.found, allowed=error.allowed) from None
    return MeterReading(
        volts=given.number("reading", "The reading"), frequency_hz=given.number("hertz", "The frequency"),
        percent=given.number("percent", "The accuracy"), digits=given.number("digits", "The accuracy"), resolution_v=worth,
    )  # fmt: skip


def _channel(given: Given) -> int | None:
    value = given.maybe("channel", "The channel")
    return None if value is None else int(value)
