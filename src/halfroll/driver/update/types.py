"""What is measured of a driver, and what it says of the assumptions its prediction rests on: value objects.

Inside, every measured number is a natural logarithm (or a phase in radians), so that an error is a ratio and a scale adds.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.verdicts import Verdict
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.types import Assumption, PredictedDriver

Kind = Literal["impedance", "modulus", "level", "distortion", "value"]
ValueName = Literal[
    "fs_hz", "qms", "qes", "re_ohm", "moving_mass_kg", "mms_kg", "bl_n_per_a", "cms_m_per_n", "rms_ns_per_m"
]

NEPER_DB = 8.685889638065036
"""Decibels of a neper, 20/ln 10."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Observation:
    """Something measured, with its uncertainty.

    Parameters
    ----------
    kind
        ``impedance``: complex (ohm); ``modulus``: of the impedance (ohm); ``level``: sound pressure in half space at 1 m on the piston's
        axis (dB re 20 µPa) at `drive_v`; ``distortion``: of order `order` (0: THD of orders 2 to 5) over the fundamental (1) at `drive_v`
        in an infinite baffle; ``value``: one small-signal parameter, `name` (SI).
    label
        In words.
    values
        Shape (n,).
    u
        Standard uncertainty of each that the others do not share, relative (1), of levels and distortion in dB, shape (n,).
    frequency_hz
        Shape (n,); empty for a single value.
    scales
        Scales it shares with other observations, by name, with their relative standard uncertainty (1): microphone, current, ...
    free_air
        Whether the driver hung in free air, where half the air of an infinite baffle moves with it.
    counted
        Whether it takes part; False: it is only shown (the resonance of a curve that is itself there).
    """

    kind: Kind
    label: str
    values: FloatArray | ComplexArray
    u: FloatArray
    frequency_hz: FloatArray = field(default_factory=lambda: np.zeros(0))
    name: ValueName | Literal[""] = ""
    order: int = 0
    drive_v: float = 0.0
    scales: tuple[tuple[str, float], ...] = ()
    free_air: bool = False
    counted: bool = True
    source: str = ""

    @property
    def key(self) -> str:
        """A word for machines."""
        if self.kind == "value":
            return self.name
        return self.kind if self.kind != "distortion" else "thd" if self.order == 0 else f"h{self.order}"


@dataclass(frozen=True, kw_only=True)
class Cause:
    """An assumption after the measurement, in its own standard uncertainties z before it.

    Parameters
    ----------
    z, u
        From all data with every assumption free: mean and standard uncertainty; u is 1 where the data say nothing of it.
    z_few, u_few
        The same if it is one of the few that moved, over all small sets with it, each as probable as the data make it.
    probability
        That it takes part in the explanation (1), out of the prior share `causes.moved_share`.
    moved
        Whether it belongs to the explanation that is most probable.
    value, value_u
        Its value after, in its own unit, with `z_few` and `u_few` where it moved, else as `z` and `u` say.
    """

    assumption: Assumption
    z: float
    u: float
    z_few: float
    u_few: float
    probability: float
    moved: bool
    value: float
    value_u: float

    @property
    def change(self) -> float:
        """Relative change of the value (1) where it moves by ratio, else the change in its unit."""
        one = self.assumption
        return self.value / one.value - 1.0 if one.by_ratio else self.value - one.value

    @property
    def informed(self) -> bool:
        """Whether the data narrow it by at least a tenth of a bit: u below 2^-0.1 (own choice)."""
        return self.u < INFORMED_BELOW


INFORMED_BELOW = 2.0**-0.1


@dataclass(frozen=True, kw_only=True)
class Explanation:
    """A small set of assumptions that explains the data, with where each would stand.

    `odds` is its evidence over that of the best one (a Bayes factor, 1 for the best), `probability` among all sets that were tried.
    """

    keys: tuple[str, ...]
    z: tuple[float, ...]
    u: tuple[float, ...]
    odds: float
    probability: float


@dataclass(frozen=True, kw_only=True)
class Alike:
    """Two causes the data cannot tell apart: `first` is in the explanation, `second` would explain about as well in its place.

    `odds`: evidence with the second over that with the first. `correlation` of both when all are free. `telling`: measurements that would
    tell them apart, the best first.
    """

    first: str
    second: str
    odds: float
    correlation: float
    telling: tuple[Telling, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Telling:
    """A measurement that would tell two explanations apart by so many standard deviations."""

    what: str
    apart: float


@dataclass(frozen=True, kw_only=True)
class Misfit:
    """Chi-squared of what is left when all assumptions and scales are free, re all that was allowed for.

    `probability` of as much or more if model and uncertainties are right; `stretches` say where more is left than one in a thousand
    (label, low Hz, high Hz, r.m.s. in standard uncertainties); `widened`: by what the uncertainties of an observation (label) were
    multiplied so that what is left counts as uncertainty.
    """

    chi_squared: float
    points: int
    probability: float
    stretches: tuple[tuple[str, float, float, float], ...] = ()
    widened: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class Residual:
    """Measured less predicted of one observation, and its shares; all in dB, or degrees in the rows that are phases.

    Parameters
    ----------
    difference
        Measured less predicted, shape (n,); (2n,) for a complex impedance: modulus, then phase.
    shares
        By key of an assumption that moved, then by name of a scale, each of the same shape.
    remainder
        What is left; shares and remainder add up to the difference.
    before, after, u
        What was predicted, what the explanation gives (as `Observation.values`), and the whole standard uncertainty of the datum (dB).
    """

    observation: Observation
    difference: FloatArray
    shares: tuple[tuple[str, FloatArray], ...]
    remainder: FloatArray
    before: FloatArray | ComplexArray
    after: FloatArray | ComplexArray
    u: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Update:
    """What the measurements say of the assumptions.

    Parameters
    ----------
    predicted
        As it was before.
    causes
        All assumptions, those that moved first, the farthest first.
    covariance
        Of z of all assumptions in the order of `predicted.assumptions`, every one free, shape (a, a).
    scales
        Scales of the measurement, by name: (where they stand, uncertainty), in their own standard uncertainties.
    explanation, others
        The most probable small set, and others that explain nearly as well.
    alike
        Pairs that cannot be told apart.
    misfit
        What is left.
    model
        The driver with the explanation's assumptions moved.
    residuals
        Difference by cause, one an observation.
    """

    predicted: PredictedDriver
    causes: tuple[Cause, ...]
    covariance: FloatArray
    scales: tuple[tuple[str, float, float], ...]
    explanation: Explanation
    others: tuple[Explanation, ...]
    alike: tuple[Alike, ...]
    misfit: Misfit
    model: DriverModel
    residuals: tuple[Residual, ...]
    verdicts: tuple[Verdict, ...] = ()

    def cause(self, key: str) -> Cause:
        """One of the assumptions; `KeyError` when there is none of that key."""
        for one in self.causes:
            if one.assumption.key == key:
                return one
        raise KeyError(key)

    @property
    def moved(self) -> dict[str, float]:
        """Where the explanation puts the assumptions that moved, in standard uncertainties, by key."""
        return dict(zip(self.explanation.keys, self.explanation.z, strict=True))


def value_at(one: Assumption, z: float) -> float:
    """An assumption's value when it moves by so many standard uncertainties: by its logarithm when `by_ratio`."""
    if one.by_ratio and one.value > 0.0:
        return float(one.value * np.exp(z * one.u / one.value))
    return one.value + z * one.u


def as_dict(explanation: Explanation) -> dict[str, Any]:
    """Plain values for JSON."""
    return {
        "assumptions": [
            {"key": key, "moved_sd": z, "u_sd": u}
            for key, z, u in zip(explanation.keys, explanation.z, explanation.u, strict=True)
        ],
        "bayes_factor": explanation.odds,
        "probability": explanation.probability,
    }
