"""The slower studies of a motor as tables: inductance over frequency, force factor with current, forces while it is built."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from halfroll.core.text import MINUS, THIN, format_value
from halfroll.motor.results import AssemblyForce, BlockedImpedance, Modulation
from halfroll.publish.parameter_rows import COILS, SHOWN, Rows

if TYPE_CHECKING:
    from halfroll.driver.coil_impedance import LumpedCoil
    from halfroll.measure.lumped.parameter_types import CoilModel

MODELS: tuple[CoilModel, ...] = ("lr2", "semi")
"""Coil models shown; a bare inductance fits no coil in iron."""


def inductance_rows(found: BlockedImpedance) -> Rows:
    """Inductance and added resistance of the coil held at rest."""
    rest = int(np.argmin(np.abs(found.x_m)))
    levels = [(found.inductance_h, found.resistance_ohm)]
    if found.low_level_inductance_h is not None and found.low_level_resistance_ohm is not None:
        levels.append((found.low_level_inductance_h, found.low_level_resistance_ohm))
    rows = tuple(
        (format_value(float(f), None, "Hz"), *(words for inductance, resistance in levels for words in (
            f"{1e3 * inductance[rest, k]:.3f}{THIN}mH", format_value(float(resistance[rest, k]), None, "ohm"))))
        for k, f in enumerate(found.frequency_hz)
    )  # fmt: skip
    head = ("Frequency", "Inductance", "Added resistance", "Low-level inductance", "Low-level added")
    note = f"The coil held at rest, without the resistance of its wire; {100 * found.u_rel:.1g}{THIN}% by the mesh."
    return Rows(head=head[: 1 + 2 * len(levels)], rows=rows, notes=(note,))


def fitted(found: BlockedImpedance, re_ohm: float) -> tuple[LumpedCoil, ...]:
    """The coil models a measured impedance is fitted with, fitted to the computed one at rest, at a low level where that is known."""
    from halfroll.driver.coil_impedance import as_lumped

    low = found.low_level_inductance_h is not None
    return tuple(as_lumped(found, re_ohm, coil, low_level=low) for coil in MODELS)


def fitted_rows(found: BlockedImpedance, re_ohm: float) -> Rows:
    """What a fit of the measured impedance should find for the coil, if it is built as designed."""
    rows = []
    for lumped in fitted(found, re_ohm):
        values = []
        for name, value in lumped.values.items():
            symbol, unit, factor = SHOWN[name]
            if name != "re_ohm":
                values.append(f"{symbol} {format_value(factor * value, None, unit)}")
        rows.append((COILS[lumped.coil], ", ".join(values), f"{100 * lumped.misfit:.2g}{THIN}%"))
    level = (
        "at a low level"
        if found.low_level_inductance_h is not None
        else "by the slope of the magnetisation curve"
    )
    note = f"Compare these with the measured parameters of a unit; {level}, with {format_value(re_ohm, None, 'ohm')} of wire."
    return Rows(head=("As a measured fit has it", "Values", "Misfit"), rows=tuple(rows), notes=(note,))


def modulation_rows(found: Modulation) -> Rows:
    """Force factor over displacement without current, and how much of it changes with current."""
    head = ("Current", *(f"Bl at {_mm(float(x))}" for x in found.x_m), "Pull at rest")
    rest = int(np.argmin(np.abs(found.x_m)))
    rows = []
    for i, current in enumerate(found.current_a):
        bls = [
            f"{bl:.3f}{THIN}N/A" if i == 0 else _percent(bl / found.bl[0, j] - 1.0)
            for j, bl in enumerate(found.bl[i])
        ]
        pull = f"{found.reluctance_n[i, rest]:.3g}{THIN}N".replace("-", MINUS)
        rows.append((f"{current:.3g}{THIN}A", *bls, pull))
    note = (
        "Peak currents; below the first row the change against it. The pull draws the coil to where its inductance is largest, "
        "whichever way the current flows."
    )
    return Rows(head=head, rows=tuple(rows), notes=(note,))


def _percent(change: float) -> str:
    return f"{100 * change:+.3f}{THIN}%".replace("-", MINUS)


def force_rows(forces: tuple[AssemblyForce, ...]) -> Rows:
    """The force on each part a few millimetres before its place, and where it is largest."""
    rows = []
    for force in forces:
        if force.force_n.size == 0:
            rows.append((force.body, "not known", "", ""))
            continue
        worst = int(np.argmax(np.abs(force.force_n)))
        rows.append(
            (
                force.body,
                f"{force.force_n[worst]:+.3g}{THIN}N".replace("-", MINUS),
                f"{1e3 * force.distance_m[worst]:.3g}{THIN}mm",
                "" if force.contact_n is None else f"{force.contact_n:+.3g}{THIN}N".replace("-", MINUS),
            )
        )
    notes = ("Above zero it is drawn to its place, below it is pushed away.",) if rows else ()
    return Rows(
        head=("Part", "Largest force", "that far before", "At contact"), rows=tuple(rows), notes=notes
    )


def _mm(metres: float) -> str:
    return f"{1e3 * metres:+.3g}{THIN}mm".replace("-", MINUS)
