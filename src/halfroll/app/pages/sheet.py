"""``/sheet/<driver>/<version>``: the data sheet of a version as a page, and as a PDF; every number's mark is a link to what stands behind it."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable
from functools import partial
from typing import Any

from fastapi import Request, Response
from nicegui import app

from halfroll.app import address, frame
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.drawing import Drawing
from halfroll.app.handed import PDF, handed, refused
from halfroll.app.job import work
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, HalfrollError, RefusedError
from halfroll.core.progress import Progress, silent
from halfroll.publish.comparison import curve_chart
from halfroll.publish.data_sheet_rows import CAUTIONS, CURVES, HEADS, DataSheet, data_sheet
from halfroll.publish.theme import Theme
from halfroll.publish.version_drawing import version_picture
from halfroll.workshop import Workshop
from halfroll.workshop.virtual_takes import foreseen


def register(workshop: Workshop) -> None:
    """Add the page and its file."""

    @frame.page("/sheet/{driver}/{version}", workshop_name=lambda: workshop.name)
    async def sheet_page(driver: str, version: str, request: Request) -> None:
        version_id = f"{driver}/{version}"
        frame.need(workshop, version_id, "version")
        predict = request.query_params.get("predict", "") == "1"
        frame.title(f"Data sheet of {version_id}")
        try:
            found = await work(
                f"Gathering the data sheet of {version_id}", partial(_gathered, workshop, version_id, predict)
            )
        except RefusedError as fault:
            _head(workshop, version_id, None, predict)
            el("p", str(fault), cls="prose").props('role="alert"')
            return
        except CancelledError:
            el("p", "Stopped. Load the page again to go on.", cls="quiet")
            return
        _head(workshop, version_id, found, predict)
        _show(workshop, found)

    @app.get("/sheet/{driver}/{version}/sheet.pdf")
    def pdf(driver: str, version: str, request: Request) -> Response:
        from halfroll.publish.data_sheet import data_sheet_pdf

        try:
            predict = request.query_params.get("predict", "") == "1"
            found = _gathered(workshop, f"{driver}/{version}", predict, silent)
            data = data_sheet_pdf(found, workshop, date=dt.date.today().isoformat())
        except HalfrollError as fault:
            return refused(fault)
        return handed(data, PDF, f"{driver}-{version}.pdf", inline=True)


def _gathered(workshop: Workshop, version_id: str, predict: bool, progress: Progress) -> DataSheet:
    keep = os.access(workshop.folder, os.W_OK)  # a workshop that may only be read is shown all the same
    return data_sheet(workshop, version_id, predict=predict, keep=keep, progress=progress)


def _head(workshop: Workshop, version_id: str, found: DataSheet | None, predict: bool) -> None:
    record = workshop.version(version_id).record
    driver, version = version_id.split("/")
    can_predict = foreseen(record) and (found is None or "predicted" not in found.sources)
    show(
        "data_sheet_head.html",
        steps=[
            ("Drivers", "/"),
            (workshop.driver(driver).record.title, f"/#{driver}"),
            (version, address.of_version(version_id)),
        ],
        name=version_id if found is None else found.title,
        summary="" if found is None else found.summary,
        pages=address.pages_of(version_id, "sheet", whole=foreseen(record)),
        facts=() if found is None else found.facts,
        pdf="" if found is None else f"/sheet/{version_id}/sheet.pdf" + ("?predict=1" if predict else ""),
        predict=f"/sheet/{version_id}?predict=1" if can_predict else "",
        release=f"/releases?version={version_id}",
    )


def _show(workshop: Workshop, found: DataSheet) -> None:
    with el("figure", cls="sheet-drawing"):
        picture = partial(version_picture, workshop, found.version_id, name=found.title)
        Drawing(
            lambda look, width: picture(theme=look, width_px=min(width, 620)).svg,
            f"{found.title}: half-section",
        )
    show(
        "data_sheet_figures.html",
        groups=found.groups,
        heads=[HEADS[source] for source in found.sources],
        conditions=found.conditions,
    )
    with el("section", cls="block", aria_label="Curves"):
        el("h2", "Curves", id="curves")
        with el("div", cls="charts"):
            for name, _ in CURVES:
                if any(name in column.curves for column in found.comparison.columns):
                    with el("figure"):
                        Chart(_maker(found, name)).mark(f"chart-{name}")
    show(
        "data_sheet_foot.html", limits=found.limits, cabinets=found.cabinets, unknown=found.unknown, said=found.said, changes=found.changes,
        cautions=CAUTIONS, rules=[(row.label, row.rule, row.remarks) for row in found.rows],
    )  # fmt: skip


def _maker(found: DataSheet, name: str) -> Callable[[Theme, int], dict[str, Any]]:
    def make(look: Theme, width_px: int) -> dict[str, Any]:
        spec = curve_chart(found.comparison, name, theme=look, width_px=width_px)
        assert spec is not None
        return spec

    return make
