"""Uncertainty of a driver in a cabinet: first order, from what is not known of the driver."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.cabinet.types import Cabinet
from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.driver.boxed import BoxedReading, BoxedResponse, boxed_response, read_boxed
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.types import PredictedDriver

FIGURES = ("f3_hz", "f6_hz", "f10_hz", "peak_db", "group_delay_s", "fc_hz", "qtc")


def boxed_spread(
    predicted: PredictedDriver, cabinet: Cabinet, found: BoxedResponse, reading: BoxedReading, air: Air = STANDARD_AIR
) -> tuple[FloatArray, dict[str, float]]:  # fmt: skip
    """Standard uncertainty of the level (dB), shape (f,), and of the figures of `FIGURES` that exist.

    Each assumption is moved by one of its standard uncertainties; the changes add in squares. What is not sure of the cabinet is not in it.
    """
    level = np.zeros_like(found.frequency_hz)
    figures = dict.fromkeys(FIGURES, 0.0)
    for moved in _moved(predicted):
        other = boxed_response(moved, cabinet, found.frequency_hz, air=air)
        level += (other.level_db(1.0) - found.level_db(1.0)) ** 2
        read = read_boxed(moved, cabinet, other, air)
        for key in FIGURES:
            here, there = getattr(reading, key), getattr(read, key)
            figures[key] += 0.0 if here is None or there is None else (there - here) ** 2
    return np.sqrt(level), {
        key: float(np.sqrt(value)) for key, value in figures.items() if getattr(reading, key) is not None
    }


def _moved(predicted: PredictedDriver) -> list[DriverModel]:
    """The driver with each assumption moved that moves it at all."""
    moves: list[DriverModel] = []
    make: Callable[[str], DriverModel] = lambda key: predicted.moved({key: 1.0})  # noqa: E731
    for row, one in enumerate(predicted.assumptions):
        if not np.any(predicted.slopes[row]):
            continue
        try:
            moves.append(make(one.key))
        except InputError:  # no driver is like that: the assumption is too wide for first order
            continue
    return moves
