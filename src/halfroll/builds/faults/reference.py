"""The reference of a version: its driver as predicted, entered or measured, in what its good units differ, and its parts.

The one module here that asks the workshop.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from halfroll.builds.faults.meet import met
from halfroll.builds.faults.types import BAFFLE, FREE_AIR, Coil, Mounted, Mounting, Reference
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.driver.cone import ConeMode
from halfroll.driver.predicted.packing import pack
from halfroll.driver.predicted.types import PredictedDriver

if TYPE_CHECKING:
    from halfroll.workshop.records import VersionRecord
    from halfroll.workshop.store import Workshop

METAL = 8.96e3 * 1.724e-8
"""Density times resistivity of copper (IEC 60028, annealed, 20 °C): the metal of a wire weighs that times length² over resistance."""

USUAL_METAL = 0.2
"""Share of the moving mass that the coil's metal has where the length of the wire is not known (own choice)."""

UNIT_U = {"Re": 0.015, "Mms": 0.025, "Rms": 0.12, "Bl": 0.025, "K": 0.08, "Le": 0.05}
"""Standard deviation of logarithms among units where only a mean is known (own choice: wire, glue, magnets, printed soft parts)."""

LEFT_OUT_RMS = 0.25
"""Standard uncertainty of the logarithm of a predicted Rms beside its assumptions: air pumped through gap and vents is not in it (own choice)."""

ASSUMED_W = 1.0
"""Power into the rated impedance at which distortion is heard where nobody says otherwise."""


def reference_of(
    workshop: Workshop, version_id: str, progress: Progress = silent, *, without: str = ""
) -> Reference:
    """What good units of a version are: as predicted, entered or measured, and as its measured units read; `without` the unit that is judged.

    Raises
    ------
    InputError
        There is no such version, or neither a design nor parameters nor a measured unit tells its driver.
    CancelledError
        Through `progress`.
    """
    from halfroll.builds.guide.bands import bands_of
    from halfroll.workshop.prediction import driver_model

    record = workshop.version(version_id).record
    driver = driver_model(workshop, version_id, progress=part(progress, 0.0, 0.7))
    bands = bands_of(workshop, version_id, progress=part(progress, 0.7, 0.95), without=without)
    progress(0.95, "gathering the reference")
    designed = driver.suspension is not None or driver.heat is not None or driver.mass is not None
    found = reference_from(
        driver, version_id, source="the design" if designed else "entered or measured parameters", designed=designed, coil=_coil(record, driver),
        magnets=magnets_of(record), drive_v=math.sqrt(ASSUMED_W * (record.rated_impedance_ohm or driver.model.Re * 1.2)),
    )  # fmt: skip
    return met(found, bands)


def reference_from(
    driver: PredictedDriver, version_id: str, *, source: str, designed: bool, coil: Coil | None = None, magnets: int = 1, drive_v: float = 2.0,
    mounted: Mounted | None = None,
) -> Reference:  # fmt: skip
    """The same from a driver that is known: in what its units differ is what was assumed of it, and what its kind of source leaves out."""
    steps = np.asarray(driver.slopes, dtype=np.float64).reshape(-1, len(pack(driver.model)))
    labels = [one.label for one in driver.assumptions]
    rest = [1e3 * one.u if one.key == "coil.offset" else 0.0 for one in driver.assumptions]
    more = {"Rms": LEFT_OUT_RMS} if designed else UNIT_U
    extra = _steps(driver, more)
    return Reference(
        version_id=version_id, source=source, model=driver.model, steps=np.concatenate([steps, extra]),
        step_labels=(*labels, *(f"{name} of the unit" for name in more)), rest_steps_mm=np.array([*rest, *([0.0] * len(more))]),
        coil=coil or Coil(metal_kg=USUAL_METAL * driver.model.Mms), magnets=magnets, spider_share=_spider(driver), modes=_modes(driver),
        drive_v=drive_v, mounted=mounted or Mounted(electrical=FREE_AIR, sound=BAFFLE), verdicts=driver.verdicts,
    )  # fmt: skip


def _steps(driver: PredictedDriver, spread: dict[str, float]) -> FloatArray:
    """Rows that move single values of the packed model."""
    base, rows = pack(driver.model), []
    for name, sd in spread.items():
        factor = math.exp(sd)
        if name == "Le":
            from dataclasses import replace

            moved = replace(driver.model, Le=tuple(factor * one for one in driver.model.Le))
        else:
            moved = driver.model.with_scaled(**{name: factor})
        rows.append(pack(moved) - base)
    return np.array(rows).reshape(len(rows), len(base))


def _coil(record: VersionRecord, driver: PredictedDriver) -> Coil:
    """Turns and layers as drawn; mass of the wire by its length and resistance."""
    length = next((one.value for one in driver.assumptions if one.key == "coil.length"), None)
    model = driver.model
    metal = USUAL_METAL * model.Mms if length is None else METAL * length**2 / model.Re
    drawn = record.coil
    if drawn is None:
        return Coil(metal_kg=metal)
    return Coil(turns=drawn.turns, layers=drawn.layers, metal_kg=metal)


def magnets_of(record: VersionRecord) -> int:
    """Magnets in the motor as drawn; 1 where it is not drawn."""
    if record.motor is None:
        return 1
    return max(1, sum(one.magnetised is not None for one in record.motor.parts))


def _spider(driver: PredictedDriver) -> tuple[float, float] | None:
    """Share of the stiffness at rest that the spider has."""
    if driver.suspension is None:
        return (0.3, 0.7)
    stiff = {one.name: one.curve.at_rest() for one in driver.suspension.parts}
    if "spider" not in stiff:
        return None
    share = stiff["spider"] / sum(stiff.values())
    return (0.8 * share, min(1.0, 1.1 * share))


def _modes(driver: PredictedDriver) -> tuple[ConeMode, ...]:
    """Modes of the cone, where its break-up was worked out."""
    if driver.break_up is None:
        return ()
    from halfroll.driver.cone_of_shell import cone_of_shell

    return cone_of_shell(driver.break_up).modes


def box(volume_m3: float, tuning_hz: float | None = None) -> Mounting:
    """A box by its net volume (m³), vented with a tuning."""
    return Mounting(kind="box", volume_m3=volume_m3, tuning_hz=tuning_hz)
