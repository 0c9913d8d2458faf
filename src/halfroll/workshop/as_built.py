"""The driver a unit is as it was built: its version's prediction given what was weighed and read of that unit.

Resistance, moving mass and the weighed parts are readings; resonance and sensitivity are left out, so that they can still be held against
the answer. A part that turned out heavier than predicted is partly thicker, partly fuller, partly of denser plastic, each as far as its
assumption allows; a thicker surround is a stiffer one, too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.core.text import format_with_u
from halfroll.core.verdicts import Severity, Verdict
from halfroll.workshop import paths
from halfroll.workshop.built_weights import PARTS, WEIGHED_WORDS, expected_weight, kilograms
from halfroll.workshop.measured_driver import RE_U
from halfroll.workshop.parameters import WEIGHED_U

if TYPE_CHECKING:
    from halfroll.driver.predicted.conditioned import Conditioned, LinearReading
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.suspension.design import MovingDesign
    from halfroll.workshop.records import UnitRecord, VersionRecord
    from halfroll.workshop.store import Workshop

SCALE_U_G = 0.02
"""Standard uncertainty of a pocket scale that shows hundredths of a gram (common practice), where none is stated."""

UNLIKELY = 0.01
"""Probability of as large a chi-squared, or of as far a single one among so many, below which readings and prediction contradict each other (own choice)."""

SURE = 1.96
"""Standard uncertainties of a 95 % interval."""

FAR = 3.0
"""Standard uncertainties from which a single reading is named as far off (own choice)."""

_PACKED_RE = 0  # as `driver.predicted.packing.pack` lays it out


@dataclass(frozen=True, kw_only=True)
class UsedReading:
    """A reading of the unit against the prediction, in `unit`: what was read, what was expected, and by how much it moved each value.

    `pull` is the difference in standard uncertainties of both together.
    """

    key: str
    label: str
    unit: str
    value: float
    u: float
    expected: float
    expected_u: float
    pull: float
    moved: dict[str, float]


@dataclass(frozen=True, kw_only=True, eq=False)
class AsBuilt:
    """A unit as built: the version's prediction, the same given the readings, which readings, and which could not be used (in words)."""

    unit_id: str
    before: PredictedDriver
    driver: PredictedDriver
    readings: tuple[UsedReading, ...]
    unused: tuple[str, ...]
    chi_squared: float
    verdicts: tuple[Verdict, ...] = ()


def as_built_driver(workshop: Workshop, unit_id: str, progress: Progress = silent) -> PredictedDriver:
    """The driver of a unit; its version's prediction where nothing was read of it. See `as_built`."""
    return as_built(workshop, unit_id, progress).driver


def as_built(workshop: Workshop, unit_id: str, progress: Progress = silent) -> AsBuilt:
    """A unit's driver, with what each reading did.

    Raises
    ------
    InputError
        There is no such unit, or its version's driver is not known.
    CancelledError
        `progress` asked to stop.
    """
    from halfroll.workshop.prediction import driver_model

    workshop.existing(unit_id, "unit")
    version_id = paths.version_of(unit_id)
    before = driver_model(workshop, version_id, "auto", progress)
    record, version = workshop.unit(unit_id).record, workshop.version(version_id)
    design = _design(workshop, version_id, version.record) if before.mass is not None else None
    return given(unit_id, before, record, design)


def given(unit_id: str, before: PredictedDriver, record: UnitRecord, design: MovingDesign | None) -> AsBuilt:
    """A prediction given what a unit's record says; `design` tells the lips of surround and spider, None where nothing is designed."""
    from halfroll.driver.predicted.conditioned import conditioned

    found, unused = _readings(before, record, design)
    if not found or not before.assumptions:
        return AsBuilt(
            unit_id=unit_id, before=before, driver=before, readings=(), unused=tuple(unused), chi_squared=0.0
        )
    answer = conditioned(before, [one.linear for one in found])
    readings = tuple(_used(before, answer, found, n) for n in range(len(found)))
    verdicts = _said(readings, answer.chi_squared)
    driver = replace(answer.driver, verdicts=(*answer.driver.verdicts, *verdicts))
    return AsBuilt(unit_id=unit_id, before=before, driver=driver, readings=readings, unused=tuple(unused), chi_squared=answer.chi_squared,
                   verdicts=verdicts)  # fmt: skip


@dataclass(frozen=True, kw_only=True, eq=False)
class _Read:
    """A reading in its own unit, and for the sum."""

    label: str
    unit: str
    value: float
    expected: float
    linear: LinearReading


def _design(workshop: Workshop, version_id: str, record: VersionRecord) -> MovingDesign:
    from halfroll.workshop.parts import lookups
    from halfroll.workshop.suspension_design import moving_of

    return moving_of(record, lookups(workshop), paths.folder_of(workshop.folder, version_id))


def _readings(
    before: PredictedDriver, record: UnitRecord, design: MovingDesign | None
) -> tuple[list[_Read], list[str]]:
    """Everything a record says that the prediction has an expectation of; and in words what it has none of."""
    by_mass = kilograms(before)
    found, unused = [], []
    if record.re_ohm is not None:
        found.append(_read("re_ohm", "DC resistance", "ohm", record.re_ohm, record.re_u_ohm or RE_U * record.re_ohm, before.model.Re,
                           before.slopes[:, _PACKED_RE]))  # fmt: skip
    if record.moving_mass_g is not None:
        bare = 1e3 * (before.model.Mms - _air_kg(before))
        u = record.moving_mass_u_g or WEIGHED_U * record.moving_mass_g
        found.append(
            _read(
                "moving_mass_g",
                "Moving mass without air",
                "g",
                record.moving_mass_g,
                u,
                bare,
                1e3 * by_mass / bare,
            )
        )
    weighed = record.weighed
    for name in PARTS:
        grams = getattr(weighed, f"{name}_g", None)
        if weighed is None or grams is None:
            continue
        expected = None if design is None else expected_weight(name, before, design, by_mass)
        if expected is None:
            unused.append(
                f"{WEIGHED_WORDS[name]}: weighed, but the prediction of the version does not rest on it"
            )
        else:
            found.append(
                _read(
                    f"{name}_g",
                    WEIGHED_WORDS[name],
                    "g",
                    grams,
                    weighed.u_g or SCALE_U_G,
                    1e3 * expected[0],
                    expected[1],
                )
            )
    return found, unused


def _read(
    key: str, label: str, unit: str, value: float, u: float, expected: float, slopes: FloatArray
) -> _Read:
    from halfroll.driver.predicted.conditioned import LinearReading

    linear = LinearReading(
        key=key,
        log_ratio=math.log(value / expected),
        u=u / value,
        slopes=np.asarray(slopes, dtype=np.float64),
    )
    return _Read(label=label, unit=unit, value=value, expected=expected, linear=linear)


def _air_kg(before: PredictedDriver) -> float:
    from halfroll.acoustics.radiation import air_mass

    return before.mass.air_kg if before.mass is not None else float(air_mass(before.model.radius))


def _used(before: PredictedDriver, answer: Conditioned, found: list[_Read], n: int) -> UsedReading:
    from halfroll.driver.predicted.conditioned import moves

    one, u = found[n], float(answer.expected_u[n])
    alone = math.sqrt(max(u**2 - one.linear.u**2, 0.0))
    return UsedReading(
        key=one.linear.key, label=one.label, unit=one.unit, value=one.value, u=one.linear.u * one.value, expected=one.expected,
        expected_u=alone * one.expected, pull=one.linear.log_ratio / u, moved=moves(before, answer, n, one.linear.log_ratio),
    )  # fmt: skip


def _said(readings: tuple[UsedReading, ...], chi_squared: float) -> tuple[Verdict, ...]:
    from scipy.special import chdtrc

    farthest = max(one.pull**2 for one in readings)
    probability = min(float(chdtrc(len(readings), chi_squared)), len(readings) * float(chdtrc(1, farthest)))
    if probability >= UNLIKELY:
        return ()
    far = [one for one in readings if abs(one.pull) > FAR] or [max(readings, key=lambda one: abs(one.pull))]
    words = "; ".join(
        f"{one.label} {format_with_u(one.value, SURE * one.u, one.unit)}, expected {format_with_u(one.expected, SURE * one.expected_u, one.unit)}"
        for one in far
    )
    return (Verdict(
        code="as-built-far-off", severity=Severity.CAUTION,
        text=f"What was read of this unit does not fit its version's design: {words}. So large a difference happens by chance less than once in a hundred units.",
        remedy="Weigh and measure again; look for a part that was changed without the design, such as other wire or another filament.",
        data={"chi_squared": chi_squared, "readings": len(readings), "probability": probability, "far": [one.key for one in far]},
    ),)  # fmt: skip
