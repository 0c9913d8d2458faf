"""What the elements bear at a given voltage of the amplifier: volts, amperes and heat, at the worst sine."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.driver.crossover.circuit import Circuit
from halfroll.driver.crossover.elements import Kind
from halfroll.driver.crossover.network import Solved


@dataclass(frozen=True, kw_only=True)
class Stress:
    """An element at the sine that is worst for it.

    `peak_v` and `peak_a` are crests, `power_w` the heat in its resistance, each at its own worst frequency: `at_v_hz`, `at_a_hz`, `at_w_hz`.
    """

    name: str
    kind: Kind
    peak_v: float
    at_v_hz: float
    peak_a: float
    at_a_hz: float
    power_w: float
    at_w_hz: float


@dataclass(frozen=True, kw_only=True)
class WayStress:
    """A driver at the worst sine: its real power (W), and the voltage (V r.m.s.) it gets at most."""

    name: str
    power_w: float
    at_w_hz: float
    volts: float
    at_v_hz: float


def stresses(circuit: Circuit, solved: Solved, drive_v: float) -> tuple[Stress, ...]:
    """Every element at `drive_v` (V r.m.s.) of the amplifier; `solved` without realisations."""
    f, crest = solved.frequency_hz, math.sqrt(2.0) * drive_v
    found = []
    for element in circuit.elements:
        volts, amperes = np.abs(solved.element_v[element.name]), np.abs(solved.element_a[element.name])
        ohms = (element.value if element.kind == "resistor" else 0.0) + element.series_ohm
        v, a = int(np.argmax(volts)), int(np.argmax(amperes))
        found.append(
            Stress(name=element.name, kind=element.kind, peak_v=crest * float(volts[v]), at_v_hz=float(f[v]),
                   peak_a=crest * float(amperes[a]), at_a_hz=float(f[a]), power_w=float(drive_v * amperes[a]) ** 2 * ohms,
                   at_w_hz=float(f[a]))
        )  # fmt: skip
    return tuple(found)


def way_stresses(circuit: Circuit, solved: Solved, drive_v: float) -> tuple[WayStress, ...]:
    """Every driver at `drive_v` (V r.m.s.) of the amplifier."""
    f = solved.frequency_hz
    found = []
    for name in circuit.ways:
        power = drive_v**2 * (solved.way_v[name] * np.conj(solved.way_a[name])).real
        volts = drive_v * np.abs(solved.way_v[name])
        w, v = int(np.argmax(power)), int(np.argmax(volts))
        found.append(
            WayStress(
                name=name,
                power_w=float(power[w]),
                at_w_hz=float(f[w]),
                volts=float(volts[v]),
                at_v_hz=float(f[v]),
            )
        )
    return tuple(found)
