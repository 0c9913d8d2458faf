"""What a crossover needs to know of each driver, on one grid of frequencies, measured and predicted alike."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from halfroll.core.conditions import Space
from halfroll.core.errors import InputError
from halfroll.core.frequency import log_grid
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.verdicts import Verdict

PER_OCTAVE = 24
LOWEST_HZ, HIGHEST_HZ = 20.0, 20_000.0

PhaseFrom = Literal["computed", "measured", "minimum"]


@dataclass(frozen=True, kw_only=True, eq=False)
class WayData:
    """A driver in the crossover.

    Parameters
    ----------
    frequency_hz
        Shape (f,), ascending.
    impedance_ohm
        Impedance (ohm), shape (f,).
    pressure_pa_per_v
        Pressure on axis at 1 m per volt at the driver's terminals, travel time from its place taken off, shape (f,).
    radius_m
        Effective radius of the piston (m).
    valid_hz
        Where the pressure holds (Hz).
    space
        What it radiates into.
    phase
        Where the phase comes from: computed from a model, measured re the voltage, or minimum phase of the level.
    source
        In words, such as ``predicted``.
    rated_ohm, rated_w
        Rated impedance (ohm) and power (W) of the driver; None when not stated.
    displacement_m_per_v
        Displacement of the cone per volt at its terminals, shape (f,); None when not known.
    verdicts
        What must be said of it.
    """

    frequency_hz: FloatArray
    impedance_ohm: ComplexArray
    pressure_pa_per_v: ComplexArray
    radius_m: float
    valid_hz: tuple[float, float] = (0.0, float("inf"))
    space: Space = Space.HALF
    phase: PhaseFrom = "computed"
    source: str = "predicted"
    rated_ohm: float | None = None
    rated_w: float | None = None
    displacement_m_per_v: ComplexArray | None = None
    verdicts: tuple[Verdict, ...] = ()

    def at(self, frequency_hz: FloatArray) -> WayData:
        """The same on another grid; beyond its own the ends go on, the pressure no longer valid there."""
        low = max(self.valid_hz[0], float(self.frequency_hz[0]))
        high = min(self.valid_hz[1], float(self.frequency_hz[-1]))
        moved = self.displacement_m_per_v
        return replace(
            self, frequency_hz=frequency_hz, valid_hz=(low * (1 - 1e-9), high * (1 + 1e-9)),
            impedance_ohm=interpolated(self.frequency_hz, self.impedance_ohm, frequency_hz),
            pressure_pa_per_v=interpolated(self.frequency_hz, self.pressure_pa_per_v, frequency_hz),
            displacement_m_per_v=None if moved is None else interpolated(self.frequency_hz, moved, frequency_hz),
        )  # fmt: skip


def grid(low_hz: float = LOWEST_HZ, high_hz: float = HIGHEST_HZ) -> FloatArray:
    """The frequencies a crossover is worked out at (Hz)."""
    return log_grid(low_hz, high_hz, PER_OCTAVE)


def on_one_grid(ways: Mapping[str, WayData], frequency_hz: FloatArray) -> dict[str, WayData]:
    """All ways on one grid.

    Raises
    ------
    InputError
        An impedance is not finite, or has a negative real part that no driver has.
    """
    found = {name: data.at(frequency_hz) for name, data in ways.items()}
    for name, data in found.items():
        z = data.impedance_ohm
        if not np.all(np.isfinite(z)) or np.any(z.real <= 0.0):
            worst = float(frequency_hz[int(np.argmin(np.where(np.isfinite(z.real), z.real, -np.inf)))])
            raise InputError(f"The impedance of the way {name} must have a resistance above zero everywhere", key=name,
                             found=f"none at {worst:.0f} Hz", remedy="Look at its impedance measurement")  # fmt: skip
    return found


def interpolated(frequency_hz: FloatArray, values: ComplexArray, at_hz: FloatArray) -> ComplexArray:
    """Complex values (n,) at other frequencies (m,) by log magnitude and unwrapped phase over lg f, (m,); the ends go on."""
    good = np.isfinite(values) & (np.abs(values) > 0.0)
    if not good.any():
        return np.full(at_hz.shape, np.nan, dtype=np.complex128)
    x, at = np.log(frequency_hz[good]), np.log(at_hz)
    size = np.interp(at, x, np.log(np.abs(values[good])))
    angle = np.interp(at, x, np.unwrap(np.angle(values[good])))
    return np.asarray(np.exp(size + 1j * angle), dtype=np.complex128)
