"""The fields of the bench page: what is on the bench, the sound card, how loud, which sweep."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from nicegui import ui

from halfroll.app import address
from halfroll.app.bench_typed import NOT_RECORDED, PAGE, typed_of, usual_sweep
from halfroll.app.dom import el
from halfroll.app.field import Choices, Field
from halfroll.app.pages.words import space
from halfroll.app.typed import Errors, Typed
from halfroll.core.conditions import Space
from halfroll.core.errors import InputError
from halfroll.measure.capture import Device, choose_device
from halfroll.measure.recording import Role
from halfroll.workshop import Workshop, load_draft, save_draft

MOST_CHANNELS = 8
"""So many input channels are offered."""
DEFAULT = "the system's default"
_ROLES: Choices = [
    (NOT_RECORDED, "not recorded"),
    *((str(role), str(role)) for role in Role if role is not Role.UNUSED),
]
_START: Typed = {
    "distance_m": "1", "drive": "1", "drive_unit": "W", "repeats": "3", "rate_hz": "48000", "output_channel": "1",
    "tone_hz": "315", "role_1": str(Role.MICROPHONE),
}  # fmt: skip


class BenchFields:
    """All fields, by key; what stands in them is kept as a draft, unit and rig in the address too."""

    def __init__(self, workshop: Workshop, known: Sequence[Device], on_device: Callable[[], Any]) -> None:
        self.workshop = workshop
        self.known = known
        self.by_key: dict[str, Field] = {}
        self._on_device = on_device
        given = dict(ui.context.client.request.query_params)
        kept = (load_draft(workshop, PAGE) or {}).get("typed", {})
        rig = given.get("rig") or kept.get("rig") or next(iter(workshop.rig_names()), "")
        first = {**_START, **usual_sweep(), **kept, **(self._of_rig(rig) if rig != kept.get("rig") else {})}
        self.typed: Typed = {**first, "rig": rig, **({"unit": given["unit"]} if "unit" in given else {})}

    def subject(self) -> None:
        """What is on the bench, and where the microphone stands."""
        with el("div", cls="fields"):
            self._choice("unit", "Unit", units(self.workshop))
            self._choice("rig", "Rig", [(name, name) for name in self.workshop.rig_names()], self._rig_chosen)
            self._number("distance_m", "Distance, m", "microphone to cone")
            self._choice(
                "space", "Radiation into", [("", "choose"), *((str(where), space(where)) for where in Space)]
            )
            self._number("temperature_c", "Air, °C", "may stay empty")
            self._text("note", "Note", "goes into every take")
        with el("p", cls="small"):
            el("a", "A new unit", href=address.of_new_unit())
            el("span", " · ")
            el("a", "calibrate a rig", href="/rigs")

    def card(self) -> None:
        """Devices, rate and channels."""
        with el("div", cls="fields"):
            self._choice("input", "Record from", self._devices("input"), self._input_chosen)
            self._choice("output", "Play to", self._devices("output"), self._on_device)
            self._number("output_channel", "Output channel", "to the amplifier", self._on_device)
            self._number("rate_hz", "Sample rate, Hz", "", self._on_device)
        self._roles = el("div", cls="fields")
        self._fill_roles()

    def loudness(self) -> None:
        """Wanted drive and limit."""
        with el("div", cls="fields"):
            self._number(
                "drive", "Wanted", "power into the rated impedance, or voltage at the terminals, r.m.s."
            )
            self._choice("drive_unit", "Wanted in", [("W", "W, rated impedance"), ("V", "V, terminals")])
            self._number(
                "v_max", "Never more than, V", "at the terminals, r.m.s.; the rated power is a limit too"
            )
            self._number("tone_hz", "Tone for finding the level, Hz", "above the resonance")

    def sweep(self) -> None:
        """The sweep and how often."""
        with el("div", cls="fields"):
            self._number("repeats", "Repeats", "each becomes a take")
            self._number("start_hz", "Sweep from, Hz")
            self._number("stop_hz", "to, Hz")
            self._number("duration_s", "in, s")

    def say(self, errors: Errors) -> None:
        """Say each error under its field, and put the cursor into the first."""
        for key, field in self.by_key.items():
            field.error(errors.get(key, ""))
        first = next((field for key, field in self.by_key.items() if key in errors), None)
        if first is not None:
            first.focus()

    # One field.

    def _field(
        self, key: str, label: str, *, on_change: Callable[[], Any] | None = None, **look: Any
    ) -> None:
        def changed(field: Field) -> None:
            self.typed[key] = field.value
            field.error("")
            self.keep()
            if on_change is not None:
                on_change()

        self.by_key[key] = Field(key, label, value=self.typed.setdefault(key, ""), on_change=changed, **look)

    def _text(self, key: str, label: str, hint: str = "") -> None:
        self._field(key, label, hint=hint)

    def _number(
        self, key: str, label: str, hint: str = "", on_change: Callable[[], Any] | None = None
    ) -> None:
        self._field(key, label, hint=hint, inputmode="decimal", on_change=on_change)

    def _choice(
        self, key: str, label: str, choices: Choices, on_change: Callable[[], Any] | None = None
    ) -> None:
        if self.typed.get(key) not in [value for value, _ in choices]:
            self.typed[key] = choices[0][0] if choices else ""
        self._field(key, label, tag="select", choices=choices, on_change=on_change)

    def keep(self) -> None:
        """Keep the draft, and what is measured in the address."""
        save_draft(self.workshop, PAGE, {"typed": self.typed})
        ui.navigate.history.replace(
            f"/bench?unit={self.typed.get('unit', '')}&rig={self.typed.get('rig', '')}"
        )

    # What follows from a choice.

    def _of_rig(self, name: str) -> Typed:
        try:
            return typed_of(self.workshop.rig(name).record)
        except InputError:
            return {}

    def _rig_chosen(self) -> None:
        """A rig brings its devices and its limit along."""
        brought = self._of_rig(self.typed["rig"])
        self.typed |= brought
        for key in ("input", "output"):
            if key in brought:
                self.by_key[key].control.choose(self._devices(key), self.typed[key])
        for key in ("output_channel", "rate_hz", "v_max"):
            if key in brought:
                self.by_key[key].set(brought[key])
        self._fill_roles()
        self.keep()
        self._on_device()

    def _input_chosen(self) -> None:
        self._fill_roles()
        self._on_device()

    def _fill_roles(self) -> None:
        """One choice for each channel of the chosen input."""
        try:
            count = choose_device(self.known, self.typed.get("input", ""), output=False).inputs
        except InputError:
            count = 2
        count = min(count, MOST_CHANNELS)
        self.typed["channels"] = str(count)
        self._roles.clear()
        with self._roles:
            for n in range(1, count + 1):
                self._choice(f"role_{n}", f"Input {n} holds", _ROLES, self._on_device)

    def _devices(self, kind: str) -> Choices:
        there = [d.label for d in self.known if (d.inputs if kind == "input" else d.outputs)]
        typed = self.typed.get(kind, "")
        own = [(typed, typed)] if typed and typed not in there else []
        return [("", DEFAULT), *((label, label) for label in there), *own]


def units(workshop: Workshop) -> Choices:
    """Every unit of the workshop."""
    return [
        (unit, unit.replace("/", " ", 1).replace("/", ", unit "))
        for version in workshop.version_ids()
        for unit in workshop.unit_ids(version)
    ]
