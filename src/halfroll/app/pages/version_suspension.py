"""On the page of a version: what its suspension is computed to do, as far as that is kept; nothing is computed here."""

from __future__ import annotations

from typing import Any

from halfroll.app import address
from halfroll.app.suspension_words import bears_of
from halfroll.app.view import show
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress
from halfroll.publish.suspension_figures import answers
from halfroll.publish.suspension_rows import comparison_rows
from halfroll.workshop import VersionRecord, Workshop
from halfroll.workshop.suspension_report import SuspensionReport, suspension_report
from halfroll.workshop.suspensions import MovingTables, load_moving, solve_moving

SENTENCES = 4
"""So many of the answers stand on the page of a version; the page of its suspension has them all."""


def known(
    workshop: Workshop, version_id: str, record: VersionRecord, progress: Progress
) -> SuspensionReport | None:
    """What is kept of a version's suspension, beside what was measured; None where it has none, or nothing is kept of the present design."""
    if not MovingTables.of(record).any:
        return None
    try:
        design = load_moving(workshop, version_id)
        solved = solve_moving(workshop, design, wants=("stiffness", "mass"), slot=version_id, run=_only_kept)
        return suspension_report(workshop, solved, version_id, progress=progress)
    except InputError:
        return None


def show_suspension(version_id: str, record: VersionRecord, report: SuspensionReport | None) -> None:
    """A few sentences and computed against measured, with the way to the whole; nothing where no part is designed."""
    if not MovingTables.of(record).any:
        return
    solved = None if report is None else report.solved
    show(
        "version_suspension.html",
        sentences=[]
        if solved is None
        else answers(solved.suspension, solved.mass, None, bears_of(solved.design))[:SENTENCES],
        table=comparison_rows(report.comparisons) if report is not None and report.comparisons else None,
        href=address.of_suspension(version_id),
    )


def _only_kept(study: Any, progress: Progress) -> Any:
    """In place of a computation: what is not kept is not shown."""
    raise InputError("Not computed yet", found=study.kind)
