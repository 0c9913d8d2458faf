"""``/power/<driver>/<version>/<unit>/<name>``: what a unit bore, how warm it got, and what changed; a step can be added."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nicegui import ui

from halfroll.app import frame
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.pages.tones import steps_of
from halfroll.app.pages.words import moment
from halfroll.app.typed import number_or_text, said_at_field
from halfroll.app.view import show
from halfroll.core.errors import InputError
from halfroll.core.text import format_stated, format_value, format_with_u
from halfroll.core.verdicts import Severity, Verdict, worst
from halfroll.measure.heat.coil_temperature import CoilTemperature, level_change_db
from halfroll.measure.heat.power_log import PowerResult, StepResult, judge
from halfroll.publish.power import temperature_chart
from halfroll.publish.theme import Theme
from halfroll.workshop import Loaded, Workshop
from halfroll.workshop.faults import FaultsError, check
from halfroll.workshop.levels import add_power_step, power_result, start_power_log
from halfroll.workshop.paths import version_of
from halfroll.workshop.power_record import PowerRecord, PowerStepTable
from halfroll.workshop.runs import load_run, run_ids

HEADS = ("Drive", "Hours", "Coil", "Re before, warm, after", "fs before, after", "Level", "Judged")
STEP_FIELDS = (
    ("drive_v", "Drive, V r.m.s.", "What a true r.m.s. meter shows at the terminals."),
    ("hours", "Hours", ""), ("temperature_c", "Air, °C", ""),
    ("re_before_ohm", "DC resistance before, Ω", "Cold."),
    ("re_warm_ohm", "DC resistance warm, Ω", "At once after switching off: it falls within seconds."),
    ("re_after_ohm", "DC resistance after, Ω", "Cold again, after an hour."),
    ("fs_before_hz", "Resonance before, Hz", ""), ("fs_after_hz", "Resonance after, Hz", ""),
    ("level_change_db", "Level after minus before, dB", ""),
)  # fmt: skip
LOG_FIELDS = (
    ("glue_c", "Glue bears, °C"),
    ("filament_c", "Filament bears, °C"),
    ("enamel_c", "Enamel bears, °C"),
)
JUDGED = (
    ("", "not judged yet"),
    ("passed", "passed"),
    ("changed", "changed, still works"),
    ("failed", "failed"),
)


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/power/{driver}/{version}/{unit}/{name}", workshop_name=lambda: workshop.name)
    def power_page(driver: str, version: str, unit: str, name: str) -> None:
        unit_id = f"{driver}/{version}/{unit}"
        frame.need(workshop, unit_id, "unit")
        title = workshop.driver(driver).record.title
        frame.title(f"Power handling {name} of {title} {version}, unit {unit}")
        run_id = f"{unit_id}/power/{name}"
        loaded = load_run(workshop, run_id) if run_id in run_ids(workshop, unit_id, "power") else None
        rated = workshop.version(version_of(unit_id)).record.rated_impedance_ohm
        record = PowerRecord(when=dt.datetime(2000, 1, 1)) if loaded is None else loaded.record
        result = power_result(record)
        _head(unit_id, title, name, loaded, result, rated)
        if result.steps:
            _chart(result, record, rated)
            _steps(result, record, rated)
        _Form(workshop, run_id, loaded)


def _head(
    unit_id: str,
    title: str,
    name: str,
    loaded: Loaded[PowerRecord] | None,
    result: PowerResult,
    rated: float | None,
) -> None:
    verdicts = [verdict for one in result.steps for verdict in one.verdicts]
    bad = worst(verdicts) is Severity.BAD
    standing = "This log is not begun yet. Its first step begins it." if loaded is None else "No step yet."
    if result.steps:
        last = "The last steps were too much." if bad else "Nothing speaks against the steps so far."
        borne = (
            "no step was borne"
            if result.borne_v is None
            else f"borne so far: {_drive(result.borne_v, rated)}"
        )
        standing = f"{last} {borne[0].upper()}{borne[1:]}."
    coils = [one.coil for one in result.steps if one.coil is not None]
    hottest = max(coils, key=lambda coil: coil.temperature_c, default=None)
    show(
        "power_head.html",
        steps=steps_of(unit_id, title),
        name=f"Power handling {name}",
        line="" if loaded is None else ". ".join(filter(None, (moment(loaded.record.when), loaded.record.signal, loaded.record.note))),
        standing=standing,
        alert=bad,
        numbers=[
            *([("Borne", _drive(result.borne_v, rated))] if result.borne_v is not None else []),
            *([("Hours", f"{result.hours:g}")] if result.steps else []),
            *([("Hottest coil", format_with_u(hottest.temperature_c, 1.96 * hottest.u_k, "degC", digits=1))] if hottest is not None else []),
        ],
    )  # fmt: skip


def _drive(volts: float, rated: float | None) -> str:
    text = format_value(volts, None, "V")
    return text if rated is None else f"{format_stated(float(f'{volts**2 / rated:.2g}'), 'W')}, {text}"


def _chart(result: PowerResult, record: PowerRecord, rated: float | None) -> None:
    def make(look: Theme, width_px: int) -> dict[str, Any]:
        made = temperature_chart(result, record.limits().lowest, rated, theme=look, width_px=width_px)
        assert made is not None
        return made

    if sum(one.coil is not None for one in result.steps) < 2:
        return
    with el("section", cls="block", aria_label="Temperature"), el("div", cls="charts"), el("figure"):
        Chart(make).mark("chart-temperature")


def _steps(result: PowerResult, record: PowerRecord, rated: float | None) -> None:
    show(
        "power_steps.html",
        heads=HEADS,
        rows=[_row(one, rated) for one in result.steps],
        limits=[
            *((label.partition(" bears")[0], "" if (value := getattr(record, key)) is None else format_stated(value, "degC"))
              for key, label in LOG_FIELDS),
            ("Wire", record.metal),
        ],
    )  # fmt: skip


def _row(one: StepResult, rated: float | None) -> dict[str, Any]:
    step = one.step
    coil = "" if one.coil is None else _coil(one.coil)
    verdicts: list[Verdict] = sorted(one.verdicts, key=lambda v: -v.severity)
    return {
        "cells": [
            _drive(step.drive_v, rated),
            f"{step.hours:g}",
            coil,
            _series("ohm", step.re_before_ohm, step.re_warm_ohm, step.re_after_ohm),
            _series("Hz", step.fs_before_hz, step.fs_after_hz),
            "" if step.level_change_db is None else format_value(step.level_change_db, None, "dB", sign=True),
            step.judged or "",
        ],
        "verdicts": verdicts,
        "note": step.note,
    }


def _coil(coil: CoilTemperature) -> str:
    """Temperature, and what the heat costs at constant voltage."""
    warm = format_with_u(coil.temperature_c, 1.96 * coil.u_k, "degC", digits=1)
    return f"{warm}, {format_value(level_change_db(max(coil.rise_k, 0.0), coil.metal), None, 'dB')}"


def _series(unit: str, *values: float | None) -> str:
    """Readings in a row, all with the decimals of the finest; empty when there is none."""
    if all(value is None for value in values):
        return ""
    decimals = max(len(f"{value:.6g}".partition(".")[2]) for value in values if value is not None)
    texts = ["–" if value is None else f"{value:.{decimals}f}" for value in values]
    return f"{', '.join(texts)} {'Ω' if unit == 'ohm' else unit}"


class _Form:
    """The form for the next step; saved only if nobody changed the log since the page was opened."""

    def __init__(self, workshop: Workshop, run_id: str, loaded: Loaded[PowerRecord] | None) -> None:
        self._workshop, self._run_id, self._loaded = workshop, run_id, loaded
        record = None if loaded is None else loaded.record
        with el("section", cls="block no-print", aria_label="Add a step"):
            el("h2", "Add a step")
            with el("div", cls="fields"):
                self._fields = {
                    key: Field(key, label, hint=hint, inputmode="decimal") for key, label, hint in STEP_FIELDS
                }
                self._judged = Field("judged", "Your verdict", tag="select", choices=JUDGED)
                self._note = Field("note", "Seen, heard or smelt")
            el("h3", "What the parts bear")
            with el("div", cls="fields"):
                self._limits = {key: Field(key, label, inputmode="decimal", value=_text(record, key), hint="As its maker states." if key == "glue_c" else "")
                                for key, label in LOG_FIELDS}  # fmt: skip
                self._signal = Field("signal", "What is played", value=record.signal if record else "")
                self._metal = Field("metal", "Wire", tag="select", value=record.metal if record else "copper",
                                    choices=(("copper", "copper"), ("aluminium", "aluminium")))  # fmt: skip
            self._fault = el("p", cls="error", role="alert").mark("power-fault")
            with el("div", cls="actions"):
                button("Add the step", self._add, main=True).mark("add-step")

    def _add(self) -> None:
        every = {**self._fields, **self._limits}
        for field in every.values():
            field.error("")
        self._fault.text = ""
        now = dt.datetime.now().astimezone().replace(microsecond=0)
        typed = {key: number_or_text(field.value) for key, field in self._fields.items()}
        step: dict[str, Any] = {key: value for key, value in typed.items() if value is not None}
        step |= {"when": now, "note": self._note.value, "judged": self._judged.value or None}
        about: dict[str, Any] = {key: number_or_text(field.value) for key, field in self._limits.items()}
        about |= {"signal": self._signal.value, "metal": self._metal.value}
        try:
            self._save(check(PowerStepTable, step, file=""), {"when": now, **about})
        except FaultsError as error:
            self._say(error.faults)
        except InputError as error:
            self._say((error,))
        else:
            ui.navigate.reload()

    def _save(self, step: PowerStepTable, about: dict[str, Any]) -> None:
        record = check(PowerRecord, about, file="")
        judge([step.step()], record.limits(), record.metal)
        changes = {key: value for key, value in about.items() if key != "when"}
        if self._loaded is None:
            unit_id, _, name = self._run_id.rsplit("/", 2)
            start_power_log(self._workshop, unit_id, name, record)
        add_power_step(self._workshop, self._run_id, step, **changes)

    def _say(self, faults: tuple[InputError, ...]) -> None:
        """Each fault under its field, or below all where it belongs to none."""
        every = {**self._fields, **self._limits}
        for fault in faults:
            field = every.get(fault.place.key or "")
            if field is None:
                self._fault.text = str(fault)
            else:
                field.error(said_at_field(fault))


def _text(record: PowerRecord | None, key: str) -> str:
    value = None if record is None else getattr(record, key)
    return "" if value is None else f"{value:g}"
