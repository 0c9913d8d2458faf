"""A form that works out a calibration of a rig: files and numbers in, a proposal with its budget out, kept on request."""

from __future__ import annotations

import datetime as dt
import secrets
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fastapi import UploadFile
from nicegui import app, ui

from halfroll.app import address
from halfroll.app.dom import Plain, el
from halfroll.app.field import Choices, Field, button
from halfroll.app.intake import DropZone
from halfroll.app.job import work
from halfroll.app.typed import number_or_text, without_place
from halfroll.app.view import show
from halfroll.core.errors import HalfrollError, InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.text import MINUS, THIN, format_stated
from halfroll.measure.rig.budget import Contribution
from halfroll.workshop import Workshop, clear_draft, draft_file, keep_draft_file
from halfroll.workshop.calibrate import Proposal, keep

URL = "/rigs/file"
PAGE = "rig"
AUDIO = ".wav,.flac"


def register(workshop: Workshop) -> None:
    """Add the route files are sent to."""

    @app.post(URL)
    def receive_calibration(file: UploadFile) -> dict[str, Any]:
        name = file.filename or "recording"
        token = f"{secrets.token_hex(6)}{Path(name).suffix.lower()[:6]}".removesuffix(".toml")
        try:
            keep_draft_file(workshop, PAGE, token, file.file)
        except InputError as error:
            return {"name": name, "refused": without_place(error)}
        return {"name": name, "token": token}


@dataclass(frozen=True, kw_only=True)
class Ask:
    """One field: key, words, hint, where it starts, and choices of a list."""

    key: str
    label: str
    hint: str = ""
    value: str = ""
    choices: Choices = ()


@dataclass(frozen=True, kw_only=True)
class Slot:
    """One place for files: key, words, what may be dropped, and whether several."""

    key: str
    label: str
    accept: str = AUDIO
    kinds: str = "WAV or FLAC"
    several: bool = False


@dataclass
class Given:
    """What was typed and dropped, as it is asked for."""

    workshop: Workshop
    typed: dict[str, str]
    files: dict[str, list[tuple[str, str]]] = field(default_factory=dict)
    progress: Progress = silent
    """Of the work that is being done; may cancel it."""

    def text(self, key: str) -> str:
        """What stands in a field."""
        return self.typed.get(key, "")

    def number(self, key: str, what: str, default: float | None = None) -> float:
        """The number in a field; `InputError` with its key when it holds none."""
        value = number_or_text(self.text(key))
        if value is None and default is not None:
            return default
        if not isinstance(value, float):
            raise InputError(f"{what} must be a number", key=key, found=repr(value) if value else "nothing")
        return value

    def maybe(self, key: str, what: str) -> float | None:
        """The number in a field, None when it is empty."""
        return None if not self.text(key) else self.number(key, what)

    def date(self) -> dt.date:
        """The day in the field ``date``; today when it is empty."""
        try:
            return dt.date.fromisoformat(self.text("date")) if self.text("date") else dt.date.today()
        except ValueError:
            raise InputError(
                "The date must be a day such as 2026-03-31", key="date", found=repr(self.text("date"))
            ) from None

    def paths(self, slot: str) -> list[Path]:
        """The files of a place."""
        return [draft_file(self.workshop, PAGE, token) for token, _ in self.files.get(slot, [])]

    def path(self, slot: str, what: str) -> Path:
        """The one file of a place; `InputError` when there is none."""
        found = self.paths(slot)
        if not found:
            raise InputError(f"{what} is needed: drop it above", key=slot)
        return found[-1]

    def name(self, slot: str) -> str:
        """The name a person knows the file of a place by."""
        return self.files[slot][-1][1]


class CalibrationForm:
    """One calibration on the page of a rig, folded up until it is wanted."""

    def __init__(
        self, workshop: Workshop, key: str, title: str, intro: str, *, asks: Sequence[Ask] = (), slots: Sequence[Slot] = (),
        propose: Callable[[Given], Proposal], beware: str = "",
    ) -> None:  # fmt: skip
        self.key, self.propose = key, propose
        self.given = Given(workshop, {ask.key: ask.value for ask in asks})
        self.fields: dict[str, Field] = {}
        self.notes: dict[str, Plain] = {}
        with el("details", id=f"calibrate-{key}") as self.box:
            el("summary", title)
            with el("div", cls="stack"):
                el("p", intro, cls="prose")
                if beware:
                    with el("div", cls="beware"):
                        el("p", beware)
                with el("div", cls="two"):
                    for slot in slots:
                        self._slot(slot)
                with el("div", cls="fields"):
                    for ask in asks:
                        self._field(ask)
                    self._field(Ask(key="date", label="Day", value=dt.date.today().isoformat()), kind="date")
                self.given.typed["date"] = dt.date.today().isoformat()
                with el("div", cls="actions"):
                    button("Work it out", self._work, main=True).mark(f"work-{key}")
                self.result = el("div", cls="block", role="status").mark(f"result-{key}")

    def _field(self, ask: Ask, kind: str = "text") -> None:
        def changed(changed_field: Field) -> None:
            self.given.typed[ask.key] = changed_field.value
            changed_field.error("")

        made = Field(
            ask.key, ask.label, hint=ask.hint, value=ask.value, kind=kind, choices=ask.choices, on_change=changed,
            tag="select" if ask.choices else "input",
        )  # fmt: skip
        made.control.mark(f"{self.key}-{ask.key}")
        self.fields[ask.key] = made

    def _slot(self, slot: Slot) -> None:
        def kept(answer: dict[str, Any]) -> None:
            entry = (answer["token"], answer["name"])
            self.given.files[slot.key] = (
                [*self.given.files.get(slot.key, []), entry] if slot.several else [entry]
            )
            note.text = ", ".join(name for _, name in self.given.files[slot.key])

        def refused(name: str, why: str) -> None:
            note.text = f"{name}: {why}"

        with el("div", cls="field"):
            el("p", slot.label, cls="label")
            DropZone(
                on_kept=kept,
                on_refused=refused,
                url=URL,
                accept=slot.accept,
                kinds=slot.kinds,
                name=f"{self.key}-{slot.key}",
            ).mark(f"{self.key}-{slot.key}")
            note = el("p", cls="quiet", role="status")
            self.notes[slot.key] = el("p", cls="error")

    async def _work(self) -> None:
        for made in self.fields.values():
            made.error("")
        for note in self.notes.values():
            note.text = ""
        self.result.clear()
        try:
            with self.result:
                proposal = await work("Working it out", self._propose)
        except InputError as error:
            self._say(error)
            return
        with self.result:
            self._show(proposal)

    def _propose(self, progress: Progress) -> Proposal:
        self.given.progress = progress
        return self.propose(self.given)

    def _say(self, error: InputError) -> None:
        """A fault at its field or at its file, else under the button."""
        key = error.place.key or ""
        if key in self.fields:
            self.fields[key].error(without_place(error))
            self.fields[key].focus()
        elif key in self.notes:
            self.notes[key].text = without_place(error)
        else:
            with self.result:
                el("p", without_place(error), cls="alert", role="alert")

    def _show(self, proposal: Proposal) -> None:
        show("rig_result.html", facts=list(facts_of(proposal)), budget=budget_of(proposal.contributions),
             verdicts=sorted(proposal.verdicts, key=lambda v: -v.severity))  # fmt: skip
        note = Field("note", "Why the calibration before is replaced, or what was changed")
        with el("div", cls="actions"):
            label = "Keep this calibration" if proposal.good else "Keep it anyway"
            button(label, lambda: self._keep(proposal, note.value), main=proposal.good).mark(
                f"keep-{self.key}"
            )

    def _keep(self, proposal: Proposal, note: str) -> None:
        try:
            keep(self.given.workshop, proposal, anyway=True, note=note)
        except HalfrollError as error:
            with self.result:
                el("p", str(error), cls="alert", role="alert")
            return
        clear_draft(self.given.workshop, PAGE)
        ui.navigate.to(address.of_rig(proposal.rig))


_WORDS = {
    "pa_per_full_scale": ("Full scale", "Pa"), "full_scale_db": ("A sine at full scale", "dB"), "u_db": ("Standard uncertainty", "dB"),
    "frequency_hz": ("Frequency found", "Hz"), "level_in_recording_db_re_full_scale": ("Level in the recording", "dB re full scale"),
    "duration_s": ("Steady tone", "s"), "fluctuation_db": ("Fluctuation", "dB"), "trend_db": ("Drift", "dB"),
    "residual_percent": ("Distortion and noise", "%"), "v_per_full_scale": ("Full scale", "V"), "at_hz": ("Read at", "Hz"),
    "peak": ("Peak in the recording", "of full scale"), "resistance_ohm": ("Resistor", "ohm"),
    "resistance_u_ohm": ("Its standard uncertainty", "ohm"), "gain_db": ("Gain against the voltage channel", "dB"),
    "delay_us": ("Delay against the voltage channel", "µs"), "residual_db": ("What both leave over", "dB"),
    "known_ohm": ("Known resistor", "ohm"), "measured_ohm": ("It comes out as", "ohm"), "phase_deg": ("Its phase", "degrees"),
    "samples": ("Delay", "samples"), "u_samples": ("Between repeats", "samples"), "delay_ms": ("Delay", "ms"),
    "rate_hz": ("Sample rate", "Hz"), "runs": ("Loops", ""), "likeness": ("Likeness to what was played", ""),
    "from_hz": ("Curve from", "Hz"), "to_hz": ("to", "Hz"), "points": ("Points", ""), "lowest_db": ("Lowest", "dB"),
    "highest_db": ("Highest", "dB"), "correction_u_db": ("Standard uncertainty", "dB"),
}  # fmt: skip


def facts_of(proposal: Proposal) -> Any:
    """What was found, in words."""
    for key, value in proposal.facts.items():
        if key not in _WORDS:
            continue
        if key == "u_samples" and proposal.facts.get("runs") == 1:
            continue  # one loop has nothing between repeats
        name, unit = _WORDS[key]
        yield name, _shown(float(value), unit, digits=2 if key in _ROUGH else 4)


_ROUGH = ("resistance_u_ohm", "residual_percent", "u_samples", "likeness")
"""Facts of which two digits are enough: uncertainties, and what is only small or large."""

LEAST_DB = 0.001
"""Shares of a budget smaller than this are not told apart (dB)."""


def _shown(value: float, unit: str, *, digits: int = 4) -> str:
    """A number with as many digits as a person can use; decibels to the hundredth."""
    if not unit.startswith("dB"):
        return format_stated(float(f"{value:.{digits}g}"), unit)
    if 0 < abs(value) < 0.01:
        return f"under 0.01{THIN}{unit}"
    return f"{value:.2f}{THIN}{unit}".replace("-", MINUS)


def budget_of(parts: Sequence[Contribution]) -> list[tuple[str, str, str, float]]:
    """Rows of a budget: name, limits, standard uncertainty, and share of the variance in percent."""
    whole = sum(part.u_db**2 for part in parts)
    return [
        (
            part.name,
            ""
            if part.half_width_db is None
            else f"limits ±{format_stated(float(f'{part.half_width_db:.2g}'), 'dB')}",
            format_stated(float(f"{part.u_db:.2g}"), "dB")
            if part.u_db >= LEAST_DB
            else f"under {LEAST_DB:g}{THIN}dB",
            100.0 * part.u_db**2 / whole if whole else 0.0,
        )
        for part in parts
    ]
