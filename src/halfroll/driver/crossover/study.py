"""A crossover with its drivers, worked out whole."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.driver.crossover.circuit import circuit_of
from halfroll.driver.crossover.elements import Crossover
from halfroll.driver.crossover.network import Solved, solve
from halfroll.driver.crossover.responses import WayData, grid, on_one_grid
from halfroll.driver.crossover.results import Asked, Result
from halfroll.driver.crossover.said import verdicts_of
from halfroll.driver.crossover.stress import stresses, way_stresses
from halfroll.driver.crossover.summing import (
    Listener,
    contributions,
    directivity_index,
    path,
    total,
    transfers,
    valid_range,
)
from halfroll.driver.crossover.tolerance import band_db


def study(
    crossover: Crossover, ways: Mapping[str, WayData], asked: Asked | None = None, *, frequency_hz: FloatArray | None = None,
    air: Air = STANDARD_AIR, progress: Progress = silent,
) -> Result:  # fmt: skip
    """Work a crossover out: summed response with its band, impedance, what the parts bear, and what must be said.

    Parameters
    ----------
    crossover
        Ways with their elements.
    ways
        What is known of each way's driver, by name.
    asked
        Listener, rated impedance and power.
    frequency_hz
        Shape (f,); the house grid of 24 points an octave from 20 Hz to 20 kHz when None.

    Raises
    ------
    InputError
        The circuit cannot work (`circuit_of`), or a way has no driver.
    """
    wanted = asked or Asked()
    circuit = circuit_of(crossover)
    f = grid() if frequency_hz is None else frequency_hz
    missing = [way.name for way in crossover.ways if way.name not in ways]
    if missing:
        raise InputError(
            "Every way must have a driver", key=missing[0], found=f"none for {', '.join(missing)}"
        )
    data = on_one_grid({way.name: ways[way.name] for way in crossover.ways}, f)
    loads = {name: one.impedance_ohm for name, one in data.items()}
    progress(0.1, "solving the circuit")
    solved = solve(circuit, f, loads)
    heard = transfers(crossover, data, wanted.listener, f, air)
    parts = contributions(heard, solved)
    progress(0.3, "trying the parts' tolerances")
    low, high = band_db(circuit, f, loads, heard, wanted.method)
    progress(0.7, "looking from aside")
    bare = Result(
        crossover=crossover, asked=wanted, frequency_hz=f, data=data, parts=parts, total=total(parts), low_db=low, high_db=high,
        alone=heard, off_axis=_off_axis(crossover, data, solved, wanted, f, air), way_v=solved.way_v,
        way_source_ohm=solved.source_ohm, input_ohm=solved.input_ohm, directivity_db=directivity_index(crossover, data, solved, f, air=air),
        arrival_s=_arrivals(crossover, wanted.listener, air), valid_hz=valid_range(parts, data, f),
        stresses=stresses(circuit, solved, wanted.drive_v), way_stresses=way_stresses(circuit, solved, wanted.drive_v),
        crossings_hz=crossings(parts, f), verdicts=(), **_minimum(solved.input_ohm, f),
    )  # fmt: skip
    return replace(bare, verdicts=verdicts_of(bare))


def crossings(
    parts: Mapping[str, ComplexArray], frequency_hz: FloatArray
) -> tuple[tuple[str, str, float], ...]:
    """Where one way hands over to another: the loudest way before, the loudest after, and the frequency (Hz)."""
    names = list(parts)
    sizes = np.array([np.abs(parts[name]) for name in names])
    loudest = np.argmax(sizes, axis=0)
    found = []
    for i in np.flatnonzero(np.diff(loudest)):
        a, b = loudest[i], loudest[i + 1]
        before, after = np.log(sizes[a, i] / sizes[b, i]), np.log(sizes[a, i + 1] / sizes[b, i + 1])
        share = 0.5 if before == after else before / (before - after)
        where = math.exp(math.log(frequency_hz[i]) + share * math.log(frequency_hz[i + 1] / frequency_hz[i]))
        found.append((names[a], names[b], float(where)))
    return tuple(found)


def _off_axis(
    crossover: Crossover, data: Mapping[str, WayData], solved: Solved, asked: Asked, f: FloatArray, air: Air
) -> dict[tuple[float, float], ComplexArray]:
    """The sum at further angles to the right and upwards."""
    at = asked.listener
    found = {}
    for angle in asked.off_axis_deg:
        for right, up in ((angle, 0.0), (0.0, angle), (0.0, -angle)):
            there = (at.horizontal_deg + right, at.vertical_deg + up)
            if max(map(abs, there)) > 90.0:
                continue
            listener = Listener(distance_m=at.distance_m, horizontal_deg=there[0], vertical_deg=there[1])
            found[there] = total(contributions(transfers(crossover, data, listener, f, air), solved))
    return found


def _arrivals(crossover: Crossover, listener: Listener, air: Air) -> dict[str, float]:
    lengths = {way.name: path(way.place_m, listener).length_m for way in crossover.ways}
    nearest = min(lengths.values())
    return {name: (length - nearest) / air.speed_of_sound for name, length in lengths.items()}


def _minimum(input_ohm: ComplexArray, f: FloatArray) -> dict[str, float]:
    at = int(np.argmin(np.abs(input_ohm)))
    return {"minimum_ohm": float(np.abs(input_ohm[at])), "minimum_hz": float(f[at])}
