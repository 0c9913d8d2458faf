"""A cabinet with its driver, worked out: what the command line and the page both show."""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.acoustics.cabinet.fits import cabinet_verdicts
from halfroll.acoustics.cabinet.types import Cabinet
from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Verdict
from halfroll.driver.boxed import BoxedReading, BoxedResponse, boxed_response, read_boxed
from halfroll.driver.boxed_drive import BoxedDrive, boxed_verdicts, drive_boxed
from halfroll.driver.boxed_spread import boxed_spread
from halfroll.driver.predicted.types import PredictedDriver

USUAL_VOLTS = 2.83
USED_ALONE_HZ = 500.0
"""How far a cabinet is looked at when no driver says how far it is used."""


@dataclass(frozen=True, kw_only=True, eq=False)
class CabinetReport:
    """A cabinet and a driver in it; without a driver only what is said of the cabinet.

    `free` is the driver in an infinite baffle; `level_u_db` and `figures_u` are standard uncertainties from the driver.
    """

    cabinet: Cabinet
    driver: PredictedDriver | None = None
    driver_id: str = ""
    found: BoxedResponse | None = None
    free: BoxedResponse | None = None
    reading: BoxedReading | None = None
    drive: BoxedDrive | None = None
    level_u_db: FloatArray | None = None
    figures_u: dict[str, float] | None = None
    verdicts: tuple[Verdict, ...] = ()


def cabinet_report(
    cabinet: Cabinet, driver: PredictedDriver | None, driver_id: str = "", *, volts: float = USUAL_VOLTS, used_to_hz: float | None = None,
    spread: bool = True,
) -> CabinetReport:  # fmt: skip
    """Work out a driver in a cabinet at a voltage (V r.m.s.); `spread`: with uncertainty.

    Raises
    ------
    InputError
        The cone does not lie within the front, or the voltage is none.
    """
    if not 0.0 < volts <= 1000.0:
        raise InputError(
            "The voltage must be above 0 V and 1000 V at most", key="volts", found=f"{volts:g} V"
        )
    if driver is None:
        return CabinetReport(
            cabinet=cabinet, verdicts=cabinet_verdicts(cabinet, used_to_hz=used_to_hz or USED_ALONE_HZ)
        )
    model = driver.model
    _within_front(cabinet, model.radius)
    found = boxed_response(model, cabinet, with_baffle=True)
    reading = read_boxed(model, cabinet, found)
    drive = drive_boxed(model, cabinet, found, reading, volts)
    level_u, figures_u = (
        boxed_spread(driver, cabinet, found, reading) if spread and len(driver.assumptions) else (None, None)
    )
    return CabinetReport(
        cabinet=cabinet, driver=driver, driver_id=driver_id, found=found, free=boxed_response(model, None), reading=reading, drive=drive,
        level_u_db=level_u, figures_u=figures_u, verdicts=boxed_verdicts(cabinet, reading, drive, used_to_hz=used_to_hz),
    )  # fmt: skip


def _within_front(cabinet: Cabinet, radius_m: float) -> None:
    front = cabinet.front
    if front is not None and radius_m > front.to_edge_m:
        raise InputError(
            "The cone must lie within the front of the cabinet", key="front",
            found=f"{1e3 * radius_m:.0f} mm effective radius, {1e3 * front.to_edge_m:.0f} mm from its centre to the nearest edge",
            remedy="Make the front larger, or move the driver",
        )  # fmt: skip
