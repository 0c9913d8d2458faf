"""A driver in its cabinet at small signals: level, limits of the range, group delay, travel, port speed, impedance.

The level is that of the whole volume flow through the walls of the cabinet, cone, port and leaks together, in half space at 1 m, as Thiele and
Small count it; `baffle_transfer` brings the edges of the front in. Its reference is the driver's own mid-band level (`small_signal`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.cabinet.network import load_of
from halfroll.acoustics.cabinet.types import Cabinet
from halfroll.core.levels import P_REF_PA, ComplexArray, FloatArray
from halfroll.driver.linear import group_delay_s, linear_response, spring
from halfroll.driver.lumped import DriverModel, SmallSignal, small_signal

LOWEST_HZ, HIGHEST_HZ = 10.0, 10_000.0
PER_DECADE = 160
DROPS_DB = (10.0 * math.log10(2.0), 6.0, 10.0)
"""The first is half power, as Thiele and Small mean -3 dB."""


@dataclass(frozen=True, kw_only=True, eq=False)
class BoxedResponse:
    """A driver in a cabinet; arrays over `frequency_hz`, shape (f,), per volt r.m.s. where not said.

    Parameters
    ----------
    pressure_pa_per_v
        Of cone and all outlets, half space, 1 m, complex.
    cone_pa_per_v, outlet_pa_per_v
        Of the cone alone, and of each outlet (k, f) named by `outlets`.
    displacement_m_per_v
        Cone, complex, outwards.
    radiator_m_per_v
        Passive radiator; None without one.
    port_m_s_per_v
        Air speed in the port, r.m.s. per volt r.m.s., magnitude; None without a port.
    group_delay_s
        -dφ/dω of the pressure.
    baffle
        Pressure with the front's edges over that in half space; None where the front is not known.
    """

    frequency_hz: FloatArray
    impedance_ohm: ComplexArray
    pressure_pa_per_v: ComplexArray
    cone_pa_per_v: ComplexArray
    outlets: tuple[str, ...]
    outlet_pa_per_v: ComplexArray
    displacement_m_per_v: ComplexArray
    radiator_m_per_v: ComplexArray | None
    port_m_s_per_v: FloatArray | None
    group_delay_s: FloatArray
    baffle: ComplexArray | None
    small: SmallSignal
    reference_db: float
    """Mid-band level of the driver per volt, half space at 1 m."""

    def level_db(self, volts: float, *, with_baffle: bool = False) -> FloatArray:
        """Level (dB re 20 µPa) at a voltage (V r.m.s.), half space, or with the front's edges."""
        pressure = np.abs(self.pressure_pa_per_v) * (
            np.abs(self.baffle) if with_baffle and self.baffle is not None else 1.0
        )
        return np.asarray(20.0 * np.log10(np.maximum(pressure * volts, 1e-12) / P_REF_PA))

    def relative_db(self) -> FloatArray:
        """Level over the driver's mid-band level (dB)."""
        return self.level_db(1.0) - self.reference_db


def frequencies(low_hz: float = LOWEST_HZ, high_hz: float = HIGHEST_HZ) -> FloatArray:
    """The points of curves, evenly spaced in logarithm."""
    count = math.ceil(PER_DECADE * math.log10(high_hz / low_hz)) + 1
    return np.geomspace(low_hz, high_hz, count)


def boxed_response(
    driver: DriverModel, cabinet: Cabinet | None, frequency_hz: FloatArray | None = None, *, air: Air = STANDARD_AIR, with_baffle: bool = False
) -> BoxedResponse:  # fmt: skip
    """What a driver does in a cabinet; in an infinite baffle without one."""
    f = frequencies() if frequency_hz is None else np.asarray(frequency_hz, dtype=np.float64)
    load = None if cabinet is None else load_of(cabinet, air)
    plain = linear_response(driver, f, air=air, load=load)
    port = None
    if cabinet is not None and cabinet.port is not None:
        port = np.abs(plain.flows_m3_s_per_v[plain.outlets.index("port")]) / cabinet.port.all_area_m2
    small = small_signal(driver, air)
    return BoxedResponse(
        frequency_hz=f, impedance_ohm=plain.impedance_ohm, pressure_pa_per_v=plain.pressure_pa_per_v, cone_pa_per_v=plain.cone_pressure_pa_per_v,
        outlets=plain.outlets, outlet_pa_per_v=plain.outlet_pressure_pa_per_v, displacement_m_per_v=plain.displacement_m_per_v,
        radiator_m_per_v=plain.moving_m_per_v[0] if len(plain.moving_m_per_v) else None, port_m_s_per_v=port,
        group_delay_s=group_delay_s(f, plain.pressure_pa_per_v), baffle=_edges(driver, cabinet, f, air) if with_baffle else None, small=small,
        reference_db=small.level_2v83_db - 20.0 * math.log10(math.sqrt(8.0)),
    )  # fmt: skip


def _edges(driver: DriverModel, cabinet: Cabinet | None, f: FloatArray, air: Air) -> ComplexArray | None:
    """What the front's edges do; coarse points, interpolated: the response is smooth against them."""
    if cabinet is None or cabinet.front is None:
        return None
    from halfroll.acoustics.baffle import VALID_TO_HZ, baffle_transfer

    coarse = np.geomspace(f[0], f[-1], 60)
    values = baffle_transfer(coarse, cabinet.front, min(driver.radius, cabinet.front.to_edge_m), air=air)
    lg, phase = np.log(coarse), np.unwrap(np.angle(values))
    both = np.interp(np.log(f), lg, np.abs(values)) * np.exp(1j * np.interp(np.log(f), lg, phase))
    return np.asarray(np.where(f <= VALID_TO_HZ, both, np.nan), dtype=np.complex128)


@dataclass(frozen=True, kw_only=True)
class BoxedReading:
    """The figures of a driver in a cabinet.

    `f3_hz`, `f6_hz`, `f10_hz`: where the level last leaves -3, -6, -10 dB re mid-band, going down; None where it never does.
    `peak_db`, `peak_hz`: highest level over mid-band within three octaves above the lowest of these; `dip_db` the lowest there after f3.
    `group_delay_s` at its highest from f3 up, `delay_hz` where. `volts_by_travel`: voltage (r.m.s.) at which the cone meets its travel from f3 up.
    """

    f3_hz: float | None
    f6_hz: float | None
    f10_hz: float | None
    peak_db: float
    peak_hz: float
    group_delay_s: float
    delay_hz: float
    fc_hz: float | None
    qtc: float | None
    tuning_hz: float | None


def read_boxed(
    driver: DriverModel, cabinet: Cabinet | None, found: BoxedResponse, air: Air = STANDARD_AIR
) -> BoxedReading:
    """Figures from curves."""
    f, level = found.frequency_hz, found.relative_db()
    f3, f6, f10 = (_leaves(f, level, -drop) for drop in DROPS_DB)
    low = f3 or f6 or float(f[0])
    near = (f >= low) & (f <= 8.0 * low)
    delays = found.group_delay_s * (f >= low)
    at, late = int(np.argmax(np.where(near, level, -np.inf))), int(np.argmax(np.where(near, delays, -np.inf)))
    fc = qtc = None
    if cabinet is not None and cabinet.kind == "closed":
        fc, qtc = closed_resonance(driver, cabinet, air)
    return BoxedReading(f3_hz=f3, f6_hz=f6, f10_hz=f10, peak_db=max(float(level[at]), 0.0), peak_hz=float(f[at]), group_delay_s=float(delays[late]),
                        delay_hz=float(f[late]), fc_hz=fc, qtc=qtc, tuning_hz=None if cabinet is None else cabinet.tuning_hz(air))  # fmt: skip


def closed_resonance(driver: DriverModel, cabinet: Cabinet, air: Air = STANDARD_AIR) -> tuple[float, float]:
    """Fc (Hz) and Qtc: fs √(1 + α), with α by the compliance at fc (stuffing raises it), losses of the cabinet added to those of the driver; a
    suspension that creeps is stiffer at fc than at fs, and loses by itself.
    """
    load = load_of(cabinet, air)
    omega = math.sqrt(driver.K[0] / driver.Mms)
    held = 0j
    for _ in range(30):
        f = np.array([omega / (2.0 * math.pi)])
        # What holds the cone (N/m, complex): suspension, and the cabinet's mechanical impedance times jω.
        held = complex(spring(driver, f)[0] - 1j * omega * driver.Sd**2 * load.pressure(f)[0])
        omega = math.sqrt(max(held.real, 0.5 * driver.K[0]) / driver.Mms)
    damps = driver.Rms + held.imag / omega + driver.Bl[0] ** 2 / driver.Re
    return omega / (2.0 * math.pi), omega * driver.Mms / damps


def _leaves(f: FloatArray, level: FloatArray, at_db: float) -> float | None:
    """Where the level last rises through a value, going up: below it the driver has left its range. None where it never does."""
    rising = np.flatnonzero((level[:-1] < at_db) & (level[1:] >= at_db))
    if rising.size == 0:
        return None
    i = int(rising[-1])
    share = (at_db - level[i]) / (level[i + 1] - level[i])
    return float(f[i] * (f[i + 1] / f[i]) ** share)
