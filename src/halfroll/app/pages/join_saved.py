"""The list of saved joined responses of a unit, with their figures, and whether each counts."""

from __future__ import annotations

import asyncio
from typing import Any

from nicegui import ui

from halfroll.app import address
from halfroll.app.dom import el
from halfroll.app.field import button
from halfroll.app.view import show
from halfroll.core.text import format_value
from halfroll.figures.rules import RULES
from halfroll.figures.types import TakeReadings
from halfroll.workshop import Workshop, joined, read_contents
from halfroll.workshop.runs import load_run, run_ids

HEADLINES = ("sensitivity_db", "lower_limit_hz", "upper_limit_hz")


async def saved_list(workshop: Workshop, unit_id: str) -> None:
    """Saved joined responses with their figures, and whether they count."""
    if not run_ids(workshop, unit_id, "joined"):
        return
    contents = read_contents(workshop.folder, workshop.index)
    readings = await asyncio.to_thread(joined.run_readings, workshop, contents, unit_id, workshop.settings)
    with el("section", cls="block"):
        el("h2", "Saved")
        labels = [rule.label for rule in RULES if rule.key in HEADLINES]
        show("join_saved.html", labels=labels, rows=[_saved_row(run) for run in readings])
        with el("div", cls="actions no-print"):
            for run in readings:
                _leave_out(workshop, run)


def _saved_row(run: TakeReadings) -> dict[str, Any]:
    bad = next((v.text for v in run.verdicts if v.severity >= 3), "")
    cells = []
    for rule in RULES:
        if rule.key in HEADLINES:
            reading = run.readings.get(rule.key)
            known = reading is not None and reading.value is not None
            cells.append(format_value(reading.value, reading.u, rule.unit) if known else "–")  # type: ignore[union-attr, arg-type]
    name = run.take_id.rpartition("/")[2]
    standing = f"Left out: {run.excluded}" if run.excluded else bad or "Counts in the figures."
    return {
        "name": name,
        "href": address.of_run(run.take_id),
        "cells": cells,
        "standing": standing,
        "alert": bool(bad),
    }


def _leave_out(workshop: Workshop, run: TakeReadings) -> None:
    loaded = load_run(workshop, run.take_id)
    name = run.take_id.rpartition("/")[2]

    def turn(reason: str) -> None:
        workshop.save(loaded, loaded.record.changed(leave_out=reason))
        ui.navigate.reload()

    if run.excluded:
        button(f"Take {name} in again", lambda: turn("")).mark(f"take-in-{name}")
    else:
        button(f"Leave {name} out", lambda: turn("by hand")).mark(f"leave-out-{name}")
