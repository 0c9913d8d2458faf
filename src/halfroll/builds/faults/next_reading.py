"""Which reading not taken yet would take away most of the doubt (expected drop of entropy over suppositions; D. V. Lindley 1956).

Each candidate is played through: units are drawn as probable as they are now, the reading is drawn for each, and Bayes' rule is applied again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from halfroll.builds.faults.ensemble import GOOD, OTHER, SEVERAL, Supposition
from halfroll.builds.faults.kinds import BY_KEY
from halfroll.builds.faults.observe import KEYS, YES_NO_KEYS, from_scale, u_in_scale
from halfroll.builds.faults.weigh import MISTAKEN, Read, Weighed, doubt_of
from halfroll.builds.faults.words import WORDS
from halfroll.builds.types import NextReading
from halfroll.core.levels import FloatArray

CANDIDATES = (
    "re_ohm", "fs_hz", "impedance_peak_ohm", "qts", "moving_mass_g", "rest_height_mm", "stiffness_n_per_mm", "magnet_pull", "polarity", "rub", "leak",
    "thd_bass_percent", "residue_db", "band_50_80_db", "band_80_125_db", "band_2500_5000_db",
)  # fmt: skip
"""What a builder can read by hand or with a phone."""

PLAYED, KEPT = 300, 1500
LEAST_GAIN = 0.02
SHOWN = 4
_SEED = 71


def next_readings(read: Read, supposed: Sequence[Supposition], weighed: Weighed) -> tuple[NextReading, ...]:
    """The readings that help most, best first; none where there is no doubt left."""
    names, doubt = _groups(supposed, weighed)
    if doubt < 0.02:
        return ()
    taken = {KEYS[at] for at in read.at} | set(read.seen)
    found = []
    for key in CANDIDATES:
        if key in taken:
            continue
        left, apart = _left(key, read, supposed, weighed, names)
        gain = max(0.0, 1.0 - left / doubt)
        if gain >= LEAST_GAIN:
            found.append(
                NextReading(key=key, label=WORDS[key].label, how=WORDS[key].how, gain=gain, apart=apart)
            )
    return tuple(sorted(found, key=lambda one: -one.gain)[:SHOWN])


def _groups(supposed: Sequence[Supposition], weighed: Weighed) -> tuple[list[str], float]:
    """Suppositions taken together by key, and their entropy (nat)."""
    names = list(dict.fromkeys(one.key for one in supposed))
    total = np.zeros(len(names))
    for one, p in zip(supposed, weighed.probability, strict=True):
        total[names.index(one.key)] += p
    return names, _entropy(total)


def _entropy(p: FloatArray) -> float:
    inside = p[p > 1e-12]
    return float(-np.sum(inside * np.log(inside)))


def _left(
    key: str, read: Read, supposed: Sequence[Supposition], weighed: Weighed, names: list[str]
) -> tuple[float, tuple[str, ...]]:
    """Entropy to be expected after a reading, and which suspects it tells apart."""
    groups, weights, middles, spreads = [], [], [], []
    for one, p, w in zip(supposed, weighed.probability, weighed.weights, strict=True):
        if p < 1e-4:
            continue
        middle, spread = _told(key, read, one)
        groups.append(np.full(len(w), names.index(one.key)))
        weights.append(p * w)
        middles.append(middle)
        spreads.append(np.full(len(w), spread))
    group, weight, wanted, wide = (np.concatenate(one) for one in (groups, weights, middles, spreads))
    most = np.argsort(-weight)[:KEPT]
    group, weight, wanted, wide = group[most], weight[most] / weight[most].sum(), wanted[most], wide[most]
    if key in YES_NO_KEYS:
        after, chance = _yes_no(group, weight, wanted, len(names))
    else:
        after, chance = _numbers(group, weight, wanted, wide, len(names))
    left = float(sum(c * _entropy(p) for c, p in zip(chance, after, strict=True)))
    return left, _apart(key, group, weight, wanted, wide, names)


def _told(key: str, read: Read, one: Supposition) -> tuple[FloatArray, float]:
    """Of each draw what the reading will be, given those taken, and its standard deviation; of yes or no the chance of yes."""
    if key == "polarity":
        return np.where(one.polarity > 0.0, 1.0 - MISTAKEN, MISTAKEN), 0.0
    if key in YES_NO_KEYS:
        return np.asarray(one.rub if key == "rub" else one.leak), 0.0
    at = KEYS.index(key)
    error = _usual(key, one.expected[:, at]) ** 2
    if not read.at:
        return one.expected[:, at], math.sqrt(one.covariance[at, at] + error)
    known = one.covariance[np.ix_(read.at, read.at)] + doubt_of(read)
    across = np.linalg.solve(known, one.covariance[np.ix_(read.at, (at,))])[:, 0]
    middle = one.expected[:, at] + (read.values - read.added.mean(axis=0) - one.expected[:, read.at]) @ across
    variance = one.covariance[at, at] - float(across @ one.covariance[np.ix_(read.at, (at,))][:, 0])
    return middle, math.sqrt(max(variance, 0.0) + error)


def _usual(key: str, expected: FloatArray) -> float:
    """Usual standard uncertainty of a reading in its scale."""
    value = from_scale(key, float(np.median(expected)))
    return u_in_scale(key, value, WORDS[key].usual_u(value))


def _yes_no(
    group: np.ndarray, weight: FloatArray, chance: FloatArray, n: int
) -> tuple[list[FloatArray], list[float]]:
    after, chances = [], []
    for yes in (chance, 1.0 - chance):
        p = np.bincount(group, weight * yes, n)
        chances.append(float(p.sum()))
        after.append(p / max(p.sum(), 1e-300))
    return after, chances


def _numbers(
    group: np.ndarray, weight: FloatArray, middle: FloatArray, spread: FloatArray, n: int
) -> tuple[list[FloatArray], list[float]]:
    rng = np.random.default_rng(_SEED)
    picked = rng.choice(len(weight), PLAYED, p=weight)
    values = middle[picked] + spread[picked] * rng.standard_normal(PLAYED)
    density = weight * np.exp(-0.5 * ((values[:, None] - middle) / spread) ** 2) / spread
    after = np.stack([density[:, group == g].sum(axis=1) for g in range(n)], axis=1)
    after = after / np.maximum(after.sum(axis=1, keepdims=True), 1e-300)
    return list(after), [1.0 / PLAYED] * PLAYED


def _apart(
    key: str, group: np.ndarray, weight: FloatArray, middle: FloatArray, spread: FloatArray, names: list[str]
) -> tuple[str, ...]:
    """Labels of the probable suppositions whose readings differ most from each other."""
    rows = []
    for g, name in enumerate(names):
        here = group == g
        total = float(weight[here].sum()) if here.any() else 0.0
        if total > 0.03 and name != OTHER:
            mean = float(weight[here] @ middle[here]) / total
            wide = math.sqrt(float(weight[here] @ ((middle[here] - mean) ** 2 + spread[here] ** 2)) / total)
            rows.append((mean, wide, name))
    if len(rows) < 2:
        return ()
    rows.sort()
    best = max(
        ((b[0] - a[0]) / max(a[1] + b[1], 0.05), a[2], b[2])
        for i, a in enumerate(rows)
        for b in rows[i + 1 :]
    )
    return tuple(label_of(name) for name in best[1:])


def label_of(name: str) -> str:
    """A supposition in words."""
    return {GOOD: "no fault", SEVERAL: "several faults at once", OTHER: "something not known here"}.get(
        name
    ) or BY_KEY[name].label
