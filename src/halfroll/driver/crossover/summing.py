"""The ways together at a place before the baffle: volts at each driver, its own response, its pattern and the way to the listener."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.radiation import directivity
from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.crossover.elements import Crossover
from halfroll.driver.crossover.network import Solved
from halfroll.driver.crossover.responses import WayData

HEARD_DB = -20.0
"""A way this far below the sum is not missed where it is not valid: it could move the sum by 0.8 dB."""


@dataclass(frozen=True, kw_only=True)
class Listener:
    """Where it is heard: distance (m) from the middle of the baffle, angles (degrees) to the right and upwards."""

    distance_m: float = 1.0
    horizontal_deg: float = 0.0
    vertical_deg: float = 0.0

    def __post_init__(self) -> None:
        if not 0.05 <= self.distance_m <= 100.0:
            raise InputError(
                "The distance of the listener must lie from 0.05 m to 100 m",
                key="distance_m",
                found=f"{self.distance_m:g}",
            )
        for key in ("horizontal_deg", "vertical_deg"):
            if not -90.0 <= getattr(self, key) <= 90.0:
                raise InputError(
                    "An angle must lie from -90 to 90 degrees, before the baffle",
                    key=key,
                    found=f"{getattr(self, key):g}",
                )

    @property
    def place_m(self) -> tuple[float, float, float]:
        """Right, up, forwards (m)."""
        h, v = math.radians(self.horizontal_deg), math.radians(self.vertical_deg)
        d = self.distance_m
        return d * math.cos(v) * math.sin(h), d * math.sin(v), d * math.cos(v) * math.cos(h)


@dataclass(frozen=True, kw_only=True)
class Path:
    """From a way to the listener: length (m) and angle off the way's axis (rad)."""

    length_m: float
    angle_rad: float


def path(place_m: tuple[float, float, float], listener: Listener) -> Path:
    """The straight line from a driver to the listener.

    Raises
    ------
    InputError
        The listener sits in the driver or behind it.
    """
    dx, dy, dz = (there - here for there, here in zip(listener.place_m, place_m, strict=True))
    length = math.sqrt(dx * dx + dy * dy + dz * dz)
    if length < 0.02 or dz < -1e-9:
        raise InputError("The listener must sit before the drivers", key="distance_m",
                         found=f"{listener.distance_m:g} m", remedy="Take a larger distance or smaller offsets")  # fmt: skip
    return Path(length_m=length, angle_rad=math.acos(max(min(dz / length, 1.0), -1.0)))


def transfers(
    crossover: Crossover,
    data: Mapping[str, WayData],
    listener: Listener,
    frequency_hz: FloatArray,
    air: Air = STANDARD_AIR,
) -> dict[str, ComplexArray]:
    """Pressure at the listener per volt at each way's terminals, brought to 1 m by the listener's distance, shape (f,).

    Far-field pattern of a piston in a large baffle; travel time counts from the middle of the baffle.
    """
    k = 2.0 * math.pi * frequency_hz / air.speed_of_sound
    found = {}
    for way in crossover.ways:
        one, line = data[way.name], path(way.place_m, listener)
        pattern = directivity(k * one.radius_m, line.angle_rad)
        late = np.exp(-1j * k * (line.length_m - listener.distance_m))
        sign = -1.0 if way.inverted else 1.0
        found[way.name] = np.asarray(
            sign * one.pressure_pa_per_v * pattern * late * (listener.distance_m / line.length_m),
            dtype=np.complex128,
        )
    return found


def contributions(heard: Mapping[str, ComplexArray], solved: Solved) -> dict[str, ComplexArray]:
    """Pressure of each way per volt of the amplifier (Pa/V), shape (..., f)."""
    return {name: solved.way_v[name] * heard[name] for name in heard}


def total(parts: Mapping[str, ComplexArray]) -> ComplexArray:
    """The sum of all ways (Pa/V), shape (..., f)."""
    return np.asarray(sum(parts.values()), dtype=np.complex128)


def valid_range(
    parts: Mapping[str, ComplexArray], data: Mapping[str, WayData], frequency_hz: FloatArray
) -> tuple[float, float]:
    """Ends (Hz) of the widest stretch in which every way that counts holds; (nan, nan) where there is none."""
    sum_ = np.abs(total(parts))
    holds = np.ones(frequency_hz.shape, dtype=bool)
    for name, part in parts.items():
        low, high = data[name].valid_hz
        outside = (frequency_hz < low) | (frequency_hz > high)
        holds &= ~(outside & (np.abs(part) > 10.0 ** (HEARD_DB / 20.0) * sum_))
    cuts = np.flatnonzero(np.diff(np.concatenate([[0], holds.astype(int), [0]])))
    runs = list(zip(cuts[::2], cuts[1::2], strict=True))
    if not runs:
        return math.nan, math.nan
    start, stop = max(runs, key=lambda run: run[1] - run[0])
    return float(frequency_hz[start]), float(frequency_hz[stop - 1])


def directivity_index(
    crossover: Crossover, data: Mapping[str, WayData], solved: Solved, frequency_hz: FloatArray, *, distance_m: float = 10.0,
    air: Air = STANDARD_AIR, polar: int = 16, around: int = 24,
) -> FloatArray:  # fmt: skip
    """10 lg of the squared pressure on axis over its mean over the whole sphere (dB), the rear half being silent behind a large baffle.

    IEC 60268-5 cl. 23.3. Gauss-Legendre over the cosine of the angle, even steps around.
    """
    nodes, weights = np.polynomial.legendre.leggauss(polar)
    cosines, weights = 0.5 * (nodes + 1.0), 0.5 * weights
    axis = (
        np.abs(
            total(
                contributions(
                    transfers(crossover, data, Listener(distance_m=distance_m), frequency_hz, air), solved
                )
            )
        )
        ** 2
    )
    mean = np.zeros(frequency_hz.shape)
    for cosine, weight in zip(cosines, weights, strict=True):
        tilt = math.acos(float(cosine))
        for turn in 2.0 * math.pi * (np.arange(around) + 0.5) / around:
            up = math.asin(math.sin(tilt) * math.sin(turn))
            right = math.atan2(math.sin(tilt) * math.cos(turn), math.cos(tilt))
            there = Listener(
                distance_m=distance_m, horizontal_deg=math.degrees(right), vertical_deg=math.degrees(up)
            )
            heard = transfers(crossover, data, there, frequency_hz, air)
            mean += 0.5 * weight / around * np.abs(total(contributions(heard, solved))) ** 2
    with np.errstate(divide="ignore"):
        return np.asarray(10.0 * np.log10(axis / mean), dtype=np.float64)
