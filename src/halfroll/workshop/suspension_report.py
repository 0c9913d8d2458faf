"""All that is said of a version's moving parts at once: the same for a page, a command and a program."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.core.verdicts import Verdict
from halfroll.materials.printed import InPrint, Load, in_print
from halfroll.materials.types import Filament
from halfroll.suspension.design import MovingDesign
from halfroll.suspension.fits import fit_verdicts
from halfroll.suspension.stated import not_rigid, thin_fillings
from halfroll.suspension.warmth import warmth_verdicts
from halfroll.workshop.suspension_drive import distortion_of
from halfroll.workshop.suspension_measured import Comparison, comparisons, measured_of
from halfroll.workshop.suspensions import SuspensionSolved

if TYPE_CHECKING:
    from collections.abc import Sequence

    from halfroll.driver.suspension_distortion import SuspensionDistortion
    from halfroll.workshop.store import Workshop


@dataclass(frozen=True, kw_only=True)
class MaterialUse:
    """What a part is made of: the filament, and what it is in that print."""

    part: str
    filament: Filament
    printed: InPrint


@dataclass(frozen=True, kw_only=True, eq=False)
class SuspensionReport:
    """What was solved, and what follows from it and from measurements of the version.

    `faults` are parts of the report that could not be worked out, in words; `notes` are on keys of the record that are not used.
    """

    solved: SuspensionSolved
    materials: tuple[MaterialUse, ...]
    comparisons: tuple[Comparison, ...] = ()
    distortion: SuspensionDistortion | None = None
    faults: tuple[InputError, ...] = ()
    notes: tuple[Verdict, ...] = ()

    @property
    def verdicts(self) -> tuple[Verdict, ...]:
        """Everything that is to be said, each once, the gravest first."""
        solved, suspension = self.solved, self.solved.suspension
        parts = () if suspension is None else suspension.parts
        said = [
            *self.notes,
            *(_of(part.name, verdict) for part in parts for verdict in part.verdicts),
            *(() if suspension is None else suspension.verdicts),
            *fit_verdicts(solved.design),
            *warmth_verdicts(solved.design),
            *(() if solved.break_up is None else solved.break_up.verdicts),
            *not_rigid(suspension, solved.break_up),
            *thin_fillings(solved.design),
            *(() if self.distortion is None else self.distortion.verdicts),
        ]
        once = {(verdict.code, verdict.text): verdict for verdict in said}
        return tuple(sorted(once.values(), key=lambda verdict: -verdict.severity))


def _of(part: str, verdict: Verdict) -> Verdict:
    """A verdict on one part, which says so."""
    text = verdict.text if part in verdict.text else f"{part.capitalize()}: {verdict.text}"
    return replace(verdict, text=text, data={**verdict.data, "part": part})


def suspension_report(
    workshop: Workshop,
    solved: SuspensionSolved,
    version_id: str | None = None,
    *,
    distortion: bool = False,
    volts: Sequence[float] = (),
    progress: Progress = silent,
) -> SuspensionReport:
    """Gather what follows from solved moving parts; what cannot be worked out stands among the faults.

    With `version_id` its measurements count and keys of its record that are not used are said; `distortion` is played at `volts` (V r.m.s.; 1 W
    into the rated impedance without any).

    Raises
    ------
    CancelledError
        `progress` asked to stop.
    """
    faults = list(solved.faults)
    compared: tuple[Comparison, ...] = ()
    played = None
    if version_id is not None:
        measured = measured_of(workshop, version_id, part(progress, 0.0, 0.3))
        if measured is not None:
            compared = comparisons(measured, solved.suspension, solved.mass)
    if distortion and version_id is not None:
        try:
            played = distortion_of(workshop, version_id, solved, volts, part(progress, 0.3, 1.0))
        except InputError as fault:
            faults.append(fault)
    progress(1.0, "done")
    return SuspensionReport(
        solved=solved,
        materials=materials_of(solved.design),
        comparisons=compared,
        distortion=played,
        faults=tuple(faults),
        notes=() if version_id is None else workshop.version(version_id).notes,
    )


def materials_of(design: MovingDesign) -> tuple[MaterialUse, ...]:
    """The filament of every printed part, and its values in that print."""
    found = []
    for name in ("surround", "spider", "cone", "cap"):
        one = getattr(design, name)
        if one is not None:
            direction: Load = "radial" if name in ("surround", "spider") else "both"
            printed = in_print(
                one.material, raster=one.print.raster, infill=one.print.infill, direction=direction
            )
            found.append(MaterialUse(part=name, filament=one.material, printed=printed))
    return tuple(found)
