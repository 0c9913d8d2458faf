"""``/import``: bring a recording into the workshop. What is typed is kept as a draft until it is a take."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, replace
from functools import partial
from typing import Any

from nicegui import ui

from halfroll.app import address, frame, intake, taking
from halfroll.app.dom import Plain, el
from halfroll.app.field import Choices, Field, button
from halfroll.app.intake import PAGE, DropZone, Kept
from halfroll.app.job import work
from halfroll.app.pages.sweep import FIELDS as SWEEP_FIELDS
from halfroll.app.pages.sweep import written
from halfroll.app.pages.words import space
from halfroll.app.taking import NEW
from halfroll.app.view import show
from halfroll.core.conditions import Space
from halfroll.core.errors import HalfrollError
from halfroll.core.text import count, format_stated
from halfroll.measure.recording import Role
from halfroll.measure.sweep import Sweep
from halfroll.workshop import Workshop, clear_draft, load_draft, save_draft

ROLES = tuple((str(role), str(role)) for role in Role)
SPACES = (("", "choose"), *((str(where), space(where)) for where in Space))
_ONCE = (
    "note",
    "name",
    "when",
    "together",
    "driver_title",
    "driver_aim",
    "unit_name",
    "unit_re_ohm",
    "unit_moving_mass_g",
)
"""Fields that belong to one take only and are emptied after it; so are all of a new version and a new rig."""


def register(workshop: Workshop) -> None:
    """Add the page and the route files are sent to."""
    intake.register(workshop)

    @frame.page("/import", workshop_name=lambda: workshop.name)
    def import_page() -> None:
        frame.title("Add a take")
        show("import_head.html")
        Form(workshop, dict(ui.context.client.request.query_params)).build()


class Form:
    """The page's form; `typed` and `files` are what the draft holds."""

    def __init__(self, workshop: Workshop, given: dict[str, str]) -> None:
        self.workshop = workshop
        draft = load_draft(workshop, PAGE) or {}
        self.typed: dict[str, str] = {**_sweep_start(workshop), **draft.get("typed", {}), **_given(given)}
        kept = [Kept.from_dict(raw) for raw in draft.get("files", [])]
        self.files = [one for one in kept if intake.there(workshop, one)]
        self.fields: dict[str, Field] = {}
        self.role_errors: dict[str, Plain] = {}

    def keep(self) -> None:
        """Keep what stands in the form."""
        save_draft(self.workshop, PAGE, {"typed": self.typed, "files": [asdict(kept) for kept in self.files]})

    def build(self) -> None:
        """Put the form on the page."""
        with el("form", cls="stack", novalidate="") as form:
            form.on("submit", lambda: None, js_handler="(event) => event.preventDefault()")
            with _section("The recording"):
                DropZone(on_kept=self._kept, on_refused=self._refused).mark("drop")
                self.refusals = el("div", role="alert", cls="alert")
                self.list = el("div", cls="block")
                self._list_files()
            with _section("What was measured"):
                self._subject()
            with _section("How it was measured"):
                self._setup()
            with _section("The sweep that was played"):
                self._sweep()
            with el("section", cls="block"):
                self.summary = el("div", role="alert", cls="alert")
                self.panel = el("div")
                with el("div", cls="actions") as self.actions:
                    button("Add the take", self._submit, main=True).mark("add")

    # The recording.

    def _kept(self, answer: dict[str, Any]) -> None:
        self.refusals.clear()
        if "sweep" in answer:
            for key, value in answer["sweep"].items():
                self.fields[f"sweep_{key}"].set(f"{value:g}" if key != "rate_hz" else str(value))
                self.typed[f"sweep_{key}"] = self.fields[f"sweep_{key}"].value
            frame.say(f"The sweep was read from {answer['name']}.")
        else:
            self.files.append(Kept.from_dict(answer["file"]))
            self._list_files()
        self.keep()

    def _refused(self, name: str, why: str) -> None:
        with self.refusals:
            el("p", f"{name}: {why}")

    def _list_files(self) -> None:
        self.list.clear()
        self.role_errors.clear()
        with self.list:
            if len(self.files) > 1:
                self._field("together", "These files are", tag="select", value="one",
                            choices=(("one", "channels of one take"), ("each", "one take each")))  # fmt: skip
            for kept in self.files:
                self._file(kept)
            self.no_file = el("p", cls="error alert").mark("files-error")

    def _file(self, kept: Kept) -> None:
        words = f"{count(kept.channels, 'channel')}, {kept.rate_hz} samples a second, {format_stated(kept.seconds, 's')}"
        with el("div", cls="file block"):
            with el("p"):
                el("strong", kept.name)
                el("span", f" {words} ", cls="quiet")
                button("Remove", lambda: self._remove(kept), cls="plain").put(
                    aria_label=f"Remove {kept.name}"
                )
            with el("div", cls="fields"):
                for n, role in enumerate(kept.roles):
                    Field(f"role_{n}", f"Channel {n + 1} holds", tag="select", value=role, choices=ROLES,
                          on_change=partial(self._role, kept, n), aria_label=f"{kept.name}, channel {n + 1} holds")  # fmt: skip
            self.role_errors[kept.token] = el("p", cls="error alert")

    def _role(self, kept: Kept, channel: int, field: Field) -> None:
        place = next(i for i, one in enumerate(self.files) if one.token == kept.token)
        roles = list(self.files[place].roles)
        roles[channel] = field.value
        self.files[place] = replace(self.files[place], roles=tuple(roles))
        self.keep()

    def _remove(self, kept: Kept) -> None:
        self.files = [one for one in self.files if one.token != kept.token]
        intake.drop(self.workshop, kept)
        self._list_files()
        self.keep()

    # Fields.

    def _field(self, key: str, label: str, *, value: str = "", on_change: Callable[[], Any] | None = None,
               **look: Any) -> Field:  # fmt: skip
        start = self.typed.setdefault(key, value)

        def changed(field: Field) -> None:
            self.typed[key] = field.value
            field.error("")
            self.keep()
            if on_change is not None:
                on_change()

        self.fields[key] = Field(key, label, value=start, on_change=changed, **look)
        return self.fields[key]

    def _number(self, key: str, label: str, hint: str = "", value: str = "") -> Field:
        return self._field(key, label, hint=hint, value=value, inputmode="decimal")

    def _choice(self, key: str, label: str, choices: Choices, on_change: Callable[[], Any]) -> Field:
        first = choices[0][0]
        if self.typed.get(key) not in [value for value, _ in choices]:
            self.typed[key] = first
        return self._field(key, label, tag="select", choices=choices, on_change=on_change)

    def _subject(self) -> None:
        with el("div", cls="fields"):
            self._choice("driver", "Driver", self._drivers(), self._driver_chosen)
            self._choice("version", "Version", self._versions(), self._version_chosen)
            self._choice("unit", "Unit", self._units(), self._show_new)
        with el("fieldset", cls="block new") as self.new_driver:
            el("legend", "The new driver")
            with el("div", cls="fields"):
                self._field("driver_title", "Name", hint="a line of development, such as Avocet")
                self._field("driver_aim", "Aim", hint="what it is to become, one sentence")
        with el("fieldset", cls="block new") as self.new_version:
            el("legend", "The new version")
            with el("div", cls="fields"):
                self._field("version_name", "Short name", hint="such as v1")
                self._field("version_title", "Title", hint="what is special about it")
                self._choice("version_parent", "Developed from", self._parents(), lambda: None)
                self._number("version_rated_impedance_ohm", "Rated impedance, Ω")
                self._number("version_rated_power_w", "Rated power, W")
                self._number("version_effective_area_cm2", "Effective area, cm²", "to half the surround")
                self._field("version_what", "What changed")
                self._field("version_why", "Why")
        with el("fieldset", cls="block new") as self.new_unit:
            el("legend", "The new unit")
            with el("div", cls="fields"):
                self._field("unit_name", "Number", hint="serial of the built copy, such as 01")
                self._field("unit_built_by", "Built by")
                self._number("unit_re_ohm", "DC resistance, Ω", "as measured")
                self._number("unit_moving_mass_g", "Moving mass, g", "as weighed")
        self._show_new()

    def _drivers(self) -> Choices:
        there = [(id_, self.workshop.driver(id_).record.title) for id_ in self.workshop.driver_ids()]
        return [*there, (NEW, "a new driver")]

    def _versions(self) -> Choices:
        driver = self.typed["driver"]
        there = [] if driver == NEW else self.workshop.version_ids(driver)
        return [*((id_.split("/")[1], _titled(self.workshop, id_)) for id_ in there), (NEW, "a new version")]

    def _units(self) -> Choices:
        if NEW in (self.typed["driver"], self.typed["version"]):
            return [(NEW, "a new unit")]
        there = self.workshop.unit_ids(f"{self.typed['driver']}/{self.typed['version']}")
        return [*((id_.split("/")[2], id_.split("/")[2]) for id_ in there), (NEW, "a new unit")]

    def _parents(self) -> Choices:
        return [("", "nothing: the first"), *((v, v) for v, _ in self._versions() if v != NEW)]

    def _choose(self, key: str, choices: Choices) -> None:
        """Offer new choices; the last that is there is the likeliest to be meant."""
        values = [value for value, _ in choices]
        if self.typed.get(key) not in values:
            self.typed[key] = values[-2] if len(values) > 1 else values[-1]
        self.fields[key].control.choose(choices, self.typed[key])

    def _driver_chosen(self) -> None:
        self._choose("version", self._versions())
        parents = self._parents()
        self.typed["version_parent"] = parents[-1][0]
        self.fields["version_parent"].control.choose(parents, parents[-1][0])
        self._version_chosen()

    def _version_chosen(self) -> None:
        self._choose("unit", self._units())
        self._show_new()
        self.keep()

    def _show_new(self) -> None:
        """Only what is new is asked for."""
        for key, box in (("driver", self.new_driver), ("version", self.new_version), ("unit", self.new_unit)):
            box.set_visibility(self.typed[key] == NEW)

    def _setup(self) -> None:
        with el("div", cls="fields"):
            self._choice(
                "rig", "Rig", self._rigs(), lambda: self.new_rig.set_visibility(self.typed["rig"] == NEW)
            )
            self._number(
                "drive_v", "Drive at the terminals, V", "r.m.s.; may stay empty when the voltage is recorded"
            )
            self._number("distance_m", "Distance, m", "microphone to cone", "1")
            self._field("space", "Radiation into", tag="select", choices=SPACES)
            self._number("temperature_c", "Air, °C", "may stay empty")
            self._field("when", "When", kind="datetime-local", hint="empty: when the file was written")
            self._field("name", "Name of the take", hint="empty: date and file name")
            self._field("note", "Note")
        with el("fieldset", cls="block new") as self.new_rig:
            el("legend", "The new rig: what one full scale means")
            with el("div", cls="fields"):
                self._field("rig_title", "Name", hint="microphone, interface, amplifier, shunt")
                self._number("rig_microphone", "Microphone, Pa", "empty: levels are only relative")
                self._number(
                    "rig_microphone_u_db",
                    "Uncertainty of that, dB",
                    "standard uncertainty of the microphone scale",
                )
                self._number("rig_voltage", "Voltage channel, V")
                self._number(
                    "rig_voltage_u_db", "Uncertainty of that, dB", "standard uncertainty of the voltage scale"
                )
                self._number("rig_current", "Current channel, A")
                self._number(
                    "rig_current_u_db", "Uncertainty of that, dB", "standard uncertainty of the current scale"
                )
        self.new_rig.set_visibility(self.typed["rig"] == NEW)

    def _rigs(self) -> Choices:
        there = [(name, self.workshop.rig(name).record.title or name) for name in self.workshop.rig_names()]
        return [*there, (NEW, "a new rig")]

    def _sweep(self) -> None:
        el("p", "Exactly as it was made; the analysis needs it.", cls="quiet")
        with el("div", cls="fields"):
            for key, label, unit in SWEEP_FIELDS:
                self._number(f"sweep_{key}", label, unit)

    # Doing it.

    def _say_errors(self, errors: dict[str, str]) -> None:
        for key, field in self.fields.items():
            field.error(errors.get(key, ""))
        for token, place in self.role_errors.items():
            place.text = errors.get(f"roles_{token}", "")
        self.no_file.text = errors.get("files", "")
        placed = {*self.fields, "files", *(f"roles_{token}" for token in self.role_errors)}
        self.summary.clear()
        with self.summary:
            if errors:
                el(
                    "p",
                    f"Nothing was added: {count(len(errors), 'field')} above {'needs' if len(errors) == 1 else 'need'} a look.",
                )
            for key, text in errors.items():
                if key not in placed:
                    el("p", f"{key}: {text}")
        first = next((self.fields[key] for key in self.fields if key in errors), None)
        if first is not None:
            first.focus()

    async def _submit(self) -> None:
        checked = taking.check_typed(self.workshop, self.typed, self.files)
        self._say_errors(checked.errors)
        if checked.errors:
            return
        self.actions.set_visibility(False)
        try:
            with self.panel:
                takes = await work("Adding the take",
                                   lambda progress: taking.make(self.workshop, checked.plan, self.typed, progress))  # fmt: skip
        except HalfrollError as error:
            self.keep()
            self.actions.set_visibility(True)
            with self.summary:
                el("p", str(error))
            return
        self._forget()
        ui.navigate.to(
            address.of_take(takes[0])
            if len(takes) == 1
            else address.of_version("/".join(takes[0].split("/")[:2]))
        )

    def _forget(self) -> None:
        """Empty what belonged to this take; what stays the same for the next one stays."""
        clear_draft(self.workshop, PAGE)
        fresh = ("version_", "rig_")
        self.files = []
        self.typed = {k: v for k, v in self.typed.items() if k not in _ONCE and not k.startswith(fresh)}
        self.keep()


def _section(title: str) -> Any:
    box = el("section", cls="block")
    with box:
        el("h2", title)
    return box


def _titled(workshop: Workshop, version_id: str) -> str:
    name = version_id.split("/")[1]
    title = workshop.version(version_id).record.title
    return f"{name} {title}" if title else name


def _given(given: dict[str, str]) -> dict[str, str]:
    """What the address says: the version, and the sweep."""
    said = {f"sweep_{key}": given[key] for key, _, _ in SWEEP_FIELDS if key in given}
    driver, _, version = given.get("version", "").partition("/")
    return {**said, **({"driver": driver, "version": version} if version else {})}


def _sweep_start(workshop: Workshop) -> dict[str, str]:
    """The sweep made last on the sweep page, else the usual one."""
    last = (load_draft(workshop, "sweep") or {}).get("typed", {})
    return {f"sweep_{key}": last.get(key, value) for key, value in written(Sweep()).items()}
