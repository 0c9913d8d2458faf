"""What the solver's process does for a page of moving parts. Loads nothing of the pages."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from halfroll.core.progress import Progress, part
from halfroll.workshop import Workshop

if TYPE_CHECKING:
    from halfroll.suspension.design import MovingDesign
    from halfroll.workshop.suspension_report import SuspensionReport
    from halfroll.workshop.suspension_studies import Want


def report_of(
    folder: Path, version_id: str, design: MovingDesign, slot: str, wants: Sequence[Want], distortion: bool, progress: Progress
) -> SuspensionReport:  # fmt: skip
    """Work out what is wanted of moving parts that need not be saved, and all that follows; results are kept in the workshop's index.

    Raises
    ------
    InputError
        A part cannot be, or cannot be bent so far.
    CancelledError
        `progress` asked to stop.
    """
    from halfroll.workshop.suspension_report import suspension_report
    from halfroll.workshop.suspensions import solve_moving

    workshop = Workshop.open(folder)
    solved = solve_moving(
        workshop, design, part(progress, 0.0, 0.5 if distortion else 0.95), wants=wants, slot=slot
    )
    return suspension_report(workshop, solved, version_id, distortion=distortion,
                             progress=part(progress, 0.5 if distortion else 0.95, 1.0))  # fmt: skip
