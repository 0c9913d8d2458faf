"""All that a guide is written from: the version's record, its parts in their places, its bands, and a few lengths and levels."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfroll.builds.guide.bands import bands_of, said_of
from halfroll.builds.guide.weights import weight_bands
from halfroll.builds.types import Band
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.verdicts import Verdict

if TYPE_CHECKING:
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.motor.coil.wound import Coil
    from halfroll.motor.types import Assembly
    from halfroll.suspension.design import MovingDesign
    from halfroll.suspension.models.jig import Fit, GapJig
    from halfroll.workshop.records import VersionRecord
    from halfroll.workshop.store import Workshop

RUN_IN_TRAVEL = 0.5
"""Share of the travel a driver is run in with (common practice: half of it)."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Plan:
    """What a version's guide is written from; None and empty where it is not designed or not known."""

    record: VersionRecord
    assembly: Assembly | None
    coil: Coil | None
    moving: MovingDesign | None
    jig: GapJig | None
    predicted: PredictedDriver | None
    bands: Mapping[str, Band]
    verdicts: tuple[Verdict, ...] = ()

    @property
    def printed(self) -> list[str]:
        """Names of the models there are of it, the jig's among them, as `suspension.models.PARTS` has them."""
        from halfroll.suspension.models.build import available

        return [] if self.moving is None else available(self.moving, self.jig)

    @property
    def fits(self) -> tuple[Fit, ...]:
        """How the jig fills the two clearances of the gap."""
        from halfroll.suspension.models.jig import fit_of

        return () if self.jig is None else (fit_of(self.jig, "inner"), fit_of(self.jig, "outer"))

    def cell_travel_mm(self, volts: float, series_ohm: float) -> float | None:
        """How far a cell through a resistor moves the cone (mm): Bl i / Kms."""
        if self.predicted is None:
            return None
        model = self.predicted.model
        return 1e3 * abs(model.Bl[0]) * volts / (model.Re + series_ohm) / model.K[0]

    def run_in(self) -> tuple[float, float] | None:
        """Frequency (Hz) and voltage (V r.m.s.) that move the cone by half its travel, no more than a quarter of the rated power into Re."""
        if self.predicted is None:
            return None
        from halfroll.driver.linear import linear_response
        from halfroll.driver.lumped import small_signal

        model = self.predicted.model
        hz = float(f"{0.8 * small_signal(model).fs:.2g}")
        peak_per_v = math.sqrt(2.0) * abs(
            complex(linear_response(model, np.array([hz])).displacement_m_per_v[0])
        )
        volts = RUN_IN_TRAVEL * min(-model.x_range[0], model.x_range[1]) / peak_per_v
        return hz, min(volts, math.sqrt(0.25 * (self.record.rated_power_w or 4.0) * model.Re))


def plan_of(workshop: Workshop, version_id: str, progress: Progress = silent) -> Plan:
    """Everything a version's guide needs.

    Raises
    ------
    InputError
        There is no such version, or nothing is known of it.
    CancelledError
        `progress` asked to stop.
    """
    from halfroll.workshop.models import printing_of
    from halfroll.workshop.motors import load_motor
    from halfroll.workshop.prediction import driver_model

    record = workshop.version(version_id).record
    bands = dict(bands_of(workshop, version_id, progress))
    verdicts = list(said_of(bands))
    assembly = coil = jig = moving = predicted = None
    if record.motor is not None:
        from halfroll.motor.coil.wound import wind

        motor = load_motor(workshop, version_id)
        assembly, coil = motor.assembly, None if motor.design.coil is None else wind(motor.design.coil)
    try:
        printing = printing_of(workshop, version_id)
        moving, jig = printing.design, printing.jig
        verdicts += printing.verdicts
    except InputError:
        pass  # neither moving parts nor a coil are designed
    with contextlib.suppress(InputError):  # then only readings of units are known
        predicted = driver_model(workshop, version_id, "auto", progress)
    if predicted is not None and predicted.mass is not None and moving is not None:
        bands.update(weight_bands(workshop, version_id, predicted, moving))
    return Plan(
        record=record,
        assembly=assembly,
        coil=coil,
        moving=moving,
        jig=jig,
        predicted=predicted,
        bands=bands,
        verdicts=tuple(verdicts),
    )
