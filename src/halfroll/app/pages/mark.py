"""``/mark/<mark>``: what stands behind a printed number, and what it is today; ``/mark`` asks for one."""

from __future__ import annotations

from functools import partial

from fastapi import Request

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.job import work
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import Progress
from halfroll.publish.mark_rows import mark_facts, value_text
from halfroll.publish.marks import MarkRecord, Now, read_mark, same_now
from halfroll.workshop import Workshop
from halfroll.workshop.marks import marks_in
from halfroll.workshop.virtual_takes import is_predicted

_SHORT = 12


def register(workshop: Workshop) -> None:
    """Add both pages."""

    @frame.page("/mark", workshop_name=lambda: workshop.name)
    async def asked_page(request: Request) -> None:
        frame.title("What stands behind a number")
        await _page(workshop, request.query_params.get("mark", ""))

    @frame.page("/mark/{mark}", workshop_name=lambda: workshop.name)
    async def mark_page(mark: str) -> None:
        frame.title(f"Mark {mark}")
        await _page(workshop, mark)


async def _page(workshop: Workshop, mark: str) -> None:
    if not mark:
        show("mark_ask.html", mark="", fault="", n=len(marks_in(workshop)))
        return
    try:
        record = read_mark(workshop, mark)
    except InputError as fault:
        show("mark_ask.html", mark=mark, fault=str(fault), n=len(marks_in(workshop)))
        return
    _behind(record)
    try:
        now = await work("Reading the figure as it is today", partial(_now, workshop, record))
    except CancelledError:
        el("p", "Stopped. What it is today was not read; load the page again.", cls="quiet")
        return
    show("mark_now.html", now=now, alert=now.standing not in ("unchanged",))


def _now(workshop: Workshop, record: MarkRecord, progress: Progress) -> Now:
    return same_now(workshop, record, progress)


def _behind(record: MarkRecord) -> None:
    plain = record.version_id.partition("@")[0]
    show(
        "mark.html",
        record=record,
        value=value_text(record),
        facts=[(name, value) for name, value in mark_facts(record) if name not in ("Mark", "Value", "Figure")],
        steps=[("Drivers", "/"), (plain, address.of_version(plain)), ("Data sheet", address.of_sheet(plain))],
        takes=[
            (take, "" if is_predicted(take.id) and not take.record_sha256 else address.of_take(take.id), take.record_sha256[:_SHORT],
             [(file, sha256[:_SHORT]) for file, sha256 in take.audio], take.calibration[:_SHORT])
            for take in record.takes
        ],
        cautions=record.noted.get("cautions", ()),
    )  # fmt: skip
