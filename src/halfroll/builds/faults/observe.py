"""What would be read from units: the keys of evidence, each in the scale in which its errors add up (logarithms, decibels, millimetres).

Small signals as in `driver.linear`. Distortion by one step from the linear motion: the forces and voltages that the curves add over a cycle,
answered by the linear driver at each harmonic (perturbation, as for any weakly nonlinear oscillator; orders 2 to 5).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.builds.faults.many import (
    Units,
    admittance,
    compliance_of,
    electrical,
    losses,
    mass_in,
    mechanical,
    moving_kg,
    resonance_hz,
)
from halfroll.builds.faults.types import Mounted, Mounting, Reference
from halfroll.core.levels import P_REF_PA, ComplexArray, FloatArray
from halfroll.driver.cone import ConeMode, cone_transfer

METER_KEYS = (
    "re_ohm",
    "fs_hz",
    "impedance_peak_ohm",
    "qts",
    "moving_mass_g",
    "stiffness_n_per_mm",
    "magnet_pull",
    "rest_height_mm",
)
BANDS_HZ = ((50, 80), (80, 125), (125, 200), (200, 315), (1250, 2500), (2500, 5000), (5000, 10000))
BAND_KEYS = tuple(f"band_{low}_{high}_db" for low, high in BANDS_HZ)
PHONE_KEYS = (*BAND_KEYS, "level_db", "thd_bass_percent", "residue_db", "phone_fs_hz")
KEYS = (*METER_KEYS, *PHONE_KEYS)
"""What is told as a number; order of the columns everywhere in this room."""

YES_NO_KEYS = ("polarity", "rub", "leak")

LOGARITHMIC = frozenset({
    "re_ohm", "fs_hz", "impedance_peak_ohm", "qts", "moving_mass_g", "stiffness_n_per_mm", "magnet_pull", "thd_bass_percent", "phone_fs_hz",
})  # fmt: skip

MIDDLE_HZ = (315.0, 1250.0)
THD_BAND_HZ = (50.0, 125.0)
LEVEL_V = math.sqrt(8.0)
LEAST_THD = 1e-3
"""What is always there (own choice): amplifier, creep, hysteresis; a driver whose curves are not known has no other distortion."""

_PER_BAND, _CYCLE, _ORDERS = 5, 32, (2, 3, 4, 5)


@dataclass(frozen=True, kw_only=True)
class Readings:
    """Where and how units are read: mounting, cone, drive, and the frequency (Hz) at which a leak's Q holds."""

    mounted: Mounted
    modes: tuple[ConeMode, ...] = ()
    drive_v: float = 2.0
    box_hz: float = 100.0


def readings_of(reference: Reference, mounted: Mounted | None = None) -> Readings:
    """How units of a version are read."""
    return Readings(
        mounted=mounted or reference.mounted, modes=reference.modes, drive_v=reference.drive_v, box_hz=_box_hz(reference, mounted or reference.mounted)
    )  # fmt: skip


def _box_hz(reference: Reference, mounted: Mounted) -> float:
    """Resonance of the version's driver in the box, or the box's tuning."""
    for one in (mounted.sound, mounted.electrical):
        if one.kind == "box":
            if one.tuning_hz is not None:
                return one.tuning_hz
            model = reference.model
            stiff = model.K[0] + model.Sd**2 / compliance_of(one)
            return math.sqrt(stiff / model.Mms) / (2.0 * math.pi)
    return 100.0


def to_scale(key: str, value: float) -> float:
    """A reading in the scale of its column."""
    return math.log(value) if key in LOGARITHMIC else value


def from_scale(key: str, value: float) -> float:
    """The inverse of `to_scale`."""
    return math.exp(value) if key in LOGARITHMIC else value


def u_in_scale(key: str, value: float, u: float) -> float:
    """Standard uncertainty of a reading in the scale of its column."""
    return u / value if key in LOGARITHMIC else u


def observed(units: Units, how: Readings) -> FloatArray:
    """What would be read from each unit, (n, len(KEYS)), in the scales of `to_scale`, without any error of reading."""
    at, box = how.mounted.electrical, how.box_hz
    hz = resonance_hz(units, at)
    peak, heard = _peak_ohm(units, at, hz, box), how.mounted.sound
    columns: dict[str, FloatArray] = {
        "re_ohm": np.log(units.re), "fs_hz": np.log(hz), "impedance_peak_ohm": np.log(peak),
        "qts": np.log(_qts(units, at, hz)), "moving_mass_g": np.log(1e3 * moving_kg(units)),
        "stiffness_n_per_mm": np.log(1e-3 * units.k[:, 0]), "magnet_pull": np.log(units.pull), "rest_height_mm": units.rest_mm,
        "residue_db": units.residue_db, "phone_fs_hz": np.log(resonance_hz(units, heard)),
        "thd_bass_percent": np.log(100.0 * thd(units, how.mounted, how.drive_v, box) * units.thd_ratio),
    }  # fmt: skip
    middle, bands = _levels(units, how)
    columns["level_db"] = middle
    columns |= {key: bands[:, number] for number, key in enumerate(BAND_KEYS)}
    return np.stack([columns[key] for key in KEYS], axis=1)


def _qts(units: Units, mounting: Mounting, hz: FloatArray) -> FloatArray:
    """Total Q with the air of the mounting."""
    damping = losses(units) + units.bl[:, 0] ** 2 / units.re
    omega_m = 2.0 * np.pi * hz * mass_in(units, mounting)
    lost = np.zeros(len(units))
    if mounting.kind == "box":
        held = units.sd**2 / compliance_of(mounting)
        lost = held / (held + units.k[:, 0]) / units.leak_q
    return np.asarray(1.0 / (damping / omega_m + lost))


def _peak_ohm(units: Units, mounting: Mounting, hz: FloatArray, box_hz: float) -> FloatArray:
    """Highest magnitude of the impedance about the resonance, a parabola through its three highest points."""
    ratios = np.geomspace(0.35, 2.8, 97) if mounting.tuning_hz is not None else np.geomspace(0.7, 1.4, 29)
    s = np.asarray(2j * np.pi * hz[:, None] * ratios, dtype=np.complex128)
    z = np.abs(electrical(units, s) + units.bl[:, :1] ** 2 / mechanical(units, s, mounting, box_hz))
    top = np.clip(np.argmax(z, axis=1), 1, z.shape[1] - 2)
    left, middle, right = (z[np.arange(len(z)), top + step] for step in (-1, 0, 1))
    bend = left - 2.0 * middle + right
    return np.asarray(
        middle - np.where(bend < 0.0, (left - right) ** 2 / (8.0 * np.minimum(bend, -1e-12)), 0.0)
    )


def _levels(units: Units, how: Readings) -> tuple[FloatArray, FloatArray]:
    """Mean level over the middle of the range at 1 m for 2.83 V (dB), and of each band re that (dB), (n, bands)."""
    edges = (MIDDLE_HZ, *BANDS_HZ)
    f = np.concatenate([_inside(low, high) for low, high in edges])
    level = sound_db(units, f, how).reshape(len(units), len(edges), _PER_BAND).mean(axis=2)
    return level[:, 0], level[:, 1:] - level[:, :1]


def _inside(low: float, high: float) -> FloatArray:
    """Points inside a band, each the middle of an equal share of its octaves."""
    return np.asarray(low * (high / low) ** ((np.arange(_PER_BAND) + 0.5) / _PER_BAND))


def sound_db(units: Units, frequency_hz: FloatArray, how: Readings) -> FloatArray:
    """Level on axis at 1 m for 2.83 V (dB), (n, f): cone, port and leak together, or the cone alone when heard close to it; half space."""
    mounting = how.mounted.sound
    s = np.asarray(2j * np.pi * frequency_hz[None, :])
    velocity = units.bl[:, :1] / (
        electrical(units, s) * mechanical(units, s, mounting, how.box_hz) + units.bl[:, :1] ** 2
    )
    flow = units.sd[:, None] * velocity * cone_transfer(frequency_hz, how.modes)[None, :]
    flow = flow * _heard(s, units, how.mounted, how.box_hz)
    pressure = STANDARD_AIR.density / (2.0 * np.pi) * np.abs(s * flow) * LEVEL_V
    return np.asarray(20.0 * np.log10(np.maximum(pressure, 1e-15) / P_REF_PA))


def thd(units: Units, mounted: Mounted, drive_v: float, box_hz: float) -> FloatArray:
    """Harmonic distortion of the sound (ratio), mean over the bass band, (n,)."""
    low, high = THD_BAND_HZ
    found = [
        _thd_at(units, hz, mounted, drive_v, box_hz)
        for hz in low * (high / low) ** np.array([0.17, 0.5, 0.83])
    ]
    return np.asarray(np.hypot(np.mean(found, axis=0), LEAST_THD))


def _thd_at(units: Units, hz: float, mounted: Mounted, drive_v: float, box_hz: float) -> FloatArray:
    """At one frequency."""
    mounting = mounted.sound
    orders = np.array([1, *_ORDERS])
    s = np.asarray(2j * np.pi * hz * orders[None, :])
    ze, zm, bl = electrical(units, s), mechanical(units, s, mounting, box_hz), units.bl[:, :1]
    velocity = (math.sqrt(2.0) * drive_v * bl / (ze * zm + bl**2))[:, :1]
    current = velocity * zm[:, :1] / bl
    turn = np.exp(2j * np.pi * np.arange(_CYCLE) / _CYCLE)[None, :]
    x, v, i = (np.real(one * turn) for one in (velocity / s[:, :1], velocity, current))
    force, flux, moved = _curved(units, x, v, i)
    at = np.exp(-2j * np.pi * np.outer(np.arange(_CYCLE), _ORDERS) / _CYCLE) * (2.0 / _CYCLE)
    push, voltage = force @ at, moved @ at + s[:, 1:] * (flux @ at)
    shaken = (push - bl * voltage / ze[:, 1:]) / (zm[:, 1:] + bl**2 / ze[:, 1:])
    shares = [_heard(one, units, mounted, box_hz) for one in (s[:, 1:], s[:, :1])]
    heard = np.abs(shaken * s[:, 1:] * shares[0])
    return np.asarray(np.sqrt(np.sum(heard**2, axis=1)) / np.abs(velocity * s[:, :1] * shares[1])[:, 0])


def _heard(s: ComplexArray, units: Units, mounted: Mounted, box_hz: float) -> ComplexArray | float:
    """Share of the cone's flow that is heard beside a box's port and leak; all of it close to the cone."""
    mounting = mounted.sound
    if mounting.kind != "box" or mounted.near:
        return 1.0
    return np.asarray(s * compliance_of(mounting) / admittance(units, s, mounting, box_hz))


def _curved(
    units: Units, x: FloatArray, v: FloatArray, i: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Over a cycle (n, t): force, flux linkage and moved voltage beyond the linear driver's, travel held within that of the model."""
    x = np.clip(x, *units.x_range)
    bl, k, le = (_value(curve, x) - curve[:, :1] for curve in (units.bl, units.k, units.le))
    force = bl * i - k * x + 0.5 * _slope(units.le, x) * i**2
    return force, le * i, bl * v


def _value(curve: FloatArray, x: FloatArray) -> FloatArray:
    """Polynomials (n, c) at displacements (n, t)."""
    total = np.zeros_like(x)
    for column in curve.T[::-1]:
        total = total * x + column[:, None]
    return total


def _slope(curve: FloatArray, x: FloatArray) -> FloatArray:
    if curve.shape[1] < 2:
        return np.zeros_like(x)
    return _value(curve[:, 1:] * np.arange(1, curve.shape[1]), x)
