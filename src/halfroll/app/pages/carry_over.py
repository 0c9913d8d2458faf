"""``/carry-over?old=..&new=..&units=..``: what of an older version goes into a newer one, and what does the step cost?"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from functools import partial

from fastapi import Request
from markupsafe import Markup

from halfroll.app import address, frame
from halfroll.app.job import work
from halfroll.app.pages.bill import units_of
from halfroll.app.view import show
from halfroll.builds.bill.carry import CarryOver, Fate, carry_over
from halfroll.builds.bill.matching import APARTS, Apart
from halfroll.core.errors import InputError, choose
from halfroll.core.progress import Progress
from halfroll.publish.bill_rows import APART, carried_rows, shopping_rows, step_rows
from halfroll.publish.carry_drawing import carry_drawings
from halfroll.workshop import Workshop

FATES: tuple[Fate, ...] = ("stays", "reworked", "new", "left over")
DRAWING_PX = 420


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/carry-over", workshop_name=lambda: workshop.name)
    async def carry_page(request: Request) -> None:
        asked = dict(request.query_params)
        old, new = asked.get("old", ""), asked.get("new", "")
        frame.title("What carries over")
        for version_id in filter(None, (old, new)):
            frame.need(workshop, version_id, "version")
        units = units_of(asked.get("units", ""))
        apart: Apart = next(
            one
            for one in APARTS
            if one == choose(asked.get("apart", "unglued"), APARTS, field="How parts come apart", key="apart")
        )
        stock = asked.get("stock", "") == "1"
        found = None
        if old and new:
            found = await work(
                "Comparing what they are made of", partial(_found, workshop, old, new, units, apart, stock)
            )
        _show(workshop, found, old, new, units, apart, stock)


def _found(
    workshop: Workshop, old: str, new: str, units: int, apart: Apart, stock: bool, progress: Progress
) -> CarryOver:
    held = _in_stock(workshop) if stock else {}
    return carry_over(
        workshop, old, new, units=units, today=dt.date.today(), apart=apart, stock=held, progress=progress
    )


def _in_stock(workshop: Workshop) -> Mapping[str, float]:
    from halfroll.workshop.stock import standings

    return {part: one.amount for part, one in standings(workshop).items() if one.amount is not None}


def _show(
    workshop: Workshop, found: CarryOver | None, old: str, new: str, units: int, apart: Apart, stock: bool
) -> None:
    """The question as a form, the answer under it."""
    show(
        "carry_head.html", versions=workshop.version_ids(), old=old, new=new, units=units, apart=apart, stock=stock,
        aparts=[("unglued", "unglued parts only"), ("all", "all parts come apart")],
        name="What carries over" if found is None else f"From {found.titles[0]} to {found.titles[1]}", says="" if found is None else APART[apart],
        steps=[("Drivers", "/")], whole=found is not None, bills=[(id_, address.of_bill(id_)) for id_ in (old, new) if id_],
    )  # fmt: skip
    if found is None:
        return
    groups = [
        (fate, carried_rows(found.of(fate), found.currency, fate=False)) for fate in FATES if found.of(fate)
    ]
    show(
        "carry_tables.html", sums=step_rows(found), groups=groups, verdicts=found.verdicts, units=units, titles=found.titles,
        shopping=shopping_rows(found.buy),
        drawings={side: Markup(svg) for side, svg in _drawn(workshop, found).items()},
    )  # fmt: skip


def _drawn(workshop: Workshop, found: CarryOver) -> dict[str, str]:
    try:
        return carry_drawings(workshop, found, width_px=DRAWING_PX)
    except InputError:
        return {}  # what cannot be drawn is listed all the same
