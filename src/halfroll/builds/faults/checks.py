"""Readings before they are weighed: which can be, which cannot be right, and each against its band."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from halfroll.builds.faults.ensemble import OTHER, Supposition
from halfroll.builds.faults.observe import (
    BAND_KEYS,
    KEYS,
    LOGARITHMIC,
    YES_NO_KEYS,
    from_scale,
    to_scale,
    u_in_scale,
)
from halfroll.builds.faults.types import Reference
from halfroll.builds.faults.weigh import Read
from halfroll.builds.faults.words import WORDS, told
from halfroll.builds.guide.judge import judge
from halfroll.builds.types import Band, CheckResult, Evidence
from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.phone.bands import bass_cuts

Outcome = Literal["good", "outside", "unsure", "not judged"]

ABSURD = 8.0
"""So many standard deviations from everything that any fault makes, a reading cannot be right (own choice)."""

AGREE = 3.0
"""Readings of one thing that differ by more of their standard uncertainties contradict each other (own choice)."""

LEAST_U: dict[str, float] = {
    "re_ohm": 0.003,
    "fs_hz": 0.005,
    "impedance_peak_ohm": 0.01,
    "qts": 0.01,
    "moving_mass_g": 0.003,
}
"""No reading is taken to be surer, share of it (own choice: leads, warmth of the coil, how often it was flexed)."""

LESS_IS_GOOD = frozenset({"thd_bass_percent", "residue_db"})
"""Readings of what should not be there: of these less than usual is no fault and no slip."""

_SLIPS = (10.0, 100.0, 1000.0, 0.1, 0.01, 0.001)


@dataclass(frozen=True, kw_only=True, eq=False)
class Sorted:
    """Readings that count, one of each kind (`taken`), the same for weighing (`read`), those left out, and what is said."""

    read: Read
    taken: tuple[Evidence, ...]
    left_out: tuple[Evidence, ...]
    verdicts: tuple[Verdict, ...]


def sort_out(evidence: Sequence[Evidence], supposed: Sequence[Supposition]) -> Sorted:
    """Merge readings of one kind, leave out what cannot be right, and say so."""
    said: list[Verdict] = []
    kept: list[Evidence] = []
    left: list[Evidence] = []
    for key in dict.fromkeys(one.key for one in evidence):
        same = [one for one in evidence if one.key == key]
        if key not in KEYS and key not in YES_NO_KEYS:
            left += same
            said.append(_unknown(key))
            continue
        reasons = [_cannot(one, supposed) for one in same]
        said += [why for why in reasons if why is not None]
        fit = [one for one, why in zip(same, reasons, strict=True) if why is None]
        left += [one for one in same if one not in fit]
        if fit:
            kept.append(_merged(fit, said))
    numbers = [one for one in kept if one.key in KEYS]
    numbers.sort(key=lambda one: KEYS.index(one.key))
    read = Read(
        at=tuple(KEYS.index(one.key) for one in numbers), values=np.array([_counted(one, supposed[0]) for one in numbers]),
        u=np.array([_u(one) for one in numbers]), seen={one.key: one.value for one in kept if one.key in YES_NO_KEYS}, cuts=_cuts(numbers),
    )  # fmt: skip
    return Sorted(read=read, taken=tuple(kept), left_out=tuple(left), verdicts=tuple(said))


def _counted(one: Evidence, good: Supposition) -> float:
    """A reading in the scale of its column; of what should not be there no less than good units may have."""
    value = to_scale(one.key, one.value)
    if one.key not in LESS_IS_GOOD:
        return value
    at = KEYS.index(one.key)
    return max(
        value, float(good.expected[0, at]) - 2.0 * math.hypot(math.sqrt(good.covariance[at, at]), _u(one))
    )


def _cuts(numbers: Sequence[Evidence]) -> FloatArray | None:
    """What a telephone's bass filters add to the readings it heard, (c, m); None where it heard none."""
    if not any(one.cut for one in numbers):
        return None
    cuts = bass_cuts()
    adds = {"thd_bass_percent": cuts.thd_log, "residue_db": cuts.residue_db}
    adds |= {key: cuts.band_db[:, number] for number, key in enumerate(BAND_KEYS)}
    nothing = np.zeros(len(cuts.thd_log))
    return np.stack([adds.get(one.key, nothing) if one.cut else nothing for one in numbers], axis=1)


def _u(one: Evidence) -> float:
    return max(u_in_scale(one.key, one.value, abs(one.u)), LEAST_U.get(one.key, 1e-3))


def _unknown(key: str) -> Verdict:
    return Verdict(code="reading-unknown", severity=Severity.NOTE, text=f"A reading {key} is not known here and was left out.",
                   remedy=f"Known are {', '.join((*KEYS, *YES_NO_KEYS))}.", data={"key": key})  # fmt: skip


def _cannot(one: Evidence, supposed: Sequence[Supposition]) -> Verdict | None:
    """Why a reading cannot be right; None where it can."""
    label = WORDS[one.key].label
    positive = one.key in LOGARITHMIC
    if (
        not math.isfinite(one.value)
        or not math.isfinite(one.u)
        or one.u < 0.0
        or (positive and one.value <= 0.0)
    ):
        return Verdict(code="reading-absurd", severity=Severity.CAUTION, text=f"{one.value:g} cannot be a {label}; it was left out.",
                       remedy="Type it again.", data={"key": one.key, "value": one.value})  # fmt: skip
    if one.key in YES_NO_KEYS or (
        one.key in LESS_IS_GOOD and to_scale(one.key, one.value) < _middle(one.key, supposed[0])
    ):
        return None
    if _far(one.key, one.value, one, supposed[:1]) <= ABSURD:
        return None
    far = _far(one.key, one.value, one, supposed)
    if far <= ABSURD:
        return None
    slip = next(
        (by for by in _SLIPS if positive and _far(one.key, one.value / by, one, supposed[:1]) < 3.0), None
    )
    meant = (
        ""
        if slip is None
        else f" {told(one.key, one.value / slip)} would be usual: a slip by a factor of {max(slip, 1.0 / slip):g}, or the wrong unit?"
    )
    return Verdict(
        code="reading-absurd", severity=Severity.CAUTION,
        text=f"{_capital(label)} of {told(one.key, one.value)} is far from anything a good or a faulty unit reads; it was left out.{meant}",
        remedy="Type it again, or take it again with another meter.", data={"key": one.key, "value": one.value, "distance": far, "slip": slip},
    )  # fmt: skip


def _middle(key: str, good: Supposition) -> float:
    """What a good unit reads, in the scale of its column."""
    return float(good.expected[0, KEYS.index(key)])


def _far(key: str, value: float, one: Evidence, supposed: Sequence[Supposition]) -> float:
    """Standard deviations to the nearest that any drawn unit would read; the first is without a fault, and something not known is no wider."""
    at, scaled = KEYS.index(key), to_scale(key, value)
    u = _u(one) if value == one.value else 0.02
    return min(
        float(np.min(np.abs(scaled - s.expected[:, at])) / math.hypot(math.sqrt((supposed[0] if s.key == OTHER else s).covariance[at, at]), u))
        for s in supposed
    )  # fmt: skip


def _merged(same: list[Evidence], said: list[Verdict]) -> Evidence:
    """Several readings of one thing as one, their weighted mean; wider where they disagree."""
    if len(same) == 1:
        return same[0]
    key = same[0].key
    if key in YES_NO_KEYS:
        values = [one.value for one in same]
        if min(values) < max(values):
            said.append(_contradict(key, values))
        return Evidence(key=key, value=sum(values) / len(values), u=0.5, how=same[0].how)
    scaled, u = np.array([to_scale(key, one.value) for one in same]), np.array([_u(one) for one in same])
    weights = u**-2 / np.sum(u**-2)
    mean = float(weights @ scaled)
    spread = float(np.sqrt(weights @ (scaled - mean) ** 2))
    if np.ptp(scaled) > AGREE * math.sqrt(2.0) * float(u.max()):
        said.append(_contradict(key, [one.value for one in same]))
    total = math.hypot(float(np.sum(u**-2) ** -0.5), spread)
    value = from_scale(key, mean)
    return Evidence(
        key=key, value=value, u=total * (value if key in LOGARITHMIC else 1.0), how=same[0].how, cut=any(one.cut for one in same)
    )  # fmt: skip


def _contradict(key: str, values: Sequence[float]) -> Verdict:
    label = WORDS[key].label
    return Verdict(
        code="readings-contradict", severity=Severity.CAUTION,
        text=f"Readings of {label} contradict each other: {', '.join(told(key, value) for value in values)}. Their mean was taken, and is trusted less.",
        remedy="Take it again.", data={"key": key, "values": list(values)},
    )  # fmt: skip


def band_of(key: str, good: Supposition, reference: Reference) -> Band | None:
    """What a good unit reads: as the assembly guide has it, else from the good units of the finder."""
    if key in reference.bands:
        return reference.bands[key]
    if key not in KEYS:
        return None
    at = KEYS.index(key)
    middle, u = float(good.expected[0, at]), math.sqrt(float(good.covariance[at, at]))
    low, high = (from_scale(key, middle + sign * 1.96 * u) for sign in (-1.0, 1.0))
    value = from_scale(key, middle)
    spread = u * (value if key in LOGARITHMIC else 1.0)
    words = WORDS[key]
    return Band(
        key=key,
        label=_capital(words.label),
        unit=words.unit,
        value=value,
        u_unit=spread,
        u_shared=0.0,
        low=low,
        high=high,
        source=reference.source,
    )


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def check_all(sorted_: Sorted, good: Supposition, reference: Reference) -> tuple[CheckResult, ...]:
    """Every reading against its band."""
    left = [
        CheckResult(
            evidence=one,
            band=band_of(one.key, good, reference),
            outcome="not judged",
            text="Left out: it cannot be right.",
        )
        for one in sorted_.left_out
    ]
    return (*(_check(one, good, reference) for one in sorted_.taken), *left)


def _check(one: Evidence, good: Supposition, reference: Reference) -> CheckResult:
    words = WORDS[one.key]
    if one.key in YES_NO_KEYS:
        doubt = one.key != "polarity" and 0.4 <= one.value <= 0.6
        fine = one.value > 0.0 if one.key == "polarity" else one.value < 0.4
        right = {
            "polarity": "with plus on plus the cone must move out",
            "rub": "it must move free and silent",
            "leak": "nothing may leak",
        }[one.key]
        outcome: Outcome = "unsure" if doubt else "good" if fine else "outside"
        return CheckResult(
            evidence=one,
            band=None,
            outcome=outcome,
            text=f"{_capital(words.label)}: {told(one.key, one.value)}; {right}.",
        )
    band = band_of(one.key, good, reference)
    if band is not None and one.key in LESS_IS_GOOD and one.value < band.low:
        read = told(one.key, one.value)
        return CheckResult(
            evidence=one, band=band, outcome="good", text=f"{band.label} {read}: good, no more than {told(one.key, band.high)}."
        )  # fmt: skip
    return judge(band, one.value, one.u, key=one.key, how=one.how)
