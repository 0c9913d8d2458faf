"""The form that adds an impedance to a unit: a dropped file or a take, and what hung on the cone or stood behind it."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.impedance_intake import KINDS, PAGE, URL, KeptImpedance, there
from halfroll.app.intake import DropZone
from halfroll.app.job import work
from halfroll.app.pages.sweep import sweep_of
from halfroll.app.typed import Errors, Typed, number_or_text, said_at_field, without_place
from halfroll.core.errors import HalfrollError, InputError
from halfroll.core.progress import Progress
from halfroll.measure.recording import Role
from halfroll.workshop import SweepTable, Workshop, clear_draft, draft_file, load_draft, save_draft
from halfroll.workshop.faults import FaultsError
from halfroll.workshop.impedance_import import ImportedImpedance, import_impedance

NUMBERS = (
    "added_mass_g",
    "added_mass_u_g",
    "volume_l",
    "volume_u_l",
    "scale_u_percent",
    "drive_v",
    "temperature_c",
)
WHAT = (("alone", "alone"), ("mass", "with a mass on its cone"), ("box", "on a closed box"))
MOUNTINGS = (("free-air", "free, nothing near"), ("baffle", "in a baffle"))
ROLES = (Role.VOLTAGE, Role.CURRENT, Role.SOURCE, Role.MICROPHONE, Role.UNUSED)
_ONCE = ("note", "take")


class ImpedanceForm:
    """The form, put on the page; what is typed and dropped stays until it is a run."""

    def __init__(self, workshop: Workshop, unit_id: str, mounting: str = "free-air") -> None:
        self.workshop, self.unit_id = workshop, unit_id
        kept = load_draft(workshop, PAGE) or {}
        self.typed: Typed = {**dict(kept.get("typed", {})), "mounting": mounting}
        file = KeptImpedance(**kept["file"]) if kept.get("file") else None
        self.file = file if file is not None and there(workshop, file) else None
        self.sweep = {**_last_sweep(workshop), **kept.get("sweep", {})}
        self.fields: dict[str, Field] = {}
        with el("section", cls="block no-print", aria_labelledby="add-impedance"):
            el("h2", "Add an impedance", id="add-impedance")
            el("p", "Measure small, a few tenths of a volt. For the moving mass measure twice: alone, and with a mass of about half "
               "the moving mass on the cone. A ring of putty, pressed on close to the dust cap, is best; no coin and nothing of "
               "steel, which the magnet pulls off or into the gap.", cls="quiet prose")  # fmt: skip
            with el("form", cls="stack", novalidate="") as form:
                form.on("submit", lambda: None, js_handler="(event) => event.preventDefault()")
                self._source()
                self._what()
                self.summary = el("div", role="alert", cls="alert")
                self.panel = el("div")
                with el("div", cls="actions") as self.actions:
                    button("Add it", self._add, main=True).mark("add-impedance")

    def _source(self) -> None:
        DropZone(
            on_kept=self._kept,
            on_refused=self._refused,
            url=URL,
            accept=".csv,.tsv,.txt,.dat,.wav,.flac,.toml",
            kinds=KINDS,
        ).mark("drop-impedance")
        self.refusals = el("div", role="alert", cls="alert")
        self.held = el("div", cls="block")
        self._show_file()
        electrical = {Role.CURRENT, Role.SOURCE}
        takes = [
            take.rpartition("/")[2]
            for take in self.workshop.take_ids(self.unit_id)
            if electrical & set(self.workshop.take(take).record.roles)
        ]
        if takes:
            with el("div", cls="fields"):
                self._field("take", "Or a take with voltage and current", tag="select",
                            choices=(("", "none"), *((t, t) for t in reversed(takes))))  # fmt: skip

    def _what(self) -> None:
        rigs = self.workshop.rig_names()
        with el("div", cls="fields"):
            self._field("what", "The driver was measured", tag="select", choices=WHAT)
            self._field("mounting", "Mounted", tag="select", choices=MOUNTINGS)
            self._field("added_mass_g", "Added mass, g", inputmode="decimal", hint="all that was stuck on")
            self._field(
                "added_mass_u_g", "Its standard uncertainty, g", inputmode="decimal", hint="empty: 1 %"
            )
            self._field(
                "volume_l",
                "Net volume of the box, l",
                inputmode="decimal",
                hint="less what the driver takes of it",
            )
            self._field("volume_u_l", "Its standard uncertainty, l", inputmode="decimal", hint="empty: 2 %")
            self._field(
                "rig", "Rig or instrument", hint=f"of a recording one of: {', '.join(rigs)}" if rigs else ""
            )
            self._field(
                "scale_u_percent",
                "Uncertainty of all ohms of a table, %",
                inputmode="decimal",
                hint="empty: 1 %",
            )
            self._field("drive_v", "Voltage at the terminals, V", inputmode="decimal", hint="r.m.s.")
            self._field("temperature_c", "Air temperature, °C", inputmode="decimal")
            self._field("note", "Note")
        self._reveal()

    def _field(self, key: str, label: str, **more: Any) -> None:
        choices = more.get("choices", ())
        first = choices[0][0] if choices else ""
        value = self.typed.get(key, first)
        if choices and value not in dict(choices):
            value = first
        self.fields[key] = Field(key, label, value=value, on_change=self._changed, **more)

    def _changed(self, field: Field) -> None:
        self.typed[field.key] = field.value
        field.error("")
        self._reveal()
        self._keep()

    def _reveal(self) -> None:
        """Only what the choice of above asks for."""
        what = self.fields["what"].value
        for key in ("added_mass_g", "added_mass_u_g"):
            self.fields[key].show(what == "mass")
        for key in ("volume_l", "volume_u_l"):
            self.fields[key].show(what == "box")
        self.fields["mounting"].show(what != "box")
        self.fields["scale_u_percent"].show(self.file is None or not self.file.recorded)

    def _keep(self) -> None:
        file = None if self.file is None else asdict(self.file)
        save_draft(self.workshop, PAGE, {"typed": self.typed, "file": file, "sweep": self.sweep})

    def _kept(self, answer: dict[str, Any]) -> None:
        self.refusals.clear()
        if "sweep" in answer:
            self.sweep = answer["sweep"]
            frame.say(f"The sweep was read from {answer['name']}.")
        else:
            self.file = KeptImpedance(**answer["file"])
        self._show_file()
        self._reveal()
        self._keep()

    def _refused(self, name: str, why: str) -> None:
        with self.refusals:
            el("p", f"{name}: {why}")

    def _show_file(self) -> None:
        self.held.clear()
        if self.file is None:
            return
        with self.held, el("div", cls="file block"):
            with el("p"):
                el("strong", self.file.name)
                el("span", f" {self.file.about} ", cls="quiet")
                button("Remove", self._remove, cls="plain").put(aria_label=f"Remove {self.file.name}")
            if not self.file.recorded:
                return
            with el("p", cls="quiet"):
                el(
                    "span",
                    f"The sweep that was played: {_sweep_words(self.sweep)}. If it was another, drop its .toml file here, or set it on the page ",
                )
                el("a", "Sweep", href="/sweep")
                el("span", ".")
            with el("div", cls="fields"):
                for n in range(self.file.channels):
                    value = self.typed.get(f"role_{n}", str(ROLES[n]) if n < 2 else "unused")
                    Field(f"role_{n}", f"Channel {n + 1} holds", tag="select", value=value,
                          choices=tuple((str(r), _ROLE_WORDS[r]) for r in ROLES), on_change=self._role)  # fmt: skip
                    self.typed[f"role_{n}"] = value

    def _role(self, field: Field) -> None:
        self.typed[field.key] = field.value
        self._keep()

    def _remove(self) -> None:
        if self.file is not None:
            draft_file(self.workshop, PAGE, self.file.token).unlink(missing_ok=True)
        self.file = None
        self._show_file()
        self._reveal()
        self._keep()

    async def _add(self) -> None:
        self.summary.clear()
        errors: Errors = {}
        stated = self._stated()
        if needed := self._needed():
            self.fields[needed].error("This is needed: without it nothing is known of the moving mass.")
            self.fields[needed].focus()
            with self.summary:
                el("p", "Nothing was added. A field above needs a look.")
            return
        self.actions.set_visibility(False)
        try:
            with self.panel:
                made = await work("Adding the impedance", lambda progress: self._make(stated, progress))
        except HalfrollError as error:
            self.actions.set_visibility(True)
            self._say(error, errors)
            return
        self._forget()
        ui.navigate.to(address.of_parameters(self.unit_id, made.run_id.rpartition("/")[2]))

    def _make(self, stated: dict[str, Any], progress: Progress) -> ImportedImpedance:
        file = self.file
        if file is None and not stated.get("take"):
            raise InputError("Drop a file above, or choose a take", key="take")
        source = None if file is None else draft_file(self.workshop, PAGE, file.token)
        roles = (
            None
            if file is None or not file.recorded
            else [Role(self.typed[f"role_{n}"]) for n in range(file.channels)]
        )
        return import_impedance(
            self.workshop, self.unit_id, source, stated, roles=roles, shown=None if file is None else file.name,
            when=None if file is None else file.when, progress=progress,
        )  # fmt: skip

    def _stated(self) -> dict[str, Any]:
        """What was typed, as the keys of the record; what the choice hides is not stated."""
        what = self.fields["what"].value
        hidden = {
            "alone": ("added_mass_g", "added_mass_u_g", "volume_l", "volume_u_l"),
            "mass": ("volume_l", "volume_u_l"), "box": ("added_mass_g", "added_mass_u_g"),
        }[what]  # fmt: skip
        found: dict[str, Any] = {
            key: number_or_text(self.fields[key].value) for key in NUMBERS if key not in hidden
        }
        found["mounting"] = "closed-box" if what == "box" else self.fields["mounting"].value
        if self.file is not None and self.file.recorded:
            found["sweep"] = self.sweep
        found["rig"], found["note"] = self.fields["rig"].value, self.fields["note"].value
        if self.file is None and "take" in self.fields:
            found["take"] = self.fields["take"].value
        return found

    def _needed(self) -> str:
        """The field that may not stay empty for what was chosen, if it is empty."""
        key = {"mass": "added_mass_g", "box": "volume_l"}.get(self.fields["what"].value, "")
        return key if key and not self.fields[key].value else ""

    def _say(self, error: HalfrollError, errors: Errors) -> None:
        """Each fault under its field, what has none at the end."""
        faults = error.faults if isinstance(error, FaultsError) else (error,)
        for fault in faults:
            key = str(fault.place.key) if isinstance(fault, InputError) and fault.place.key else ""
            text = str(fault)
            if isinstance(fault, InputError):
                text = said_at_field(fault) if key in self.fields else without_place(fault)
            if isinstance(fault, InputError) and fault.place.line:
                text = f"Line {fault.place.line}: {text}"
            if key in self.fields:
                self.fields[key].error(text)
                errors[key] = text
            else:
                with self.summary:
                    el("p", text)
        with self.summary:
            el("p", "Nothing was added." + (" A field above needs a look." if errors else ""))

    def _forget(self) -> None:
        clear_draft(self.workshop, PAGE)
        self.typed = {k: v for k, v in self.typed.items() if k not in _ONCE}
        self.file = None
        self._keep()


def _last_sweep(workshop: Workshop) -> dict[str, Any]:
    """The sweep made last on its page, else the usual one."""
    typed = (load_draft(workshop, "sweep") or {}).get("typed", {})
    try:
        return SweepTable.of(sweep_of(typed)).model_dump()
    except InputError:
        return SweepTable().model_dump()


def _sweep_words(sweep: dict[str, Any]) -> str:
    return f"{sweep['start_hz']:g} to {sweep['stop_hz']:g} Hz in {sweep['duration_s']:g} s"


_ROLE_WORDS = {
    Role.VOLTAGE: "voltage at the terminals", Role.CURRENT: "current", Role.SOURCE: "source: voltage before a known resistor",
    Role.MICROPHONE: "microphone", Role.UNUSED: "unused",
}  # fmt: skip
