"""``/releases``: what is out, for whom, and what comes next? And ``/releases/<release>``: one of them, made into a bundle."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fastapi import Response
from fastapi.responses import FileResponse
from nicegui import app, ui

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.pages import release_bundle
from halfroll.app.pages.release_page import ReleasePage
from halfroll.app.release_form import ReleaseForm
from halfroll.app.view import show
from halfroll.core.errors import InputError
from halfroll.core.text import count
from halfroll.workshop import Workshop
from halfroll.workshop.releases import due, load_release, release_folder, release_ids
from halfroll.workshop.tree import names_in


def register(workshop: Workshop) -> None:
    """Add both pages, the bundles to download and the route for bundles of others."""
    release_bundle.register(workshop)

    @app.get("/releases/{name}/bundle/{file}")
    def bundle_file(name: str, file: str) -> Response:
        if (
            name not in release_ids(workshop)
            or file not in names_in(str(release_folder(workshop, name)), files=True)
            or not file.endswith(".zip")
        ):
            return Response(
                "There is no such bundle; make it on the page of its release.\n",
                status_code=404,
                media_type="text/plain; charset=utf-8",
            )
        return FileResponse(
            release_folder(workshop, name) / file, media_type="application/zip", filename=file
        )

    @frame.page("/releases", workshop_name=lambda: workshop.name)
    async def releases_page() -> None:
        frame.title("Releases")
        versions = workshop.version_ids()
        lines, faults = _lines(workshop)
        show(
            "releases_head.html",
            lines=lines,
            possible=bool(versions),
            stations=_stations(workshop),
            faults=faults,
        )
        if versions:
            asked = ui.context.client.request.query_params.get("version", "")
            with el("details", cls="block") as fold:
                el("summary", "Make a release")
                ReleaseForm(workshop, versions=[asked if asked in versions else versions[-1]])
            if asked or not lines:
                fold.put(open=True)
        await release_bundle.BundleIntake(workshop).draw()

    @frame.page("/releases/{name}", workshop_name=lambda: workshop.name)
    async def release_page(name: str) -> None:
        if name not in release_ids(workshop):
            raise frame.NotHereError(
                f"There is no release {name}", allowed=release_ids(workshop)[:12] or "there is no release yet"
            )
        loaded = load_release(workshop, name)
        frame.title(loaded.record.title)
        await ReleasePage(workshop, loaded).show()


def _lines(workshop: Workshop) -> tuple[list[dict[str, Any]], list[str]]:
    """Each release for the table, the newest first, and the faults of those that cannot be read."""
    found, faults = [], []
    for name in release_ids(workshop):
        try:
            found.append((name, load_release(workshop, name).record))
        except InputError as fault:
            faults.append(str(fault))
    found.sort(key=lambda one: one[1].date, reverse=True)
    lines = [
        {"title": record.title, "href": address.of_release(name), "date": record.date.isoformat(), "licence": record.licence,
         "versions": [(id_, address.of_version(id_)) for id_ in record.versions],
         "who": ", ".join(f"{one.name} from {one.date.isoformat()}" for one in record.who)}
        for name, record in found
    ]  # fmt: skip
    return lines, faults


def _stations(workshop: Workshop) -> list[dict[str, Any]]:
    """Every turn of every release in the order of days, with today among them."""
    today = dt.date.today()
    found = due(workshop, today)
    turns = sorted((*found.out, *found.next), key=lambda turn: (turn.date, turn.release_id))
    if not turns:
        return []
    stations: list[dict[str, Any]] = [
        {"today": False, "title": turn.title, "audience": turn.audience, "date": turn.date.isoformat(), "out": turn.out,
         "href": address.of_release(turn.release_id), "away": "" if turn.out else f"in {count((turn.date - today).days, 'day')}"}
        for turn in turns
    ]  # fmt: skip
    here = sum(turn.out for turn in turns)
    stations.insert(here, {"today": True, "date": today.isoformat(), "out": False})
    return stations
