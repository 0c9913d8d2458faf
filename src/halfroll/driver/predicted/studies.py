"""The studies of a motor that a prediction asks for, for a process of its own: this module loads next to nothing until one is begun."""

from __future__ import annotations

from typing import TYPE_CHECKING

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress

if TYPE_CHECKING:
    from collections.abc import Sequence

    from halfroll.core.levels import FloatArray
    from halfroll.motor.field.study import StudySettings
    from halfroll.motor.results import BlockedImpedance, FieldInfluences, Modulation, MotorResult
    from halfroll.motor.types import Assembly
    from halfroll.suspension.design import MovingDesign
    from halfroll.suspension.results import PartResult

BLOCKED_REFINEMENT = 2.0
"""Elements twice as large as those of ``halfroll motor`` move the blocked impedance of the demo's motors by 0.2 % at most."""


def field(assembly: Assembly, settings: StudySettings | None, progress: Progress) -> MotorResult:
    """The static field, as ``halfroll motor`` computes it."""
    from halfroll.motor.field.study import study

    return study(assembly, settings, progress)


def blocked(
    assembly: Assembly, frequency_hz: Sequence[float], x_m: FloatArray, progress: Progress
) -> BlockedImpedance:
    """The blocked impedance over the range, at a low level at rest alone, without a second mesh to judge it."""
    from halfroll.motor.eddy.blocked import EddySettings, blocked_impedance

    settings = EddySettings(refinement=BLOCKED_REFINEMENT, low_level_moved=False, judge=False)
    return blocked_impedance(assembly, frequency_hz, x_m, settings, progress)


def modulated(assembly: Assembly, peak_a: float, x_m: FloatArray, progress: Progress) -> Modulation:
    """Force factor and flux linkage at a peak current, without a second mesh to judge them."""
    from halfroll.motor.force.modulation import modulation

    return modulation(assembly, (peak_a,), [float(x) for x in x_m], progress=progress, judge=False)


def influences(assembly: Assembly, x_m: FloatArray, progress: Progress) -> FieldInfluences:
    """How Bl answers to what is not known exactly."""
    from halfroll.motor.field.influence import field_influences

    return field_influences(assembly, x_m, progress)


def bent(design: MovingDesign, progress: Progress) -> PartResult:
    """The one suspension part of a design, bent over its travel; `InputError` where it cannot be, by the keys of the record."""
    from halfroll.suspension.study.system import study_parts

    try:
        (found,) = study_parts(design, progress)
    except InputError as fault:
        if fault.place.key == "travel":  # a word of the suspension room; the record has a key of its own
            raise InputError(fault.message, key="moving.travel_mm", found=fault.found, allowed=fault.allowed, remedy=fault.remedy) from fault  # fmt: skip
        raise
    return found
