"""``/pictures?...``: a comparison as pictures for a film or a talk, and the chart as it grows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

from fastapi import Request, Response
from fastapi.responses import FileResponse
from nicegui import app, ui

from halfroll.app import address, asked, frame
from halfroll.app.asked import Asked
from halfroll.app.dom import el
from halfroll.app.films import MEDIA, films
from halfroll.app.handed import answered, handed, refused
from halfroll.app.job import work
from halfroll.app.pages.build_up import BuildUp
from halfroll.app.pages.compare import comparison_of, title_of
from halfroll.app.typed import without_place
from halfroll.app.view import show
from halfroll.compare.types import Comparison
from halfroll.core.errors import InputError
from halfroll.publish.screens import draw
from halfroll.publish.screens.grounds import GROUND_WORDS, SIZES, Size, size_of, size_text
from halfroll.publish.screens.layout import charts_of, check, screen
from halfroll.publish.screens.screen import Screen
from halfroll.workshop import Workshop
from halfroll.workshop.marks import keep_marks, records_of
from halfroll.workshop.paths import of_prediction

PREVIEW: Size = (960, 540)

KINDS: dict[str, tuple[str, Callable[[Screen, Size], str | bytes]]] = {
    "png": ("image/png", draw.screen_png),
    "svg": ("image/svg+xml", draw.screen_svg),
    "pdf": ("application/pdf", draw.screen_pdf),
}


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What an address asks for: a comparison, and how its picture is drawn."""

    comparison: Asked
    chart: str
    ground: str
    size: str
    title: str
    finding: bool

    def query(self, **more: str) -> str:
        """The same picture as the part of an address after the question mark."""
        drawn = {"chart": self.chart, "ground": self.ground, "size": self.size, "title": self.title,
                 "finding": "" if self.finding else "no"}  # fmt: skip
        settings = {
            "base": self.comparison.base,
            "spread": self.comparison.spread,
            **asked.written(self.comparison.settings),
        }
        return address.query(self.comparison.versions, **settings, **drawn, **more)


def read(request: Request, workshop: Workshop) -> Wanted:
    """What an address asks for; versions as ``v`` each, or all in ``ids`` with commas between."""
    pairs = list(request.query_params.multi_items())
    pairs += [
        ("v", one.strip()) for key, value in pairs if key == "ids" for one in value.split(",") if one.strip()
    ]
    given = dict(pairs)
    base = [] if given.get("base") else [("base", "first")]
    return Wanted(
        comparison=asked.read([*pairs, *base], workshop.settings),
        chart=given.get("chart", "level"),
        ground=given.get("ground", "plain"),
        size=given.get("size", size_text(SIZES[0])),
        title=given.get("title", "").strip(),
        finding=given.get("finding", "") != "no",
    )


def register(workshop: Workshop) -> None:
    """Add the page and its files."""

    @frame.page("/pictures", workshop_name=lambda: workshop.name)
    async def pictures_page() -> None:
        request: Request = ui.context.client.request
        wanted = read(request, workshop)
        if not wanted.comparison.versions or wanted.comparison.errors:
            _nothing_chosen(wanted)
            return
        for version_id in wanted.comparison.versions:
            frame.need(workshop, of_prediction(version_id)[0], "version")
        found = await work("Comparing", lambda progress: comparison_of(workshop, wanted.comparison, progress))
        _show(workshop, wanted, found)

    @app.get("/pictures/picture.{kind}")
    def picture(request: Request, kind: str) -> Response:
        return answered(
            lambda: _picture(
                workshop, read(request, workshop), kind, preview="preview" in request.query_params
            )
        )

    @app.get("/pictures/film/{token}")
    def film(token: str) -> Response:
        path = films().get(token)
        if path is None:
            return refused("This film is gone; make it again.", 404)
        return FileResponse(
            path, media_type=MEDIA[path.suffix], filename=path.name, content_disposition_type="inline"
        )


def screen_of(workshop: Workshop, wanted: Wanted, found: Comparison, *, keep: bool) -> Screen:
    """The picture; its marks are kept in the workshop only where it leaves the house."""
    check(found, wanted.chart)
    if keep:
        marks = keep_marks(workshop, found.columns, found.settings)
    else:
        records = records_of(workshop, found.columns, found.settings)
        marks = {(record.version_id, record.key): record.mark for record in records}
    return screen(
        found, wanted.chart, ground=wanted.ground, title=wanted.title, source=workshop.name,
        date=dt.date.today().isoformat(), marks=marks, finding=wanted.finding,
    )  # fmt: skip


def _nothing_chosen(wanted: Wanted) -> None:
    frame.title("Pictures")
    with el("div", cls="head"):
        el("h1", "Pictures for a film")
    with el("section", cls="block"):
        for error in wanted.comparison.errors.values():
            el("p", error, cls="error", role="alert")
        el("p", "Choose versions to compare first; their pictures are made from the comparison.")
        el("a", "Compare versions", href="/compare", cls="button main")


def _show(workshop: Workshop, wanted: Wanted, found: Comparison) -> None:
    title = title_of(found)
    frame.title(f"Pictures: {title}")
    charts = charts_of(found)
    shown, wrong = None, ""
    try:
        size_of(wanted.size)
        shown = screen_of(workshop, wanted, found, keep=False)
    except InputError as error:
        wrong = without_place(error)
    show(
        "pictures_head.html", title=title, wanted=wanted, wrong=wrong, charts=list(charts.items()),
        grounds=list(GROUND_WORDS.items()), sizes=[size_text(size) for size in SIZES],
        kept=[("v", one) for one in wanted.comparison.versions]
        + [("base", wanted.comparison.base), ("spread", wanted.comparison.spread), *asked.written(wanted.comparison.settings).items()],
        back="/compare?" + wanted.comparison.query(),
    )  # fmt: skip
    if shown is None:
        return
    with el("section", cls="block", aria_label="Picture"):
        with el("figure", cls=f"screen {wanted.ground}"):
            el(
                "img",
                src=f"/pictures/picture.png?{wanted.query(preview='1')}",
                alt=shown.summary,
                width="960",
                height="540",
            )
        with el("div", cls="actions no-print"):
            for kind in KINDS:
                href = f"/pictures/picture.{kind}?{wanted.query()}"
                el(
                    "a",
                    f"Keep as {kind.upper()}",
                    cls="button main" if kind == "png" else "button",
                    href=href,
                    download="",
                )
    BuildUp(wanted.ground, wanted.size, wanted.chart, lambda: screen_of(workshop, wanted, found, keep=True))


def _picture(workshop: Workshop, wanted: Wanted, kind: str, *, preview: bool) -> Response:
    if kind not in KINDS:
        raise InputError("There is no such kind of picture", found=kind, allowed=list(KINDS))
    if wanted.comparison.errors:
        raise InputError(next(iter(wanted.comparison.errors.values())))
    size = size_of(wanted.size)
    made = screen_of(workshop, wanted, comparison_of(workshop, wanted.comparison), keep=not preview)
    media, write = KINDS[kind]
    data = write(made, PREVIEW if preview else size)
    name = f"{wanted.chart.replace(':', '-')}-{wanted.ground}-{size_text(size)}.{kind}"
    return handed(data, media, name, inline=preview)
