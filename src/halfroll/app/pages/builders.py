"""``/builders``: whose units were checked? ``/builders/new``: one more. ``/builders/<check>``: one of them."""

from __future__ import annotations

import datetime as dt

from fastapi import Request, Response
from nicegui import app

from halfroll.app import address, frame
from halfroll.app.handed import PDF, handed, refused
from halfroll.app.pages import builders_intake
from halfroll.app.pages.builders_check import CheckPage
from halfroll.app.pages.builders_new import NewCheck
from halfroll.app.view import show
from halfroll.core.errors import HalfrollError
from halfroll.publish.builders_rows import STATUSES, counts_said, fault_words
from halfroll.workshop import Workshop
from halfroll.workshop.builders import Standing, check_ids, check_named, load_check, standing


def register(workshop: Workshop) -> None:
    """Add the pages, the sweep to download and the route for recordings."""
    builders_intake.register(workshop)

    @app.get("/builders/sweep.wav")
    def sweep_file() -> Response:
        from halfroll.measure.phone.signal import PHONE_SWEEP, phone_samples
        from halfroll.workshop.audio import encode_audio

        data = encode_audio(phone_samples(), PHONE_SWEEP.rate_hz, ".wav", "PCM_16")
        return handed(data, "audio/wav", "builders-sweep.wav")

    @app.get("/builders/sheet.pdf")
    def sheet_file(version: str) -> Response:
        try:
            from halfroll.publish.builders_sheet import check_sheet

            data = check_sheet(workshop, version, dt.date.today().isoformat())
        except HalfrollError as fault:
            return refused(fault)
        return handed(data, PDF, "check-sheet.pdf", inline=True)

    @frame.page("/builders", workshop_name=lambda: workshop.name)
    def builders_page() -> None:
        frame.title("Builders")
        found = standing(workshop)
        show("builders_head.html", lines=_lines(found), counts=counts_said(found), versions=workshop.version_ids(),
             faults=[str(fault) for fault in found.faults])  # fmt: skip

    @frame.page("/builders/new", workshop_name=lambda: workshop.name)
    def new_page(request: Request) -> None:
        frame.title("Check a unit")
        version = request.query_params.get("version", "")
        if version:
            frame.need(workshop, version, "version")
        show("builders_new_head.html", possible=bool(workshop.version_ids()))
        if workshop.version_ids():
            NewCheck(workshop, version).draw()

    @frame.page("/builders/{name}", workshop_name=lambda: workshop.name)
    async def check_page(name: str) -> None:
        known = check_ids(workshop)
        if name not in known:
            raise frame.NotHereError("There is no such check", found=name, allowed=known[:12] or "none yet")
        frame.title(name)
        loaded = load_check(workshop, name)
        check_named(workshop, loaded)
        await CheckPage(workshop, loaded).show()


def _lines(found: Standing) -> list[dict[str, str]]:
    return [
        {
            "name": one.id, "href": address.of_check(one.id), "date": one.record.date.isoformat(), "builder": one.record.builder or "–",
            "version": one.record.version, "version_href": address.of_version(one.record.version), "says": one.record.complaint or "–",
            "status": STATUSES[one.record.status], "was": fault_words(one.record.found_fault) or "–",
        }
        for one in found.checks
    ]  # fmt: skip
