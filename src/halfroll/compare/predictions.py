"""Predicted versions in a comparison: a version's design beside its units, or in their place."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from halfroll.compare.types import VersionInput
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.figures.types import FigureSettings
from halfroll.workshop import Workshop
from halfroll.workshop.paths import PREDICTED
from halfroll.workshop.virtual_takes import foreseen, predicted_take


def prediction_of(
    workshop: Workshop,
    measured: VersionInput,
    beside: Collection[str] = (),
    settings: FigureSettings | None = None,
    progress: Progress = silent,
    *,
    cabinet: str | None = None,
) -> VersionInput:
    """What a version's design is predicted to do, as a version of its own with the id ``driver/version@predicted``.

    Its parent is the version itself where that is among those `beside` it, so that prediction and measurement stand against each other; else its
    parent's prediction where that is; else the version. With a `cabinet` it plays in that. Errors as `predicted_take`.
    """
    take = predicted_take(workshop, measured.version_id, progress, settings=settings, cabinet=cabinet)
    above = f"{measured.parent}{PREDICTED}"
    line = above if measured.version_id not in beside and above in beside else measured.version_id
    return replace(
        measured,
        version_id=measured.version_id + PREDICTED,
        parent=line,
        changes=measured.changes if line == above else (),
        rated_impedance_ohm=take.readings.conditions.rated_impedance_ohm,
        takes=(take.readings,),
        runs=take.runs,
        published={},
        published_source="",
    )


def with_prediction(
    workshop: Workshop,
    measured: VersionInput,
    beside: Collection[str] = (),
    settings: FigureSettings | None = None,
    progress: Progress = silent,
) -> VersionInput:
    """A version with its prediction in the place of takes where there is a design and nothing was measured or printed.

    Its parent's prediction is its parent where that stands beside it and the parent itself does not.
    A prediction that cannot be is no error here: the reason is told where the figures would stand.
    """
    if measured.takes or measured.runs or measured.published:
        return measured
    if not foreseen(workshop.version(measured.version_id).record):
        return measured
    try:
        take = predicted_take(workshop, measured.version_id, progress, settings=settings)
    except InputError as fault:
        return replace(measured, not_predicted=str(fault))
    rated = measured.rated_impedance_ohm or take.readings.conditions.rated_impedance_ohm
    above = f"{measured.parent}{PREDICTED}"
    parent = above if measured.parent not in beside and above in beside else measured.parent
    return replace(measured, parent=parent, rated_impedance_ohm=rated, takes=(take.readings,), runs=take.runs)
