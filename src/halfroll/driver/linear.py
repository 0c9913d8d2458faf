"""Small-signal response of a driver in closed form: impedance, displacement and pressure over frequency, in a baffle or before a cabinet."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.load import AcousticLoad
from halfroll.acoustics.radiation import piston_pressure
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.loops import all_branches
from halfroll.driver.lumped import DriverModel, small_signal
from halfroll.measure.lumped.impedance_model import creep_compliance


@dataclass(frozen=True, kw_only=True, eq=False)
class LinearResponse:
    """Response to a voltage at the terminals, e^{+jωt}; arrays have the shape of `frequency_hz` unless said.

    Parameters
    ----------
    frequency_hz
        Frequency (Hz), shape (n,).
    impedance_ohm
        Voltage over current (ohm).
    displacement_m_per_v
        Cone displacement, positive outwards (m/V).
    pressure_pa_per_v
        Far-field pressure on axis, half space, at the distance asked for, without propagation delay (Pa/V): the sum of the cone and
        all outlets of the load, a leak among them.
    cone_pressure_pa_per_v
        What the cone adds to it; all of it in a baffle.
    outlets
        Names of the load's outlets.
    outlet_pressure_pa_per_v
        What each outlet adds to it, shape (k, n).
    flows_m3_s_per_v
        Volume flow of each outlet, positive outwards (m³/s per V), shape (k, n).
    box_pressure_pa_per_v
        Pressure in the load (Pa/V); zero without one.
    moving_m_per_v
        Displacement of what moves beside the cone, such as a passive radiator (m/V), shape (m, n).
    """

    frequency_hz: FloatArray
    impedance_ohm: ComplexArray
    displacement_m_per_v: ComplexArray
    pressure_pa_per_v: ComplexArray
    cone_pressure_pa_per_v: ComplexArray
    outlets: tuple[str, ...]
    outlet_pressure_pa_per_v: ComplexArray
    flows_m3_s_per_v: ComplexArray
    box_pressure_pa_per_v: ComplexArray
    moving_m_per_v: ComplexArray

    @property
    def acceleration_m_s2_per_v(self) -> ComplexArray:
        """Acceleration of the cone (m/s² per V), shape (n,)."""
        return np.asarray(self.displacement_m_per_v * (2j * np.pi * self.frequency_hz) ** 2)

    def flow_slope_m3_s2_per_v(self, outlet: str) -> ComplexArray:
        """Volume acceleration of an outlet by its name (m³/s² per V), shape (n,): ρ/(2πr) times it is the pressure in half space."""
        return np.asarray(2j * np.pi * self.frequency_hz * self.flows_m3_s_per_v[self.outlets.index(outlet)])

    def from_outlets(self, *names: str) -> ComplexArray:
        """Pressure of the cone and of the outlets named (Pa/V): to leave out a leak, name the others."""
        rows = [
            row
            for name, row in zip(self.outlets, self.outlet_pressure_pa_per_v, strict=True)
            if name in names
        ]
        return np.asarray(self.cone_pressure_pa_per_v + sum(rows))


def linear_response(
    driver: DriverModel,
    frequency_hz: FloatArray,
    *,
    load: AcousticLoad | None = None,
    series_ohm: float = 0.0,
    added_kg: float = 0.0,
    distance_m: float = 1.0,
    air: Air = STANDARD_AIR,
) -> LinearResponse:
    """Closed-form response of the driver about x = 0.

    Z = Re + jωLe + Σ jωL_bR_b/(R_b + jωL_b) + Bl²/Zm with Zm = Rms + jωMms + 1/(jωC) - Sd² p/U; v = Bl i/Zm. C = [1 - λ lg(jω/ω₀)]/K(0)
    (Knudsen and Jensen 1993), p/U of the load. The air load in front is in Mms; radiation resistance is left out, as in the usual
    lumped model.

    Parameters
    ----------
    driver
        Its curves count at rest only.
    frequency_hz
        Above 0, shape (n,).
    load
        Cabinet behind the cone; None: an infinite baffle.
    series_ohm
        Resistance between the voltage and the terminals (ohm); the impedance is that behind it.
    added_kg
        Mass stuck to the cone.
    distance_m
        Of the pressures.
    air
        Of the pressures; a load brings its own.
    """
    frequency_hz = np.asarray(frequency_hz, dtype=np.float64)
    s = np.asarray(2j * np.pi * frequency_hz, dtype=np.complex128)
    states = np.zeros((0, s.size), dtype=np.complex128) if load is None else load.states(frequency_hz)
    inside = np.zeros_like(s) if load is None else load.c @ states + load.d
    bl = driver.Bl[0]
    mechanical = (
        driver.Rms + s * (driver.Mms + added_kg) + spring(driver, frequency_hz) / s - driver.Sd**2 * inside
    )
    impedance = driver.Re + s * driver.Le[0] + bl**2 / mechanical
    for inductance, resistance in all_branches(driver):
        impedance = impedance + s * inductance * resistance / (resistance + s * inductance)
    velocity = np.asarray(bl / ((impedance + series_ohm) * mechanical))
    flow = driver.Sd * velocity
    flows = np.zeros((0, s.size)) if load is None else load.e @ states + load.g[:, None]
    moving = (
        np.zeros((0, s.size))
        if load is None or load.displacement_rows is None
        else load.displacement_rows @ states
    )
    cone = np.asarray(piston_pressure(velocity * s, driver.Sd, distance_m, air), dtype=np.complex128)
    outside = np.asarray(flows * flow * s * (air.density / (2.0 * math.pi * distance_m)))
    return LinearResponse(
        frequency_hz=frequency_hz,
        impedance_ohm=np.asarray(impedance),
        displacement_m_per_v=np.asarray(velocity / s),
        pressure_pa_per_v=np.asarray(cone + outside.sum(axis=0)),
        cone_pressure_pa_per_v=cone,
        outlets=() if load is None else load.outlets,
        outlet_pressure_pa_per_v=outside,
        flows_m3_s_per_v=np.asarray(flows * flow),
        box_pressure_pa_per_v=np.asarray(inside * flow),
        moving_m_per_v=np.asarray(moving * flow),
    )


def current_of(driver: DriverModel, voltage_v: FloatArray, rate_hz: int) -> FloatArray:
    """Current (A), shape (n,), that a terminal voltage (V) drives through the driver at small signals.

    Worked out on the spectrum of the whole signal, which must end in silence long enough for the driver to come to rest.
    """
    from scipy import fft

    n = fft.next_fast_len(len(voltage_v) + rate_hz, real=True)
    frequency = fft.rfftfreq(n, 1.0 / rate_hz)
    impedance = linear_response(driver, np.maximum(frequency, 0.5 * frequency[1])).impedance_ohm
    return np.asarray(fft.irfft(fft.rfft(voltage_v, n) / impedance, n)[: len(voltage_v)], dtype=np.float64)


def group_delay_s(frequency_hz: FloatArray, response: ComplexArray) -> FloatArray:
    """Group delay -dφ/dω (s) of a complex response without propagation delay, by differences of its logarithm, shape (n,).

    The grid must be fine enough that the phase turns by less than half a circle between points.
    """
    turned = np.unwrap(np.angle(np.asarray(response)))
    return np.asarray(-np.gradient(turned, 2.0 * np.pi * np.asarray(frequency_hz, dtype=np.float64)))


def spring(driver: DriverModel, frequency_hz: FloatArray) -> ComplexArray:
    """Stiffness of the suspension about rest with its creep (N/m), shape (n,): K(0)/[1 - λ lg(jω/ω₀)]."""
    if driver.creep == 0.0:
        return np.full(np.shape(frequency_hz), driver.K[0], dtype=np.complex128)
    return np.asarray(driver.K[0] / creep_compliance(frequency_hz, small_signal(driver).fs, driver.creep))
