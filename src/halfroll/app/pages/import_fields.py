"""The fields of the import page: what was measured, how, and the sweep; only what is new is asked for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from halfroll.app.dom import Plain, el
from halfroll.app.field import Choices, Field
from halfroll.app.pages.import_draft import Draft
from halfroll.app.pages.sweep import FIELDS as SWEEP_FIELDS
from halfroll.app.pages.words import space
from halfroll.app.taking import NEW
from halfroll.app.typed import Errors
from halfroll.core.conditions import Space
from halfroll.core.errors import InputError

_SPACES = (("", "choose"), *((str(where), space(where)) for where in Space))
_SCALES = (("microphone", "Microphone, Pa", "empty: levels are only relative"), ("voltage", "Voltage channel, V", ""),
           ("current", "Current channel, A", ""))  # fmt: skip


class Fields:
    """All fields over one draft, by key."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.by_key: dict[str, Field] = {}
        self._new: dict[str, Plain] = {}

    def say(self, errors: Errors) -> set[str]:
        """Say each error under its field and put the cursor into the first; returns the keys that have a field."""
        for key, field in self.by_key.items():
            field.error(errors.get(key, ""))
        first = next((field for key, field in self.by_key.items() if key in errors), None)
        if first is not None:
            first.focus()
        return set(self.by_key)

    def subject(self) -> None:
        """Driver, version and unit."""
        with el("div", cls="fields"):
            self._choice("driver", "Driver", self._drivers(), self._driver_chosen)
            self._choice("version", "Version", self._versions(), self._version_chosen)
            self._choice("unit", "Unit", self._units(), self._show_new)
        with self._new_box("driver", "The new driver"):
            self._text("driver_title", "Name", "a line of development, such as Avocet")
            self._text("driver_aim", "Aim", "what it is to become, one sentence")
        with self._new_box("version", "The new version"):
            self._text("version_name", "Short name", "such as v1")
            self._text("version_title", "Title", "what is special about it")
            self._choice("version_parent", "Developed from", self._parents(), lambda: None)
            self._number("version_rated_impedance_ohm", "Rated impedance, Ω")
            self._number("version_rated_power_w", "Rated power, W")
            self._number("version_effective_area_cm2", "Effective area, cm²", "to half the surround")
            self._text("version_what", "What changed")
            self._text("version_why", "Why")
        with self._new_box("unit", "The new unit"):
            self._text("unit_name", "Number", "serial of the built copy, such as 01")
            self._text("unit_built_by", "Built by")
            self._number("unit_re_ohm", "DC resistance, Ω", "as measured")
            self._number("unit_moving_mass_g", "Moving mass, g", "as weighed")
        self._show_new()

    def setup(self) -> None:
        """Rig and conditions."""
        with el("div", cls="fields"):
            self._choice("rig", "Rig", self._rigs(), self._show_new)
            self._number(
                "drive_v", "Drive at the terminals, V", "r.m.s.; may stay empty when the voltage is recorded"
            )
            self._number("distance_m", "Distance, m", "microphone to cone", "1")
            self._field("space", "Radiation into", tag="select", choices=_SPACES)
            self._number("temperature_c", "Air, °C", "may stay empty")
            self._field("when", "When", kind="datetime-local", hint="empty: when the file was written")
            self._text("name", "Name of the take", "empty: date and file name")
            self._text("note", "Note")
        with self._new_box("rig", "The new rig: what one full scale means"):
            self._text("rig_title", "Name", "microphone, interface, amplifier, shunt")
            for key, label, hint in _SCALES:
                self._number(f"rig_{key}", label, hint)
                self._number(
                    f"rig_{key}_u_db", "Uncertainty of that, dB", f"standard uncertainty of the {key} scale"
                )
        self._show_new()

    def sweep(self) -> dict[str, Field]:
        """The sweep; returns its fields by the sweep's own keys."""
        el("p", "Exactly as it was made; the analysis needs it.", cls="quiet")
        with el("div", cls="fields"):
            return {key: self._number(f"sweep_{key}", label, unit) for key, label, unit in SWEEP_FIELDS}

    # One field.

    def _field(self, key: str, label: str, *, value: str = "", on_change: Callable[[], Any] | None = None,
               **look: Any) -> Field:  # fmt: skip
        start = self.draft.typed.setdefault(key, value)

        def changed(field: Field) -> None:
            self.draft.typed[key] = field.value
            field.error("")
            self.draft.keep()
            if on_change is not None:
                on_change()

        self.by_key[key] = Field(key, label, value=start, on_change=changed, **look)
        return self.by_key[key]

    def _text(self, key: str, label: str, hint: str = "") -> Field:
        return self._field(key, label, hint=hint)

    def _number(self, key: str, label: str, hint: str = "", value: str = "") -> Field:
        return self._field(key, label, hint=hint, value=value, inputmode="decimal")

    def _choice(self, key: str, label: str, choices: Choices, on_change: Callable[[], Any]) -> Field:
        if self.draft.typed.get(key) not in [value for value, _ in choices]:
            self.draft.typed[key] = choices[0][0]
        return self._field(key, label, tag="select", choices=choices, on_change=on_change)

    def _new_box(self, key: str, legend: str) -> Plain:
        """The fields of a new record; shown only when a new one is chosen."""
        with el("fieldset", cls="new") as self._new[key]:
            el("legend", legend)
            return el("div", cls="fields")

    # What there is to choose from.

    def _drivers(self) -> Choices:
        shop = self.draft.workshop
        return [
            *((id_, _title(shop.driver, id_, id_)) for id_ in shop.driver_ids()),
            (NEW, "a new driver"),
        ]

    def _versions(self) -> Choices:
        shop, driver = self.draft.workshop, self.draft.typed["driver"]
        there = [] if driver == NEW else shop.version_ids(driver)
        named = [(id_.split("/")[1], _title(shop.version, id_, "")) for id_ in there]
        return [*((name, f"{name} {title}".strip()) for name, title in named), (NEW, "a new version")]

    def _units(self) -> Choices:
        driver, version = self.draft.typed["driver"], self.draft.typed["version"]
        there = [] if NEW in (driver, version) else self.draft.workshop.unit_ids(f"{driver}/{version}")
        return [*((id_.split("/")[2], id_.split("/")[2]) for id_ in there), (NEW, "a new unit")]

    def _parents(self) -> Choices:
        return [("", "nothing: the first"), *((name, name) for name, _ in self._versions() if name != NEW)]

    def _rigs(self) -> Choices:
        shop = self.draft.workshop
        return [
            *((name, _title(shop.rig, name, name)) for name in shop.rig_names()),
            (NEW, "a new rig"),
        ]

    # What follows from a choice.

    def _driver_chosen(self) -> None:
        self._offer("version", self._versions())
        parents = self._parents()
        self.draft.typed["version_parent"] = parents[-1][0]
        self.by_key["version_parent"].control.choose(parents, parents[-1][0])
        self._version_chosen()

    def _version_chosen(self) -> None:
        self._offer("unit", self._units())
        self._show_new()
        self.draft.keep()

    def _offer(self, key: str, choices: Choices) -> None:
        """Offer new choices; the last that is there is the likeliest to be meant."""
        values = [value for value, _ in choices]
        if self.draft.typed.get(key) not in values:
            self.draft.typed[key] = values[-2] if len(values) > 1 else values[-1]
        self.by_key[key].control.choose(choices, self.draft.typed[key])

    def _show_new(self) -> None:
        """Only what is new is asked for."""
        for key, box in self._new.items():
            box.set_visibility(self.draft.typed[key] == NEW)


def _title(load: Callable[[str], Any], id_: str, otherwise: str) -> str:
    """The title in a record; a record with a fault must not keep others from being chosen."""
    try:
        return str(load(id_).record.title or otherwise)
    except InputError:
        return otherwise
