"""From what was typed into the bench page to what is measured; each fault is said under its field."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from halfroll.app.typed import Errors, Typed, number_or_text, numbers, record_of, without_place
from halfroll.core.errors import InputError
from halfroll.measure.level.ramp import RampSettings
from halfroll.measure.recording import Role
from halfroll.workshop import RigRecord, TakeSetup, VersionRecord, Workshop, live
from halfroll.workshop.fields import Record
from halfroll.workshop.paths import version_of
from halfroll.workshop.records import SweepTable
from halfroll.workshop.rig_record import DevicesTable, LimitsTable

PAGE = "bench"
NOT_RECORDED = "-"
SWEEP = ("start_hz", "stop_hz", "duration_s")


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What is to be measured, all checked."""

    unit_id: str
    rig: RigRecord
    version: VersionRecord
    roles: tuple[Role, ...]
    drive: live.Drive
    setup: TakeSetup
    ramp: RampSettings
    repeats: int


class _Setup(TakeSetup, Record):
    """The setup as a record of its own, so that it is checked like one."""

    kind = "take"


class _Devices(DevicesTable, Record):
    """The devices likewise."""

    kind = "rig"


class _Limits(LimitsTable, Record):
    """The limit likewise."""

    kind = "rig"


def roles_typed(typed: Typed) -> tuple[str, ...]:
    """What the inputs hold, as typed, up to the last channel that is recorded."""
    count = int(typed.get("channels", "1") or 1)
    roles = [typed.get(f"role_{n}", NOT_RECORDED) for n in range(1, count + 1)]
    while roles and roles[-1] == NOT_RECORDED:
        roles.pop()
    return tuple(str(Role.UNUSED) if role == NOT_RECORDED else role for role in roles)


def devices_of(typed: Typed, errors: Errors) -> DevicesTable | None:
    """The sound card as typed."""
    values: dict[str, Any] = {"input": typed.get("input", ""), "output": typed.get("output", "")}
    for key in ("rate_hz", "output_channel", "block"):
        value = number_or_text(typed.get(key, ""), whole=True)
        if value is not None:
            values[key] = value
    values["inputs"] = roles_typed(typed)
    if not values["inputs"]:
        errors["role_1"] = "One channel must be recorded."
        return None
    made = record_of(_Devices, values, "", errors, fields={"inputs": "role_1"})
    return (
        None
        if made is None
        else DevicesTable(**{key: getattr(made, key) for key in DevicesTable.model_fields})
    )


def limits_of(typed: Typed, errors: Errors) -> LimitsTable | None:
    """The limit as typed; None when there is none."""
    if not typed.get("v_max", "").strip():
        return None
    made = record_of(_Limits, numbers(typed, "", ("v_max",)), "", errors)
    return None if made is None else LimitsTable(v_max=made.v_max)


def wanted_of(workshop: Workshop, typed: Typed, errors: Errors) -> Wanted | None:
    """All that was typed, checked; None when something is wrong."""
    unit_id, rig_name = typed.get("unit", ""), typed.get("rig", "")
    if not unit_id:
        errors["unit"] = "Choose the unit that is on the bench."
    if not rig_name:
        errors["rig"] = "Choose the rig it is measured with."
    devices, limits = devices_of(typed, errors), limits_of(typed, errors)
    if devices is not None and Role.MICROPHONE not in devices.inputs:
        errors["role_1"] = "One channel must be the microphone."
    setup = _setup_of(typed, rig_name, devices, errors)
    ramp = _ramp_of(typed, errors)
    repeats = number_or_text(typed.get("repeats", ""), whole=True)
    if not isinstance(repeats, int) or not 1 <= repeats <= 100:
        errors["repeats"] = f"A whole number from 1 to 100 is wanted; found {typed.get('repeats', '')!r}."
    if not unit_id or not rig_name:
        return None
    rig, version = workshop.rig(rig_name).record, workshop.version(version_of(unit_id)).record
    drive = _drive_of(typed, rig, version, limits, errors)
    if (
        errors
        or devices is None
        or setup is None
        or ramp is None
        or drive is None
        or not isinstance(repeats, int)
    ):
        return None
    return Wanted(unit_id=unit_id, rig=rig, version=version, roles=devices.inputs, drive=drive, setup=setup, ramp=ramp,
                  repeats=repeats)  # fmt: skip


def _setup_of(typed: Typed, rig: str, devices: DevicesTable | None, errors: Errors) -> TakeSetup | None:
    values: dict[str, Any] = {"rig": rig or "?", "note": typed.get("note", "")}
    values |= {"space": typed["space"]} if typed.get("space") else {}
    values |= numbers(typed, "", ("distance_m", "temperature_c"))
    sweep = numbers(typed, "", SWEEP)
    values["sweep"] = sweep if devices is None else {**sweep, "rate_hz": devices.rate_hz}
    made = record_of(_Setup, values, "", errors, fields={f"sweep.{key}": key for key in (*SWEEP, "rate_hz")})
    return (
        None
        if made is None
        else TakeSetup(**{key: getattr(made, key) for key in made.model_fields_set - {"format"}})
    )


def _ramp_of(typed: Typed, errors: Errors) -> RampSettings | None:
    value = number_or_text(typed.get("tone_hz", ""))
    if isinstance(value, str):
        errors["tone_hz"] = f"A number is wanted; found {value!r}."
        return None
    try:
        return RampSettings() if value is None else RampSettings(frequency_hz=float(value))
    except InputError as fault:
        errors["tone_hz"] = without_place(fault)
        return None


def _drive_of(
    typed: Typed, rig: RigRecord, version: VersionRecord, limits: LimitsTable | None, errors: Errors
) -> live.Drive | None:
    value = number_or_text(typed.get("drive", ""))
    if isinstance(value, str) or value is None:
        errors["drive"] = f"A number is wanted; found {typed.get('drive', '')!r}."
        return None
    try:
        in_watts = typed.get("drive_unit", "W") == "W"
        drive = live.drive_of(
            rig,
            version,
            watts=value if in_watts else None,
            volts=None if in_watts else value,
            v_max=None if limits is None else limits.v_max,
        )
    except InputError as fault:
        errors["drive"] = without_place(fault)
        return None
    return drive


def typed_of(rig: RigRecord) -> Typed:
    """What the fields hold for a rig: its devices and its limit."""
    typed: Typed = {}
    if rig.devices is not None:
        for key in ("input", "output", "rate_hz", "output_channel"):
            typed[key] = str(getattr(rig.devices, key))
        typed |= {f"role_{n}": str(role) for n, role in enumerate(rig.devices.inputs, 1)}
    if rig.limits is not None:
        typed["v_max"] = f"{rig.limits.v_max:g}"
    return typed


def usual_sweep() -> Typed:
    """The sweep's fields as they start."""
    table = SweepTable()
    return {key: f"{getattr(table, key):g}" for key in SWEEP}
