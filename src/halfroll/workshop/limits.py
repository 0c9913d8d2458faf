"""What limits a version's driver: how loud it may play for how long, with what was assumed, kept in the index."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.driver.limits.maximum import DISTORTION
from halfroll.driver.limits.types import MaximumLevel, PowerCompression
from halfroll.workshop.jobs import code_of, key_of
from halfroll.workshop.kept import kept

if TYPE_CHECKING:
    from halfroll.acoustics.load import AcousticLoad
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.motor.types import Assembly
    from halfroll.workshop.store import Workshop

HIGHEST_HZ = 20_000.0
LEAST_UPPER_HZ = 500.0


@dataclass(frozen=True, kw_only=True, eq=False)
class DriverLimits:
    """The highest level of a driver over frequency, and what its warm coil takes from it; None where nothing is known of its heat."""

    maximum: MaximumLevel
    compression: PowerCompression | None


def driver_limits(
    workshop: Workshop,
    version_id: str,
    predicted: PredictedDriver,
    progress: Progress = silent,
    *,
    load: AcousticLoad | None = None,
    distortion: float = DISTORTION,
    spread: bool = True,
) -> DriverLimits:
    """What limits a version's driver.

    Parameters
    ----------
    predicted
        The driver, such as `workshop.prediction.driver_model` gives it.
    load
        The cabinet behind it; None for an infinite baffle.
    distortion
        Total harmonic distortion (share of the fundamental) that counts as a limit.
    spread
        Whether to find how sure the lowest limit is, which takes some seconds.

    Raises
    ------
    InputError
        A distortion that is none.
    CancelledError
        `progress` asked to stop.
    """
    if not 0.001 <= distortion <= 1.0:
        raise InputError("The distortion that counts as a limit must be a possible one", key="distortion", found=f"{100 * distortion:g} %",
                         allowed="0.1 % to 100 %")  # fmt: skip
    assembly = _assembly(workshop, version_id)
    key = key_of("limits", code_of("core", "acoustics", "materials", "motor", "driver"), repr(predicted.model), repr(predicted.heat),
                 repr(predicted.assumptions), predicted.slopes.tobytes().hex(), _said(assembly), _load_said(load), repr((distortion, spread)))  # fmt: skip
    found = kept(workshop, key, f"limits {version_id} {'free' if load is None else 'boxed'}",
                 lambda: (_maximum(predicted, assembly, load, distortion, spread, progress), _compression(predicted, load)))  # fmt: skip
    progress(1.0, "done")
    return DriverLimits(maximum=found[0], compression=found[1])


def _maximum(
    predicted: PredictedDriver, assembly: Assembly | None, load: AcousticLoad | None, distortion: float, spread: bool, progress: Progress
) -> MaximumLevel:  # fmt: skip
    from halfroll.driver.limits.maximum import maximum_level, usual_frequencies
    from halfroll.driver.limits.spread import with_spread

    usable = None if predicted.break_up is None else predicted.break_up.usable_hz
    upper = HIGHEST_HZ if usable is None else min(max(2.0 * usable, LEAST_UPPER_HZ), HIGHEST_HZ)
    found = maximum_level(
        predicted.model, heat=predicted.heat, assembly=assembly, load=load, usable_hz=usable, frequency_hz=usual_frequencies(upper),
        distortion=distortion, progress=part(progress, 0.0, 0.4 if spread else 1.0),
    )  # fmt: skip
    return with_spread(found, predicted, load=load, progress=part(progress, 0.4, 1.0)) if spread else found


def _compression(predicted: PredictedDriver, load: AcousticLoad | None) -> PowerCompression | None:
    from halfroll.driver.limits.compression import power_compression

    return None if predicted.heat is None else power_compression(predicted.model, predicted.heat, load=load)


def _assembly(workshop: Workshop, version_id: str) -> Assembly | None:
    from halfroll.workshop.motors import load_motor

    try:
        return load_motor(workshop, version_id).assembly
    except InputError:
        return None


def _said(assembly: Assembly | None) -> str:
    return "" if assembly is None else repr((assembly.gap, assembly.winding, assembly.inward_room_m))


def _load_said(load: AcousticLoad | None) -> str:
    if load is None:
        return ""
    arrays = (load.a, load.b, load.c, load.e, load.g)
    return repr((load.d, load.outlets, *(one.tobytes().hex() for one in arrays)))
