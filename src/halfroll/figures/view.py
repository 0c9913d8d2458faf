"""One take as the figures see it: the response, the settings, and what several figures need of both."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from halfroll.core.errors import RefusedError
from halfroll.core.frequency import in_band, octave_weights
from halfroll.core.levels import DB_OF_RELATIVE, FloatArray
from halfroll.core.text import format_band
from halfroll.figures.types import FigureSettings
from halfroll.measure.analysis.distortion import BoolArray, Distortion, harmonic_distortion
from halfroll.measure.analysis.normalise import Normalised, at_reference
from halfroll.measure.analysis.response import Response

LEAST_COVERED = 0.5
"""Share of a band's octaves that must be measured for a mean over it."""


@dataclass(frozen=True, kw_only=True)
class Coverage:
    """How much of a band a take covers: the points to use (n_f,), the weight of each, and what to say."""

    mask: BoolArray
    weights: FloatArray
    missing: str = ""
    cautions: tuple[str, ...] = ()

    def mean(self, values: FloatArray) -> float:
        """Mean over the covered part of the band of values (n_f,), every octave weighing the same."""
        return float(np.sum(self.weights * values[self.mask]))


def nothing(missing: str) -> Coverage:
    """The coverage of a band about which nothing can be said."""
    return Coverage(mask=np.zeros(0, dtype=bool), weights=np.zeros(0), missing=missing)


@dataclass(frozen=True, kw_only=True)
class TakeView:
    """A response with the settings of the figures and the rated values of its version."""

    response: Response
    settings: FigureSettings
    rated_power_w: float | None = None

    @property
    def rated_impedance_ohm(self) -> float | None:
        """Rated impedance (ohm), or None."""
        return self.response.conditions.rated_impedance_ohm

    @cached_property
    def per_volt(self) -> Normalised | RefusedError:
        """Level per volt at 1 m, or why there is none."""
        try:
            return at_reference(self.response, drive_v=1.0)
        except RefusedError as refusal:
            return refusal

    @cached_property
    def distortion(self) -> Distortion:
        """THD(f) and orders, by the house's one rule."""
        return harmonic_distortion(self.response, self.settings.thd_reference)

    @cached_property
    def noise_u_db(self) -> FloatArray:
        """Standard uncertainty (n_f,) of the fundamental's level from noise (dB): half of its power lies in phase."""
        relative = np.nan_to_num(self.response.noise_pa[0], nan=0.0) / np.maximum(
            self.response.level_pa(), 1e-30
        )
        return np.asarray(DB_OF_RELATIVE * relative / np.sqrt(2.0))

    def coverage(self, band_hz: tuple[float, float], valid_hz: tuple[float, float]) -> Coverage:
        """The points of a band that lie in a valid range."""
        low, high = max(band_hz[0], valid_hz[0]), min(band_hz[1], valid_hz[1])
        share = np.log(high / low) / np.log(band_hz[1] / band_hz[0]) if high > low else 0.0
        if share <= 0.0:
            return nothing(f"Nothing of the band {format_band(band_hz)} was measured.")
        only = f"Only {format_band((low, high))} of the band {format_band(band_hz)} was measured."
        mask = in_band(self.response.frequency_hz, (low, high))
        if share < LEAST_COVERED or not mask.any():
            return nothing(only)
        weights = octave_weights(self.response.frequency_hz[mask], (low, high))
        return Coverage(mask=mask, weights=weights, cautions=(only,) if share < 0.98 else ())

    def gate_cautions(self, from_hz: float) -> tuple[str, ...]:
        """What to say when a figure reaches below the gate's limit."""
        limit = self.response.gate.valid_from_hz
        if from_hz >= limit:
            return ()
        return (f"Below {limit:.0f} Hz reflections of the room are in the measurement.",)
