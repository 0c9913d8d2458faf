"""Readings of runs for the figures: each kind of run that gives figures says here who reads it.

A reader is ``(workshop, contents, unit_id, settings, progress) -> list[TakeReadings]``: the readings of all runs of its kind of one
unit, with `TakeReadings.kind` set to the kind and only the figures that kind gives. It keeps what takes long in the index itself.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable
from typing import TYPE_CHECKING

from halfroll.core.progress import Progress, part, silent
from halfroll.figures.types import FigureSettings, TakeReadings
from halfroll.workshop.contents import Contents, read_contents

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

Reader = Callable[["Workshop", Contents, str, FigureSettings, Progress], list[TakeReadings]]

READERS = {
    "impedance": "halfroll.workshop.parameters:run_readings",
    "tones": "halfroll.workshop.levels:run_readings",
}
"""Who reads the runs of a kind; loaded when there is a run of that kind."""


def run_readings(
    workshop: Workshop,
    id_: str,
    *,
    settings: FigureSettings | None = None,
    contents: Contents | None = None,
    progress: Progress = silent,
) -> list[TakeReadings]:
    """Readings of all runs of a version, or of one unit, in the order of the units.

    A run that is wrong has readings without values and a verdict that says why.
    """
    contents = contents or read_contents(workshop.folder, workshop.index)
    chosen = settings or workshop.settings
    units = [unit for unit in contents.units if f"{unit}/".startswith(f"{id_}/")]
    wanted = [(unit, kind) for unit in units for kind in READERS if contents.runs_below(unit, kind)]
    found: list[TakeReadings] = []
    for done, (unit, kind) in enumerate(wanted):
        here = part(progress, done / len(wanted), (done + 1) / len(wanted))
        here(0.0, f"reading the {kind} runs of {unit}")
        found += _reader(kind)(workshop, contents, unit, chosen, here)
    return found


def _reader(kind: str) -> Reader:
    module, name = READERS[kind].split(":")
    reader: Reader = getattr(importlib.import_module(module), name)
    return reader
