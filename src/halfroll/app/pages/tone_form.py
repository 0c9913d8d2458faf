"""The form that plays a series of tones: what is asked for, the cautions, go, and a way to stop at any time."""

from __future__ import annotations

import math
from collections.abc import Sequence

from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.job import work
from halfroll.app.typed import without_place
from halfroll.core.errors import InputError
from halfroll.workshop import Workshop
from halfroll.workshop.live import CAUTIONS
from halfroll.workshop.tones_live import Wanted, measure, prepare

SPACES = (("half-space", "half space"), ("free-field", "free field"), ("near-field", "near field"), ("in-cabinet", "in its cabinet"))  # fmt: skip

NUMBERS = (
    ("low_w", "Lowest level, W", "0.1"), ("high_w", "Highest level, W", ""), ("count", "Levels", "6"),
    ("low_hz", "Lowest tone, Hz", "40"), ("high_hz", "Highest tone, Hz", "400"), ("per_octave", "Tones an octave", "3"),
    ("distance_m", "Microphone to cone, m", "1"), ("stop_thd", "No louder from, % THD", "30"),
    ("temperature_c", "Air, °C", ""),
)  # fmt: skip
WHOLE = ("count", "per_octave")
OPTIONAL = ("temperature_c",)


def _ready(workshop: Workshop, rigs: Sequence[str]) -> str:
    """The rig that has most of what tones need, output scale and delay; of several the last."""

    def lacking(rig: str) -> int:
        try:
            record = workshop.rig(rig).record
        except InputError:
            return 3
        return 2 * (record.output is None) + (record.latency is None)

    return min(reversed(rigs), key=lacking)


class ToneForm:
    """A section that measures tones of a unit."""

    def __init__(self, workshop: Workshop, unit_id: str) -> None:
        self._workshop, self._unit_id = workshop, unit_id
        rigs = workshop.rig_names()
        with el("section", cls="block no-print", aria_label="Play a series of tones"):
            el("h2", "Play a series of tones")
            if not rigs:
                el("p", "Tones are played through a rig, and there is none yet.", cls="quiet")
                el("a", "Rigs", href="/rigs", cls="button")
                return
            with el("div", cls="beware"):
                for caution in CAUTIONS:
                    el("p", caution)
            with el("div", cls="fields"):
                self._rig = Field(
                    "rig", "Rig", tag="select", value=_ready(workshop, rigs), choices=[(r, r) for r in rigs]
                )
                self._space = Field(
                    "space", "Radiates into", tag="select", value="half-space", choices=SPACES
                )
                self._numbers = {
                    key: Field(key, label, value=value, inputmode="decimal") for key, label, value in NUMBERS
                }
                self._note = Field("note", "Note")
            self._fault = el("p", cls="error", role="alert").mark("tones-fault")
            with el("div", cls="actions"):
                button("Play the tones", self._go, main=True).mark("play-tones")
            self._where = el("div")

    async def _go(self) -> None:
        self._fault.text = ""
        values = self._values()
        if values is None:
            return
        try:
            prepared = prepare(self._workshop, self._unit_id, values)
        except InputError as error:
            field = self._numbers.get(error.place.key or "")
            if field is None:
                self._fault.text = without_place(error)
            else:
                field.error(without_place(error))
                field.focus()
            return
        with self._where:
            loaded = await work("Playing tones. Stop ends the sound at once.",
                                lambda progress: measure(self._workshop, prepared, progress=progress))  # fmt: skip
        frame.say("")
        ui.navigate.to(address.of_run(loaded.id))

    def _values(self) -> Wanted | None:
        """What was typed as numbers; each field that is none says so."""
        found: dict[str, float | int | None] = {}
        wrong = False
        for key, field in self._numbers.items():
            field.error("")
            text = field.value.replace(",", ".")
            if not text and key in OPTIONAL:
                found[key] = None
                continue
            try:
                number = float(text)
            except ValueError:
                number = math.nan
            if not math.isfinite(number) or (key in WHOLE and number != int(number)):
                field.error(f"A {'whole number' if key in WHOLE else 'number'} is wanted" + (f"; found {text!r}." if text else "."))  # fmt: skip
                wrong = True
            found[key] = int(number) if key in WHOLE and math.isfinite(number) else number
        if wrong:
            return None
        return Wanted(rig=self._rig.value, space=self._space.value, note=self._note.value, **found)  # type: ignore[arg-type]
