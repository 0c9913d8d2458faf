"""A driver in its cabinet at a voltage: travel, air speed in the port, how loud it plays before something meets its limit."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.cabinet.fits import cabinet_verdicts
from halfroll.acoustics.cabinet.port import FASTEST_OF_C, TURBULENT_REYNOLDS
from halfroll.acoustics.cabinet.types import Cabinet
from halfroll.core.levels import P_REF_PA, FloatArray
from halfroll.core.text import format_plain, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.boxed import BoxedReading, BoxedResponse
from halfroll.driver.lumped import DriverModel

USED_OF_F3 = 8.0
"""How far above the lower limit a cabinet's own resonances count, in its multiples: three octaves, where it still sounds against the driver."""
PEAKY_DB = 3.0
ROOT_2 = math.sqrt(2.0)


@dataclass(frozen=True, kw_only=True)
class BoxedDrive:
    """At one voltage (V r.m.s., sine), highest from the lower limit of the range up, where it comes (Hz); None where there is no such thing.

    `travel_m` and `radiator_m` are peaks; `port_peak_m_s` and `port_rms_m_s` speeds of the air; `volts_by_travel` the voltage at which the cone
    meets `limit_m` from the lower limit up; `below_m` the travel below the lower limit, where a vented cabinet no longer holds the cone.
    """

    volts: float
    from_hz: float
    limit_m: float
    travel_m: float
    travel_hz: float
    below_m: float
    volts_by_travel: float
    level_db: float
    port_peak_m_s: float | None
    port_rms_m_s: float | None
    port_hz: float | None
    reynolds: float | None
    radiator_m: float | None


def travel_limit(driver: DriverModel) -> float:
    """The travel one way (m) for which the model holds: the nearer end of `x_range`."""
    return min(-driver.x_range[0], driver.x_range[1])


def drive_boxed(
    driver: DriverModel, cabinet: Cabinet | None, found: BoxedResponse, reading: BoxedReading, volts: float, *, limit_m: float | None = None
) -> BoxedDrive:  # fmt: skip
    """What moves how far at a voltage."""
    f = found.frequency_hz
    start = reading.f3_hz or reading.f6_hz or float(f[0])
    up = f >= start
    travel = ROOT_2 * volts * np.abs(found.displacement_m_per_v)
    at = int(np.argmax(np.where(up, travel, 0.0)))
    limit = travel_limit(driver) if limit_m is None else limit_m
    speed = peak = where = reynolds = None
    if found.port_m_s_per_v is not None and cabinet is not None and cabinet.port is not None:
        fastest = int(np.argmax(found.port_m_s_per_v * up))
        speed = volts * float(found.port_m_s_per_v[fastest])
        peak, where = ROOT_2 * speed, float(f[fastest])
        reynolds = cabinet.port.reynolds(peak)
    radiator = (
        None
        if found.radiator_m_per_v is None
        else ROOT_2 * volts * float(np.max(np.abs(found.radiator_m_per_v)))
    )
    return BoxedDrive(
        volts=volts, from_hz=start, limit_m=limit, travel_m=float(travel[at]), travel_hz=float(f[at]),
        below_m=float(travel[~up].max()) if (~up).any() else 0.0, volts_by_travel=volts * limit / float(travel[at]),
        level_db=found.reference_db + 20.0 * math.log10(volts), port_peak_m_s=peak, port_rms_m_s=speed, port_hz=where, reynolds=reynolds,
        radiator_m=radiator,
    )  # fmt: skip


def level_by_travel(found: BoxedResponse, limit_m: float) -> FloatArray:
    """Level (dB, half space, 1 m, sine, r.m.s.) over frequency at which the cone meets its travel, whatever the voltage; shape (f,)."""
    volts = limit_m / (ROOT_2 * np.abs(found.displacement_m_per_v))
    return np.asarray(20.0 * np.log10(np.abs(found.pressure_pa_per_v) * volts / P_REF_PA))


def boxed_verdicts(
    cabinet: Cabinet, reading: BoxedReading, drive: BoxedDrive, *, used_to_hz: float | None = None, air: Air = STANDARD_AIR
) -> tuple[Verdict, ...]:  # fmt: skip
    """What must be said of a driver in a cabinet at a voltage."""
    to_hz = used_to_hz or USED_OF_F3 * drive.from_hz
    said = [*_travel(cabinet, drive), *_port(drive, air), *_radiator(cabinet, drive), *_shape(reading)]
    return (*said, *cabinet_verdicts(cabinet, used_to_hz=to_hz, air=air))


def _travel(cabinet: Cabinet, drive: BoxedDrive) -> list[Verdict]:
    said = []
    if drive.travel_m > drive.limit_m:
        said.append(Verdict(
            code="cabinet-travel", severity=Severity.CAUTION,
            text=f"At {format_plain(drive.volts, 'V')} the cone would move {format_plain(1e3 * drive.travel_m, 'mm', 2)} at {format_value(drive.travel_hz, None, 'Hz')}; its travel is "
            f"{format_plain(1e3 * drive.limit_m, 'mm', 2)}. The curves are of small signals and no longer hold.",
            remedy=f"Drive it with {format_plain(drive.volts_by_travel, 'V', 2)} at most, or use a smaller cabinet.",
            data={"travel_mm": 1e3 * drive.travel_m, "limit_mm": 1e3 * drive.limit_m, "volts_by_travel": drive.volts_by_travel},
        ))  # fmt: skip
    elif cabinet.kind != "closed" and drive.below_m > drive.limit_m:
        said.append(Verdict(
            code="travel-below-tuning", severity=Severity.CAUTION,
            text=f"Below {format_value(drive.from_hz, None, 'Hz')} nothing holds the cone but its suspension: at {format_plain(drive.volts, 'V')} it would move "
            f"{format_plain(1e3 * drive.below_m, 'mm', 2)}, its travel is {format_plain(1e3 * drive.limit_m, 'mm', 2)}.",
            remedy="Cut the signal off below the tuning.", data={"travel_mm": 1e3 * drive.below_m, "below_hz": drive.from_hz},
        ))  # fmt: skip
    return said


def _port(drive: BoxedDrive, air: Air) -> list[Verdict]:
    fastest = FASTEST_OF_C * air.speed_of_sound
    if drive.port_peak_m_s is None or drive.port_hz is None or drive.reynolds is None:
        return []
    if drive.port_peak_m_s > fastest:
        return [Verdict(
            code="port-fast", severity=Severity.CAUTION,
            text=f"The air in the port reaches {format_plain(drive.port_peak_m_s, 'm/s', 2)} (peak) at {format_value(drive.port_hz, None, 'Hz')} and {format_plain(drive.volts, 'V')}, over about "
            f"{format_plain(fastest, 'm/s', 2)} (5 % of the speed of sound): it will be heard, and gives less bass than computed.",
            remedy="Use a wider port with round edges, two ports, or less drive.",
            data={"peak_m_s": drive.port_peak_m_s, "rms_m_s": drive.port_rms_m_s, "limit_m_s": fastest, "reynolds": drive.reynolds},
        )]  # fmt: skip
    if drive.reynolds > 10.0 * TURBULENT_REYNOLDS:
        return [Verdict(
            code="port-turbulent", severity=Severity.NOTE,
            text=f"The flow in the port is turbulent at its peaks (Reynolds number {float(f'{drive.reynolds:.1e}'):.0f}); with sharp edges it may be heard below 5 % of c.",
            remedy="Round the edges at both ends.", data={"reynolds": drive.reynolds, "peak_m_s": drive.port_peak_m_s},
        )]  # fmt: skip
    return []


def _radiator(cabinet: Cabinet, drive: BoxedDrive) -> list[Verdict]:
    if drive.radiator_m is None or cabinet.radiator is None or drive.radiator_m <= cabinet.radiator.travel_m:
        return []
    return [Verdict(
        code="radiator-travel", severity=Severity.CAUTION,
        text=f"At {format_plain(drive.volts, 'V')} the passive radiator would move {format_plain(1e3 * drive.radiator_m, 'mm', 2)}; its travel is "
        f"{format_plain(1e3 * cabinet.radiator.travel_m, 'mm', 2)}.",
        remedy="Use a larger radiator, two of them, or less drive.",
        data={"travel_mm": 1e3 * drive.radiator_m, "limit_mm": 1e3 * cabinet.radiator.travel_m},
    )]  # fmt: skip


def _shape(reading: BoxedReading) -> list[Verdict]:
    if reading.peak_db < PEAKY_DB:
        return []
    return [Verdict(
        code="cabinet-peak", severity=Severity.NOTE,
        text=f"The level rises {format_value(reading.peak_db, None, 'dB')} over the middle of the range at {format_value(reading.peak_hz, None, 'Hz')}; it will boom.",
        remedy="Use a larger cabinet, stuff it, or a driver with a lower Qts.", data={"peak_db": reading.peak_db, "peak_hz": reading.peak_hz},
    )]  # fmt: skip
