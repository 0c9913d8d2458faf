"""What the solver's process does for the page of a changed design. Loads nothing of the pages."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfroll.core.progress import Progress
from halfroll.study.dimensions import dimension, with_values
from halfroll.study.grams import with_grams
from halfroll.study.sensitivity import Side, Start, sides_of, solve_properly, start_of
from halfroll.workshop import Workshop

if TYPE_CHECKING:
    from halfroll.study.reading import Reader


def start_for(folder: Path, version_id: str, progress: Progress) -> Start:
    """The design itself, solved; errors as `study.sensitivity.what_next`."""
    return start_of(Workshop.open(folder), version_id, progress, run=_here)


def sides_for(folder: Path, version_id: str, start: Start, key: str, progress: Progress) -> tuple[Side, Side]:
    """The design with one dimension a step up and a step down."""
    workshop = Workshop.open(folder)
    one = dimension(workshop.version(version_id).record, key)
    return sides_of(workshop, version_id, start, one, progress, run=_here)


def solved_for(
    folder: Path, version_id: str, reader: Reader, values: dict[str, float], progress: Progress
) -> dict[str, float]:
    """The figures of the design with some dimensions at other values, solved properly."""
    workshop = Workshop.open(folder)
    saved = workshop.version(version_id).record
    record = with_grams(workshop, version_id, saved, with_values(saved, values))
    return solve_properly(workshop, version_id, record, reader, progress, run=_here)[1]


def _here(task: Callable[..., Any], *arguments: Any, progress: Progress) -> Any:
    """A study in this very process, which may start none of its own."""
    return task(*arguments, progress)
