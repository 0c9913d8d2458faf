"""What can be taken away from a comparison: the printed sheet, single charts, the numbers."""

from __future__ import annotations

import datetime as dt
import json

from fastapi import Request, Response
from nicegui import app

from halfroll.app import asked
from halfroll.app.handed import PDF, answered, handed
from halfroll.app.pages.compare import comparison_of, title_of
from halfroll.compare.types import Comparison
from halfroll.core.errors import InputError
from halfroll.workshop import Workshop

_PNG_PX = 1920
_CHART_PX = 760
"""Width a chart is laid out for when it is kept as a file."""


def register(workshop: Workshop) -> None:
    """Add the files. They are made from the address alone, so a link to one can be kept."""

    def found(request: Request) -> Comparison:
        wanted = asked.read(request.query_params.multi_items(), workshop.settings)
        if wanted.errors:
            raise InputError(next(iter(wanted.errors.values())))
        return comparison_of(workshop, wanted)

    @app.get("/compare/sheet.pdf")
    def sheet(request: Request) -> Response:
        def make() -> Response:
            from halfroll.publish.sheet import sheet_pdf

            comparison = found(request)
            title = f"{workshop.name}: {title_of(comparison)}"
            pdf = sheet_pdf(comparison, title=title, date=dt.date.today().isoformat())
            return handed(pdf, PDF, "comparison.pdf", inline=True)

        return answered(make)

    @app.get("/compare/comparison.json")
    def numbers(request: Request) -> Response:
        def make() -> Response:
            text = json.dumps(found(request).as_dict(), indent=1, ensure_ascii=False, allow_nan=False)
            return handed(text.encode(), "application/json", "comparison.json", inline=True)

        return answered(make)

    @app.get("/compare/chart.{kind}")
    def chart(request: Request, kind: str, chart: str) -> Response:
        return answered(lambda: _chart(found(request), chart, kind))


def _chart(comparison: Comparison, name: str, kind: str) -> Response:
    from halfroll.publish import render
    from halfroll.publish.comparison import comparison_charts
    from halfroll.publish.theme import theme

    charts = comparison_charts(comparison, theme=theme("print"), width_px=_CHART_PX)
    if name not in charts or kind not in ("svg", "png"):
        raise InputError(
            "There is no such chart", found=f"{name}.{kind}", allowed=[f"{key}.svg" for key in charts]
        )
    if kind == "svg":
        return handed(render.to_svg(charts[name]).encode(), "image/svg+xml", f"{name.replace(':', '-')}.svg")
    return handed(render.to_png(charts[name], _PNG_PX), "image/png", f"{name.replace(':', '-')}.png")
