"""A computed take of a driver that was worked out: played and analysed, or where it leaves its travel put together from steady tones."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from halfroll.acoustics.load import AcousticLoad
from halfroll.core.conditions import Conditions
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.cone import ConeMode
from halfroll.driver.cone_of_shell import cone_of_shell
from halfroll.driver.large_signal import TravelError
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.driver.quick import quick_beside, quick_response
from halfroll.driver.virtual import air_of, virtual_response
from halfroll.figures.computed import SERIES_OHM, ComputedTake
from halfroll.figures.predicted import Looked, PredictedFigures, looked_at
from halfroll.figures.readings import read_take
from halfroll.figures.ringing import ringing
from halfroll.figures.types import FigureSettings
from halfroll.measure.analysis.response import Response

Aside = Callable[..., Callable[[Progress], Looked]]
"""``aside(work, *arguments)`` begins ``work(*arguments, progress)`` somewhere, and gives what waits for its result."""

SLOPES_TO_HZ = 500.0
"""Harmonics for derivatives are worked out to here, or to the top of the distortion band."""


def compute(
    predicted: PredictedDriver,
    settings: FigureSettings,
    conditions: Conditions,
    *,
    load: AcousticLoad | None = None,
    own: str = "",
    rated_power_w: float | None = None,
    said: Sequence[Verdict] = (),
    progress: Progress = silent,
    aside: Aside | None = None,
) -> tuple[ComputedTake, PredictedFigures]:
    """A computed take of a driver that was worked out, and its figures; `conditions.drive_v` is the drive. For drafts, too.

    What the assumptions do is found `aside` while the take is played, or after it.

    Where the drive takes the cone out of its travel, what is not touched comes from steady tones and small signals, and a verdict says so.

    Raises
    ------
    RefusedError
        The cone leaves its travel even in the middle of the range.
    CancelledError
        Through `progress`.
    """
    drive_v = conditions.drive_v or 0.0
    cone = None if predicted.break_up is None else cone_of_shell(predicted.break_up)
    modes = () if cone is None else cone.modes
    slopes = _Slopes(predicted, settings, conditions, load, modes, own, rated_power_w)
    waiting = (aside or _after)(_looked, slopes)
    told = part(progress, 0.0, 0.4)
    try:
        response = virtual_response(
            predicted.model, drive_v=drive_v, conditions=conditions, load=load, modes=modes, series_ohm=SERIES_OHM, progress=told
        )  # fmt: skip
    except InputError as fault:
        if not isinstance(fault, TravelError):  # the steady tones say what they can
            said = (*said, not_played(fault))
        response = quick_response(
            predicted.model, drive_v=drive_v, conditions=conditions, load=load, modes=modes, series_ohm=SERIES_OHM,
            progress=told,
        )  # fmt: skip
    if load is not None and load.resonances_hz() and len(response.impulse.values):
        note = ringing(response, slopes.responds()(predicted.model), load.resonances_hz())
        said = (*said, *(() if note is None else (note,)))
    low, high = response.valid_hz
    response = replace(
        response,
        valid_hz=(low, high if cone is None else min(high, cone.valid_hz)),
        verdicts=(*response.verdicts, *said, *(() if cone is None else (cone.verdict,))),
    )
    looked = waiting(part(progress, 0.4, 1.0))
    figures = looked.figures(response, read_take(response, settings, rated_power_w))
    return ComputedTake(response=response, spread=figures.spread), figures


@dataclass(frozen=True)
class _Slopes:
    """What is needed to find what the assumptions do; arguments of `compute`."""

    predicted: PredictedDriver
    settings: FigureSettings
    conditions: Conditions
    load: AcousticLoad | None
    modes: tuple[ConeMode, ...]
    own: str
    rated_power_w: float | None

    def responds(self) -> Callable[[DriverModel], Response]:
        """Quick responses of drivers a little different."""
        highest = max(SLOPES_TO_HZ, self.settings.distortion_band_hz[1])
        drive_v = self.conditions.drive_v or 0.0
        beside = quick_beside(
            self.predicted.model, drive_v=drive_v, load=self.load, series_ohm=SERIES_OHM, highest_hz=highest
        )
        return partial(
            quick_response, drive_v=drive_v, conditions=self.conditions, load=self.load, modes=self.modes,
            series_ohm=SERIES_OHM, highest_hz=highest, beside=beside,
        )  # fmt: skip


def _looked(slopes: _Slopes, progress: Progress) -> Looked:
    """What the assumptions do."""
    return looked_at(
        slopes.predicted, slopes.responds(), slopes.settings, own=slopes.own, rated_power_w=slopes.rated_power_w,
        air=air_of(slopes.conditions), progress=progress,
    )  # fmt: skip


def _after(work: Callable[..., Looked], *arguments: object) -> Callable[[Progress], Looked]:
    """Nothing is done aside: the work is done when its result is waited for."""
    return partial(work, *arguments)


def not_played(fault: InputError) -> Verdict:
    """What is said where the sweep could not be played in time although the driver can be."""
    return Verdict(
        code="not-played",
        severity=Severity.NOTE,
        text=f"The sweep was not played in time; its harmonics are those of steady tones. {fault}",
        data=dict(fault.as_dict()),
    )
