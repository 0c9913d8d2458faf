"""Steady tones of a driver: harmonics of what moves, flows and sounds, by harmonic balance.

What is solved is what `large_signal.play` plays, at once in its steady state: see `balance` for the equations, `follow` for how the level
is raised, `types.SteadyTones` for what comes out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.load import AcousticLoad
from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.balance import Balance, times
from halfroll.driver.steady.circuit import frequencies, outlet_flows
from halfroll.driver.steady.curves import Acting, Curves
from halfroll.driver.steady.follow import Ended, follow
from halfroll.driver.steady.paths import BEYOND, DONE, LOST, travel
from halfroll.driver.steady.stability import growing, suspects
from halfroll.driver.steady.types import Standing, SteadyTones

DISTANCE_M = 1.0
"""Where the pressure is told."""

STANDINGS: dict[int, Standing] = {DONE: "steady", BEYOND: "beyond travel", LOST: "not found"}

SUSPECT = 0.5
"""How near to shaking itself (`stability.suspects`) a tone is looked at closely; growth begins near 1."""

WORDS = "Solving the steady tones"


def steady_tones(
    driver: DriverModel,
    voltage_v: float | FloatArray,
    frequency_hz: FloatArray,
    *,
    load: AcousticLoad | None = None,
    series_ohm: float = 0.0,
    orders: int = 10,
    air: Air = STANDARD_AIR,
    acting: Acting = "both",
    progress: Progress = silent,
) -> SteadyTones:
    """Steady state of sine tones, each reached by raising its level from silence.

    Parameters
    ----------
    driver
        The driver.
    voltage_v
        R.m.s. source voltage, one for all tones or one a tone, shape (n,).
    frequency_hz
        Frequencies, shape (n,).
    load
        The cabinet; None: infinite baffle.
    series_ohm
        Resistance between source and terminals (ohm).
    orders
        Highest harmonic that is told.
    air
        Air of the pressure.
    acting
        Where the change of inductance with travel acts, for finding causes.
    progress
        Told as tones end; may raise `CancelledError`.

    Raises
    ------
    InputError
        A frequency or voltage is not above zero.
    """
    frequency = np.atleast_1d(np.asarray(frequency_hz, dtype=np.float64))
    voltage = np.broadcast_to(np.asarray(voltage_v, dtype=np.float64), frequency.shape).copy()
    check_tones(voltage, frequency, series_ohm, orders)
    spectrum = np.zeros((len(frequency), 2), dtype=np.complex128)
    spectrum[:, 1] = math.sqrt(2.0) * voltage
    return settled(
        driver, spectrum, frequency, voltage, load=load, series_ohm=series_ohm, orders=orders, air=air,
        acting=acting, progress=progress,
    )  # fmt: skip


def check_tones(voltage: FloatArray, frequency: FloatArray, series_ohm: float, orders: int) -> None:
    """Say what cannot be a tone."""
    for name, values, unit in (("voltage", voltage, "V"), ("frequency", frequency, "Hz")):
        bad = values[~(np.isfinite(values) & (values > 0.0))]
        if bad.size:
            raise InputError(f"The {name} of a tone must be above zero", found=f"{bad[0]:g} {unit}")
    if not 0.0 <= series_ohm < math.inf:
        raise InputError("The series resistance must not be below zero", found=f"{series_ohm:g} ohm")
    if orders < 1:
        raise InputError("At least the fundamental must be asked for", found=f"{orders} orders")


def settled(
    driver: DriverModel, spectrum: ComplexArray, base_hz: FloatArray, voltage_v: FloatArray, *,
    load: AcousticLoad | None, series_ohm: float, orders: int, air: Air, progress: Progress, acting: Acting = "both",
) -> SteadyTones:  # fmt: skip
    """Steady state of any periodic voltages: peak harmonics `spectrum` (n, h) of `base_hz` (n,)."""
    progress(0.0, WORDS)
    ended = raised(
        driver, spectrum, base_hz, load=load, series_ohm=series_ohm, orders=orders, acting=acting, progress=progress
    )  # fmt: skip
    found = collected(
        driver, ended, base_hz, voltage_v, load=load, series_ohm=series_ohm, orders=orders, air=air, acting=acting
    )  # fmt: skip
    progress(1.0, WORDS)
    return found


def raised(
    driver: DriverModel, spectrum: ComplexArray, base_hz: FloatArray, *, load: AcousticLoad | None, series_ohm: float,
    orders: int, acting: Acting = "both", progress: Progress = silent,
) -> list[Ended]:  # fmt: skip
    """Tones raised from silence, in groups of one number of points; arguments as `settled`."""
    curves = Curves(driver, acting)
    return follow(
        lambda base, points: Balance(driver, base, load, series_ohm, points, curves), base_hz, spectrum, driver.x_range,
        least_points=2 * orders + 3, told=lambda share: progress(share, WORDS),
    )  # fmt: skip


def collected(
    driver: DriverModel, ended: Sequence[Ended], base_hz: FloatArray, voltage_v: FloatArray, *, load: AcousticLoad | None,
    series_ohm: float, orders: int, air: Air, acting: Acting = "both",
) -> SteadyTones:  # fmt: skip
    """What the groups of solved tones give, those that the least disturbance leaves taken out; `Ended.which` are places in `base_hz` (n,)."""
    table = _Table(driver, base_hz, load, orders, air)
    for group in ended:
        _check_that_they_stay(driver, base_hz, load, series_ohm, group, acting)
        table.fill(group)
    return table.tones(base_hz, voltage_v)


def _check_that_they_stay(
    driver: DriverModel,
    base_hz: FloatArray,
    load: AcousticLoad | None,
    series_ohm: float,
    group: Ended,
    acting: Acting,
) -> None:
    """Tones that the least disturbance leaves are no steady states."""
    solved = np.flatnonzero(group.standing == DONE)
    if not solved.size:
        return
    near = suspects(driver, series_ohm, group.y[solved, 0]) > SUSPECT
    doubtful = solved[near]
    if doubtful.size:
        count = growing(driver, base_hz[group.which[doubtful]], load, series_ohm, group.y[doubtful], acting)
        group.standing[doubtful[count != 0.0]] = LOST


class _Table:
    """The answer while it is filled in, tone by tone; NaN where there is none."""

    def __init__(
        self, driver: DriverModel, base_hz: FloatArray, load: AcousticLoad | None, orders: int, air: Air
    ) -> None:
        count = len(base_hz)
        self.driver, self.load, self.orders, self.air = driver, load, orders, air
        self.base_hz = base_hz
        self.displacement, self.current = (
            np.full((orders + 1, count), np.nan, dtype=np.complex128) for _ in "xi"
        )
        self.low, self.high, self.coil, self.eddy = (np.full(count, np.nan) for _ in range(4))
        self.standing = np.full(count, LOST)

    def fill(self, group: Ended) -> None:
        """Take in the tones that ended at one number of points."""
        self.standing[group.which] = group.standing
        kept = group.standing == DONE
        which, x, current = group.which[kept], group.y[kept, 0], group.y[kept, 1]
        if not which.size:
            return
        ops = group.balance.operators.of(group.members[kept])
        point = group.balance.point(ops, x, current)
        self.displacement[:, which] = self._harmonics(x)
        self.current[:, which] = self._harmonics(current)
        self.low[which], self.high[which] = travel(x)
        self.coil[which] = self.driver.Re * np.mean(current**2, axis=1)
        # What the branches take, on the whole: their voltage times the current, less the work of their pull on the coil.
        branch = (
            0.0
            if ops.eddy is None
            else times(ops.eddy, point.scale * current) * current - point.stored * point.v
        )
        self.eddy[which] = np.mean(branch + np.zeros_like(current), axis=1)

    def _harmonics(self, rows: FloatArray) -> ComplexArray:
        """Mean and complex peak harmonics, shape (orders + 1, n)."""
        found = np.fft.rfft(rows)[:, : self.orders + 1] * (2.0 / rows.shape[1])
        found[:, 0] *= 0.5
        return np.asarray(found.T)

    def tones(self, base_hz: FloatArray, voltage_v: FloatArray) -> SteadyTones:
        """All that follows of displacement and current."""
        rate = frequencies(base_hz, self.orders + 1).T
        cone = self.driver.Sd * rate * self.displacement
        flows = np.zeros((0, *cone.shape), dtype=np.complex128)
        if self.load is not None:
            flows = outlet_flows(self.load, rate) * cone
        sound = self.air.density / (2.0 * math.pi * DISTANCE_M) * rate * (cone + flows.sum(axis=0))
        return SteadyTones(
            frequency_hz=base_hz, voltage_v=voltage_v, displacement_m=self.displacement, current_a=self.current,
            pressure_pa=sound, flows_m3_s=flows, x_low_m=self.low, x_high_m=self.high, coil_w=self.coil, eddy_w=self.eddy,
            standing=tuple(STANDINGS[int(one)] for one in self.standing),
        )  # fmt: skip
