"""Nodal analysis of a crossover over frequency, many realisations at once.

Every element and way is an admittance between two nodes; the node voltages follow from Y v = i (Kirchhoff's current law), the
amplifier's node being 1 V or fed through the cable's resistance. Signs follow e^{+jωt}.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.crossover.circuit import Circuit
from halfroll.driver.crossover.elements import GROUND, SOURCE


@dataclass(frozen=True, kw_only=True, eq=False)
class Solved:
    """What 1 V of the amplifier does; arrays end in (f,) and begin with the realisations' axes where there are some.

    Parameters
    ----------
    way_v
        Voltage at each way, plus over minus (V/V).
    way_a
        Current through each way (A/V).
    source_ohm
        Impedance each way sees when it looks back (ohm).
    element_v, element_a
        Voltage over and current through each element (V/V, A/V).
    input_ohm
        Impedance of the whole, cable included (ohm).
    """

    frequency_hz: FloatArray
    way_v: dict[str, ComplexArray]
    way_a: dict[str, ComplexArray]
    source_ohm: dict[str, ComplexArray]
    element_v: dict[str, ComplexArray]
    element_a: dict[str, ComplexArray]
    input_ohm: ComplexArray


def admittances(
    circuit: Circuit, frequency_hz: FloatArray, factors: Mapping[str, FloatArray] | None = None
) -> list[ComplexArray]:
    """Admittance (S) of each element, shape (..., f); `factors` multiply values, shape (...), by name."""
    s = 2j * np.pi * np.asarray(frequency_hz, dtype=np.float64)
    found: list[ComplexArray] = []
    for element in circuit.elements:
        factor = (factors or {}).get(element.name)
        value = np.asarray(element.value if factor is None else element.value * factor)[..., None]
        if element.kind == "resistor":
            ohms = value + element.series_ohm + 0.0 * s
        elif element.kind == "coil":
            ohms = s * value + element.series_ohm
        else:
            ohms = 1.0 / (s * value) + element.series_ohm
        found.append(np.asarray(1.0 / ohms, dtype=np.complex128))
    return found


def solve(
    circuit: Circuit,
    frequency_hz: FloatArray,
    loads_ohm: Mapping[str, ComplexArray],
    factors: Mapping[str, FloatArray] | None = None,
) -> Solved:
    """Voltages and currents for 1 V of the amplifier.

    Parameters
    ----------
    circuit
        From `circuit_of`, which has checked it.
    frequency_hz
        Shape (f,), above zero.
    loads_ohm
        Impedance of each way, shape (f,).
    factors
        Relative values of elements, shape (...), for many realisations at once.
    """
    own = admittances(circuit, frequency_hz, factors)
    ways = [np.asarray(1.0 / loads_ohm[name], dtype=np.complex128) for name in circuit.ways]
    branches = [*zip(own, circuit.pairs, strict=True), *zip(ways, circuit.terminals, strict=True)]
    shape = np.broadcast_shapes(*(y.shape for y, _ in branches))
    voltages, inverse = _node_voltages(circuit, branches, shape)

    def across(pair: tuple[str, str]) -> ComplexArray:
        return np.asarray(voltages[pair[0]] - voltages[pair[1]])

    element_v = {e.name: across(pair) for e, pair in zip(circuit.elements, circuit.pairs, strict=True)}
    element_a = {e.name: element_v[e.name] * y for e, y in zip(circuit.elements, own, strict=True)}
    way_v = {name: across(pair) for name, pair in zip(circuit.ways, circuit.terminals, strict=True)}
    way_a = {name: way_v[name] * y for name, y in zip(circuit.ways, ways, strict=True)}
    drawn = sum(
        (y * across(pair) * (1.0 if pair[0] == SOURCE else -1.0) for y, pair in branches if SOURCE in pair),
        np.zeros(shape, dtype=np.complex128),
    )
    seen = {
        name: _seen(circuit, inverse, pair, y)
        for name, pair, y in zip(circuit.ways, circuit.terminals, ways, strict=True)
    }
    return Solved(frequency_hz=frequency_hz, way_v=way_v, way_a=way_a, source_ohm=seen, element_v=element_v, element_a=element_a,
                  input_ohm=np.asarray(1.0 / drawn))  # fmt: skip


def _node_voltages(
    circuit: Circuit, branches: list[tuple[ComplexArray, tuple[str, str]]], shape: tuple[int, ...]
) -> tuple[dict[str, ComplexArray], ComplexArray]:
    """Voltage of every node, and the inverse of the admittance matrix (..., f, n, n) of the unknown ones."""
    at = {node: place for place, node in enumerate(circuit.nodes)}
    matrix = np.zeros((*shape, len(at), len(at)), dtype=np.complex128)
    drive = np.zeros((*shape, len(at)), dtype=np.complex128)
    for y, (a, b) in branches:
        for here, there in ((a, b), (b, a)):
            if here not in at:
                continue
            matrix[..., at[here], at[here]] += y
            if there in at:
                matrix[..., at[here], at[there]] -= y
            elif there == SOURCE:
                drive[..., at[here]] += y
    if SOURCE in at:
        matrix[..., at[SOURCE], at[SOURCE]] += 1.0 / circuit.source_ohm
        drive[..., at[SOURCE]] += 1.0 / circuit.source_ohm
    inverse: ComplexArray = np.asarray(np.linalg.inv(matrix) if at else matrix, dtype=np.complex128)
    unknown = np.einsum("...ij,...j->...i", inverse, drive)
    one, zero = np.ones(shape, dtype=np.complex128), np.zeros(shape, dtype=np.complex128)
    return {GROUND: zero, SOURCE: one, **{node: unknown[..., i] for node, i in at.items()}}, inverse


def _seen(circuit: Circuit, inverse: ComplexArray, pair: tuple[str, str], own: ComplexArray) -> ComplexArray:
    """Impedance between two nodes with the source shorted, and the way there taken out again."""
    at = {node: place for place, node in enumerate(circuit.nodes)}
    signs = [(at[node], sign) for node, sign in zip(pair, (1.0, -1.0), strict=True) if node in at]
    driven = sum(
        (s1 * s2 * inverse[..., i, j] for i, s1 in signs for j, s2 in signs),
        np.zeros(inverse.shape[:-2], dtype=np.complex128),
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(driven == 0.0, 0.0, 1.0 / (1.0 / driven - own)))
