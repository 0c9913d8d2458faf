"""``/cabinets``: which cabinets are there? And ``/cabinets/<id>``, ``/cabinets/new``: one of them."""

from __future__ import annotations

from fastapi import Request
from markupsafe import Markup

from halfroll.app import address, frame
from halfroll.app.cabinet_draft import NEW, CabinetDraft
from halfroll.app.pages.cabinet_page import CabinetPage
from halfroll.app.view import show
from halfroll.core.text import THIN
from halfroll.publish.cabinet_drawing import cabinet_svg
from halfroll.publish.cabinet_rows import KIND_WORDS
from halfroll.workshop import Workshop
from halfroll.workshop.cabinets import LoadedCabinet, all_cabinets, cabinet_ids, wall_m

THUMBNAIL_PX = 300


def register(workshop: Workshop) -> None:
    """Add the pages."""

    @frame.page("/cabinets", workshop_name=lambda: workshop.name)
    def cabinets_page() -> None:
        frame.title("Cabinets")
        known, faults = all_cabinets(workshop)
        show(
            "cabinets_index.html",
            lines=[_line(one) for one in known],
            faults=faults,
            new=address.of_cabinet(NEW),
            drivers=bool(workshop.version_ids()),
        )

    @frame.page("/cabinets/{cabinet}", workshop_name=lambda: workshop.name)
    def cabinet_page(cabinet: str, request: Request) -> None:
        name, known = cabinet, cabinet_ids(workshop)
        if name != NEW and name not in known:
            raise frame.NotHereError("There is no such cabinet", found=name, allowed=known or "none yet")
        driver = request.query_params.get("driver", "")
        if driver:
            frame.need(workshop, driver, "version")
        draft = CabinetDraft(workshop, name, driver)
        title = "A new cabinet" if draft.loaded is None else draft.loaded.record.title or name
        frame.title(title)
        show("cabinet_head.html", steps=[("Cabinets", "/cabinets"), (name if name != NEW else "new", address.of_cabinet(name))], name=title,
             notes="" if draft.loaded is None else draft.loaded.record.notes, new=name == NEW)  # fmt: skip
        CabinetPage(workshop, draft)


def _line(one: LoadedCabinet) -> tuple[str, str, str, Markup, str]:
    """Id, title, address, drawing and words of a cabinet."""
    cabinet, record = one.cabinet, one.loaded.record
    drawing = Markup(
        cabinet_svg(
            cabinet, one.body, wall_m=wall_m(record), theme=None, width_px=THUMBNAIL_PX, name=one.loaded.id
        )
    )
    tuning = cabinet.tuning_hz()
    words = f"{KIND_WORDS[cabinet.kind].capitalize()}, {1e3 * cabinet.net_m3:.3g}{THIN}l net"
    words += "" if tuning is None else f", tuned to {tuning:.0f}{THIN}Hz"
    words += f", for {record.driver}" if record.driver else ""
    return one.loaded.id, record.title, address.of_cabinet(one.loaded.id), drawing, words
