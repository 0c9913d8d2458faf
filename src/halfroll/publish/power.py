"""The chart of a power-handling log: temperature of the coil over drive."""

from __future__ import annotations

import numpy as np

from halfroll.core.text import THIN
from halfroll.measure.heat.power_log import PowerResult
from halfroll.publish.drives import NORMAL_95, drive_title, named
from halfroll.publish.hover import Readout
from halfroll.publish.scales import linear_axis, log_axis
from halfroll.publish.sketch import Sketch, drawn
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme


def temperature_chart(
    result: PowerResult,
    limit: tuple[str, float] | None,
    rated_ohm: float | None,
    *,
    theme: Theme,
    width_px: float,
) -> Spec | None:
    """Temperature of the coil over drive, with the lowest limit that was stated; None without two readings."""
    steps = sorted(
        ((s.step, s.coil) for s in result.steps if s.coil is not None), key=lambda one: one[0].drive_v
    )
    if len(steps) < 2:
        return None
    volts = np.array([step.drive_v for step, _ in steps])
    drive = volts if rated_ohm is None else volts**2 / rated_ohm
    value = np.array([coil.temperature_c for _, coil in steps])
    half = np.array([NORMAL_95 * coil.u_k for _, coil in steps])
    curves = [named("coil", drive, value, value - half, value + half)]
    top = float((value + half).max())
    if limit is not None:
        part, bears = limit
        curves.append(named(f"{part} bears {bears:g}{THIN}°C", drive[[0, -1]], np.full(2, bears), style=4))
        top = max(top, bears)
    quantity = "Coil temperature in °C"
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title="Coil temperature", quantity=quantity, zones=(),
            x=lambda px: log_axis(drive, title=drive_title(rated_ohm)),
            y=linear_axis(min(20.0, float((value - half).min())), top, title=quantity),
            height=lambda px: px / 2.5, readout=Readout(number=".0f", spread=".0f", unit=" °C"),
            band_note="shaded: 95 % band, from the readings and the wire's coefficient",
        )
    )  # fmt: skip
