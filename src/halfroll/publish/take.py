"""The charts of one take: what was recorded, where it is valid, and what the noise hides."""

from __future__ import annotations

from typing import TypedDict

import numpy as np

from halfroll.compare.types import Curve
from halfroll.core.frequency import POINTS_PER_OCTAVE
from halfroll.core.levels import FloatArray, spl
from halfroll.core.text import THIN, format_value
from halfroll.measure.analysis.delay import group_delay_s
from halfroll.measure.analysis.distortion import BoolArray, Distortion, ThdReference, harmonic_distortion
from halfroll.measure.analysis.response import ORDERS, Response
from halfroll.publish.charts import (
    frequency_chart,
    impedance_chart,
    level_chart,
    thd_chart,
    time_chart,
)
from halfroll.publish.curves import NamedCurve
from halfroll.publish.hatch import Limit, room
from halfroll.publish.hover import Readout
from halfroll.publish.scales import frequency_range
from halfroll.publish.sketch import Noise
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

SHOWN_ORDERS = (2, 3, 4, 5)
NORMAL_95 = 1.96
"""Two-sided 95 % quantile of the normal distribution."""

LEAST_TIME_MS = 8.0
BEFORE_MS = 1.0


class _Look(TypedDict):
    theme: Theme
    width_px: float


def take_charts(
    response: Response, *, theme: Theme, width_px: float, thd_reference: ThdReference = "total"
) -> dict[str, Spec]:
    """Every chart the take can give, in reading order.

    Returns
    -------
    dict
        ``level``, ``thd``, ``harmonics``, ``impedance``, ``impedance_phase``, ``impulse``, ``group_delay``,
        ``noise``; those that the take cannot give are left out.
    """
    distortion = harmonic_distortion(response, thd_reference)
    look: _Look = {"theme": theme, "width_px": width_px}
    charts = {
        "level": _level(response, look),
        "thd": _thd(response, distortion, look),
        "harmonics": _harmonics(response, look),
        "impedance": _impedance(response, look),
        "impedance_phase": _impedance_phase(response, look),
        "impulse": _impulse(response, look),
        "group_delay": _group_delay(response, look),
        "noise": _noise(response, look),
    }
    return {name: chart for name, chart in charts.items() if chart is not None}


def _level(response: Response, look: _Look) -> Spec:
    whole = spl(np.abs(response.pressure_full_pa))
    if not _gated(response):
        curves, zones = [_named("level", response, whole)], _heard_zones(response)
    else:
        gated = np.where(response.in_room(), np.nan, spl(np.abs(response.pressure_pa)))
        curves = [
            _named("with the room", response, whole, style=1),
            _named("gated", response, gated, style=0),
        ]
        zones = [*_heard_zones(response), room(response.gate.valid_from_hz)]
    return level_chart(
        curves, **look, title="Level", quantity=_level_words(response), range_hz=_reach(response), zones=zones,
        noise=_noise_floor(response, 0), most_db=60.0,
    )  # fmt: skip


def _thd(response: Response, distortion: Distortion, look: _Look) -> Spec | None:
    value = 100.0 * distortion.thd
    if not np.any(np.isfinite(value)):
        return None
    half = np.where(distortion.is_bound, np.nan, NORMAL_95 * 100.0 * distortion.u)
    curve = Curve(
        frequency_hz=response.frequency_hz, value=value, low=value - half, high=value + half,
        bound=distortion.is_bound, valid_from_hz=response.valid_hz[0], valid_to_hz=response.valid_hz[1],
    )  # fmt: skip
    over = "total pressure" if distortion.reference == "total" else "fundamental"
    return thd_chart(
        [NamedCurve(label="THD", curve=curve)], **look, title="Distortion", quantity=f"THD over {over} in %",
        range_hz=_reach(response), zones=_sweep_zones(response), band_note="shaded: 95 % band of this take, from noise",
    )  # fmt: skip


def _harmonics(response: Response, look: _Look) -> Spec:
    """Orders 2 to 5 in dB; where one is not resolved, its 95 % upper limit, the highest within a sixth of an octave."""
    fundamental = np.abs(response.pressure_full_pa)
    distortion = harmonic_distortion(response, "fundamental")
    curves = [_named("fundamental", response, spl(fundamental))]
    for order in SHOWN_ORDERS:
        row = ORDERS.index(order)
        bound = distortion.order_is_bound[row]
        pressure = distortion.order_ratio[row] * fundamental
        level = spl(np.where(bound, _highest_near(np.where(bound, pressure, np.nan)), pressure))
        curves.append(_named(f"order {order}", response, level, bound=bound))
    return level_chart(
        curves, **look, title="Harmonics", quantity=f"{_level_words(response)}, at the frequency played",
        ratio_db_per_decade=50.0, most_db=100.0, range_hz=_reach(response), zones=_heard_zones(response),
        noise=_noise_floor(response, *(ORDERS.index(order) + 1 for order in SHOWN_ORDERS)),
    )  # fmt: skip


def _highest_near(values: FloatArray) -> FloatArray:
    """The highest of the values within a twelfth of an octave to both sides (n,), missing ones left out.

    The highest of upper bounds is still an upper bound, and draws one line in place of the noise's own.
    """
    reach = POINTS_PER_OCTAVE // 12
    padded = np.pad(np.nan_to_num(values, nan=0.0), reach)
    highest = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1).max(axis=1)
    return np.where(np.isnan(values), np.nan, highest)


def _impedance(response: Response, look: _Look) -> Spec | None:
    if response.impedance_ohm is None:
        return None
    curve = _named("impedance", response, np.asarray(np.abs(response.impedance_ohm)))
    return impedance_chart(
        [curve], **look, title="Impedance", range_hz=_reach(response), zones=_sweep_zones(response)
    )


def _impedance_phase(response: Response, look: _Look) -> Spec | None:
    if response.impedance_ohm is None:
        return None
    curve = _named("phase", response, np.asarray(np.degrees(np.angle(response.impedance_ohm))))
    return frequency_chart(
        [curve], **look, title="Phase of impedance", quantity="Voltage before current in degrees",
        range_hz=_reach(response), y_range=(-90.0, 90.0), marks=(-90.0, -45.0, 0.0, 45.0, 90.0),
        readout=Readout(number=".0f", unit="°"), zones=_sweep_zones(response),
    )  # fmt: skip


def _impulse(response: Response, look: _Look) -> Spec:
    impulse, gate = response.impulse, response.gate
    time_ms = 1e3 * (impulse.start_s + np.arange(impulse.values.size) / impulse.rate_hz)
    gate_ms = 0.0 if gate.length_s is None else 1e3 * gate.length_s
    end = min(max(LEAST_TIME_MS, 1.8 * gate_ms), float(time_ms[-1]))
    zones = [Limit(from_x=gate_ms, word=_after_gate(response))] if gate_ms else []
    curve = Curve(frequency_hz=time_ms, value=impulse.values, valid_from_hz=-np.inf)
    unit = "Pa/V" if response.calibrated else "full scale/V"
    return time_chart(
        [NamedCurve(label="impulse", curve=curve)], **look,
        title="Impulse response", quantity=f"Pressure per volt in {unit}", range_ms=(-BEFORE_MS, end),
        readout=Readout(number=".2~e", unit=f" {unit}"), zones=zones,
    )  # fmt: skip


def _group_delay(response: Response, look: _Look) -> Spec | None:
    delay_ms = 1e3 * group_delay_s(response)
    low, high = response.valid_hz
    inside = (response.frequency_hz >= low) & (response.frequency_hz <= high) & np.isfinite(delay_ms)
    if not np.any(inside):
        return None
    zones = [room(response.gate.valid_from_hz)] if _gated(response) else []
    return frequency_chart(
        [_named("group delay", response, np.where(inside, delay_ms, np.nan))], **look, title="Group delay",
        quantity="Group delay, travel time included, in ms", range_hz=_reach(response),
        readout=Readout(number=".2f", unit=" ms"), zones=[*_sweep_zones(response), *zones],
    )  # fmt: skip


def _noise(response: Response, look: _Look) -> Spec | None:
    noise = spl(response.noise_pa[0])
    if not np.any(np.isfinite(noise)):
        return None
    curves = [
        _named("signal", response, spl(np.abs(response.pressure_full_pa))),
        _named("noise", response, noise),
    ]
    return level_chart(
        curves, **look, title="Signal over noise", quantity=_level_words(response), ratio_db_per_decade=50.0,
        most_db=100.0, range_hz=_reach(response), zones=_sweep_zones(response),
    )  # fmt: skip


def _named(
    label: str,
    response: Response,
    value: FloatArray,
    *,
    bound: BoolArray | None = None,
    style: int | None = None,
) -> NamedCurve:
    low, high = response.valid_hz
    curve = Curve(
        frequency_hz=response.frequency_hz, value=np.where(np.isfinite(value), value, np.nan), bound=bound,
        valid_from_hz=low, valid_to_hz=high,
    )  # fmt: skip
    return NamedCurve(label=label, curve=curve, style=style)


def _reach(response: Response) -> tuple[float, float]:
    return frequency_range(*response.valid_hz)


def _gated(response: Response) -> bool:
    return response.gate.length_s is not None


def _sweep_zones(response: Response) -> list[Limit]:
    """What lies outside the range the sweep covers, where the axis reaches that far."""
    low, high = response.valid_hz
    return [Limit(to_x=low, word="outside the sweep"), Limit(from_x=high, word="outside the sweep")]


def _heard_zones(response: Response) -> list[Limit]:
    """The same, and where the microphone's correction curve ends although the sweep goes on."""
    zones = _sweep_zones(response)
    if response.corrected_hz is None:
        return zones
    (low, high), (first, last) = response.corrected_hz, response.valid_hz
    if low > first:
        zones.append(Limit(from_x=first, to_x=min(low, last), word="microphone not corrected"))
    if high < last:
        zones.append(Limit(from_x=max(high, first), to_x=last, word="microphone not corrected"))
    return zones


def _noise_floor(response: Response, *rows: int) -> Noise | None:
    """The highest noise among some rows (0 is the fundamental); None without silence in the recording."""
    noise = response.noise_pa[list(rows)]
    known = np.any(np.isfinite(noise), axis=0)
    if not np.any(known):
        return None
    return Noise(frequency_hz=response.frequency_hz[known], value=spl(np.nanmax(noise[:, known], axis=0)))


def _level_words(response: Response) -> str:
    if not response.calibrated:
        return "Level in dB re full scale, not calibrated"
    at = [f"{response.conditions.distance_m:.3g}{THIN}m"]
    if response.conditions.drive_v is not None:
        at.append(f"{response.conditions.drive_v:.3g}{THIN}V")
    return f"Sound pressure level at {' and '.join(at)} in dB re 20{THIN}µPa"


def _after_gate(response: Response) -> str:
    gate = response.gate
    if gate.reflection_s is None or gate.reflection_db is None:
        return "gated off"
    delay, level = (
        format_value(1e3 * gate.reflection_s, None, "ms"),
        format_value(gate.reflection_db, None, "dB"),
    )
    return f"gated off: reflection at {delay}, {level}"
