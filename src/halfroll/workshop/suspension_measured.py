"""What was measured of a version that its suspension was computed to do: the resonance, and what else a driver's fits say."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfroll.core.progress import Progress, part, silent
from halfroll.workshop.contents import read_contents
from halfroll.workshop.fitted import UnitParameters
from halfroll.workshop.parameters import unit_parameters

if TYPE_CHECKING:
    from halfroll.suspension.results import MovingMass, SuspensionResult
    from halfroll.workshop.store import Workshop

FREE_AIR_LOAD = 0.5
"""Mass of air with both sides of a piston in free air over that in an infinite baffle: (8/3) ρ a³ of a rigid disc (H. Lamb,
"Hydrodynamics", 6th ed. 1932, art. 102 and 108) over (16/3) ρ a³."""


@dataclass(frozen=True, kw_only=True)
class Measured:
    """A value of several units: mean, standard uncertainty of a single unit's value (fit, and units among each other), how many."""

    value: float
    u: float
    units: int


@dataclass(frozen=True, kw_only=True)
class MeasuredVersion:
    """By symbol what the fits of a version's units say, SI; and whether they were measured in a baffle."""

    values: dict[str, Measured]
    in_baffle: bool

    def get(self, name: str) -> float | None:
        """One value; None when it was not measured."""
        found = self.values.get(name)
        return None if found is None else found.value


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """A computed quantity against the measured one, both with standard uncertainties; `words` says what of it is compared."""

    name: str
    unit: str
    computed: float
    computed_u: float
    measured: float
    measured_u: float
    units: int
    words: str = ""

    @property
    def difference(self) -> float:
        """Computed less measured, in standard uncertainties of the difference."""
        return (self.computed - self.measured) / math.hypot(self.computed_u, self.measured_u)


NAMES = ("fs_hz", "re_ohm", "le_h", "mms_kg", "cms_m_per_n", "rms_ns_per_m", "bl_n_per_a")


def measured_of(workshop: Workshop, version_id: str, progress: Progress = silent) -> MeasuredVersion | None:
    """What the impedance fits of a version's units say; None where none was measured. Fits are kept in the index."""
    contents = read_contents(workshop.folder, workshop.index)
    ids = [unit for unit in workshop.unit_ids(version_id) if contents.runs_below(unit, "impedance")]
    units = []
    for number, unit in enumerate(ids):
        told = part(progress, number / len(ids), (number + 1) / len(ids))
        units.append(unit_parameters(workshop, unit, contents=contents, progress=told))
    values = {name: one for name in NAMES if (one := mean_of(units, name)) is not None}
    if "fs_hz" not in values:
        return None
    baffle = [unit.free.record.mounting == "baffle" for unit in units if unit.free is not None]
    return MeasuredVersion(values=values, in_baffle=all(baffle))


def mean_of(units: Sequence[UnitParameters], name: str) -> Measured | None:
    """The mean of a parameter over units, and how far one of them lies from it (their own uncertainty and the scatter among them)."""
    found = []
    for unit in units:
        fit = None if unit.free is None else unit.free.fit
        if unit.parameters is not None and name in unit.parameters.estimates:
            estimates = unit.parameters.estimates
        elif fit is not None and name in fit.estimates:
            estimates = fit.estimates
        else:
            continue
        found.append((estimates.value(name), estimates.u(name)))
    if not found:
        return None
    mean = sum(value for value, _ in found) / len(found)
    own = sum(u**2 for _, u in found) / len(found)
    among = sum((value - mean) ** 2 for value, _ in found) / (len(found) - 1) if len(found) > 1 else 0.0
    return Measured(value=mean, u=math.sqrt(own + among), units=len(found))


def comparisons(
    measured: MeasuredVersion, suspension: SuspensionResult | None, mass: MovingMass | None
) -> tuple[Comparison, ...]:
    """Computed resonance, stiffness and moving mass against the measured ones, as far as both are there."""
    found = []
    loose = "" if measured.in_baffle else " in free air"
    mms = None if mass is None else mass.mms_kg
    if mass is not None and not measured.in_baffle:
        mms = mass.mass_kg + FREE_AIR_LOAD * mass.air_kg
    fs, kept = measured.values["fs_hz"], None if suspension is None else suspension.resonance_hz
    if suspension is not None and mass is not None and mms is not None and kept is not None:
        hz = kept * math.sqrt(mass.mms_kg / mms)
        found.append(Comparison(
            name="Resonance fs", unit="Hz", computed=hz, computed_u=hz * (suspension.resonance_u_hz or 0.0) / kept,
            measured=fs.value, measured_u=fs.u, units=fs.units, words=f"unit alone{loose or ' in a baffle'}",
        ))  # fmt: skip
    cms = measured.values.get("cms_m_per_n")
    if suspension is not None and cms is not None:
        rest = suspension.curve.at_rest()
        found.append(Comparison(
            name="Stiffness Kms(0)", unit="N/m", computed=rest, computed_u=rest * suspension.curve.u_relative, measured=1.0 / cms.value,
            measured_u=cms.u / cms.value**2, units=cms.units,
        ))  # fmt: skip
    weighed = measured.values.get("mms_kg")
    if mass is not None and mms is not None and weighed is not None:
        found.append(Comparison(
            name="Moving mass Mms", unit="kg", computed=mms, computed_u=mass.mass_u_kg, measured=weighed.value,
            measured_u=weighed.u, units=weighed.units, words=f"with its air{loose}",
        ))  # fmt: skip
    return tuple(found)
