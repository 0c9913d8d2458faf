"""Charts of a coil's heat: temperatures over time at a power, and the power borne over how long."""

from __future__ import annotations

import numpy as np

from halfroll.core.text import THIN, format_value
from halfroll.motor.heat.coil import CoilHeat, bearable
from halfroll.motor.heat.limits import HeatLimit
from halfroll.publish.curves import NamedCurve
from halfroll.publish.drives import named
from halfroll.publish.hover import Readout
from halfroll.publish.scales import Axis, linear_axis, log_axis
from halfroll.publish.sketch import Sketch, drawn
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

FIRST_S = 0.1
_POINTS = 90
_STEPS = 40


def warming_chart(heat: CoilHeat, power_w: float, *, theme: Theme, width_px: float) -> Spec:
    """Temperatures of coil and motor over time at a power, with their 95 % bands, and what gives way at what temperature."""
    last = _last_s(heat)
    seen = heat.warming(power_w, np.geomspace(FIRST_S, last, _POINTS))
    curves = [
        named(name, seen.time_s, seen.celsius[i], seen.low_c[i], seen.high_c[i], style=style)
        for i, (name, style) in enumerate((("coil", 0), ("motor", 2)))
    ]
    top = float(seen.high_c.max())
    ends = seen.time_s[[0, -1]]
    low, high = heat.air_c, top
    for limit in _shown_limits(heat, top):
        curves.append(
            named(
                f"{limit.part.partition(',')[0]} {limit.lasting_c:g}{THIN}°C",
                ends,
                np.full(2, limit.lasting_c),
                style=4,
            )
        )
        high = max(high, limit.lasting_c)
    quantity = "Temperature in °C"
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, zones=(), quantity=quantity,
            title=f"Warming at {format_value(power_w, None, 'W')}",
            x=lambda px: _time_axis(last), y=linear_axis(low, high, title=quantity),
            height=lambda px: px / 2.2, readout=Readout(number=".0f", spread=".0f", unit=" °C"),
            notes=(f"from cold in air of {heat.air_c:g}{THIN}°C; power is heat in the wire", _marks(last)),
            band_note=f"shaded: 95 % band, {heat.network.source} heat paths",
        )
    )  # fmt: skip


def bearable_chart(heat: CoilHeat, *, theme: Theme, width_px: float) -> Spec:
    """The highest power over how long it is held, from cold, both logarithmic, with its 95 % band."""
    last = _last_s(heat)
    times = np.geomspace(FIRST_S, last, _STEPS)
    times = np.sort(np.append(times, [60.0, 60.001]))
    found = [bearable(heat.network, heat.limits, heat.air_c, float(t)) for t in times]
    value = np.array([one.power_w for one in found])
    low, high = np.array([one.band_w for one in found]).T
    forever = np.full(2, heat.continuous.power_w)
    curves: list[NamedCurve] = [
        named("held from cold", times, value, low, high, style=0),
        named("for ever", times[[0, -1]], forever, style=4),
    ]
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, zones=(), quantity="Power in W", title="Power borne over time",
            x=lambda px: _time_axis(last),
            y=log_axis(np.concatenate([low, high]), title="Power in W", pattern="1-10", limits=(1e-3, 1e6), most_decades=6.0),
            height=lambda px: px / 2.2, readout=Readout(number=".2r", spread=".1r", unit=" W"),
            notes=("the step at 60 s: up to a minute a former bears its glass transition, after that what it bears for hours",)
            if _steps(heat) else (),
            band_note=f"shaded: 95 % band, {heat.network.source} heat paths",
        )
    )  # fmt: skip


def _time_axis(last_s: float) -> Axis:
    """Logarithmic, marked at every power of ten."""
    marks = tuple(10.0**k for k in range(-3, 8) if FIRST_S <= 10.0**k <= last_s)
    return Axis(low=FIRST_S, high=last_s, marks=marks, title="Time in s", log=True)


def _last_s(heat: CoilHeat) -> float:
    """Four long time constants, rounded up to a decade's 1, 2 or 5."""
    rough = 4.0 * heat.network.time_constants_s[1]
    decade = 10.0 ** np.floor(np.log10(rough))
    return float(next(step * decade for step in (1.0, 2.0, 5.0, 10.0) if step * decade >= rough))


def _shown_limits(heat: CoilHeat, top_c: float) -> list[HeatLimit]:
    """The lowest limit, and the lowest of the other body where it is not far above everything."""
    lowest, *rest = heat.limits
    other = [limit for limit in rest if limit.node != lowest.node][:1]
    return [lowest, *(limit for limit in other if limit.lasting_c <= 1.3 * max(top_c, lowest.lasting_c))]


def _steps(heat: CoilHeat) -> bool:
    """Whether the power falls at a minute, when a limit for hours takes over."""
    before, after = (bearable(heat.network, heat.limits, heat.air_c, t).power_w for t in (60.0, 60.001))
    return after < 0.99 * before


def _marks(last_s: float) -> str:
    return f"60{THIN}s is a minute, 3600{THIN}s an hour" if last_s > 3600.0 else f"60{THIN}s is a minute"
