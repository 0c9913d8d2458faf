"""``/takes/<id>``: can this recording be trusted? Verdicts in words first, curves below."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.job import work
from halfroll.app.pages.take_curves import curves
from halfroll.app.pages.words import moment, space, volts
from halfroll.app.view import show
from halfroll.compare.residues import ResidueReport, report_of
from halfroll.compare.take import cautions_of_take, readings_beside, siblings
from halfroll.core.errors import InputError
from halfroll.core.progress import part
from halfroll.core.text import format_stated, format_value
from halfroll.core.verdicts import Verdict
from halfroll.figures.rules import RULES
from halfroll.figures.types import TakeReadings
from halfroll.measure.analysis.response import Response
from halfroll.workshop import Loaded, TakeRecord, Workshop, derive
from halfroll.workshop.rig_state import TableState, states
from halfroll.workshop.rig_time import CHANNELS, rig_at


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/takes/{take_id:path}", workshop_name=lambda: workshop.name)
    async def take_page(take_id: str) -> None:
        frame.need(workshop, take_id, "take")
        frame.title(f"Take {take_id}")
        loaded = workshop.take(take_id)
        found = await work("Analysing the take", lambda progress: _look(workshop, take_id, progress))
        _head(workshop, loaded, found)
        _actions(workshop, loaded, found.response)
        if found.response is not None:
            curves(found.response, found.report)
        _foot(workshop, loaded, found)


@dataclass(frozen=True, kw_only=True)
class _Found:
    """What is known of a take: readings; response and what it holds above its harmonics, unless they cannot be had; and what
    the rest of the version says of it.
    """

    readings: TakeReadings
    response: Response | None = None
    report: ResidueReport | None = None
    cautions: tuple[Verdict, ...] = ()

    @property
    def verdicts(self) -> list[Verdict]:
        """Everything that is said of the take, each once."""
        added = () if self.report is None else self.report.verdicts
        own = {verdict.code for verdict in self.readings.verdicts}
        return [*self.readings.verdicts, *self.cautions, *(v for v in added if v.code not in own)]


def _look(workshop: Workshop, take_id: str, progress: Any) -> _Found:
    readings = readings_beside(workshop, take_id, part(progress, 0.0, 0.8))
    cautions = cautions_of_take(workshop, take_id)
    try:
        response = derive.response(workshop, take_id)
        report = report_of(workshop, readings, siblings(workshop, take_id), part(progress, 0.8, 1.0))
    except InputError:  # the readings say why, as a verdict
        return _Found(readings=readings, cautions=cautions)
    return _Found(readings=readings, response=response, report=report, cautions=cautions)


def _head(workshop: Workshop, loaded: Loaded[TakeRecord], found: _Found) -> None:
    driver, version, unit, name = loaded.id.split("/")
    version_id = f"{driver}/{version}"
    record, readings = loaded.record, found.readings
    if record.leave_out:
        standing = f"Left out of the figures: {record.leave_out}"
    elif readings.usable:
        standing = "Counts in the figures."
    else:
        standing = "Does not count in the figures, for the reasons below."
    show(
        "take_head.html",
        steps=[
            ("Drivers", "/"),
            (workshop.driver(driver).record.title, f"/#{driver}"),
            (version, address.of_version(version_id)),
            (f"unit {unit}", address.of_unit(f"{version_id}/{unit}")),
        ],
        name=name,
        line=". ".join(filter(None, (moment(record.when), record.note))),
        standing=standing,
        standing_bad=not readings.usable,
        verdicts=sorted([*found.verdicts, *loaded.notes], key=lambda v: -v.severity),
    )


def _actions(workshop: Workshop, loaded: Loaded[TakeRecord], response: Response | None) -> None:
    """Gate, and whether the take counts; saved only if nobody changed the record since the page was opened."""

    def save(**changes: Any) -> None:
        workshop.save(loaded, loaded.record.changed(**changes))
        ui.navigate.reload()

    with el("section", cls="block no-print"), el("div", cls="two"):
        with el("div", cls="block"):
            _gate(loaded.record, response, save)
        with el("div", cls="block"):
            _leave_out(loaded.record, save)


def _gate(record: TakeRecord, response: Response | None, save: Callable[..., None]) -> None:
    fixed = not isinstance(record.gate_ms, str)
    el("h2", "Gate")
    el("p", _gate_words(response), cls="quiet")
    with el("div", cls="fields"):
        choice = Field(
            "gate", "Window on the impulse response", tag="select", value="ms" if fixed else str(record.gate_ms),
            choices=(("auto", "up to the first reflection"), ("none", "none: the whole response"),
                     ("ms", "a length of my own")),
            on_change=lambda field: length.show(field.value == "ms"),
        )  # fmt: skip
        length = Field(
            "gate_ms", "Length, ms", value=f"{record.gate_ms:g}" if fixed else "", inputmode="decimal"
        )
        length.show(fixed)

    def set_gate() -> None:
        gate: float | str = choice.value
        if gate == "ms":
            try:
                gate = float(length.value.replace(",", "."))
            except ValueError:
                length.error(f"A number of milliseconds is wanted; found {length.value!r}.")
                return
            if not 0.5 <= gate <= 1000:
                length.error("The length must be 0.5 to 1000 ms.")
                return
        save(gate_ms=gate)

    with el("div", cls="actions"):
        button("Set the gate", set_gate).mark("set-gate")


def _gate_words(response: Response | None) -> str:
    if response is None or response.gate.length_s is None:
        return "The whole response is used, reflections included."
    gate = response.gate
    text = f"{format_value(1e3 * (gate.length_s or 0), None, 'ms')}: valid from {format_value(gate.valid_from_hz, None, 'Hz')}."
    if gate.reflection_s is not None and gate.reflection_db is not None:
        text += (
            f" First reflection after {format_value(1e3 * gate.reflection_s, None, 'ms')}, "
            f"{format_value(gate.reflection_db, None, 'dB')} re direct sound."
        )
    return text


def _leave_out(record: TakeRecord, save: Callable[..., None]) -> None:
    el("h2", "Counting it")
    if record.leave_out:
        el("p", f"Left out: {record.leave_out}")
        with el("div", cls="actions"):
            button("Take it in again", lambda: save(leave_out="")).mark("take-in")
        return
    reason = Field("reason", "Reason to leave it out of the figures",
                   hint="Can be undone. The recording stays; the reason stands beside every figure.")  # fmt: skip

    def leave_out() -> None:
        if not reason.value:
            reason.error("Say why, in a few words.")
            reason.focus()
            return
        save(leave_out=reason.value)

    with el("div", cls="actions"):
        button("Leave it out", leave_out).mark("leave-out")


def _foot(workshop: Workshop, loaded: Loaded[TakeRecord], found: _Found) -> None:
    record, conditions = loaded.record, found.readings.conditions
    show(
        "take_foot.html",
        readings=list(_readings(found.readings)),
        usable=found.readings.usable,
        conditions=[
            ("Drive", volts(conditions)),
            ("Distance", format_stated(conditions.distance_m, "m")),
            ("Space", space(conditions.space)),
            ("Air", "" if record.temperature_c is None else format_stated(record.temperature_c, "degC")),
            ("Rated impedance", _ohm(conditions.rated_impedance_ohm)),
        ],
        rig=_rig_facts(workshop, record),
        rig_href=address.of_rig(record.rig) if record.rig in workshop.rig_names() else "",
        recording=[
            *((audio.file, ", ".join(f"channel {n + 1} {role}" for n, role in enumerate(audio.roles)))
              for audio in record.audio),
            ("Content hash", ", ".join(audio.sha256[:12] for audio in record.audio)),
            ("Sweep", _sweep_words(record)),
            ("Record", str(loaded.path.relative_to(workshop.folder))),
        ],
    )  # fmt: skip


def _readings(readings: TakeReadings) -> Any:
    for rule in RULES:
        reading = readings.readings.get(rule.key)
        if reading is None:
            continue
        if reading.value is None:
            yield rule.label, "–", reading.missing
            continue
        sign = {"upper": "≤ ", "lower": "≥ "}.get(reading.bound or "", "")
        at = (
            ""
            if reading.at_hz is None or rule.unit == "Hz"
            else f" at {format_value(reading.at_hz, None, 'Hz')}"
        )
        yield (
            rule.label,
            sign + format_value(reading.value, reading.u, rule.unit) + at,
            " ".join(reading.cautions),
        )


def _rig_facts(workshop: Workshop, record: TakeRecord) -> list[tuple[str, str]]:
    """What the rig stated at the time of the take."""
    try:
        rig = rig_at(workshop.rig(record.rig).record, record.when, record.roles).record
    except InputError as fault:
        return [("Name", record.rig), ("Fault", str(fault))]
    return [
        ("Name", (rig.title and f"{rig.title} ({record.rig})") or record.rig),
        *((state.name, _rig_state(state)) for state in states(rig, record.when.date()) if state.table in CHANNELS),
        ("Notes", rig.notes),
    ]  # fmt: skip


def _rig_state(state: TableState) -> str:
    if not state.value:
        return ""
    u = (
        ""
        if state.u_db is None
        else f", standard uncertainty {format_stated(float(f'{state.u_db:.2g}'), 'dB')}"
    )
    return f"{state.value}{u}; {state.date or 'no date'}"


def _sweep_words(record: TakeRecord) -> str:
    sweep = record.sweep
    return (
        f"{format_stated(sweep.start_hz, 'Hz')} to {format_stated(sweep.stop_hz, 'Hz')} in "
        f"{format_stated(sweep.duration_s, 's')}, {sweep.rate_hz} samples a second"
    )


def _ohm(value: float | None) -> str:
    return "" if value is None else format_stated(value, "ohm")
