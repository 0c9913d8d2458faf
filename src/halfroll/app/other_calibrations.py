"""Calibrations beside the bent strip: from a unit's resonance, and from how a strip sinks over time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.job import work
from halfroll.app.strip_form import pairs
from halfroll.app.typed import without_place
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import Progress
from halfroll.materials.calibrate.types import Estimate
from halfroll.publish.calibrations import budget_words, change_words, result_words
from halfroll.workshop import Workshop, clear_draft, load_draft, save_draft
from halfroll.workshop.calibration_readings import resonance_readings, units_to_calibrate
from halfroll.workshop.calibration_record import CalibrationTable
from halfroll.workshop.calibrations import OwnFilament, Trial, add_calibration, try_calibration
from halfroll.workshop.faults import check


class ResonanceForm:
    """A unit to choose, its resonance and moving mass against the stiffness computed for its version; worked out on request."""

    def __init__(self, workshop: Workshop, own: OwnFilament, on_saved: Callable[[], Any]) -> None:
        self.workshop, self.own, self.on_saved = workshop, own, on_saved
        self.table: CalibrationTable | None = None
        units = units_to_calibrate(workshop, own.key)
        if not units:
            el("p", "None yet: it takes a unit whose impedance was measured, of a version with a surround or spider of this plastic. "
               "From numbers alone: halfroll calibrate resonance.", cls="quiet prose")  # fmt: skip
            return
        with el("div", cls="fields"):
            self.unit = Field(
                "resonance-unit",
                "Unit",
                tag="select",
                choices=[(unit, unit) for unit in units],
                value=units[0],
            )
        with el("div", cls="actions"):
            button("Work it out", self._work_out).mark("work-resonance")
        self.panel = el("div")
        self.said = el("div", cls="block", aria_live="polite").mark("resonance-said")

    async def _work_out(self) -> None:
        self.said.clear()
        self.table = None
        unit, key = self.unit.value, self.own.key

        def find(progress: Progress) -> tuple[CalibrationTable, Trial]:
            inside = resonance_readings(self.workshop, unit, key, progress)
            lines = inside.pop("lines")
            table = check(
                CalibrationTable,
                {"date": dt.date.today().isoformat(), "lines": lines, "resonance": inside},
                file="resonance",
            )
            return table, try_calibration(self.workshop, key, table)

        try:
            with self.panel:
                table, trial = await work(f"Comparing {unit} with what is computed", find)
        except CancelledError:
            return
        self.table = table
        with self.said:
            assert table.resonance is not None
            read = table.resonance
            el("p", f"Measured: {read.resonance_hz:.4g} Hz with {read.moving_mass_g:.3g} g. Computed with {read.reference_mpa:.3g} MPa: "
               f"{read.predicted_n_mm:.3g} N/mm in this plastic, {read.rest_n_mm:.3g} N/mm in others.", cls="prose")  # fmt: skip
            _said(trial)
            with el("div", cls="actions"):
                button("Save the calibration", self._save, main=True).mark("save-resonance")

    def _save(self) -> None:
        if self.table is not None:
            add_calibration(self.workshop, self.own.key, self.table, loaded=self.own.loaded)
            self.on_saved()


class CreepForm:
    """Times and deflections under one weight, the slope live beside them, saved on request."""

    def __init__(
        self, workshop: Workshop, own: OwnFilament, like: str | None, on_saved: Callable[[], Any]
    ) -> None:
        self.workshop, self.own, self.like, self.on_saved = workshop, own, like, on_saved
        self.page = f"creep-{own.key}"
        kept = load_draft(workshop, self.page) or {}
        self.readings = Field("creep-readings", "Times, s, and deflections, mm", tag="textarea", rows="6", value=str(kept.get("readings", "")),
                              hint="a line each, such as 60; 12.4 – from when the weight was hung, over an hour or a night", on_change=self._changed)  # fmt: skip
        self.said = el("div", cls="block", aria_live="polite").mark("creep-said")
        with el("div", cls="actions"):
            button("Save the calibration", self._save, main=True).mark("save-creep")
        self._renew()

    def _changed(self, field: Field) -> None:
        save_draft(self.workshop, self.page, {"readings": field.value})
        self._renew()

    def _renew(self) -> None:
        self.readings.error("")
        self.said.clear()
        if len(self.readings.value.splitlines()) < 3:
            return
        try:
            trial = self._trial()
        except InputError as fault:
            self.readings.error(without_place(fault))
            return
        with self.said:
            _said(trial)

    def _table(self) -> CalibrationTable:
        times, sinks = pairs(self.readings.value)
        inside = {"date": dt.date.today().isoformat(), "creep": {"times_s": times, "deflections_mm": sinks}}
        return check(CalibrationTable, inside, file="creep")

    def _trial(self) -> Trial:
        return try_calibration(self.workshop, self.own.key, self._table(), like=self.like)

    def _save(self) -> None:
        try:
            self._trial()
            add_calibration(
                self.workshop, self.own.key, self._table(), like=self.like, loaded=self.own.loaded
            )
        except InputError as fault:
            if fault.place.file not in (None, "creep"):
                raise
            self.readings.error(without_place(fault))
            return
        clear_draft(self.workshop, self.page)
        self.on_saved()


def _said(trial: Trial) -> None:
    words = result_words(trial.result)
    el("p", f"{words[0].upper()}{words[1:]}.").mark("calibration-words")
    if isinstance(trial.result, Estimate):
        el("p", f"Uncertainty from: {budget_words(trial.result)}.", cls="small quiet")
        el("p", change_words(trial.before, trial.after, saved=False))
    if trial.result.verdicts:
        show("verdicts.html", tag="div", verdicts=trial.result.verdicts)
