"""Charts of a driver in its cabinet: level beside the infinite baffle, group delay, travel, air speed in the port, impedance."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.acoustics.baffle import VALID_TO_HZ
from halfroll.acoustics.cabinet.port import FASTEST_OF_C
from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN
from halfroll.driver.boxed import BoxedResponse
from halfroll.publish.charts import frequency_chart, impedance_chart, level_chart
from halfroll.publish.curves import NamedCurve
from halfroll.publish.drives import NORMAL_95, named
from halfroll.publish.hover import Readout
from halfroll.publish.scales import linear_axis
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme
from halfroll.workshop.cabinet_report import CabinetReport

RANGE_HZ = (20.0, 2000.0)
LEVEL_RANGE_HZ = (20.0, 10_000.0)
ROOT_2 = math.sqrt(2.0)
BAND_NOTE = "shaded: 95 % band, from what is not sure of the driver"


def cabinet_charts(report: CabinetReport, *, theme: Theme, width_px: float) -> dict[str, Spec]:
    """The charts there are, by name: ``level``, ``travel``, ``port``, ``delay``, ``impedance``; none without a driver."""
    if report.found is None or report.drive is None:
        return {}
    charts = {
        "level": _level(report, report.found, theme, width_px),
        "travel": _travel(report, report.found, theme, width_px),
        "port": _port(report, report.found, theme, width_px),
        "delay": _delay(report, report.found, theme, width_px),
        "impedance": _impedance(report, report.found, theme, width_px),
    }
    return {name: chart for name, chart in charts.items() if chart is not None}


def _level(report: CabinetReport, found: BoxedResponse, theme: Theme, width_px: float) -> Spec:
    drive, free = report.drive, report.free
    assert drive is not None
    assert free is not None
    level, volts = found.level_db(drive.volts), drive.volts
    half = None if report.level_u_db is None else NORMAL_95 * report.level_u_db
    curves = [
        named(
            "in the cabinet",
            found.frequency_hz,
            level,
            None if half is None else level - half,
            None if half is None else level + half,
        )
    ]
    if found.baffle is not None:
        with_edges = found.level_db(volts, with_baffle=True)
        keep = np.isfinite(with_edges)
        curves.append(named("with its edges", found.frequency_hz[keep], with_edges[keep], style=2))
    curves.append(named("infinite baffle", free.frequency_hz, free.level_db(volts), style=1))
    notes = [f"{volts:.3g}{THIN}V, 1{THIN}m, small signals", "break-up of the cone and directivity left out"]
    if found.baffle is not None:
        notes.append(f"edges: free space, up to {VALID_TO_HZ / 1e3:g}{THIN}kHz; the others: half space")
    return level_chart(
        curves, theme=theme, width_px=width_px, range_hz=LEVEL_RANGE_HZ, most_db=40.0, title="Level", ratio_db_per_decade=None, notes=notes,
        band_note=BAND_NOTE,
    )  # fmt: skip


def _travel(report: CabinetReport, found: BoxedResponse, theme: Theme, width_px: float) -> Spec:
    drive, free = report.drive, report.free
    assert drive is not None
    assert free is not None
    scale = 1e3 * ROOT_2 * drive.volts
    curves = [
        named("cone", found.frequency_hz, scale * np.abs(found.displacement_m_per_v)),
        named("infinite baffle", free.frequency_hz, scale * np.abs(free.displacement_m_per_v), style=1),
    ]
    if found.radiator_m_per_v is not None:
        curves.append(
            named("passive radiator", found.frequency_hz, scale * np.abs(found.radiator_m_per_v), style=2)
        )
    curves.append(_line("travel the cone has", 1e3 * drive.limit_m))
    radiator = report.cabinet.radiator
    if radiator is not None and math.isfinite(radiator.travel_m):
        curves.append(_line("travel the radiator has", 1e3 * radiator.travel_m, style=6))
    return _upright(
        curves,
        theme,
        width_px,
        "Peak travel in mm",
        Readout(number=".2f", unit=" mm"),
        "Travel",
        [f"sine of {drive.volts:.3g}{THIN}V"],
    )


def _port(report: CabinetReport, found: BoxedResponse, theme: Theme, width_px: float) -> Spec | None:
    drive = report.drive
    if found.port_m_s_per_v is None or drive is None:
        return None
    fastest = FASTEST_OF_C * STANDARD_AIR.speed_of_sound
    curves = [
        named("peak", found.frequency_hz, ROOT_2 * drive.volts * found.port_m_s_per_v),
        named("r.m.s.", found.frequency_hz, drive.volts * found.port_m_s_per_v, style=1),
        _line("5 % of c", fastest),
    ]
    return _upright(curves, theme, width_px, "Air speed in m/s", Readout(number=".1f", unit=" m/s"), "Air in the port",
                    [f"sine of {drive.volts:.3g}{THIN}V", "heard above about 5 % of the speed of sound, with sharp edges below it"])  # fmt: skip


def _delay(report: CabinetReport, found: BoxedResponse, theme: Theme, width_px: float) -> Spec:
    free = report.free
    assert free is not None
    keep = found.frequency_hz >= RANGE_HZ[0]
    curves = [
        named("in the cabinet", found.frequency_hz[keep], 1e3 * found.group_delay_s[keep]),
        named("infinite baffle", free.frequency_hz[keep], 1e3 * free.group_delay_s[keep], style=1),
    ]
    return _upright(
        curves, theme, width_px, "Group delay in ms", Readout(number=".1f", unit=" ms"), "Group delay", []
    )


def _impedance(report: CabinetReport, found: BoxedResponse, theme: Theme, width_px: float) -> Spec:
    free = report.free
    assert free is not None
    curves = [
        named("in the cabinet", found.frequency_hz, np.abs(found.impedance_ohm)),
        named("infinite baffle", free.frequency_hz, np.abs(free.impedance_ohm), style=1),
    ]
    return impedance_chart(
        curves, theme=theme, width_px=width_px, range_hz=LEVEL_RANGE_HZ, title="Impedance", ratio=None
    )


def _line(label: str, value: float, style: int = 4) -> NamedCurve:
    return named(label, np.array(RANGE_HZ), np.full(2, value), style=style)


def _upright(
    curves: Sequence[NamedCurve], theme: Theme, width_px: float, quantity: str, readout: Readout, title: str, notes: Sequence[str]
) -> Spec:  # fmt: skip
    """A quantity from zero up, linear."""
    highest = max(float(np.nanmax(_seen(one))) for one in curves)
    axis = linear_axis(0.0, 1.05 * highest, title=quantity)
    return frequency_chart(
        curves, theme=theme, width_px=width_px, quantity=quantity, readout=readout, range_hz=RANGE_HZ, y_range=(axis.low, axis.high),
        marks=axis.marks, title=title, notes=notes,
    )  # fmt: skip


def _seen(one: NamedCurve) -> FloatArray:
    f = one.curve.frequency_hz
    return one.curve.value[(f >= RANGE_HZ[0]) & (f <= RANGE_HZ[1])]
