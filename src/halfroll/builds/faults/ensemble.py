"""What each supposition expects to be read: draws of how large the fault is, and about each the spread of good units.

The spread is taken by first order in the logarithms of the readings about the middle size of each fault, so that it needs no draws of its own
and readings keep their correlations (JCGM 102:2011, propagation to several quantities).
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np

from halfroll.builds.faults.kinds import Fault, possible
from halfroll.builds.faults.many import Units, joined, units_of
from halfroll.builds.faults.observe import BAND_KEYS, BANDS_HZ, KEYS, Readings, observed, readings_of
from halfroll.builds.faults.types import Mounted, Reference
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.driver.predicted.packing import pack

GOOD, SEVERAL, OTHER = "no-fault", "several", "other"

DRAWS, PAIR_DRAWS, OTHER_DRAWS = 400, 36, 1500
KERNEL = 0.45
"""Width of the kernel about each draw of something not known, in their standard deviations: Silverman's rule for 1500 draws of six causes,
(4/(d + 2))^(1/(d + 4)) n^(-1/(d + 4)) (B. W. Silverman, "Density Estimation", 1986, from memory)."""

_SEED = 20_26
_STEP = 0.5

PRIOR_GOOD, PRIOR_SEVERAL, PRIOR_OTHER = 0.55, 0.09, 0.03
"""Before anything is read: no fault, several at once, something not known here; the rest is one fault (own choice: whoever looks has a reason)."""

MODEL_U: dict[str, float] = {
    "re_ohm": 0.004, "fs_hz": 0.015, "impedance_peak_ohm": 0.05, "qts": 0.05, "moving_mass_g": 0.01, "stiffness_n_per_mm": 0.08,
    "magnet_pull": 0.25, "rest_height_mm": 0.15, "level_db": 0.5, "thd_bass_percent": 0.4, "residue_db": 7.0, "phone_fs_hz": 0.06,
    "band_50_80_db": 1.0, "band_80_125_db": 0.8, "band_125_200_db": 0.8, "band_200_315_db": 0.8, "band_1250_2500_db": 3.0,
    "band_2500_5000_db": 5.0, "band_5000_10000_db": 7.0,
}  # fmt: skip
"""What the lumped driver leaves out, standard uncertainty in the scale of each reading (own choice): cone and surround in the treble,
memory of the suspension, warm-up, how a coin is read; of the residue how unlike good units are."""

ALIKE_OCTAVES = 1.0
"""Errors of neighbouring bands are alike: their correlation falls to 1/e over so many octaves (own choice: rooms and phones are broad)."""

OTHER_SPREAD = {"re": 0.25, "mms": 0.3, "rms": 0.7, "bl": 0.4, "k": 0.7, "le": 0.5}
"""Of something not known here: standard deviations of logarithms (own choice: about as far as the faults that are known reach)."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Supposition:
    """One supposition: what would be read, (s, k), at each drawn size; spread of good units and model (k, k); and what is seen by eye or ear.

    `sizes` (s, q) are the drawn parameters, `parts` the faults in it, `prior` before anything is read. `polarity`, `rub`, `leak` (s,): the
    first +1 or -1, the others probabilities.
    """

    key: str
    parts: tuple[str, ...]
    prior: float
    expected: FloatArray
    covariance: FloatArray
    polarity: FloatArray
    rub: FloatArray
    leak: FloatArray
    sizes: FloatArray


def suppositions(
    reference: Reference, mounted: Mounted | None = None, progress: Progress = silent
) -> tuple[Supposition, ...]:
    """No fault, each fault, two at once, something else; how units were mounted if unlike the reference's."""
    how, rng = readings_of(reference, mounted), np.random.default_rng(_SEED)
    base, faults = pack(reference.model), possible(reference)
    often = {one.key: one.often for one in faults}
    total = sum(often.values())
    single = 1.0 - PRIOR_GOOD - PRIOR_SEVERAL - PRIOR_OTHER
    found = [_good(reference, how, base)]
    for number, fault in enumerate(faults):
        progress(0.7 * number / len(faults), "drawing faulty units")
        found.append(_one(fault, reference, how, base, rng, single * often[fault.key] / total))
    progress(0.7, "drawing units with two faults")
    found += _pairs(faults, reference, how, base, rng, found[0].covariance)
    found.append(_other(reference, how, base, rng, found[0].covariance))
    progress(1.0, "drew faulty units")
    return tuple(found)


def _made(units: Units, how: Readings, key: str, parts: tuple[str, ...], prior: float, covariance: FloatArray, sizes: FloatArray) -> Supposition:  # fmt: skip
    return Supposition(
        key=key, parts=parts, prior=prior, expected=observed(units, how), covariance=covariance, polarity=units.polarity, rub=units.rub,
        leak=units.leak, sizes=sizes,
    )  # fmt: skip


def _good(reference: Reference, how: Readings, base: FloatArray) -> Supposition:
    units = units_of(base[None, :], reference.model)
    return _made(units, how, GOOD, (), PRIOR_GOOD, _spread(None, reference, how, base), np.zeros((1, 0)))


def _one(fault: Fault, reference: Reference, how: Readings, base: FloatArray, rng: np.random.Generator, prior: float) -> Supposition:  # fmt: skip
    sizes = fault.drawn(_evenly(DRAWS, len(fault.ranges), rng))
    units = fault.apply(units_of(np.tile(base, (DRAWS, 1)), reference.model), sizes, reference)
    return _made(units, how, fault.key, (fault.key,), prior, _spread(fault, reference, how, base), sizes)


def _evenly(n: int, q: int, rng: np.random.Generator) -> FloatArray:
    """Shares (n, q) of which each column is spread evenly (McKay, Beckman and Conover 1979)."""
    rows = [(rng.permutation(n) + rng.random(n)) / n for _ in range(q)]
    return np.stack(rows, axis=1)


def _spread(fault: Fault | None, reference: Reference, how: Readings, base: FloatArray) -> FloatArray:
    """Covariance (k, k) of readings among units with a fault of middle size: what differs between good units, and the model's own doubt."""
    rows = np.concatenate([base + _STEP * reference.steps, base - _STEP * reference.steps])
    units = units_of(rows, reference.model)
    rest = _STEP * np.concatenate([reference.rest_steps_mm, -reference.rest_steps_mm])
    units = units.put(rest_mm=rest)
    if fault is not None:
        middle = fault.drawn(np.full((1, len(fault.ranges)), 0.5))
        units = fault.apply(units, np.tile(middle, (len(rows), 1)), reference)
    read = observed(units, how)
    half = len(reference.steps)
    slopes = (read[:half] - read[half:]) / (2.0 * _STEP)
    return np.asarray(slopes.T @ slopes + alike(np.array([MODEL_U[key] for key in KEYS])))


def alike(u: FloatArray) -> FloatArray:
    """Covariance (k, k) of errors u (k,) in the order of `KEYS`: those of bands are alike, the others by themselves."""
    places = np.array([KEYS.index(key) for key in BAND_KEYS])
    middle = np.log2([np.sqrt(low * high) for low, high in BANDS_HZ])
    correlation = np.eye(len(KEYS))
    correlation[np.ix_(places, places)] = np.exp(-np.abs(middle[:, None] - middle) / ALIKE_OCTAVES)
    return np.asarray(np.outer(u, u) * correlation)


def _pairs(
    faults: tuple[Fault, ...], reference: Reference, how: Readings, base: FloatArray, rng: np.random.Generator, covariance: FloatArray
) -> list[Supposition]:  # fmt: skip
    """Two faults at once, each pair by itself; all read in one go."""
    pairs = list(itertools.combinations(faults, 2))
    weights = np.array([one.often * other.often for one, other in pairs])
    weights = PRIOR_SEVERAL * weights / weights.sum()
    heaps = []
    for one, other in pairs:
        units = units_of(np.tile(base, (PAIR_DRAWS, 1)), reference.model)
        for fault in (one, other):
            sizes = fault.drawn(_evenly(PAIR_DRAWS, len(fault.ranges), rng))
            units = fault.apply(units, sizes, reference)
        heaps.append(_even_branches(units, reference))
    together = joined(heaps)
    read, found = observed(together, how), []
    for number, (one, other) in enumerate(pairs):
        rows = slice(number * PAIR_DRAWS, (number + 1) * PAIR_DRAWS)
        found.append(Supposition(
            key=SEVERAL, parts=(one.key, other.key), prior=float(weights[number]), expected=read[rows], covariance=covariance,
            polarity=together.polarity[rows], rub=together.rub[rows], leak=together.leak[rows], sizes=np.zeros((PAIR_DRAWS, 0)),
        ))  # fmt: skip
    return found


def _even_branches(units: Units, reference: Reference) -> Units:
    """As many branches as the driver with a shorted turn has; what is not there has next to no inductance."""
    most = (1 if reference.model.L2 > 0.0 else 0) + len(reference.model.branches) + 1
    lacks = most - units.branch_l.shape[1]
    bent = max(0, max(3, len(reference.model.K)) - units.k.shape[1])
    return units.put(
        branch_l=np.pad(units.branch_l, ((0, 0), (0, lacks)), constant_values=1e-12),
        branch_r=np.pad(units.branch_r, ((0, 0), (0, lacks)), constant_values=1.0),
        k=np.pad(units.k, ((0, 0), (0, bent))),
    )


def _other(reference: Reference, how: Readings, base: FloatArray, rng: np.random.Generator, covariance: FloatArray) -> Supposition:  # fmt: skip
    """Something not known here: everything anywhere."""
    n = OTHER_DRAWS
    units = units_of(np.tile(base, (n, 1)), reference.model)
    by = {key: np.exp(sd * rng.standard_normal(n)) for key, sd in OTHER_SPREAD.items()}
    units = units.put(
        re=units.re * by["re"], mms=units.mms * by["mms"], rms=units.rms * by["rms"], bl=units.bl * by["bl"][:, None],
        k=units.k * by["k"][:, None], le=units.le * by["le"][:, None], polarity=np.where(rng.random(n) < 0.5, 1.0, -1.0), rub=np.full(n, 0.3),
        leak=np.full(n, 0.3), residue_db=rng.uniform(-55.0, -8.0, n), thd_ratio=np.exp(0.7 * rng.standard_normal(n)), rest_mm=1.5 * rng.standard_normal(n),
        pull=np.exp(0.4 * rng.standard_normal(n)), leak_q=np.exp(rng.uniform(np.log(0.3), np.log(20.0), n)),
    )  # fmt: skip
    made = _made(units, how, OTHER, (), PRIOR_OTHER, covariance, np.zeros((n, 0)))
    # Draws of so many causes lie far apart: each stands for those about it.
    between = KERNEL**2 * np.cov(made.expected.T)
    return replace(made, covariance=covariance + between)
