"""The form of a new crossover: which drivers, where they cross, and with what to start."""

from __future__ import annotations

from typing import Any

from nicegui import ui

from halfroll.app import address
from halfroll.app.dom import el
from halfroll.app.field import Choices, Field, button
from halfroll.app.job import work
from halfroll.app.typed import Errors, new_name, number_or_text, without_place
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress
from halfroll.workshop import Workshop
from halfroll.workshop.crossover_start import START_WORDS, start_record
from halfroll.workshop.crossovers import crossover_ids, new_crossover

SHAPES: Choices = (("linkwitz-riley", "Linkwitz-Riley"), ("butterworth", "Butterworth"), ("bessel", "Bessel"))
LEVELLED: Choices = (
    ("", "as it is"),
    ("low=inductance", "inductance of the low driver"),
    ("high=resonance", "resonance of the high driver"),
    ("low=inductance high=resonance", "both"),
)
NOTE = "Values come from the rated impedances. The real ones move the result; the next page shows it and tunes it."
NAMES = {2: ("low", "high"), 3: ("low", "mid", "high")}
_AT = {
    "frequency_hz": "frequency_hz",
    "order": "order",
    "alignment": "alignment",
    "rated_impedance_ohm": "low",
    "attenuation_db": "lower_db",
    "level": "level",
}
"""The field in which a fault of a key is said."""


class NewForm:
    """Fields of a new crossover of two ways or three."""

    def __init__(self, workshop: Workshop, versions: list[str]) -> None:
        self._workshop, self._versions = workshop, versions
        self._fields: dict[str, Field] = {}

    def draw(self, *, open_: bool) -> None:
        """Put it on the page, folded unless it is the first thing to do."""
        with el("section", cls="block no-print"):
            el("h2", "A new crossover")
            with el("details", open="" if open_ else None):
                el("summary", "Choose drivers and where they cross")
                with el("div", cls="block"):
                    with el("div", cls="fields"):
                        self._drivers()
                        self._filters()
                    self._fault = el("p", cls="error alert", aria_live="polite").mark("new-crossover-fault")
                    with el("div", cls="actions"):
                        button("Make it", self._make, main=True).mark("make-crossover")
                    el("p", NOTE, cls="quiet small")
        self._reveal()

    def _drivers(self) -> None:
        drivers = [(one, one) for one in self._versions]
        first, last = self._versions[0], self._versions[-1]
        starts = list(START_WORDS.items())
        self._add("id", "Name", hint="a short one, such as hide-two")
        self._choose("start", "Start with", starts, "one-capacitor", on_change=self._reveal)
        self._choose("low", "Low or full-range driver", drivers, first)
        self._choose("mid", "Middle driver", [("", "none: two ways"), *drivers], "", on_change=self._reveal)
        self._choose("high", "High or small driver", drivers, last)
        self._add("frequency_hz", "They cross at, Hz", value="3000", inputmode="decimal")
        self._add("second_hz", "Middle and high cross at, Hz", inputmode="decimal")

    def _filters(self) -> None:
        orders = [(str(n), f"{n}, {6 * n} dB an octave") for n in (1, 2, 3, 4)]
        self._choose("alignment", "Shape", SHAPES, "linkwitz-riley")
        self._choose("order", "Order", orders, "2")
        self._add(
            "lower_db", "Lower the high driver by, dB", hint="by an L-pad; empty: no pad", inputmode="decimal"
        )
        self._choose("level", "Level the impedance", LEVELLED, "")

    def _choose(self, key: str, label: str, choices: Choices, value: str, **more: Any) -> None:
        self._add(key, label, tag="select", choices=choices, value=value, **more)

    def _add(self, key: str, label: str, **more: Any) -> None:
        self._fields[key] = Field(key, label, **more)

    def _reveal(self, _: Field | None = None) -> None:
        filters = self._fields["start"].value == "filters"
        three = filters and bool(self._fields["mid"].value)
        for key in ("alignment", "order", "mid"):
            self._fields[key].show(filters)
        self._fields["second_hz"].show(three)

    async def _make(self) -> None:
        for field in self._fields.values():
            field.error("")
        self._fault.text = ""
        errors: Errors = {}
        name = new_name(self._fields["id"].value, "crossover", "id", crossover_ids(self._workshop), errors)
        frequencies = self._numbers(errors)
        lower = number_or_text(self._fields["lower_db"].value)
        if isinstance(lower, str) or (lower is not None and not 0 <= lower <= 40):
            errors["lower_db"] = "This must be a number from 0 to 40 dB."
        if errors:
            for key, text in errors.items():
                self._fields[key].error(text)
            return
        try:
            await work(
                "Finding values",
                lambda progress: self._save(name, frequencies, float(lower or 0.0), progress),
            )
        except InputError as fault:
            key = _AT.get(fault.place.key or "", "")
            if key:
                self._fields[key].error(without_place(fault))
            else:
                self._fault.text = without_place(fault)
        else:
            ui.navigate.to(address.of_crossover(name))

    def _numbers(self, errors: Errors) -> list[float]:
        found = []
        three = self._fields["start"].value == "filters" and bool(self._fields["mid"].value)
        for key in ("frequency_hz", "second_hz") if three else ("frequency_hz",):
            value = number_or_text(self._fields[key].value)
            if isinstance(value, str) or value is None or not 10 <= value <= 40_000:
                errors[key] = "This must be a number from 10 to 40000 Hz."
            else:
                found.append(float(value))
        return found

    def _save(self, name: str, frequencies: list[float], lower_db: float, progress: Progress) -> None:
        start: Any = self._fields["start"].value
        chosen = [
            self._fields["low"].value,
            *([self._fields["mid"].value] if len(frequencies) == 2 else []),
            self._fields["high"].value,
        ]
        names = ("full", "small") if start == "one-capacitor" else NAMES[len(chosen)]
        ends = {"low": names[0], "high": names[-1]}
        level = [
            (ends[way], what)
            for way, _, what in (one.partition("=") for one in self._fields["level"].value.split())
        ]
        record = start_record(
            self._workshop, list(zip(names, chosen, strict=True)), frequencies, start=start, alignment=self._fields["alignment"].value,
            order=int(self._fields["order"].value), lower_db=lower_db, level=level, progress=progress,
        )  # fmt: skip
        new_crossover(self._workshop, name, record)
