"""``/rigs``: are my rigs calibrated? And ``/rigs/<rig>``: what one states, how current that is, and calibrating it."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

from nicegui import ui

from halfroll.app import address, calibration_form, frame
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.pages.rig_forms import forms
from halfroll.app.signal_path import signal_path
from halfroll.app.typed import Errors, new_name, record_of
from halfroll.app.view import show
from halfroll.core.errors import InputError
from halfroll.core.text import count, format_stated, join_words
from halfroll.publish.theme import Theme
from halfroll.workshop import Loaded, RigRecord, Workshop, read_contents
from halfroll.workshop.correction_file import correction_of
from halfroll.workshop.rig_state import NAMES, TableState, earlier_states, states


def register(workshop: Workshop) -> None:
    """Add both pages and the route files are sent to."""
    calibration_form.register(workshop)

    @frame.page("/rigs", workshop_name=lambda: workshop.name)
    def rigs_page() -> None:
        frame.title("Rigs")
        _list(workshop)
        _new(workshop)

    @frame.page("/rigs/{rig}", workshop_name=lambda: workshop.name)
    def rig_page(rig: str) -> None:
        if rig not in workshop.rig_names():
            raise frame.NotHereError(
                f"There is no rig {rig}", allowed=workshop.rig_names() or "there is no rig yet"
            )
        loaded = workshop.rig(rig)
        frame.title(f"Rig {rig}")
        _show(workshop, rig, loaded)


def _list(workshop: Workshop) -> None:
    today, contents = dt.date.today(), read_contents(workshop.folder, workshop.index)
    used = Counter(take.rig for take in contents.takes.values())
    rigs = [
        {"name": name, "title": record.title, "states": states(record, today), "takes": used[name]}
        for name, record in contents.rigs.items()
    ]
    faults = [str(fault) for key, fault in contents.faults.items() if key.startswith("rig ")]
    show("rigs.html", rigs=rigs, columns=list(NAMES.values()), today=today, faults=faults)


def _new(workshop: Workshop) -> None:
    """A new rig: a name and a title; everything else comes by calibrating."""
    with el("section", cls="block"):
        el("h2", "A new rig")
        with el("div", cls="fields"):
            name = Field("name", "Name", hint="a short one, such as bench")
            title = Field("title", "What it is", hint="microphone, interface, amplifier")
            notes = Field(
                "notes", "Settings to remember", hint="positions of gain knobs and switches", tag="textarea"
            )

        def make() -> None:
            errors: Errors = {}
            plain = new_name(name.value, "rig", "name", workshop.rig_names(), errors)
            record = record_of(RigRecord, {"title": title.value, "notes": notes.value}, "", errors)
            for field in (name, title, notes):
                field.error(errors.get(field.key, ""))
            if not errors:
                workshop.create_rig(plain, record)
                ui.navigate.to(address.of_rig(plain))

        with el("div", cls="actions"):
            button("Make the rig", make, main=not workshop.rig_names()).mark("make-rig")


def _show(workshop: Workshop, rig: str, loaded: Loaded[RigRecord]) -> None:
    record, today = loaded.record, dt.date.today()
    now = states(record, today)
    takes = sum(take.rig == rig for take in read_contents(workshop.folder, workshop.index).takes.values())
    late, standing = _standing(now)
    show("rig_head.html", title=record.title or rig, name=rig, notes=record.notes, late=late, standing=standing,
         takes=count(takes, "take") if takes else "", drawing=_Safe(signal_path(record, now, rig)))  # fmt: skip
    with el("section", cls="block"):
        show("rig_tables.html", states=now, others=list(_others(record)))
        _curve(workshop, record)
    with el("section", cls="block no-print"):
        el("h2", "Calibrate").put(id="calibrate")
        el(
            "p",
            "Each is worked out first and shown with its uncertainty; nothing is kept before you say so.",
            cls="quiet",
        )
        for form in forms(workshop, rig, record):
            form()
    with el("section", cls="block"):
        show(
            "rig_history.html",
            earlier=earlier_states(record),
            file=str(loaded.path.relative_to(workshop.folder)),
        )


class _Safe(str):
    """Markup of our own, which a template leaves as it is."""

    def __html__(self) -> str:
        return self


def _standing(now: tuple[TableState, ...]) -> tuple[bool, str]:
    """Whether something is out of date, and how the rig stands in a sentence."""
    late = [s.name.lower() for s in now if s.state == "out of date"]
    soon = [s.name.lower() for s in now if s.state == "due soon"]
    undated = [s.name.lower() for s in now if s.state == "not dated"]
    if late:
        return True, f"Out of date: {join_words(late)}. Takes made now will say so."
    if all(s.state == "not calibrated" for s in now):
        return False, "Nothing is calibrated yet: levels are only relative. Begin with the microphone."
    if soon:
        return False, f"Due within a month: {join_words(soon)}."
    if undated:
        return False, f"Not dated: {join_words(undated)}. Whether that is current cannot be told."
    return False, "All that is calibrated is valid."


def _others(record: RigRecord) -> Iterator[tuple[str, str]]:
    """What a rig states that is not calibrated: sound card, limit, and a drive that is only stated."""
    card = record.devices
    if card is not None:
        roles = ", ".join(f"channel {n + 1} {role}" for n, role in enumerate(card.inputs))
        yield (
            "Sound card",
            f"in {card.input or 'not chosen'}, out {card.output or 'not chosen'} (channel {card.output_channel}), {card.rate_hz} Hz",
        )
        yield "Inputs", roles
    if record.limits is not None:
        yield "Never above", f"{format_stated(record.limits.v_max, 'V')} r.m.s. at the terminals"
    if record.drive_u_db:
        yield "A drive that is only stated", f"standard uncertainty {format_stated(record.drive_u_db, 'dB')}"


def _curve(workshop: Workshop, record: RigRecord) -> None:
    """The microphone's correction curve, with the range it covers."""
    try:
        curve = correction_of(workshop.folder, record)
    except InputError as fault:
        el("p", str(fault), cls="alert", role="alert")
        return
    if curve is None:
        return

    def maker() -> Callable[[Theme, int], dict[str, Any]]:
        from halfroll.publish.rig import correction_chart

        return lambda look, width_px: correction_chart(curve, theme=look, width_px=width_px)

    with el("figure"):
        Chart(maker()).mark("chart-correction")
