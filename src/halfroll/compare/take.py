"""What the rest of its version says of one take: does it stand apart, or drift along with its repeats?"""

from __future__ import annotations

from halfroll.compare.drift import drift_cautions
from halfroll.compare.gather import version_input
from halfroll.compare.outliers import outlier_cautions
from halfroll.core.progress import Progress, silent
from halfroll.core.verdicts import Verdict
from halfroll.figures.types import FigureSettings, TakeReadings
from halfroll.workshop import Contents, Workshop, derive, paths, read_contents

MOST_WAITING = 30
"""Takes of a version that are analysed for the sake of one of them; of more only what is known already is used."""


def readings_beside(workshop: Workshop, take_id: str, progress: Progress = silent) -> TakeReadings:
    """Readings of a take, analysed now when they are not known, and its version's other takes with it if they are few."""
    contents = read_contents(workshop.folder, workshop.index)
    beside = contents.below(paths.version_of(take_id))
    waiting = derive.standing(workshop, contents, beside).pending
    wanted = [take_id, *(take for take in waiting if take != take_id and len(waiting) <= MOST_WAITING)]
    return derive.readings(workshop, wanted, contents=contents, progress=progress)[take_id]


def siblings(
    workshop: Workshop, take_id: str, settings: FigureSettings | None = None, contents: Contents | None = None
) -> tuple[TakeReadings, ...]:
    """Readings of the takes of a take's version that are analysed, itself included; analyses nothing."""
    contents = contents or read_contents(workshop.folder, workshop.index)
    takes = contents.below(paths.version_of(take_id))
    return tuple(derive.standing(workshop, contents, takes, settings=settings).readings.values())


def cautions_of_take(
    workshop: Workshop, take_id: str, settings: FigureSettings | None = None
) -> tuple[Verdict, ...]:
    """The cautions of the version that name this take, from those of its takes that are analysed."""
    contents = read_contents(workshop.folder, workshop.index)
    version_id = paths.version_of(take_id)
    if version_id not in contents.versions:
        return ()
    version = version_input(contents, version_id, siblings(workshop, take_id, settings, contents))
    name = f"{version.driver_title} {version.name}"
    found = (*outlier_cautions(version, name), *drift_cautions(version, name))
    return tuple(caution for caution in found if take_id in caution.data["takes"])
