"""A cabinet as a load to the driver: compliance, absorption, leaks, port or passive radiator, stuffing, in state space.

Small 1973 (vented), 1974 (passive radiator); the air in the box is one lumped compliance, which holds while the box is short against the wave.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.cabinet.types import VISCOSITY_PA_S, Cabinet, Gap, Leak
from halfroll.acoustics.load import AcousticLoad
from halfroll.core.levels import FloatArray


@dataclass(kw_only=True)
class _Rows:
    """Equations of the network while it is put together: states by row, outlets as rows over (states, p)."""

    count: int
    a: FloatArray
    from_p: FloatArray
    flows: list[tuple[str, FloatArray, float]]


def load_of(cabinet: Cabinet, air: Air = STANDARD_AIR) -> AcousticLoad:
    """The network of a cabinet.

    States: the pressure of the air's compliance, then those of stuffing, port or passive radiator (velocity, displacement), and a stated leak.
    Outlets: ``port``, ``passive radiator``, ``leak`` (which all radiate at low frequency).
    """
    omega = 2.0 * math.pi * cabinet.losses_at_hz(air)
    compliance = cabinet.compliance(air) * (1.0 if cabinet.stuffing is None else cabinet.stuffing.air_share)
    absorbs = 1.0 / (omega * compliance * cabinet.losses.absorption_q)
    leaks = omega * compliance / cabinet.losses.leak_q
    rows = _Rows(count=1, a=np.zeros((6, 6)), from_p=np.zeros(6), flows=[])
    moving: tuple[str, ...] = ()
    reads: FloatArray | None = None
    if cabinet.stuffing is not None:
        _stuffed(rows, compliance * cabinet.stuffing.gain, cabinet.stuffing.time_s)
    if cabinet.port is not None:
        mass = cabinet.port.mass(air)
        resists = 1.0 / (omega * compliance * cabinet.losses.port_q)
        _branch(rows, "port", mass, resists)
    if cabinet.radiator is not None:
        moving, reads = ("passive radiator",), _radiator(rows, cabinet)
    if cabinet.leak is not None:
        _branch(rows, "leak", *leak_branch(cabinet.leak, air))
    return _closed_up(rows, compliance, absorbs, leaks, moving, reads)


def leak_branch(leak: Leak, air: Air = STANDARD_AIR) -> tuple[float, float]:
    """Acoustic mass (kg/m⁴) and resistance (Pa s/m³) of a hole or slit."""
    if isinstance(leak, Gap):
        area = leak.long_m * leak.open_m
        return 1.2 * air.density * leak.through_m / area, 12.0 * VISCOSITY_PA_S * leak.through_m / (
            area * leak.open_m**2
        )
    radius = leak.diameter_m / 2.0
    area = math.pi * radius**2
    return 4.0 / 3.0 * air.density * leak.through_m / area, 8.0 * VISCOSITY_PA_S * leak.through_m / (
        area * radius**2
    )


def _stuffed(rows: _Rows, more: float, time: float) -> None:
    """Compliance behind a resistance, beside the air's: p_x' = (p - p_x)/τ, and C_x p_x' flows into it (a flow that leaves nowhere)."""
    n = rows.count
    rows.a[n, n], rows.from_p[n] = -1.0 / time, 1.0 / time
    row = np.zeros(6)
    row[n] = -more / time
    rows.flows.append(("", row, more / time))
    rows.count += 1


def _branch(rows: _Rows, name: str, mass: float, resists: float) -> None:
    n = rows.count
    rows.a[n, n], rows.from_p[n] = -resists / mass, 1.0 / mass
    row = np.zeros(6)
    row[n] = 1.0
    rows.flows.append((name, row, 0.0))
    rows.count += 1


def _radiator(rows: _Rows, cabinet: Cabinet) -> FloatArray:
    one = cabinet.radiator
    assert one is not None
    n = rows.count
    rows.a[n, n], rows.a[n, n + 1] = -one.resistance / one.mass_kg, -1.0 / (one.compliance_m_n * one.mass_kg)
    rows.from_p[n] = one.area_m2 / one.mass_kg
    rows.a[n + 1, n] = 1.0
    row = np.zeros(6)
    row[n] = one.all_area_m2
    rows.flows.append(("passive radiator", row, 0.0))
    rows.count += 2
    reads = np.zeros((1, 6))
    reads[0, n + 1] = 1.0
    return reads


def _closed_up(
    rows: _Rows, compliance: float, absorbs: float, leaks: float, moving: tuple[str, ...], reads: FloatArray | None
) -> AcousticLoad:  # fmt: skip
    """Put p = p_C + R_A w and w = -(U + flows + p G_L) into the equations."""
    n = rows.count
    out = sum((row for _, row, _ in rows.flows), np.zeros(6))[:n]
    through = leaks + sum(from_p for _, _, from_p in rows.flows)
    first = np.zeros(n)
    first[0] = 1.0
    share = 1.0 / (1.0 + absorbs * through)
    c, d = (first - absorbs * out) * share, -absorbs * share
    a = rows.a[:n, :n] + np.outer(rows.from_p[:n], c)
    b = rows.from_p[:n] * d
    a[0] = -(out + through * c) / compliance
    b[0] = -(1.0 + through * d) / compliance
    named: dict[str, tuple[FloatArray, float]] = {}
    flows = [*rows.flows, *([("leak", np.zeros(6), leaks)] if leaks > 0.0 else [])]
    for name, row, from_p in flows:
        if name:
            was = named.get(name, (np.zeros(n), 0.0))
            named[name] = (was[0] + row[:n] + from_p * c, was[1] + from_p * d)
    return AcousticLoad(
        a=a, b=b, c=c, d=d, outlets=tuple(named),
        e=np.array([row for row, _ in named.values()]).reshape(len(named), n), g=np.array([direct for _, direct in named.values()]),
        moving=moving, displacement_rows=None if reads is None else reads[:, :n],
    )  # fmt: skip
