"""From what was typed into the import page to a take in the workshop: every field checked, then everything made.

Nothing is written before all that was typed is right. Records made on the way (driver, version, unit, rig) are put
into the typed values, so that a second attempt finds them instead of making them again.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from halfroll.app.intake import PAGE, Kept
from halfroll.app.typed import Errors, Typed, new_name, number_or_text, numbers, record_of, without_place
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress
from halfroll.measure.recording import Role
from halfroll.workshop import (
    DriverRecord,
    NewAudio,
    RigRecord,
    TakeSetup,
    UnitRecord,
    VersionRecord,
    Workshop,
    draft_file,
)
from halfroll.workshop.fields import Record
from halfroll.workshop.paths import slug

NEW = "+"
"""Stands in a choice for: a new one."""

SWEEP_KEYS = ("start_hz", "stop_hz", "duration_s", "rate_hz", "level", "fade_in_s", "fade_out_s", "silence_before_s",
              "silence_after_s")  # fmt: skip


@dataclass
class Plan:
    """What is to be made; None stands for what is there already."""

    driver: tuple[str, DriverRecord] | None = None
    version: tuple[str, VersionRecord] | None = None
    unit: tuple[str, UnitRecord] | None = None
    rig: tuple[str, RigRecord] | None = None
    unit_id: str = ""
    setup: TakeSetup | None = None
    when: dt.datetime | None = None
    name: str = ""
    takes: tuple[tuple[Kept, ...], ...] = ()


@dataclass
class Checked:
    """A plan, and what is wrong by field; the plan counts only when nothing is."""

    plan: Plan = field(default_factory=Plan)
    errors: Errors = field(default_factory=dict)


def check_typed(workshop: Workshop, typed: Typed, files: Sequence[Kept]) -> Checked:
    """Check everything that was typed; all that is wrong is said at once, each under its field."""
    found = check_subject(workshop, typed)
    _check_rig(workshop, typed, found)
    _check_setup(typed, found)
    _check_files(typed, files, found)
    return found


def check_subject(workshop: Workshop, typed: Typed) -> Checked:
    """Driver, version and unit: each one that is there, or a new one with its record."""
    found = Checked()
    driver = typed.get("driver", NEW)
    drivers = workshop.driver_ids()
    if driver not in drivers:
        driver = new_name(typed.get("driver_title", ""), "driver", "driver_title", drivers, found.errors)
        values = {"title": typed.get("driver_title") or "-", "aim": typed.get("driver_aim", "")}
        found.plan.driver = _maybe(driver, record_of(DriverRecord, values, "driver_", found.errors))
    version = typed.get("version", NEW)
    versions = workshop.version_ids(driver) if driver in drivers else []
    if f"{driver}/{version}" not in versions:
        names = [id_.split("/")[1] for id_ in versions]
        version = new_name(typed.get("version_name", ""), "version", "version_name", names, found.errors)
        found.plan.version = _maybe(
            version, record_of(VersionRecord, _version_values(typed), "version_", found.errors)
        )
    version_id = f"{driver}/{version}"
    unit = typed.get("unit", NEW)
    units = [id_.split("/")[2] for id_ in workshop.unit_ids(version_id)] if version_id in versions else []
    if unit not in units:
        unit = new_name(typed.get("unit_name", ""), "unit", "unit_name", units, found.errors)
        as_built = numbers(typed, "unit_", ("re_ohm", "moving_mass_g"))
        values = {"built_by": typed.get("unit_built_by", ""), **as_built}
        found.plan.unit = _maybe(unit, record_of(UnitRecord, values, "unit_", found.errors))
    found.plan.unit_id = f"{version_id}/{unit}"
    return found


def _version_values(typed: Typed) -> dict[str, Any]:
    values: dict[str, Any] = {
        "title": typed.get("version_title", ""),
        "summary": typed.get("version_summary", ""),
        **numbers(typed, "version_", ("rated_impedance_ohm", "rated_power_w", "effective_area_cm2")),
    }
    if parent := typed.get("version_parent"):
        values["parent"] = parent
    if what := typed.get("version_what"):
        values["changes"] = [{"what": what, "why": typed.get("version_why", "")}]
    return values


def _check_rig(workshop: Workshop, typed: Typed, found: Checked) -> None:
    rig = typed.get("rig", NEW)
    if rig != NEW and rig in workshop.rig_names():
        return
    title = typed.get("rig_title", "")
    name = new_name(title, "rig", "rig_title", workshop.rig_names(), found.errors)
    scales = (
        ("microphone", "pa_per_full_scale"),
        ("voltage", "v_per_full_scale"),
        ("current", "a_per_full_scale"),
    )
    values: dict[str, Any] = {"title": title}
    for table, key in scales:
        scale = number_or_text(typed.get(f"rig_{table}", ""))
        if scale is not None:
            u_db = number_or_text(typed.get(f"rig_{table}_u_db", ""))
            values[table] = {key: scale, **({} if u_db is None else {"u_db": u_db})}
    found.plan.rig = _maybe(name, record_of(RigRecord, values, "rig_", found.errors, fields=_RIG_FIELDS))


_RIG_FIELDS = {
    f"rig_{table}.{key}": f"rig_{table}{'_u_db' if key == 'u_db' else ''}"
    for table, own in (
        ("microphone", "pa_per_full_scale"),
        ("voltage", "v_per_full_scale"),
        ("current", "a_per_full_scale"),
    )
    for key in (own, "u_db")
}
"""Under which field a fault in a table of the rig is said."""


def _check_setup(typed: Typed, found: Checked) -> None:
    rig = found.plan.rig[0] if found.plan.rig else typed.get("rig", "")
    values: dict[str, Any] = {
        "rig": rig if rig != NEW else "?",
        "space": typed.get("space") or None,
        "note": typed.get("note", ""),
    }
    for key in ("drive_v", "distance_m", "temperature_c"):
        values[key] = number_or_text(typed.get(key, ""))
    values["sweep"] = {
        key: value for key in SWEEP_KEYS if (value := number_or_text(typed.get(f"sweep_{key}", ""), whole=key == "rate_hz"))
        is not None
    }  # fmt: skip
    setup = record_of(_Setup, {k: v for k, v in values.items() if v is not None}, "", found.errors,
                    fields={f"sweep.{key}": f"sweep_{key}" for key in SWEEP_KEYS})  # fmt: skip
    found.plan.setup = (
        None if setup is None else TakeSetup(**{k: getattr(setup, k) for k in TakeSetup.model_fields})
    )
    try:
        found.plan.when = dt.datetime.fromisoformat(typed["when"]) if typed.get("when") else None
    except ValueError:
        found.errors["when"] = (
            f"A date and time is wanted, such as 2026-03-31T14:05; found {typed['when']!r}."
        )
    if name := typed.get("name", ""):
        found.plan.name = new_name(name, "take", "name", [], found.errors)


class _Setup(TakeSetup, Record):
    """The setup as a record of its own, so that it is checked like one."""

    kind = "take"


def _check_files(typed: Typed, files: Sequence[Kept], found: Checked) -> None:
    if not files:
        found.errors["files"] = "A recording is needed: drop a WAV or FLAC file above."
        return
    groups = (
        [tuple(files)] if typed.get("together", "one") == "one" or len(files) == 1 else [(f,) for f in files]
    )
    for group in groups:
        roles = [role for kept in group for role in kept.roles if role != Role.UNUSED]
        if Role.MICROPHONE not in roles:
            found.errors[f"roles_{group[0].token}"] = "One channel must be the microphone."
        elif len(roles) != len(set(roles)):
            found.errors[f"roles_{group[0].token}"] = "Each role may be given to one channel only."
    found.plan.takes = tuple(groups)


def make(workshop: Workshop, plan: Plan, typed: Typed, progress: Progress) -> list[str]:
    """Do it. Returns the ids of the takes.

    Raises
    ------
    InputError
        A recording is damaged or in the workshop already, or something appeared meanwhile. What was made until then
        stays and stands in `typed`.
    """
    assert plan.setup is not None
    audio = []
    for n, group in enumerate(plan.takes):
        progress(0.5 * n / len(plan.takes), f"Reading {group[0].name}")
        audio.append([_audio(workshop, kept) for kept in group])
    progress(0.5, "Writing the records")
    _make_records(workshop, plan, typed)
    made = []
    for n, (group, recordings) in enumerate(zip(plan.takes, audio, strict=True)):
        progress(0.5 + 0.5 * n / len(plan.takes), f"Copying {group[0].name}")
        when = plan.when or dt.datetime.fromisoformat(group[0].written)
        name = free_name(workshop, plan, when, group[0])
        made.append(workshop.add_take(plan.unit_id, name, plan.setup, when, recordings).id)
    return made


def _audio(workshop: Workshop, kept: Kept) -> NewAudio:
    path = draft_file(workshop, PAGE, kept.token)
    try:
        return NewAudio.from_file(path, [Role(role) for role in kept.roles], name=kept.name)
    except InputError as error:
        raise InputError(f"{kept.name}: {without_place(error)}") from error


def _make_records(workshop: Workshop, plan: Plan, typed: Typed) -> None:
    if plan.rig is not None:
        workshop.create_rig(*plan.rig)
        typed["rig"] = plan.rig[0]
    make_subject(workshop, plan, typed)


def make_subject(workshop: Workshop, plan: Plan, typed: Typed) -> None:
    """Make driver, version and unit as far as they are new; what was made stands in `typed`."""
    driver, version, _ = plan.unit_id.split("/")
    if plan.driver is not None:
        workshop.create_driver(*plan.driver)
        typed["driver"] = driver
    if plan.version is not None:
        workshop.create_version(driver, *plan.version)
        typed["version"] = version
    if plan.unit is not None:
        workshop.create_unit(f"{driver}/{version}", *plan.unit)
        typed["unit"] = plan.unit[0]


def free_name(workshop: Workshop, plan: Plan, when: dt.datetime, first: Kept) -> str:
    """The name typed for the take, else its date and the file's name; with a number behind it when it is taken."""
    stem = slug(first.name.rpartition(".")[0])
    name = plan.name or slug(f"{when:%Y-%m-%d}-{stem or 'take'}"[:70])
    taken = {take.rpartition("/")[2] for take in workshop.take_ids(plan.unit_id)}
    if name not in taken:
        return name
    return next(f"{name}-{n}" for n in range(2, len(taken) + 3) if f"{name}-{n}" not in taken)


def _maybe(name: str, record: Any) -> Any:
    return (name, record) if name and record is not None else None
