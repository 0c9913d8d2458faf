"""``/models/<driver>/<version>``: what is printed of a version, whether it can be, and the files for a slicer."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fastapi import Response
from nicegui import app, run, ui

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.frame import telling
from halfroll.app.handed import PDF, handed, refused
from halfroll.app.job import work
from halfroll.app.preview import DRAWING, preview
from halfroll.app.suspension_task import PICTURE_M
from halfroll.app.view import show
from halfroll.core.errors import HalfrollError, InputError
from halfroll.core.progress import Progress, part
from halfroll.core.text import count
from halfroll.core.verdicts import Severity, Verdict
from halfroll.publish.printing.files import MEDIA, version_files, write_model
from halfroll.publish.printing.listing import bed_of, model_rows
from halfroll.publish.printing.step import can_write_step
from halfroll.publish.printing.threemf import write_3mf
from halfroll.suspension.models import PARTS
from halfroll.suspension.models.checks import PRINT_CAUTIONS, USUAL_BED_M, Printable, Volume, printable
from halfroll.suspension.models.model import Model
from halfroll.workshop import Workshop
from halfroll.workshop.models import printing_of, save_models, version_models
from halfroll.workshop.suspensions import MovingTables


def register(workshop: Workshop) -> None:
    """Add the page and the files it hands out."""

    @frame.page("/models/{driver}/{version}", workshop_name=lambda: workshop.name)
    async def models_page(driver: str, version: str) -> None:
        version_id = f"{driver}/{version}"
        frame.need(workshop, version_id, "version")
        asked = ui.context.client.request.query_params.get("bed", "")
        bed_m = bed_of(asked, key="bed") if asked else USUAL_BED_M
        name = workshop.driver(driver).record.title
        frame.title(f"Models of {name} {version}")
        show(
            "models_head.html", steps=[("Drivers", "/"), (name, f"/#{driver}"), (version, address.of_version(version_id))],
            name=f"To print of {name} {version}", suspension=address.of_suspension(version_id), version=address.of_version(version_id),
            bed="x".join(f"{1e3 * side:g}" for side in bed_m),
        )  # fmt: skip
        record = workshop.version(version_id).record
        if not MovingTables.of(record).any and (record.motor is None or record.coil is None):
            _nothing_yet(version_id)
            return
        printing_of(workshop, version_id)  # what cannot be is said at once
        made = await work("Making the models", lambda progress: _made(workshop, version_id, bed_m, progress))
        if not made.found:
            el(
                "p",
                "Nothing of this version is printed: its former is of sheet, and no jig fits its gap.",
                cls="block",
            )
            return
        _show(workshop, version_id, made, bed_m)

    @app.get("/models/{driver}/{version}/{file}")
    def model_file(driver: str, version: str, file: str) -> Response:
        return _answer(workshop, driver, version, file)


def _show(workshop: Workshop, version_id: str, made: _Made, bed_m: Volume) -> None:
    """The picture, the files, and what was found of every part."""

    async def kept() -> None:
        await _keep(workshop, version_id)

    with el("section", cls="block"):
        preview(made.coarse, version_id=version_id, bed_m=bed_m)
        keep = el("button", "Keep all files in the version's folder", cls="no-print", type="button")
        keep.mark("keep").on("click", telling(kept))
    show("models_table.html", rows=model_rows(made.found), verdicts=made.said)


def _answer(workshop: Workshop, driver: str, version: str, file: str) -> Response:
    """A file to take away; what is wrong is said as text."""
    version_id = f"{driver}/{version}"
    name, _, kind = file.rpartition(".")
    try:
        workshop.existing(version_id, "version")
        if file == DRAWING:
            return _drawing(workshop, version_id, f"{workshop.driver(driver).record.title} {version}")
        data = _file(workshop, version_id, name, kind)
    except HalfrollError as error:
        missing = file != DRAWING and (kind not in MEDIA or name not in (*PARTS, "all"))
        return refused(error, 404 if missing else 422)
    return handed(data, MEDIA[kind], f"{driver}-{version}-{file}")


def _file(workshop: Workshop, version_id: str, name: str, kind: str) -> bytes:
    if kind not in MEDIA or name not in (*PARTS, "all") or (name == "all" and kind != "3mf"):
        raise InputError("There is no such file of a model", found=f"{name}.{kind}",
                         allowed=["all.3mf", *(f"{one}.{ending}" for one in PARTS for ending in MEDIA)])  # fmt: skip
    if name == "all":
        return write_3mf(version_models(workshop, version_id), title=version_id, designer=workshop.name)
    (model,) = version_models(workshop, version_id, parts=[name])
    return write_model(model, kind, title=f"{version_id}: {model.title}", designer=workshop.name)


def _drawing(workshop: Workshop, version_id: str, title: str) -> Response:
    from halfroll.publish.part_pieces import pieces_of_models
    from halfroll.publish.part_sheet import part_sheets_pdf

    made = version_models(workshop, version_id, within_m=PICTURE_M)
    pieces = pieces_of_models(printing_of(workshop, version_id).design, made, title)
    if not pieces:
        raise InputError("A drawing needs a part that is turned or flat", found="none to print")
    pdf = part_sheets_pdf(pieces, date=dt.date.today().isoformat())
    name = f"{version_id.replace('/', '-')}-{DRAWING}"
    return handed(pdf, PDF, name, inline=True)


def _nothing_yet(version_id: str) -> None:
    with el("section", cls="block prose"):
        el(
            "p",
            "This version has no surround, spider, cone or cap yet, and no motor with a coil to make a jig for.",
        )
        el("a", "Design its moving parts", href=address.of_suspension(version_id), cls="button main")


@dataclass(frozen=True, kw_only=True, eq=False)
class _Made:
    """Coarse models for the picture, the true ones as checked, and what is said of them, the gravest first."""

    coarse: tuple[Model, ...]
    found: list[Printable]
    said: list[Verdict]


def _made(workshop: Workshop, version_id: str, bed_m: Volume, progress: Progress) -> _Made:
    coarse = version_models(workshop, version_id, within_m=PICTURE_M, progress=part(progress, 0.0, 0.3))
    true = version_models(workshop, version_id, progress=part(progress, 0.3, 0.7))
    found = []
    for n, model in enumerate(true):
        progress(0.7 + 0.3 * n / len(true), f"checking the {model.words}")
        found.append(printable(model, bed_m=bed_m))
    said = [
        *(v for one in found for v in one.verdicts),
        *printing_of(workshop, version_id).verdicts,
        PRINT_CAUTIONS,
    ]
    grave = sorted((v for v in said if v.severity > Severity.GOOD), key=lambda verdict: -verdict.severity)
    closed = [v for v in said if v.code == "mesh-closed"]
    if len(closed) > 1:  # said once for all of them
        words = f"The surfaces of {count(len(closed), 'part')} are closed and face outwards everywhere."
        closed = [replace(closed[0], text=words)]
    return _Made(coarse=coarse, found=found, said=[*grave, *closed])


async def _keep(workshop: Workshop, version_id: str) -> None:
    paths = await run.io_bound(_save, workshop, version_id)
    if paths is None:  # the server is being stopped
        return
    frame.say(f"{len(paths)} files are in the version's folder, under models.")


def _save(workshop: Workshop, version_id: str) -> Sequence[object]:
    made = version_models(workshop, version_id)
    files = version_files(
        made, version_id.replace("/", "-"), title=version_id, designer=workshop.name, step=can_write_step()
    )
    return save_models(workshop, version_id, files)
