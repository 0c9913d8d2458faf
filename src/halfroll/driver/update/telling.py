"""Which further measurement would tell two explanations apart: the one they expect most differently, re its uncertainty."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.driver.predicted.types import Assumption
from halfroll.driver.update.causes import Linear
from halfroll.driver.update.problem import Problem
from halfroll.driver.update.types import Observation, Telling, ValueName

POSSIBLE: tuple[tuple[ValueName, float, str], ...] = (
    ("moving_mass_kg", 0.01, "the moving parts weighed before they are glued in"),
    ("re_ohm", 0.003, "the DC resistance by a four-wire meter"),
    ("mms_kg", 0.03, "an impedance run with a known mass on the cone, or on a closed box of known volume"),
    ("bl_n_per_a", 0.01, "the force factor by a known weight and a direct current"),
)
"""Measurements of a whole driver with the relative uncertainty a careful maker reaches (common practice)."""

DIRECT_SHARE = 0.3
"""A direct check of an assumption is taken to leave this share of its standard uncertainty (own choice)."""

ENOUGH = 2.0
"""Standard deviations apart from which a measurement is said to tell (own choice)."""


BY_KEY = {
    "modulus": "a strip calibration of the filament", "loss": "a strip calibration of the filament",
    "density": "a printed piece of known volume on the scales", "grams": "the printed part on the scales", "fill": "the printed part on the scales",
    "lines": "a strip printed with the same lines and filling, bent on the bench", "creep": "a strip under a weight, read after a minute and after an hour",
    "glue": "the parts on the scales before and after gluing", "leads": "the leads on the scales",
    "offset": "a depth gauge on the winding's place before it is glued in", "height": "a calliper on the winding",
    "section": "the resistance of a stated length of the wire by a four-wire meter",
    "reversible": "the impedance of the coil with the cone held fast",
}  # fmt: skip
"""What looks at an assumption by itself, by the last word of its key; by its kind where none is meant for it."""


def direct_check(one: Assumption) -> str:
    """The measurement that looks at an assumption by itself."""
    tail = one.key.rpartition(".")[2]
    if tail in BY_KEY and one.kind not in ("air", "entered"):
        return f"{BY_KEY[tail]} ({one.label})"
    words = {
        "magnet": "the flux density in the gap with a probe", "steel": "the flux density in the gap with a probe",
        "print": "a calliper or micrometer on the printed part", "winding": "the turns counted and the DC resistance by a meter",
        "assembly": "the parts on the scales, or a gauge in the gap, before they are glued in", "air": "thermometer and barometer",
        "entered": "measuring it by itself", "material": "a test piece of that material",
    }  # fmt: skip
    return f"{words[one.kind]} ({one.label})"


def tell_apart(
    problem: Problem, linear: Linear, z: FloatArray, first: Sequence[int], second: Sequence[int]
) -> tuple[Telling, ...]:
    """Measurements that would tell the explanation `first` from `second` (places of assumptions), the best first; at most three."""
    there = {one.name for one in problem.observations if one.kind == "value" and one.counted}
    observations = [
        Observation(kind="value", name=name, label=what, values=np.ones(1), u=np.array([u]))
        for name, u, what in POSSIBLE
        if name not in there
    ]
    slopes = np.zeros((0, problem.count))
    if observations:
        slopes = Problem(problem.predicted, observations, problem.air).jacobian(z)[:, : problem.count]
    found = [
        Telling(what=one.label, apart=_apart(linear, slopes[at], float(one.u[0]), first, second))
        for at, one in enumerate(observations)
    ]
    for member in sorted({*first} ^ {*second}):
        alone = np.zeros(problem.count)
        alone[member] = 1.0
        apart = _apart(linear, alone, DIRECT_SHARE, first, second)
        found.append(Telling(what=direct_check(problem.predicted.assumptions[member]), apart=apart))
    found.sort(key=lambda one: -one.apart)
    return tuple(one for one in found[:3] if one.apart > ENOUGH) or tuple(found[:1])


def _apart(linear: Linear, slope: FloatArray, u: float, first: Sequence[int], second: Sequence[int]) -> float:
    """How far apart two explanations expect a measurement with this slope, in standard deviations of its result."""
    expected, spread = [], []
    for members in (list(first), list(second)):
        _, mean, covariance = linear.evidence(np.array([members]))
        here = slope[members]
        expected.append(float(here @ mean[0]))
        spread.append(float(here @ covariance[0] @ here))
    return abs(expected[0] - expected[1]) / float(np.sqrt(u**2 + 0.5 * sum(spread)))
