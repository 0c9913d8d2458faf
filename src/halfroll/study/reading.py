"""Reading the figures of a driver that was worked out, quickly and always under the same conditions, so that differences mean something."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfroll.core.conditions import Conditions, Space
from halfroll.core.errors import HalfrollError
from halfroll.figures.predicted import NOT_COMPUTED, parameters_of
from halfroll.figures.readings import read_take
from halfroll.figures.rules import RULE
from halfroll.figures.types import FigureSettings

if TYPE_CHECKING:
    from halfroll.acoustics.load import AcousticLoad
    from halfroll.driver.cone import ConeMode
    from halfroll.driver.lumped import DriverModel
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.measure.analysis.response import Response
    from halfroll.workshop.records import VersionRecord

HARMONICS_TO_HZ = 500.0
"""Harmonics are worked out to here, or to the top of the distortion band."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Reader:
    """How figures of a design are read: bands and level, drive (V) into the rated impedance, and what stands behind the cone."""

    settings: FigureSettings
    conditions: Conditions
    rated_power_w: float | None = None
    load: AcousticLoad | None = None

    @staticmethod
    def of(
        record: VersionRecord, model: DriverModel, settings: FigureSettings, load: AcousticLoad | None = None
    ) -> Reader:
        """The reader of a version: 1 m in a large baffle at the level of the settings, as its computed take."""
        from halfroll.workshop.virtual_takes import DISTANCE_M, TEMPERATURE_C, rated_impedance

        rated, _ = rated_impedance(record, model)
        conditions = Conditions(
            drive_v=math.sqrt(rated * settings.level_w), distance_m=DISTANCE_M, space=Space.HALF if load is None else Space.CABINET,
            rated_impedance_ohm=rated, radius_m=model.radius, temperature_c=TEMPERATURE_C,
        )  # fmt: skip
        return Reader(settings=settings, conditions=conditions, rated_power_w=record.rated_power_w, load=load)

    def response(self, model: DriverModel, modes: Sequence[ConeMode] = ()) -> Response:
        """The response of a driver under these conditions; `RefusedError` where it leaves its travel throughout."""
        from halfroll.driver.quick import quick_response
        from halfroll.workshop.virtual_takes import SERIES_OHM

        return quick_response(
            model, drive_v=self.conditions.drive_v or 1.0, conditions=self.conditions, load=self.load, modes=tuple(modes),
            series_ohm=SERIES_OHM, highest_hz=max(HARMONICS_TO_HZ, self.settings.distortion_band_hz[1]),
        )  # fmt: skip

    def figures(self, model: DriverModel, modes: Sequence[ConeMode] = ()) -> dict[str, float]:
        """Every figure that has a value of its own, by key; parameters are those in an infinite baffle."""
        values = {key: one.value for key, one in parameters_of(model).items() if key in RULE}
        try:
            readings = read_take(self.response(model, modes), self.settings, self.rated_power_w)
        except HalfrollError:  # the drive takes it out of its travel: parameters are all there is
            readings = {}
        values |= {
            key: one.value for key, one in readings.items() if one.bound is None and key not in NOT_COMPUTED
        }
        return {
            key: float(value) for key, value in values.items() if value is not None and math.isfinite(value)
        }


def modes_of(predicted: PredictedDriver) -> tuple[ConeMode, ...]:
    """The cone's resonances as the response takes them."""
    from halfroll.driver.cone_of_shell import cone_of_shell

    cone = None if predicted.break_up is None else cone_of_shell(predicted.break_up)
    return () if cone is None else tuple(cone.modes)
