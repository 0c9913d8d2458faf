"""What a person may do with an impedance run that is there: put right what was typed of it, or leave it out.

Both are saved only if nobody changed the record since the page was opened.
"""

from __future__ import annotations

from nicegui import ui

from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.typed import Errors, number_or_text, record_of
from halfroll.workshop import Workshop
from halfroll.workshop.fitted import FittedRun
from halfroll.workshop.impedance_record import ImpedanceRecord
from halfroll.workshop.runs import load_run

_LABELS = {
    "added_mass_g": ("Added mass, g", "all that was stuck on"),
    "added_mass_u_g": ("Its standard uncertainty, g", "0: 1 % is taken"),
    "volume_l": ("Net volume of the box, l", "less what the driver takes of it"),
    "volume_u_l": ("Its standard uncertainty, l", "0: 2 % is taken"),
    "note": ("Note", ""),
}


def run_standing(workshop: Workshop, run: FittedRun) -> None:
    """The part of the page about the run in view."""
    _correct(workshop, run)
    _leave_out(workshop, run)


def _correct(workshop: Workshop, run: FittedRun) -> None:
    loaded = load_run(workshop, run.run_id)
    record: ImpedanceRecord = loaded.record
    keys = ["note"]
    if record.added_mass_g is not None:
        keys = ["added_mass_g", "added_mass_u_g", *keys]
    if record.volume_l is not None:
        keys = ["volume_l", "volume_u_l", *keys]
    fields: dict[str, Field] = {}

    def save() -> None:
        typed = {key: _typed(key, field.value) for key, field in fields.items()}
        errors: Errors = {}
        changed = record_of(ImpedanceRecord, {**dict(record), **typed}, "", errors)
        for key, field in fields.items():
            field.error(errors.pop(key, ""))
        if changed is None:
            said.text = " ".join(errors.values())
            return
        workshop.save(loaded, changed)
        ui.navigate.reload()

    with el("section", cls="block no-print"), el("details"):
        el("summary", f"Put right what was typed of {run.name}")
        with el("div", cls="fields"):
            for key in keys:
                label, hint = _LABELS[key]
                value = getattr(record, key)
                shown = value if isinstance(value, str) else f"{value:g}"
                fields[key] = Field(f"right_{key}", label, hint=hint, value=shown,
                                    inputmode=None if key == "note" else "decimal")  # fmt: skip
        said = el("p", role="alert", cls="alert")
        button("Save the correction", save).mark("put-right")


def _typed(key: str, text: str) -> object:
    """A note as it stands, a number as it is typed; a mass or a volume may not be emptied, its uncertainty may."""
    value = text if key == "note" else number_or_text(text)
    return 0.0 if value is None and "_u_" in key else "nothing" if value is None else value


def _leave_out(workshop: Workshop, run: FittedRun) -> None:
    loaded = load_run(workshop, run.run_id)

    def save(text: str) -> None:
        workshop.save(loaded, loaded.record.changed(leave_out=text))
        ui.navigate.reload()

    with el("section", cls="block no-print"):
        el("h2", f"Does {run.name} count?")
        if run.record.leave_out:
            el("p", f"It is left out: {run.record.leave_out}")
            button("Let it count again", lambda: save("")).mark("count")
            return
        why = Field("why", "Leave it out, because", hint="The files stay; the run counts no more.")

        def leave() -> None:
            if not why.value:
                why.error("Say why, so that others understand it later.")
                return
            save(why.value)

        button("Leave it out", leave).mark("leave-out")
