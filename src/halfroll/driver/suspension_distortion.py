"""How much of the bass distortion the suspension alone makes: a driver with a suspension's K(x) and everything else constant, played
with steady tones.

Tones are solved in their steady state (`steady`); harmonics are those of the cone's displacement and of the far-field pressure in an infinite
baffle, which follows the acceleration, so that order n weighs n² there. The driver stands in free air or an infinite baffle: no box. Creep,
hysteresis and what the motor adds are not in it; with `bl_of_x` the motor takes part.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.solve import steady_tones
from halfroll.driver.steady.types import Standing
from halfroll.driver.suspension_fit import FittedStiffness, fit_stiffness
from halfroll.suspension.results import StiffnessCurve

ORDERS = 5
"""Harmonics that are told; those above add less than a percent to the sum at any distortion worth a number."""

FREQUENCIES_HZ = (20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0)
"""Third-octave frequencies of the bass (ISO 266)."""

POOR_FIT = 0.02
"""Misfit that is said (own choice)."""


@dataclass(frozen=True, kw_only=True)
class Constants:
    """What of the driver stays constant: force factor (N/A), Re (ohm), Le (H), Mms (kg), Rms (N s/m), Sd (m²).

    `bl_of_x` holds the coefficients of Bl(x), lowest power first, where the motor is to take part; None: `bl` alone.
    """

    bl: float
    re_ohm: float
    le_h: float
    mms_kg: float
    rms: float
    sd_m2: float
    bl_of_x: tuple[float, ...] | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class ToneDistortion:
    """Steady tones at one voltage (V r.m.s.).

    displacement_m, pressure_ratio (ORDERS, n): peak displacement of each order; pressure of each order over that of the first (first row
    1). thd (n,): root of the sum of squares of orders 2 to 5 over the first, in pressure. peak_m, offset_m (n,): largest excursion and mean displacement.
    NaN where `standing` is not ``steady``: the tone drives the cone out of the travel that was computed, or to no steady motion.
    """

    voltage_v: float
    frequency_hz: FloatArray
    displacement_m: FloatArray
    pressure_ratio: FloatArray
    thd: FloatArray
    peak_m: FloatArray
    offset_m: FloatArray
    standing: tuple[Standing, ...]

    @property
    def left_travel(self) -> bool:
        """Whether a tone drives the cone out of the travel that was computed."""
        return "beyond travel" in self.standing

    def where(self, standing: Standing) -> FloatArray:
        """Frequencies (Hz) of the tones that ended so."""
        return self.frequency_hz[[one == standing for one in self.standing]]


def driver_of(stiffness: FittedStiffness, constants: Constants) -> DriverModel:
    """The driver that is played; `InputError` where a value cannot be."""
    return DriverModel(
        Re=constants.re_ohm, Mms=constants.mms_kg, Rms=constants.rms, Sd=constants.sd_m2, Bl=constants.bl_of_x or (constants.bl,),
        K=stiffness.coefficients, Le=(constants.le_h,), x_range=stiffness.x_range,
    )  # fmt: skip


def with_constant_stiffness(driver: DriverModel) -> DriverModel:
    """The same driver on an ideal spring: what is left is the motor's."""
    return replace(driver, K=driver.K[:1])


def tone_distortion(
    driver: DriverModel,
    voltage_v: float,
    frequency_hz: Sequence[float] = FREQUENCIES_HZ,
    progress: Progress = silent,
) -> ToneDistortion:
    """Steady tones of a voltage (V r.m.s.) through a driver in an infinite baffle.

    Raises
    ------
    InputError
        The voltage is not above zero.
    CancelledError
        Through `progress`.
    """
    if not 0.0 < voltage_v < math.inf:
        raise InputError("The voltage of a tone must be above zero", key="volts", found=f"{voltage_v:g} V")
    tones = steady_tones(driver, voltage_v, np.asarray(frequency_hz), orders=ORDERS, progress=progress)
    size = np.abs(tones.displacement_m[1:])
    ratio = np.arange(1, ORDERS + 1)[:, None] ** 2 * size / size[0]
    return ToneDistortion(
        voltage_v=float(voltage_v), frequency_hz=tones.frequency_hz, displacement_m=size, pressure_ratio=ratio,
        thd=tones.thd(ORDERS), peak_m=np.maximum(-tones.x_low_m, tones.x_high_m), offset_m=tones.displacement_m[0].real,
        standing=tones.standing,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True, eq=False)
class SuspensionDistortion:
    """What a suspension adds to the bass, by voltage: `alone` with everything else constant; where Bl(x) is known, `motor` with the
    motor's Bl(x) on an ideal spring, and `both` together (empty otherwise).

    `origins` says by symbol where each constant comes from.
    """

    stiffness: FittedStiffness
    constants: Constants
    origins: tuple[tuple[str, str], ...]
    alone: tuple[ToneDistortion, ...]
    motor: tuple[ToneDistortion, ...] = ()
    both: tuple[ToneDistortion, ...] = ()
    verdicts: tuple[Verdict, ...] = ()


def suspension_distortion(
    curve: StiffnessCurve,
    constants: Constants,
    volts: Sequence[float],
    *,
    origins: tuple[tuple[str, str], ...] = (),
    frequency_hz: Sequence[float] = FREQUENCIES_HZ,
    progress: Progress = silent,
) -> SuspensionDistortion:
    """Play steady tones through a suspension alone, and where Bl(x) is known through the motor alone and both.

    Raises
    ------
    InputError
        The suspension snaps through, a constant or a voltage cannot be.
    CancelledError
        Through `progress`.
    """
    stiffness = fit_stiffness(curve)
    alone = driver_of(stiffness, replace(constants, bl_of_x=None))
    drivers = [alone]
    if constants.bl_of_x is not None:
        both = driver_of(stiffness, constants)
        drivers += [with_constant_stiffness(both), both]
    found = []
    runs = len(drivers) * len(volts)
    for number, driver in enumerate(drivers):
        tones = []
        for i, voltage in enumerate(volts):
            done = number * len(volts) + i
            told = part(progress, done / runs, (done + 1) / runs)
            tones.append(tone_distortion(driver, voltage, frequency_hz, told))
        found.append(tuple(tones))
    found += [()] * (3 - len(found))
    return SuspensionDistortion(
        stiffness=stiffness, constants=constants, origins=origins, alone=found[0], motor=found[1], both=found[2],
        verdicts=tuple(_verdicts(stiffness, found[0], curve)),
    )  # fmt: skip


def _verdicts(
    stiffness: FittedStiffness, tones: Sequence[ToneDistortion], curve: StiffnessCurve
) -> Iterator[Verdict]:
    for tone in tones:
        if tone.left_travel:
            out = tone.where("beyond travel")
            low, high = 1e3 * float(curve.x_m[0]), 1e3 * float(curve.x_m[-1])
            yield Verdict(
                code="drive-leaves-travel", severity=Severity.CAUTION,
                text=f"A tone of {tone.voltage_v:.3g} V drives the cone out of the travel that was computed ({_mm(low)} to {_mm(high)}) at "
                f"{', '.join(f'{f:g}' for f in out)} Hz; there its distortion is not told.",
                remedy="Compute more travel, or expect the limit of the suspension there.",
                data={"voltage_v": tone.voltage_v, "frequency_hz": [float(f) for f in out]},
            )  # fmt: skip
        restless = tone.where("not found")
        if restless.size:
            yield Verdict(
                code="tone-not-steady", severity=Severity.CAUTION,
                text=f"A tone of {tone.voltage_v:.3g} V finds no steady motion at {', '.join(f'{f:g}' for f in restless)} Hz: on the way up in level "
                "the cone jumps to another motion, or never settles; there its distortion is not told.",
                remedy="Drive it less there, or let the suspension stiffen later and more gently.",
                data={"voltage_v": tone.voltage_v, "frequency_hz": [float(f) for f in restless]},
            )  # fmt: skip
    if stiffness.misfit > POOR_FIT:
        yield Verdict(
            code="stiffness-not-smooth", severity=Severity.NOTE,
            text=f"K(x) bends so sharply that the polynomial that is played misses it by up to {100 * stiffness.misfit:.2g} % of K(0); high "
            "orders of the distortion are uncertain by about as much.",
            data={"misfit": stiffness.misfit},
        )  # fmt: skip


def _mm(length_mm: float) -> str:
    return f"{length_mm:+.3g} mm".replace("-", "\N{MINUS SIGN}")
