"""``/site``: web pages of the workshop for visitors, made here and taken along as a ZIP."""

from __future__ import annotations

import datetime as dt
from functools import partial

from nicegui import ui

from halfroll.app import frame
from halfroll.app.dom import Plain, el
from halfroll.app.frame import telling
from halfroll.app.job import work
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import Progress
from halfroll.publish.site import site_files, zipped
from halfroll.workshop import DriverLine, Workshop, overview, paths


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/site", workshop_name=lambda: workshop.name)
    def site_page() -> None:
        frame.title("Web pages for visitors")
        drivers = overview(workshop).drivers
        show("site_head.html", any=any(driver.versions for driver in drivers))
        if any(driver.versions for driver in drivers):
            _Maker(workshop, drivers)


class _Maker:
    """Which versions, and the button that makes the pages."""

    def __init__(self, workshop: Workshop, drivers: tuple[DriverLine, ...]) -> None:
        self._workshop = workshop
        self._chosen = {version.version_id: True for driver in drivers for version in driver.versions}
        self._predict = False
        with el("section", cls="block", aria_label="Versions"):
            el("h2", "Versions")
            for driver in drivers:
                self._driver(driver)
            with el("label", cls="choice"):
                el("input", type="checkbox", id="predict").on(
                    "change",
                    lambda event: setattr(self, "_predict", bool(event.args)),
                    js_handler="(e) => emit(e.target.checked)",
                )
                el("span", " Work out predictions that are not kept yet (takes longer)")
            with el("p", cls="actions"):
                el("button", "Make the pages", cls="main", type="button").on(
                    "click", telling(self._make)
                ).mark("make-site")
            self._result: Plain = el("div", role="status")

    def _driver(self, driver: DriverLine) -> None:
        with el("fieldset", cls="choices"):
            el("legend", driver.record.title)
            for version in driver.versions:
                with el("label", cls="choice"):
                    el(
                        "input", type="checkbox", checked=True, id=f"v-{version.version_id.replace('/', '-')}"
                    ).on(
                        "change",
                        partial(self._choose, version.version_id),
                        js_handler="(e) => emit(e.target.checked)",
                    )
                    name = version.version_id.rpartition("/")[2]
                    el("span", f" {name} {version.record.title}".rstrip())

    def _choose(self, version_id: str, event: object) -> None:
        self._chosen[version_id] = bool(getattr(event, "args", True))

    async def _make(self) -> None:
        chosen = [id_ for id_, yes in self._chosen.items() if yes]
        if not chosen:
            raise InputError("Pages need at least one version", remedy="Tick one")
        self._result.clear()
        with self._result:
            try:
                data = await work("Making the pages", partial(self._zip, chosen))
            except CancelledError:
                el("p", "Stopped. Nothing was made.", cls="quiet")
                return
            name = f"{paths.slug(self._workshop.name) or 'workshop'}-pages.zip"
            el(
                "p",
                f"Made: {len(data) / 1e6:.1f} MB. Unpack {name} and open index.html, or copy the folder to any web space.",
            )
        ui.download(data, name)

    def _zip(self, chosen: list[str], progress: Progress) -> bytes:
        today = dt.date.today().isoformat()
        return zipped(
            site_files(self._workshop, versions=chosen, date=today, predict=self._predict, progress=progress)
        )
