"""Proposals for a rig's output, voltage, current and latency: from a meter's reading, from resistors, from a loop."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Literal

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Verdict
from halfroll.measure.recording import Recording, Role
from halfroll.measure.rig.budget import (
    PERCENT_DB,
    Contribution,
    above_zero,
    combined_db,
    normal,
    not_negative,
    rectangular,
)
from halfroll.measure.rig.current import with_current
from halfroll.measure.rig.latency import loop_latency, over_repeats
from halfroll.measure.rig.meter import MeterReading, VoltageScale, input_scale, output_scale
from halfroll.measure.rig.resistor_check import Mismatch, ResistorCheck, open_check, resistor_check
from halfroll.workshop.audio import read_audio
from halfroll.workshop.calibrate import Proposal, table_of
from halfroll.workshop.calibrate_sound import channel_of
from halfroll.workshop.rig_record import CurrentTable, RigRecord
from halfroll.workshop.rig_time import current_way
from halfroll.workshop.store import Workshop
from halfroll.workshop.takes import scales_of

LEAD_OHM = {"shunt": 0.001, "divider": 0.01}
"""Leads and contacts, as limits: a shunt is tapped at its own ends, a series resistor is plugged in. The project's choice."""


def propose_output(
    workshop: Workshop, rig: str, reading: MeterReading, digital_peak: float, *, date: dt.date | None = None,
    valid_days: int | None = None,
) -> Proposal:  # fmt: skip
    """Terminal volts of digital full scale, from a meter's reading while a tone of known digital peak plays."""
    workshop.rig(rig)
    return _volts(rig, "output", output_scale(reading, digital_peak), reading, date, valid_days)


def propose_voltage(
    workshop: Workshop, rig: str, path: Path, reading: MeterReading, *, channel: int | None = None,
    date: dt.date | None = None, valid_days: int | None = None, shown: str | None = None,
) -> Proposal:  # fmt: skip
    """Terminal volts of full scale of the voltage channel, from its recording of the tone that the meter read."""
    record = workshop.rig(rig).record
    samples, rate = channel_of(path, channel, shown=shown)
    previous = None if record.voltage is None else record.voltage.v_per_full_scale
    return _volts(
        rig, "voltage", input_scale(samples, rate, reading, previous_v=previous), reading, date, valid_days
    )


def _volts(
    rig: str, table: Literal["output", "voltage"], scale: VoltageScale, reading: MeterReading, date: dt.date | None,
    valid_days: int | None,
) -> Proposal:  # fmt: skip
    accuracy = f"{reading.percent:g} % and {reading.digits:g} digits"
    values = {
        "v_per_full_scale": scale.v_per_full_scale, "u_db": scale.u_db, "at_hz": scale.at_hz, "date": date or dt.date.today(),
        "valid_days": valid_days, "method": f"multimeter, {reading.volts:g} V at {reading.frequency_hz:g} Hz, {accuracy}",
    }  # fmt: skip
    facts: dict[str, Any] = {
        "v_per_full_scale": scale.v_per_full_scale,
        "u_db": scale.u_db,
        "at_hz": scale.at_hz,
    }
    if scale.tone is not None:
        facts |= {"frequency_hz": scale.tone.frequency_hz, "peak": scale.tone.peak,
                  "residual_percent": 100 * scale.tone.residual}  # fmt: skip
    return Proposal(rig=rig, table=table, values=table_of(RigRecord, table, values), contributions=scale.contributions,
                    verdicts=scale.verdicts, facts=facts)  # fmt: skip


def propose_current(
    workshop: Workshop, rig: str, method: Literal["shunt", "divider"], resistance_ohm: float, *,
    tolerance_percent: float = 1.0, input_v: float | None = None, input_u_db: float = 0.0,
    voltage_includes_shunt: bool = False, open_path: Path | None = None, check_path: Path | None = None,
    known_ohm: float | None = None, known_tolerance_percent: float = 1.0, roles: Sequence[Role] | None = None,
    date: dt.date | None = None, valid_days: int | None = None,
) -> Proposal:  # fmt: skip
    """How the rig knows the current, from a shunt or from a divider with a known series resistor.

    Parameters
    ----------
    resistance_ohm, tolerance_percent
        Shunt or series resistor and the limits of its value.
    input_v, input_u_db
        Volts of full scale of the shunt's input and its standard uncertainty; left out, the input is as the voltage's.
    voltage_includes_shunt
        Whether the voltage channel was connected before the shunt.
    open_path
        Recording with nothing connected, both channels on one voltage: gives gain and delay between them.
    check_path, known_ohm, known_tolerance_percent
        Recording with a known resistor in place of the driver: corrects shunt or series resistor.
    roles
        What the channels of these recordings hold; left out: voltage and current, or source and voltage.

    Raises
    ------
    InputError
        There is no such rig, it has no voltage scale, or a recording is not what it should be.
    """
    record = workshop.rig(rig).record
    if record.voltage is None:
        raise InputError(
            f"The rig {rig} has no voltage scale yet",
            remedy="Calibrate the voltage first; the current leans on it",
        )
    above_zero(resistance_ohm, "The resistance", "resistance_ohm")
    not_negative(tolerance_percent, "The tolerance", "tolerance_percent")
    volts = (
        record.voltage.v_per_full_scale
        if input_v is None
        else above_zero(input_v, "Volts of full scale", "input_v")
    )
    usual = (Role.VOLTAGE, Role.CURRENT) if method == "shunt" else (Role.SOURCE, Role.VOLTAGE)
    mismatch = None if open_path is None else _open(open_path, tuple(roles or usual))
    values: dict[str, Any] = {
        "method": method, "resistance_ohm": resistance_ohm, "voltage_includes_shunt": voltage_includes_shunt,
        "date": date or dt.date.today(), "valid_days": valid_days, "shares_voltage": method == "divider" or input_v is None,
        "a_per_full_scale": volts / resistance_ohm if method == "shunt" else None,
    }  # fmt: skip
    if mismatch is not None:
        values |= {
            "gain_db": mismatch.gain_db,
            "gain_u_db": mismatch.u_db,
            "delay_us": 1e6 * mismatch.delay_s,
        }
    parts = [rectangular("shunt" if method == "shunt" else "series resistor", 100 * PERCENT_DB * tolerance_percent / 100),
             rectangular("leads and contacts", 100 * PERCENT_DB * LEAD_OHM[method] / resistance_ohm)]  # fmt: skip
    if method == "shunt" and input_v is not None:
        parts.append(normal("scale of the shunt's input", input_u_db))
    check = None
    if check_path is not None:
        check = _checked(
            check_path, tuple(roles or usual), record, values, known_ohm, known_tolerance_percent
        )
        if check.refined_ohm is not None:
            parts = list(check.contributions)
            values |= {"resistance_ohm": check.refined_ohm, "shares_voltage": True}
            if method == "shunt":
                values["a_per_full_scale"] = volts / check.refined_ohm
    return _current(rig, method, values, parts, mismatch, check)


def _current(
    rig: str, method: str, values: dict[str, Any], parts: list[Contribution], mismatch: Mismatch | None,
    check: ResistorCheck | None,
) -> Proposal:  # fmt: skip
    u_db = combined_db(parts)
    values |= {"u_db": u_db, "resistance_u_ohm": values["resistance_ohm"] * u_db / (100 * PERCENT_DB)}
    facts: dict[str, Any] = {key: values[key] for key in ("resistance_ohm", "resistance_u_ohm", "u_db")}
    said: list[Verdict] = []
    if mismatch is not None:
        facts |= {
            "gain_db": mismatch.gain_db,
            "delay_us": 1e6 * mismatch.delay_s,
            "residual_db": mismatch.residual_db,
        }
        said += mismatch.verdicts
        parts = [*parts, normal("gain between the channels, as the open check leaves it", mismatch.u_db)]
    if check is not None:
        facts |= {
            "known_ohm": check.known_ohm,
            "measured_ohm": check.measured_ohm,
            "phase_deg": check.phase_deg,
        }
        said += check.verdicts
    return Proposal(rig=rig, table="current", values=table_of(RigRecord, "current", values), contributions=tuple(parts),
                    verdicts=tuple(said), facts=facts)  # fmt: skip


def _open(path: Path, roles: tuple[Role, ...]) -> Mismatch:
    """The second channel (current or source) against the voltage channel."""
    recording = _recorded(path, roles)
    voltage = recording.channel(Role.VOLTAGE)
    other = recording.channel(Role.SOURCE if Role.SOURCE in roles else Role.CURRENT)
    if voltage is None or other is None:
        raise InputError("The open check needs the voltage channel and the other one", file=str(path), key="roles",
                         found=", ".join(roles), allowed="voltage and current, or source and voltage")  # fmt: skip
    return open_check(voltage, other, recording.rate_hz)


def _checked(
    path: Path, roles: tuple[Role, ...], record: RigRecord, values: dict[str, Any], known_ohm: float | None,
    tolerance_percent: float,
) -> ResistorCheck:  # fmt: skip
    if known_ohm is None:
        raise InputError("The resistor check needs the value of the known resistor", key="known_ohm")
    table: CurrentTable = table_of(RigRecord, "current", values)
    rig = record.changed(current=table)
    made = _recorded(path, roles, rig)
    return resistor_check(
        with_current(made, current_way(rig)), known_ohm, tolerance_percent=tolerance_percent,
        resistance_ohm=table.resistance_ohm,
    )  # fmt: skip


def _recorded(path: Path, roles: tuple[Role, ...], rig: RigRecord | None = None) -> Recording:
    audio = read_audio(path)
    if len(audio.samples) != len(roles):
        raise InputError("The recording must have as many channels as roles are given", file=str(path), key="roles",
                         found=f"{len(audio.samples)} channels, {len(roles)} roles ({', '.join(roles)})")  # fmt: skip
    scales = {} if rig is None else scales_of(rig, roles)
    return Recording(samples=audio.samples, rate_hz=audio.rate_hz, roles=roles, scales=scales)


def propose_latency(
    workshop: Workshop, rig: str, played: Path | FloatArray, recordings: Sequence[Path | FloatArray], *, channel: int | None = None,
    rate_hz: int | None = None, date: dt.date | None = None,
) -> Proposal:  # fmt: skip
    """Delay of the sound card, from what was played and one or more recordings of the loop from output to input.

    Each is a file, or samples (n,) at `rate_hz`.
    """
    workshop.rig(rig)
    if isinstance(played, Path):
        signal, rate = channel_of(played)
    else:
        signal, rate = played, rate_hz or 0
    runs = []
    for recording in recordings:
        samples, other = (
            channel_of(recording, channel) if isinstance(recording, Path) else (recording, rate_hz or 0)
        )
        if other != rate:
            raise InputError("What was played and what was recorded must have the same sample rate", file=str(recording),
                             found=f"{other} Hz", allowed=f"{rate} Hz")  # fmt: skip
        runs.append(loop_latency(signal, samples))
    found = over_repeats(runs)
    values = {
        "samples": found.samples,
        "rate_hz": rate,
        "u_samples": found.u_samples,
        "date": date or dt.date.today(),
    }
    facts = {"samples": found.samples, "u_samples": found.u_samples, "delay_ms": 1e3 * found.samples / rate, "rate_hz": rate,
             "runs": len(runs), "likeness": min(run.likeness for run in runs) if runs else math.nan}  # fmt: skip
    return Proposal(
        rig=rig,
        table="latency",
        values=table_of(RigRecord, "latency", values),
        verdicts=found.verdicts,
        facts=facts,
    )
