"""The response of a virtual take without playing it: steady tones and small signals, put together over frequency.

A hundredth of the work of `virtual`, and smooth in the driver's values, so that derivatives can be taken. Level and impedance are those of
small signals times what steady tones show of the drive, a ratio close to 1 that is interpolated; harmonics are interpolated as complex numbers
re the fundamental, which pass a null without a corner.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfroll.acoustics.load import AcousticLoad
from halfroll.core.conditions import Conditions
from halfroll.core.errors import RefusedError
from halfroll.core.frequency import log_grid
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.core.text import format_plain, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.cone import ConeMode
from halfroll.driver.linear import LinearResponse, linear_response
from halfroll.driver.lumped import DriverModel, small_signal
from halfroll.driver.microphone import Position, outlet_transfer, pressure_transfer
from halfroll.driver.steady.beside import Beside
from halfroll.driver.steady.solve import steady_tones
from halfroll.driver.steady.types import SteadyTones
from halfroll.driver.virtual import SET_AT_HZ, SWEEP, air_of, source_v
from halfroll.measure.analysis.analyse import valid_range
from halfroll.measure.analysis.response import ORDERS, Gate, ImpulseResponse, Response

HIGHEST_HZ = 2000.0
"""Harmonics are worked out up to here unless more is asked for: above it the cone hardly moves."""

DENSE_TO_HZ, DENSE_STEP, WIDE_STEP = 400.0, 4, 12
"""Steps of the tones on the house grid (48 an octave): a twelfth of an octave up to here, a quarter above."""

BELOW_TUNING, ABOVE_TUNING = 3.3, 1.5
"""About a resonance of a cabinet by itself every point of the grid is a tone, from where its third harmonic meets it to well above: there cone and outlet
take over from each other, and harmonics pass nulls."""


def quick_response(
    model: DriverModel,
    *,
    drive_v: float,
    conditions: Conditions,
    load: AcousticLoad | None = None,
    modes: Sequence[ConeMode] = (),
    series_ohm: float = 0.1,
    highest_hz: float = HIGHEST_HZ,
    beside: Beside | None = None,
    progress: Progress = silent,
) -> Response:
    """The response `virtual.virtual_response` would give, from steady tones up to `highest_hz` and small signals; arguments as there.

    Harmonics are NaN above `highest_hz`; there is no impulse response and nothing above the harmonics. Where tones leave the travel of the model,
    the response is not valid and says so. `beside`: tones of a driver that is a little
    different, from `quick_beside` with the same arguments; they make it quicker.

    Raises
    ------
    RefusedError
        Not even in the middle of the range there is a steady tone.
    CancelledError
        Through `progress`.
    """
    grid = log_grid(*valid_range(SWEEP))
    source = source_v(model, drive_v, series_ohm, load)
    at = _tone_places(grid, highest_hz, load)
    if beside is None:
        tones = steady_tones(
            model, source, grid[at], load=load, series_ohm=series_ohm, orders=ORDERS[-1], progress=progress
        )
    else:
        tones = beside.tones(model, source)
    held = _held(tones, model, drive_v)
    play = _Play(
        position=Position(distance_m=conditions.distance_m, air=air_of(conditions)), radius_m=model.radius, modes=tuple(modes),
        source_v=source, series_ohm=series_ohm, fs_hz=small_signal(model).fs,
    )  # fmt: skip
    found = _together(play, grid, at[held], linear_response(model, grid, load=load), _columns(tones, held))
    low, high = valid_range(SWEEP)
    steady = grid[at[held]]
    touched = len(held) < len(at)
    if touched:
        low, high = (
            (low if held[0] == 0 else float(steady[0])),
            (high if held[-1] == len(at) - 1 else float(steady[-1])),
        )
    return Response(
        frequency_hz=grid, pressure_pa=found.pressure, pressure_full_pa=found.pressure, voltage_v=found.voltage,
        harmonics_pa=found.harmonics, noise_pa=np.zeros((len(ORDERS) + 1, len(grid))), impedance_ohm=found.impedance,
        impulse=ImpulseResponse(values=np.zeros(0), start_s=0.0, rate_hz=SWEEP.rate_hz), gate=Gate(), valid_hz=(low, high),
        conditions=replace(conditions, drive_v=drive_v, radius_m=conditions.radius_m or model.radius), calibrated=True, voltage_recorded=True,
        verdicts=(beyond_travel(model, drive_v, (low, high)),) if touched else (),
    )  # fmt: skip


def quick_beside(
    model: DriverModel,
    *,
    drive_v: float,
    load: AcousticLoad | None = None,
    series_ohm: float = 0.1,
    highest_hz: float = HIGHEST_HZ,
) -> Beside:
    """The steady tones `quick_response` of a driver rests on, for the responses of many that are a little different; arguments as there."""
    grid = log_grid(*valid_range(SWEEP))
    return Beside(
        model, source_v(model, drive_v, series_ohm, load), grid[_tone_places(grid, highest_hz, load)], load=load,
        series_ohm=series_ohm, orders=ORDERS[-1],
    )  # fmt: skip


def beyond_travel(model: DriverModel, drive_v: float, valid_hz: tuple[float, float]) -> Verdict:
    """What is said where a drive takes the cone out of the travel for which the model holds."""
    low, high = (1e3 * edge for edge in model.x_range)
    return Verdict(
        code="beyond-travel",
        severity=Severity.CAUTION,
        text=f"At {format_plain(drive_v, 'V')} the cone would leave the travel for which the driver was worked out ({format_value(low, None, 'mm', sign=True)} to {format_value(high, None, 'mm', sign=True)}) "
        f"below {format_value(valid_hz[0], None, 'Hz')}; nothing is said there.",
        remedy="Look at a lower level, or at the limits of the driver; a real cone strikes or is held there.",
        data={"drive_v": drive_v, "valid_from_hz": valid_hz[0], "valid_to_hz": valid_hz[1], "x_low_mm": low, "x_high_mm": high},
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class _Play:
    """What turns motion into sound and a source into terminals."""

    position: Position
    radius_m: float
    modes: tuple[ConeMode, ...]
    source_v: float
    series_ohm: float
    fs_hz: float

    def fall(self, frequency_hz: FloatArray, order: int) -> FloatArray:
        """About how a harmonic re the fundamental falls with the travel above resonance; taken off before it is interpolated."""
        return np.asarray((1.0 + (frequency_hz / self.fs_hz) ** 2) ** (1 - order))

    def cone(self, frequency_hz: FloatArray) -> ComplexArray:
        """Pressure per acceleration of the coil."""
        return pressure_transfer(frequency_hz, self.radius_m, self.position, self.modes)


@dataclass(frozen=True, kw_only=True)
class _Found:
    """Curves of the response on its grid, (n_f,); harmonics (9, n_f); r.m.s., re the terminal voltage's phase."""

    pressure: ComplexArray
    voltage: FloatArray
    impedance: ComplexArray
    harmonics: ComplexArray


@dataclass(frozen=True, kw_only=True)
class _Steady:
    """The steady tones that count: current, terminal voltage's phase factor, acceleration (orders + 1, m), flows (outlets, orders + 1, m)."""

    frequency_hz: FloatArray
    current: ComplexArray
    displacement: ComplexArray
    flows: ComplexArray


def _tone_places(grid: FloatArray, highest_hz: float, load: AcousticLoad | None = None) -> np.ndarray:
    """Indices of the grid at which tones are solved; the first and the last below `highest_hz` are among them, all about resonances of a load."""
    top = int(np.searchsorted(grid, highest_hz * (1.0 + 1e-9))) - 1
    knee = int(np.searchsorted(grid, min(DENSE_TO_HZ, highest_hz)))
    dense = np.arange(0, min(knee, top) + 1, DENSE_STEP)
    wide = np.arange(dense[-1], top + 1, WIDE_STEP)
    every = np.arange(top + 1)
    near = [
        every[(grid[: top + 1] > hz / BELOW_TUNING) & (grid[: top + 1] < hz * ABOVE_TUNING)]
        for hz in (() if load is None else load.resonances_hz())
    ]
    return np.unique(np.concatenate([dense, wide, [top], *near]))


def _held(tones: SteadyTones, model: DriverModel, drive_v: float) -> np.ndarray:
    """Indices of the steady tones in one stretch about the middle; raises where there is none."""
    steady = np.array([word == "steady" for word in tones.standing])
    middle = int(np.argmin(np.abs(np.log(tones.frequency_hz / SET_AT_HZ))))
    if not steady[middle]:
        low, high = (1e3 * edge for edge in model.x_range)
        raise RefusedError(
            "The drive must leave the cone within the travel of the model in the middle of the range at least",
            found=f"{drive_v:.3g} V", allowed=f"what keeps the cone within {low:+.2g} mm to {high:+.2g} mm",
            remedy="Ask for a lower level",
        )  # fmt: skip
    lost = np.flatnonzero(~steady)
    first = int(lost[lost < middle][-1]) + 1 if np.any(lost < middle) else 0
    last = int(lost[lost > middle][0]) - 1 if np.any(lost > middle) else len(steady) - 1
    return np.arange(first, last + 1)


def _columns(tones: SteadyTones, held: np.ndarray) -> _Steady:
    return _Steady(
        frequency_hz=tones.frequency_hz[held],
        current=tones.current_a[:, held],
        displacement=tones.displacement_m[:, held],
        flows=tones.flows_m3_s[:, :, held],
    )


def _together(
    play: _Play, grid: FloatArray, at: np.ndarray, small: LinearResponse, steady: _Steady
) -> _Found:
    """Small signals over the whole grid, times what the steady tones show of the drive; their harmonics."""
    flows = small.flows_m3_s_per_v
    omega = 2.0 * np.pi * grid
    per_volt = -(omega**2) * small.displacement_m_per_v * play.cone(grid)
    if len(flows):
        per_volt = per_volt + flows.sum(axis=0) * outlet_transfer(grid, play.position)
    terminal = math.sqrt(2.0) * play.source_v - play.series_ohm * steady.current[1]
    turn = terminal / np.abs(terminal)
    tone_pressure = _tone_pressure(play, steady, 1) / turn
    small_pressure = per_volt[at] * np.abs(terminal)
    ratio = _over(grid, steady.frequency_hz, tone_pressure / small_pressure)
    impedance = small.impedance_ohm * _over(
        grid, steady.frequency_hz, terminal / steady.current[1] / small.impedance_ohm[at]
    )
    voltage = play.source_v * np.abs(impedance / (impedance + play.series_ohm))
    return _Found(
        pressure=per_volt * ratio * voltage,
        voltage=voltage,
        impedance=impedance,
        harmonics=_harmonics(play, grid, steady, turn),
    )


def _tone_pressure(play: _Play, steady: _Steady, order: int) -> ComplexArray:
    """Pressure of one order at the microphone at each tone, peak, (m,)."""
    heard_hz = order * steady.frequency_hz
    omega = 2.0 * np.pi * heard_hz
    pressure = -(omega**2) * steady.displacement[order] * play.cone(heard_hz)
    if len(steady.flows):
        pressure = pressure + steady.flows[:, order].sum(axis=0) * outlet_transfer(heard_hz, play.position)
    return np.asarray(pressure)


def _harmonics(play: _Play, grid: FloatArray, steady: _Steady, turn: ComplexArray) -> ComplexArray:
    """Orders 2 to 10 on the grid, r.m.s., as sin(nφ + θ) re an excitation sin φ at the terminals; NaN outside the tones."""
    out = np.full((len(ORDERS), len(grid)), np.nan + 0j)
    tones = steady.frequency_hz
    inside = (grid >= tones[0] * (1.0 - 1e-9)) & (grid <= tones[-1] * (1.0 + 1e-9))
    here = grid[inside]
    first = -((2.0 * np.pi * tones) ** 2) * steady.displacement[1] / turn
    along = first / np.abs(first)
    cone_of_1 = _over(here, tones, first)
    along_here = cone_of_1 / np.abs(cone_of_1)
    orders = [order for order in ORDERS if order < len(steady.displacement)]
    moves = []
    for order in orders:
        levelled = along ** (order - 1) * first * turn**order * play.fall(tones, order)
        omega = 2.0 * np.pi * order * tones
        moves += [
            -(omega**2) * steady.displacement[order] / levelled,
            *(flow[order] / levelled for flow in steady.flows),
        ]
    smooth = _over(here, tones, np.stack(moves, axis=1)).T.reshape(len(orders), -1, len(here))
    for row, order in enumerate(orders):
        back = along_here ** (order - 1) * cone_of_1 * play.fall(here, order)
        pressure = smooth[row, 0] * back * play.cone(order * here)
        for heard in smooth[row, 1:]:
            pressure = pressure + heard * back * outlet_transfer(order * here, play.position)
        # cos nωt is sin(nφ + (1 - n)π/2) where the excitation is cos ωt = sin φ
        out[row, inside] = pressure * (-1j) ** (order - 1) / math.sqrt(2.0)
    return out


def _over(frequency_hz: FloatArray, at_hz: FloatArray, values: ComplexArray) -> ComplexArray:
    """Smooth complex curves (m,) or (m, k) on other frequencies, cubic in lg f; beyond their ends the ends' values."""
    from scipy.interpolate import CubicSpline

    if len(at_hz) == 1:
        return np.repeat(values, len(frequency_hz), axis=0)
    where = np.clip(np.log(frequency_hz), math.log(at_hz[0]), math.log(at_hz[-1]))
    return np.asarray(CubicSpline(np.log(at_hz), values)(where))
