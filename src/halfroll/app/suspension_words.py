"""What is said of parts on their page: what the plastic is like in the print, what becomes of its thickness, verdicts by part."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.core.errors import HalfrollError
from halfroll.core.text import THIN, format_with_u
from halfroll.core.verdicts import Verdict
from halfroll.materials.printed import Load
from halfroll.materials.types import Filament
from halfroll.publish.displacement import NORMAL_95
from halfroll.suspension.design import MovingDesign
from halfroll.workshop.suspension_report import SuspensionReport


def part_notes(part: str, draft: SuspensionDraft) -> str:
    """Modulus in the print with half its 95 % interval, the strain it bears, and the thickness as it will be printed."""
    if draft.built is None:
        return ""
    design: Any = getattr(draft.built.design, part)
    if design is None or draft.value(f"{part}.material") != design.material.key:
        return ""
    return " ".join(sentence for sentence in (_plastic(part, design), _thickness(design)) if sentence)


def _plastic(part: str, design: Any) -> str:
    from halfroll.materials.printed import in_print

    filament: Filament = design.material
    direction: Load = "both" if part in ("cone", "cap") else "radial"
    try:
        found = in_print(
            filament, raster=design.print.raster, infill=design.print.infill, direction=direction
        )
    except HalfrollError:
        return ""
    scale, unit = (1e-9, "GPa") if found.modulus_pa >= 1e9 else (1e-6, "MPa")
    said = f"In this print E {format_with_u(scale * found.modulus_pa, scale * NORMAL_95 * found.modulus_u_pa, unit)}"
    bears = filament.fatigue_strain
    return said + (f", bears {100 * bears:.2g}{THIN}% for millions of cycles." if bears is not None else ".")


def _thickness(design: Any) -> str:
    from halfroll.suspension.profile import snapped

    if design.print.snap == "none":
        return ""
    return f"Thickness {snapped(design.thickness_m, design.print).words}."


def said_of(report: SuspensionReport) -> list[Verdict]:
    """All verdicts, those on one of two parts with its name before them."""
    suspension = report.solved.suspension
    parts = () if suspension is None or len(suspension.parts) < 2 else suspension.parts
    whose: dict[tuple[str, str], list[str]] = {}
    for part in parts:
        for verdict in part.verdicts:
            whose.setdefault((verdict.code, verdict.text), []).append(part.name)
    said = []
    for verdict in report.verdicts:
        names = " and ".join(whose.get((verdict.code, verdict.text), []))
        said.append(replace(verdict, text=f"{names.capitalize()}: {verdict.text}") if names else verdict)
    return said


def bears_of(design: MovingDesign) -> dict[str, float]:
    """The strain that the plastic of each suspension part bears for millions of cycles, where it is known."""
    parts = (design.surround, design.spider)
    return {part.name: part.material.fatigue_strain for part in parts
            if part is not None and part.material.fatigue_strain is not None}  # fmt: skip
