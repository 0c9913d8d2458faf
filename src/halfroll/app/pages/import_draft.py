"""The draft of the import page, and the list of recordings in it."""

from __future__ import annotations

from dataclasses import asdict, replace
from functools import partial
from typing import Any

from halfroll.app import frame, intake
from halfroll.app.dom import Plain, el
from halfroll.app.field import Field, button
from halfroll.app.intake import PAGE, DropZone, Kept
from halfroll.app.pages.sweep import FIELDS as SWEEP_FIELDS
from halfroll.app.pages.sweep import written
from halfroll.app.typed import Errors, Typed
from halfroll.core.text import count, format_stated
from halfroll.measure.recording import Role
from halfroll.measure.sweep import Sweep
from halfroll.workshop import Workshop, clear_draft, load_draft, save_draft

_ROLES = tuple((str(role), str(role)) for role in Role)
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


class Draft:
    """What stands in the form, kept in the workshop until it is a take.

    Parameters
    ----------
    given
        What the page's address says: the version, and the sweep.
    """

    def __init__(self, workshop: Workshop, given: dict[str, str]) -> None:
        self.workshop = workshop
        kept = load_draft(workshop, PAGE) or {}
        self.typed: Typed = {**_last_sweep(workshop), **kept.get("typed", {}), **_said_by(given)}
        files = [Kept.from_dict(raw) for raw in kept.get("files", [])]
        self.files = [one for one in files if intake.there(workshop, one)]

    def keep(self) -> None:
        """Keep what stands in the form."""
        save_draft(self.workshop, PAGE, {"typed": self.typed, "files": [asdict(kept) for kept in self.files]})

    def forget(self) -> None:
        """Empty what belonged to this take; what stays the same for the next one stays."""
        clear_draft(self.workshop, PAGE)
        self.files = []
        self.forget_new("rig_")

    def forget_new(self, *more: str) -> None:
        """Empty what described a new driver, version and unit, and what begins like `more`: they are there now."""
        fresh = ("version_", *more)
        self.typed = {k: v for k, v in self.typed.items() if k not in _ONCE and not k.startswith(fresh)}
        self.keep()


def _said_by(given: dict[str, str]) -> Typed:
    said = {f"sweep_{key}": given[key] for key, _, _ in SWEEP_FIELDS if key in given}
    driver, _, version = given.get("version", "").partition("/")
    return {**said, **({"driver": driver, "version": version} if version else {})}


def _last_sweep(workshop: Workshop) -> Typed:
    """The sweep made last on the sweep page, else the usual one."""
    last = (load_draft(workshop, "sweep") or {}).get("typed", {})
    return {f"sweep_{key}": last.get(key, value) for key, value in written(Sweep()).items()}


class Recordings:
    """The field to drop files on, and the files kept so far with what their channels hold."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.sweep_fields: dict[str, Field] = {}
        self._places: dict[str, Plain] = {}
        DropZone(on_kept=self._kept, on_refused=self._refused).mark("drop")
        self._refusals = el("div", role="alert", cls="alert")
        self._list = el("div", cls="block")
        self._missing = el("p", cls="error alert").mark("files-error")
        self._fill()

    def say(self, errors: Errors) -> set[str]:
        """Say what is wrong with the files; returns the keys that have a place here."""
        self._missing.text = errors.get("files", "")
        for token, place in self._places.items():
            place.text = errors.get(f"roles_{token}", "")
        return {"files", *(f"roles_{token}" for token in self._places)}

    def _kept(self, answer: dict[str, Any]) -> None:
        self._refusals.clear()
        if "sweep" in answer:
            for key, value in answer["sweep"].items():
                text = str(value) if key == "rate_hz" else f"{value:g}"
                self.draft.typed[f"sweep_{key}"] = text
                self.sweep_fields[key].set(text)
            frame.say(f"The sweep was read from {answer['name']}.")
        else:
            self.draft.files.append(Kept.from_dict(answer["file"]))
            self._fill()
        self.draft.keep()

    def _refused(self, name: str, why: str) -> None:
        with self._refusals:
            el("p", f"{name}: {why}")

    def _fill(self) -> None:
        self._list.clear()
        self._places.clear()
        self._missing.text = ""
        with self._list:
            if len(self.draft.files) > 1:
                Field("together", "These files are", tag="select", value=self.draft.typed.get("together", "one"),
                      choices=(("one", "channels of one take"), ("each", "one take each")), on_change=self._joined)  # fmt: skip
            for kept in self.draft.files:
                self._show(kept)

    def _show(self, kept: Kept) -> None:
        words = f"{count(kept.channels, 'channel')}, {kept.rate_hz} samples a second, {format_stated(kept.seconds, 's')}"
        with el("div", cls="file block"):
            with el("p"):
                el("strong", kept.name)
                el("span", f" {words} ", cls="quiet")
                remove = button("Remove", partial(self._remove, kept), cls="plain")
                remove.put(aria_label=f"Remove {kept.name}")
            with el("div", cls="fields"):
                for n, role in enumerate(kept.roles):
                    Field(f"role_{n}", f"Channel {n + 1} holds", tag="select", value=role, choices=_ROLES,
                          on_change=partial(self._role, kept, n), aria_label=f"{kept.name}, channel {n + 1} holds")  # fmt: skip
            self._places[kept.token] = el("p", cls="error alert")

    def _joined(self, field: Field) -> None:
        self.draft.typed["together"] = field.value
        self.draft.keep()

    def _role(self, kept: Kept, channel: int, field: Field) -> None:
        place = next(i for i, one in enumerate(self.draft.files) if one.token == kept.token)
        roles = list(self.draft.files[place].roles)
        roles[channel] = field.value
        self.draft.files[place] = replace(self.draft.files[place], roles=tuple(roles))
        self.draft.keep()

    def _remove(self, kept: Kept) -> None:
        self.draft.files = [one for one in self.draft.files if one.token != kept.token]
        intake.drop(self.draft.workshop, kept)
        self._fill()
        self.draft.keep()
