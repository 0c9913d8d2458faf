"""A version without moving parts: some to begin with, on its own former."""

from __future__ import annotations

from markupsafe import Markup
from nicegui import ui

from halfroll.app import address
from halfroll.app.dom import el, html
from halfroll.app.field import button
from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.app.suspension_section import around, section
from halfroll.app.suspension_start import STARTS, former_mm, start, travel_mm
from halfroll.app.suspension_tables import tables_of
from halfroll.core.errors import InputError
from halfroll.workshop.suspension_design import moving_of


def choose_parts(draft: SuspensionDraft) -> None:
    """Every proposal as a drawing with a button."""
    with el("div", cls="starts"):
        for key, (title, words) in STARTS.items():
            with el("section", cls="block"):
                el("h2", title)
                html(Markup(_drawn(draft, key, title)))
                el("p", words, cls="prose")
                with el("div", cls="actions"):
                    button("Begin with these", lambda key=key: _begin(draft, key), main=True).mark(
                        f"begin-{key}"
                    ).put(aria_label=f"Begin with {title.lower()}")


def _drawn(draft: SuspensionDraft, key: str, title: str) -> str:
    tables = tables_of(start(key, former_mm(draft.record), travel_mm(draft.record)))
    try:
        design = moving_of(tables.put_into(draft.record), draft.catalogue, draft.folder)
        return section(design, around(draft.record, draft.catalogue), theme=None, width_px=420, name=title)
    except InputError:  # a motor whose coil has a fault; the page of the design says it
        return ""


def _begin(draft: SuspensionDraft, key: str) -> None:
    tables = start(key, former_mm(draft.record), travel_mm(draft.record))
    draft.change(lambda data: data.update(tables))
    ui.navigate.to(address.of_suspension(draft.version_id))
