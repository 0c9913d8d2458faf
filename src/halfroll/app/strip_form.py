"""The form of a strip test: dimensions and readings in, the modulus live beside them, saved on request."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from halfroll.app.dom import el
from halfroll.app.drawing import Drawing
from halfroll.app.field import Choices, Field, button
from halfroll.app.typed import Typed, number_or_text, said_at_field, without_place
from halfroll.app.view import show
from halfroll.core.errors import ConflictError, InputError
from halfroll.materials.calibrate.types import Estimate, Setup
from halfroll.publish.calibrations import budget_words, change_words, pascals, range_words
from halfroll.publish.strip_drawing import SetupDrawing, setup_svg, setup_words
from halfroll.publish.theme import Theme
from halfroll.workshop import Workshop, clear_draft, load_draft, save_draft
from halfroll.workshop.calibration_record import CalibrationTable, StripTable
from halfroll.workshop.calibrations import OwnFilament, Trial, add_calibration, try_calibration
from halfroll.workshop.faults import FaultsError, check

SETUPS: Choices = (("fixed-free", "held at one end"), ("three-point", "on two supports"))
LINES: Choices = (
    ("along", "along the lines"),
    ("across", "across the lines"),
    ("crossed", "lines in both directions"),
)
SIZES = (
    ("length_mm", "Length L, mm", "from the clamp to the weight"), ("width_mm", "Width b, mm", ""),
    ("thickness_mm", "Thickness t, mm", "the mean of five places; it counts three times"),
)  # fmt: skip
SURE = (
    ("length_u_mm", "of the length, mm", "0.5"), ("width_u_mm", "of the width, mm", "0.1"),
    ("thickness_u_mm", "of the thickness, mm", "0.03"), ("deflection_u_mm", "of one deflection, mm", "0.25"),
    ("load_u_percent", "of the weights together, %", "0.5"),
)  # fmt: skip
READINGS = "readings"
EMPTY = "Type the dimensions and a weight with its deflection; the modulus appears here."


class StripForm:
    """The form, put on the page; what is typed stays as a draft until it is saved.

    Parameters
    ----------
    workshop, own, like
        Where it is kept, the filament as it was when the page opened, and what a new one is like.
    on_saved
        Told when a calibration was saved.
    """

    def __init__(
        self, workshop: Workshop, own: OwnFilament, like: str | None, on_saved: Callable[[], Any]
    ) -> None:
        self.workshop, self.own, self.like, self.on_saved = workshop, own, like, on_saved
        self.page = f"strip-{own.key}"
        kept = load_draft(workshop, self.page) or {}
        self.typed: Typed = {str(key): str(value) for key, value in kept.items()}
        self.fields: dict[str, Field] = {}
        with el("div", cls="design strip-test"):
            with el("div", cls="design-drawing"):
                self.drawing = Drawing(self._svg, setup_words(self._setup())).mark("strip-drawing")
            with el("div", cls="block"):
                self._ask()
            self.said = el("div", cls="block", aria_live="polite").mark("strip-said")
        self._renew()

    def _ask(self) -> None:
        with el("div", cls="fields"):
            self._field("setup", "The strip is", tag="select", choices=SETUPS)
            self._field("lines", "It bends", tag="select", choices=LINES, hint="as the strip was printed")
            for key, label, hint in SIZES:
                self._field(key, label, hint=hint, inputmode="decimal")
        self._field(READINGS, "Weights m, g, and deflections w, mm", tag="textarea", rows="7",
                    hint="a line each, such as 2; 8.9 – count w from the strip without a weight; take each weight twice")  # fmt: skip
        with el("details"):
            el("summary", "How sure each is (standard uncertainties), date and note")
            with el("div", cls="fields tight"):
                for key, label, usual in SURE:
                    self._field(key, label, hint=f"empty: {usual}", inputmode="decimal")
                self._field(
                    "overhang_mm", "Goes on beyond the weight, mm", hint="empty: 0", inputmode="decimal"
                )
                self._field("date", "Measured on", kind="date", usual=dt.date.today().isoformat())
                self._field("note", "Note", hint="spool, printer, who")
        self.refused = el("p", cls="alert", role="alert").mark("strip-refused")
        with el("div", cls="actions"):
            button("Save the calibration", self._save, main=True).mark("save-strip")
            button("Clear the form", self._clear, cls="plain").mark("clear-strip")

    def _field(self, key: str, label: str, *, usual: str = "", **how: Any) -> None:
        choices = how.get("choices", ())
        value = self.typed.get(key, choices[0][0] if choices else usual)
        if choices and value not in dict(choices):
            value = choices[0][0]
        self.fields[key] = Field(key, label, value=value, on_change=self._changed, **how)

    def _changed(self, field: Field) -> None:
        self.typed[field.key] = field.value
        save_draft(self.workshop, self.page, self.typed)
        self._renew()

    def _renew(self) -> None:
        """Draw and work out again; faults of what is typed stand under their fields, of what lacks nowhere yet."""
        self.drawing.renew(setup_words(self._setup()), [])
        self.refused.text = ""
        for field in self.fields.values():
            field.error("")
        self.said.clear()
        with self.said:
            if not self._enough():
                el("p", EMPTY, cls="quiet")
                return
            trial = self._trial()
            if trial is None:
                el("p", "Nothing can be said of this yet.", cls="quiet")
            else:
                _said(trial)

    def _enough(self) -> bool:
        return all(self._value(key) for key in ("length_mm", "width_mm", "thickness_mm", READINGS))

    def _value(self, key: str) -> str:
        field = self.fields.get(key)
        return self.typed.get(key, "") if field is None else field.value

    def _trial(self) -> Trial | None:
        """What the calibration would say, or None with each fault under its field."""
        try:
            table = self._table()
            return try_calibration(self.workshop, self.own.key, table, like=self.like)
        except FaultsError as error:
            faults: tuple[InputError, ...] = error.faults
        except InputError as error:
            faults = (error,)
        for fault in faults:
            self._fault(fault)
        return None

    def _fault(self, fault: InputError) -> None:
        key = (fault.place.key or "").rpartition(".")[2]
        key = READINGS if key.startswith(("loads_g", "deflections_mm")) else key
        if key in self.fields:
            self.fields[key].error(
                said_at_field(fault) if fault.place.file is not None else without_place(fault)
            )
        else:
            self.refused.text = without_place(fault)

    def _table(self) -> CalibrationTable:
        loads, sinks = pairs(self._value(READINGS))
        inside: dict[str, Any] = {"setup": self._value("setup"), "loads_g": loads, "deflections_mm": sinks}
        for key in (*(key for key, *_ in SIZES), *(key for key, *_ in SURE), "overhang_mm"):
            if (value := number_or_text(self._value(key))) is not None:
                inside[key] = value
        strip = check(StripTable, inside, file="strip")
        return check(CalibrationTable, {"date": self._value("date") or dt.date.today().isoformat(), "lines": self._value("lines"),
                                        "note": self._value("note"), "strip": strip}, file="strip")  # fmt: skip

    def _save(self) -> None:
        trial = self._trial()
        if trial is None:
            return
        try:
            add_calibration(
                self.workshop, self.own.key, self._table(), like=self.like, loaded=self.own.loaded
            )
        except ConflictError:
            raise
        except InputError as fault:
            self._fault(fault)
            return
        clear_draft(self.workshop, self.page)
        self.on_saved()

    def _clear(self) -> None:
        clear_draft(self.workshop, self.page)
        self.on_saved()

    def _setup(self) -> SetupDrawing:
        """What the drawing shows of what is typed."""
        loads, sinks = _readable(self._value(READINGS))
        length = number_or_text(self._value("length_mm"))
        setup: Setup = "three-point" if self._value("setup") == "three-point" else "fixed-free"
        reach = 0.22 if setup == "fixed-free" else 0.07
        if sinks and isinstance(length, int | float) and length > 0:
            reach = max(sinks) / length
        at = sinks.index(max(sinks)) if sinks else -1
        return SetupDrawing(
            setup=setup, length=self._value("length_mm"), width=self._value("width_mm"), thickness=self._value("thickness_mm"),
            load=f"{loads[at]:g}" if sinks else "", sinks=f"{sinks[at]:g}" if sinks else "", reach=reach,
        )  # fmt: skip

    def _svg(self, look: Theme, width_px: int) -> str:
        return setup_svg(self._setup(), theme=look, width_px=width_px)


def _said(trial: Trial) -> None:
    """The result in numbers and words."""
    result = trial.result
    assert isinstance(result, Estimate)
    together = trial.after.calibrated.combined
    rows = [(number, pascals(one)) for number, one in enumerate(result.readings_pa, 1)]
    show("strip_said.html", tag="div", modulus=pascals(result.modulus_pa), interval=range_words(result.interval_pa), budget=budget_words(result),
         readings=rows, verdicts=[*result.verdicts, *together.verdicts], change=change_words(trial.before, trial.after, saved=False))  # fmt: skip


def pairs(text: str) -> tuple[list[float], list[float]]:
    """Two columns from lines of two numbers parted by a semicolon, tab or blanks; `InputError` names the line."""
    first, second = [], []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        cells = [cell for cell in line.replace(";", " ").split() if cell]
        values = [value for cell in cells if isinstance(value := number_or_text(cell), int | float)]
        if len(cells) != 2 or len(values) != 2:
            raise InputError(f"Line {number} of the readings must be two numbers", key="loads_g", found=line.strip(),
                             allowed="weight and deflection, parted by a blank or a semicolon")  # fmt: skip
        first.append(float(values[0]))
        second.append(float(values[1]))
    return first, second


def _readable(text: str) -> tuple[list[float], list[float]]:
    """The readings as far as they can be read, for the drawing."""
    try:
        loads, sinks = pairs(text)
    except InputError:
        return [], []
    return (loads, sinks) if sinks and all(0 < one < 1e4 for one in sinks) else ([], [])
