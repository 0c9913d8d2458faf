"""The whole walk from versions in a workshop to their comparison; command line, pages and sheet all call this."""

from __future__ import annotations

from collections.abc import Sequence

from halfroll.compare.compare import compare
from halfroll.compare.gather import curves_of, gather
from halfroll.compare.types import Comparison
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.figures.types import FigureSettings, Spread
from halfroll.workshop import Workshop


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
