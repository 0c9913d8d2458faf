"""A suspension in words for terminal and page: what is asked first, its curve, and what it adds to the bass distortion."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from halfroll.core.text import MINUS, THIN, format_percent, format_value, format_with_u
from halfroll.publish.motor_figures import COVERAGE
from halfroll.publish.parameter_rows import Rows
from halfroll.publish.suspension_figures import suspension_figures
from halfroll.suspension.results import StiffnessCurve
from halfroll.workshop.suspension_report import SuspensionReport

AFTER = f"After ±: half of the 95{THIN}% interval, from the plastics and the print; the finite elements' own error is far smaller."


def glance_rows(report: SuspensionReport) -> Rows:
    """The whole answer, a line for each thing that is asked of a suspension; the tables say how it comes about."""
    solved = report.solved
    figures = suspension_figures(solved.suspension, solved.mass, solved.break_up)
    rows = [(one.name, f"{one.number}{THIN}{one.behind}".rstrip()) for one in figures]
    if solved.break_up is not None:
        found = solved.break_up
        usable = format_with_u(found.usable_hz, COVERAGE * found.usable_hz * found.usable_u_relative, "Hz")
        rows.append((f"A piston's response within {found.usable_db:g}{THIN}dB up to", usable))
    for tone in () if report.distortion is None else report.distortion.alone:
        if np.isfinite(tone.thd).any():
            worst = int(np.nanargmax(tone.thd))
            rows.append((
                f"Most distortion of the suspension alone at {tone.voltage_v:.3g}{THIN}V",
                f"{_share(tone.thd[worst])} at {tone.frequency_hz[worst]:g}{THIN}Hz",
            ))  # fmt: skip
    return Rows(head=("Figure", "Value"), rows=tuple(rows), notes=(AFTER,))


def curve_rows(curve: StiffnessCurve, most: int = 25) -> Rows:
    """Force and stiffness over displacement."""
    step = max(1, round((len(curve.x_m) - 1) / (most - 1)))
    middle = len(curve.x_m) // 2
    shown = [i for i in range(len(curve.x_m)) if (i - middle) % step == 0]
    rows = tuple(
        (_signed(1e3 * curve.x_m[i], "mm"), _signed(curve.force_n[i], "N"), format_value(1e-3 * curve.kms_n_per_m[i], None, "N/mm"),
         format_value(1e-3 * curve.tangent_n_per_m[i], None, "N/mm"))
        for i in shown
    )  # fmt: skip
    spread = f"Whole curve ±{THIN}{format_percent(COVERAGE * curve.u_relative)} (95{THIN}%), from the plastics and the print."
    return Rows(head=("x, outwards +", "Force", "Kms = F/x", "Slope dF/dx"), rows=rows, notes=(spread,))


def distortion_rows(report: SuspensionReport) -> Iterator[Rows]:
    """Harmonics of the bass at each voltage: of the suspension alone, and where Bl(x) is known of the motor and both."""
    found = report.distortion
    if found is None:
        return
    notes = (
        "Sound pressure in a large baffle or free air, no box; steady tones.",
        "Constants: " + ", ".join(f"{symbol} from {words}" for symbol, words in found.origins) + ".",
        f"K(x) is played as a polynomial that misses it by at most {format_percent(found.stiffness.misfit)} of K(0).",
    )
    for number, tone in enumerate(found.alone):
        head = ("Frequency", "H2", "H3", "THD of the suspension", "Peak excursion")
        rows = []
        for i, frequency in enumerate(tone.frequency_hz):
            row = [format_value(float(frequency), None, "Hz"), *(_share(tone.pressure_ratio[order, i]) for order in (1, 2)), _share(tone.thd[i]),
                   _mm(float(tone.peak_m[i]))]  # fmt: skip
            if found.motor:
                row += [_share(found.motor[number].thd[i]), _share(found.both[number].thd[i])]
            rows.append(tuple(row))
        more = ("THD of the motor", "Both") if found.motor else ()
        last = number == len(found.alone) - 1
        yield Rows(
            head=(f"{head[0]} at {tone.voltage_v:.3g}{THIN}V", *head[1:], *more),
            rows=tuple(rows),
            notes=notes if last else (),
        )


def _share(value: float) -> str:
    return format_percent(value)


def _signed(value: float, unit: str) -> str:
    number = 0.0 if abs(value) < 5e-10 else value
    return f"{number:+.3g}{THIN}{unit}".replace("-", MINUS) if number else f"0{THIN}{unit}"


def _mm(length_m: float) -> str:
    return "–" if not math.isfinite(length_m) else format_value(1e3 * length_m, None, "mm")
