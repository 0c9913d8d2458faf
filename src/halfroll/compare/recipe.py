"""The whole walk from versions in a workshop to their comparison; command line, pages and sheet all call this."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfroll.compare.compare import compare
from halfroll.compare.gather import curves_of, gather, version_input
from halfroll.compare.predictions import prediction_of
from halfroll.compare.types import Comparison
from halfroll.core.conditions import Space
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.figures.types import FigureSettings, Spread
from halfroll.workshop import Workshop, read_contents


def compare_versions(
    workshop: Workshop,
    version_ids: Sequence[str] = (),
    *,
    settings: FigureSettings | None = None,
    base: str = "first",
    spread: Spread = "own",
    with_curves: bool = True,
    progress: Progress = silent,
) -> Comparison:
    """Compare versions of a workshop.

    Parameters
    ----------
    version_ids
        ``driver/version``; a driver's id stands for all its versions in line; empty: the whole workshop.
    settings
        Bands, rules and level; the workshop's own when left out.
    base, spread
        As for `halfroll.compare.compare.compare`.
    with_curves
        Whether curves are wanted; figures alone come from the index and are much faster.

    Raises
    ------
    InputError
        Something named does not exist, or the workshop has no version yet.
    """
    wanted = expand(workshop, version_ids)
    chosen = settings or workshop.settings
    found = gather(workshop, wanted, chosen, part(progress, 0.0, 0.8))
    progress(0.8, "comparing")
    result = compare(
        found.inputs,
        chosen,
        base=base,
        spread=spread,
        curves_of=curves_of(workshop, chosen) if with_curves else None,
        others=found.others,
    )
    progress(1.0, "done")
    return result


def against_measured(
    workshop: Workshop,
    version_id: str,
    *,
    settings: FigureSettings | None = None,
    cabinet: str | None = None,
    with_curves: bool = True,
    progress: Progress = silent,
) -> Comparison:
    """The prediction of a version against what was measured of it, an ordinary comparison; the prediction alone where nothing was.

    In a cabinet only takes made in one count as measured.

    Raises
    ------
    InputError
        The version cannot be predicted, or a record has a fault.
    CancelledError
        Through `progress`.
    """
    chosen = settings or workshop.settings
    contents = read_contents(workshop.folder, workshop.index)
    measured = version_input(contents, workshop.existing(version_id, "version"), ())
    if contents.below(version_id) or any(
        unit for unit in contents.units if unit.startswith(f"{version_id}/")
    ):
        (measured,) = gather(workshop, [version_id], chosen, part(progress, 0.0, 0.4)).inputs
    measured = replace(
        measured,
        takes=tuple(
            take for take in measured.takes
            if take.source == "measured" and (cabinet is None or take.conditions.space is Space.CABINET)
        ),
        runs=tuple(run for run in measured.runs if run.source == "measured" and cabinet is None),
        published={},
    )  # fmt: skip
    foreseen = prediction_of(
        workshop, measured, [version_id], chosen, part(progress, 0.4, 0.9), cabinet=cabinet
    )
    inputs = [*([measured] if measured.takes or measured.runs else []), foreseen]
    found = compare(inputs, chosen, curves_of=curves_of(workshop, chosen) if with_curves else None)
    progress(1.0, "done")
    return found


def expand(workshop: Workshop, ids: Sequence[str]) -> list[str]:
    """Version ids, where a driver's id stands for all its versions and nothing for all drivers; each once."""
    named = list(ids) or workshop.driver_ids()
    versions = [v for id_ in named for v in ([id_] if "/" in id_ else workshop.version_ids(id_))]
    if not versions:
        raise InputError(
            "There is no version to compare yet",
            file=str(workshop.folder),
            remedy="Add a version and import a take, or look at the demonstration: halfroll demo FOLDER",
        )
    return list(dict.fromkeys(versions))
