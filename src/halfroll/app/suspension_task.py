"""What the solver's process does for a page of moving parts. Loads nothing of the pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from halfroll.core.progress import Progress, part
from halfroll.workshop import Workshop

if TYPE_CHECKING:
    from halfroll.suspension.design import MovingDesign
    from halfroll.suspension.models.checks import Printable
    from halfroll.suspension.models.model import Model
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


PICTURE_M = 0.1e-3
"""How far the facets of models for a picture may lie off the true surface."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Models:
    """The models of a design: coarse ones for a picture, and what was found of the true ones."""

    coarse: tuple[Model, ...]
    checked: tuple[Printable, ...]


def models_for(folder: Path, version_id: str, design: MovingDesign, progress: Progress) -> Models:
    """The models of moving parts that need not be saved, with the jig of the version's gap, checked.

    Raises
    ------
    InputError
        A part cannot be.
    CancelledError
        `progress` asked to stop.
    """
    from halfroll.suspension.models.build import models_of
    from halfroll.suspension.models.checks import printable
    from halfroll.workshop.models import jig_of

    jig = jig_of(Workshop.open(folder), version_id, design)
    true = models_of(design, jig=jig, progress=part(progress, 0.0, 0.5))
    coarse = models_of(design, jig=jig, within_m=PICTURE_M, progress=part(progress, 0.5, 0.6))
    checked = []
    for number, model in enumerate(true):
        progress(0.6 + 0.4 * number / len(true), f"checking {model.title}")
        checked.append(printable(model))
    return Models(coarse=coarse, checked=tuple(checked))
