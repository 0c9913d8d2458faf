"""From readings to a diagnosis: suppositions weighed, put into words, and what to read next."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Literal

import numpy as np

from halfroll.builds.faults.advice import CAUTIONS, REMEDIES
from halfroll.builds.faults.checks import Sorted, check_all, sort_out
from halfroll.builds.faults.ensemble import GOOD, OTHER, SEVERAL, Supposition, suppositions
from halfroll.builds.faults.kinds import BY_KEY
from halfroll.builds.faults.next_reading import next_readings
from halfroll.builds.faults.observe import KEYS
from halfroll.builds.faults.types import Mounted, Reference
from halfroll.builds.faults.weigh import Read, Weighed, distance_of, doubt_of, weigh
from halfroll.builds.faults.words import WORDS, chance, interval, size_of, told, told_scaled
from halfroll.builds.types import CheckResult, Diagnosis, Evidence, Suspect
from halfroll.core.progress import Progress, part, silent
from halfroll.core.text import format_percent, join_words
from halfroll.core.verdicts import Severity, Verdict

Outcome = Literal["no fault", "fault", "unclear", "too little"]

SURE = 0.5
"""Probability from which no fault, one fault or several are told (own choice: more likely than not)."""

UNCLEAR = 0.3
"""Share of all that is faulty from which several faults that explain more than one does, or one not known, are told before a single one (own
choice: a wrong fault costs a rebuild, an unclear one a reading)."""

BETTER = 2.0
"""So many times as well as its better half a pair must explain the readings to be needed (own choice)."""

UNLIKE = 1e-4
"""Chance of readings as far from what explains them best, below which nothing known explains them (own choice)."""

SEEN = 0.5
"""Share of the faults that would show in these readings, below which nothing found means little (own choice)."""

REMOTE = 0.1
"""Probability up to which a suspect is not named in the sentence (own choice)."""

MENTIONED = 0.15
"""Probability from which several faults at once are mentioned beside the first (own choice)."""

SHOWN, LEAST_SHOWN = 5, 0.01


def find_faults(
    reference: Reference, evidence: Sequence[Evidence], *, mounted: Mounted | None = None, supposed: Sequence[Supposition] | None = None,
    ahead: bool = True, progress: Progress = silent,
) -> Diagnosis:  # fmt: skip
    """What is likely wrong with a unit.

    Parameters
    ----------
    reference
        Of its version, from `reference.reference_of`.
    evidence
        What was read; keys as in `observe.KEYS` and `YES_NO_KEYS`, in any order, as few as there are.
    mounted
        How the unit was mounted, if unlike the reference's.
    supposed
        From `ensemble.suppositions` with the same reference and mounting, to save the drawing when many units are looked at.
    ahead
        Whether to work out the next reading, the longer part of the work.
    """
    if supposed is None:
        supposed = suppositions(reference, mounted, part(progress, 0.0, 0.7))
    sorted_ = sort_out(evidence, supposed)
    progress(0.75, "weighing the readings")
    weighed = weigh(sorted_.read, supposed)
    progress(0.85, "choosing the next reading")
    following = next_readings(sorted_.read, supposed, weighed) if ahead else ()
    suspects = _suspects(sorted_.read, supposed, weighed, reference)
    outcome, data = _outcome(sorted_.read, supposed, weighed)
    data["sizes"] = {one.fault: _size(one.fault, supposed, weighed) for one in suspects}
    progress(1.0, "done")
    checks = check_all(sorted_, supposed[0], reference)
    return Diagnosis(
        outcome=outcome, checks=checks, suspects=suspects, next_readings=following,
        said=_said(outcome, suspects, data, checks), verdicts=(*sorted_.verdicts, *_stands_alone(sorted_, outcome, supposed)), data=data,
    )  # fmt: skip


def _probability(key: str, supposed: Sequence[Supposition], weighed: Weighed) -> float:
    return float(sum(p for one, p in zip(supposed, weighed.probability, strict=True) if one.key == key))


def _outcome(read: Read, supposed: Sequence[Supposition], weighed: Weighed) -> tuple[Outcome, dict[str, Any]]:
    """What is said, and the numbers behind it."""
    good, several, other = (_probability(key, supposed, weighed) for key in (GOOD, SEVERAL, OTHER))
    single = 1.0 - good - several - other
    seen = shown_share(read, supposed)
    pairs = sorted(
        ((float(p), one.parts) for one, p in zip(supposed, weighed.probability, strict=True) if one.key == SEVERAL), reverse=True
    )[:3]  # fmt: skip
    data: dict[str, Any] = {
        "no_fault": good, "one_fault": single, "several": several, "something_else": other, "would_show": seen,
        "pairs": [{"faults": list(parts), "probability": p} for p, parts in pairs if p >= LEAST_SHOWN],
    }  # fmt: skip
    if _unlike(read, supposed, weighed):
        return "unclear", data
    if good >= SURE:
        return ("no fault" if seen >= SEEN else "too little"), data
    many = _needed(supposed, weighed) + other
    if (many > UNCLEAR * (many + single) and many > good) or several + other > max(single, good):
        return "unclear", data
    first = max(_chances(supposed, weighed).values(), default=0.0)
    return ("fault" if single >= good and first > good else "too little"), data


def _unlike(read: Read, supposed: Sequence[Supposition], weighed: Weighed) -> bool:
    """Whether even the most probable of no fault and one fault is far from what was read, as where readings contradict each other (chi-squared)."""
    from scipy.special import gammaincc

    _, number = max(
        (float(p), -n)
        for n, p in enumerate(weighed.probability)
        if len(supposed[n].parts) < 2 and supposed[n].key != OTHER
    )
    distance = distance_of(read, supposed[-number])
    return bool(read.at) and float(gammaincc(0.5 * len(read.at), 0.5 * distance)) < UNLIKE


def _needed(supposed: Sequence[Supposition], weighed: Weighed) -> float:
    """Probability of those pairs of faults that explain the readings better than either of the two alone: a second fault that cannot be seen
    in what was read comes with any first one by the priors alone, and says nothing.
    """
    explains = {
        one.key: p / one.prior
        for one, p in zip(supposed, weighed.probability, strict=True)
        if len(one.parts) == 1
    }
    return float(sum(
        p for one, p in zip(supposed, weighed.probability, strict=True)
        if len(one.parts) == 2 and p / one.prior > BETTER * max(explains[key] for key in one.parts)
    ))  # fmt: skip


def _chances(supposed: Sequence[Supposition], weighed: Weighed) -> dict[str, float]:
    """By fault how probable it is, alone or with another."""
    chance: dict[str, float] = {}
    for one, p in zip(supposed, weighed.probability, strict=True):
        for key in one.parts:
            chance[key] = chance.get(key, 0.0) + float(p)
    return chance


def shown_share(read: Read, supposed: Sequence[Supposition]) -> float:
    """Share of single faults, as often as they are, that these kinds of reading would have shown: units as drawn, read without a slip."""
    shown = total = 0.0
    good = supposed[0]
    error = (
        np.linalg.inv(good.covariance[np.ix_(read.at, read.at)] + doubt_of(read))
        if read.at
        else np.zeros((0, 0))
    )
    for one in supposed[1:]:
        if one.key in (SEVERAL, OTHER):
            continue
        off = one.expected[:, read.at] - good.expected[:, read.at]
        far = np.einsum("si,ij,sj->s", off, error, off) if read.at else np.zeros(len(one.expected))
        visible = far > 9.0
        if "polarity" in read.seen:
            visible = visible | (one.polarity < 0.0)
        for key, found in (("rub", one.rub), ("leak", one.leak)):
            if key in read.seen:
                visible = visible | (found > 0.5)
        shown += one.prior * float(visible.mean())
        total += one.prior
    return shown / total


def _suspects(
    read: Read, supposed: Sequence[Supposition], weighed: Weighed, reference: Reference
) -> tuple[Suspect, ...]:
    """Faults by how probable each is, alone or with another."""
    ranked = sorted(_chances(supposed, weighed).items(), key=lambda item: -item[1])[:SHOWN]
    singles = {one.key: number for number, one in enumerate(supposed) if len(one.parts) == 1}
    found: list[Suspect] = []
    for key, p in ranked:
        if p < LEAST_SHOWN and found:
            break
        number = singles[key]
        one, weights = supposed[number], weighed.weights[number]
        speaks, against = _evidence_words(read, one, weights, supposed[0])
        found.append(Suspect(
            fault=key, label=BY_KEY[key].label, probability=p, size=size_of(key, one.sizes, weights, reference), for_it=speaks,
            against_it=against, remedy=REMEDIES[key], caution=CAUTIONS[key],
        ))  # fmt: skip
    return tuple(found)


def _size(fault: str, supposed: Sequence[Supposition], weighed: Weighed) -> dict[str, float]:
    """Mean and 95 % interval of the first parameter of a fault that is alone, as `kinds` has it."""
    number = next(n for n, one in enumerate(supposed) if one.key == fault)
    mean, low, high = interval(supposed[number].sizes[:, 0], weighed.weights[number])
    return {"mean": mean, "low": low, "high": high}


def _evidence_words(
    read: Read, one: Supposition, weights: np.ndarray, good: Supposition
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Which readings speak for a fault and which against it, beside no fault, strongest first."""
    rows: list[tuple[float, str]] = []
    for place, at in enumerate(read.at):
        key, value = KEYS[at], float(read.values[place])
        expected = one.expected[:, at]
        middle = float(weights @ expected)
        own = math.sqrt(
            float(weights @ (expected - middle) ** 2) + one.covariance[at, at] + read.u[place] ** 2
        )
        usual = math.hypot(math.sqrt(good.covariance[at, at]), float(read.u[place]))
        tells = (
            0.5 * ((value - good.expected[0, at]) / usual) ** 2
            - 0.5 * ((value - middle) / own) ** 2
            + math.log(usual / own)
        )
        text = (
            f"{WORDS[key].label} {told_scaled(key, value, float(read.u[place]))}: a good unit reads "
            f"{told_scaled(key, float(good.expected[0, at]), usual)}, one with this fault about {told_scaled(key, middle, own)}"
        )
        rows.append((tells, text))
    for key, value in read.seen.items():
        yes = {
            "polarity": float(weights @ (one.polarity > 0.0)),
            "rub": float(weights @ one.rub),
            "leak": float(weights @ one.leak),
        }[key]
        usual_yes = {"polarity": 1.0, "rub": float(good.rub[0]), "leak": float(good.leak[0])}[key]
        said = value > 0.5
        here, there = (max(p if said else 1.0 - p, 0.02) for p in (yes, usual_yes))
        rows.append((math.log(here / there), f"{WORDS[key].label}: {told(key, value)}"))
    rows.sort(key=lambda row: -abs(row[0]))
    return tuple(text for tells, text in rows if tells > 1.0)[:4], tuple(
        text for tells, text in rows if tells < -1.0
    )[:4]


def _said(
    outcome: str, suspects: tuple[Suspect, ...], data: dict[str, Any], checks: tuple[CheckResult, ...]
) -> str:
    """The outcome as a sentence or two; of a unit without a fault also what lies outside its band nevertheless."""
    first = suspects[0] if suspects else None
    good, seen = data["no_fault"], data["would_show"]
    if outcome == "no fault":
        odd = [WORDS[one.evidence.key].label for one in checks if one.outcome == "outside"]
        again = f" Outside what is usual nevertheless: {join_words(odd)}; read it again." if odd else ""
        return (
            f"These readings are those of a good unit ({chance(good)} probable). They would have shown {format_percent(seen)} of the faults "
            f"looked for.{again}"
        )
    if outcome == "too little":
        if good >= SURE:
            return (
                f"Nothing read so far names a fault, but it would show only {format_percent(seen)} of the faults looked for: no fault is "
                f"{chance(good)} probable. Take the next reading."
            )
        return f"What was read tells too little to name a fault or to rule one out ({chance(good)} probable that there is none). Take the next reading."
    if first is None:
        return "Nothing that is known here explains the readings."
    if outcome == "unclear":
        among = join_words([one.label for one in suspects[:3] if one.probability > REMOTE])
        more = (
            f"Likely among them: {among}."
            if among
            else "None that is known here is likely by itself; take the next reading."
        )
        return f"No single fault explains these readings: there are several at once, something not known here, or a reading is wrong. {more}"
    size = f", {first.size}" if first.size else ""
    second = suspects[1] if len(suspects) > 1 and suspects[1].probability > REMOTE else None
    more = "" if second is None else f" Next: {second.label} ({chance(second.probability)})."
    several = data["several"] + data["something_else"]
    rest = (
        f" Several faults at once, or one not known here, are {chance(several)} probable."
        if several > MENTIONED
        else ""
    )
    return f"Most likely {first.label} ({chance(first.probability)} probable){size}.{more}{rest}"


def _stands_alone(sorted_: Sorted, outcome: str, supposed: Sequence[Supposition]) -> tuple[Verdict, ...]:
    """Where nothing fits: the reading without which all the others fit one story."""
    read = sorted_.read
    if outcome != "unclear" or len(read.at) + len(read.seen) < 4:
        return ()
    for place, at in enumerate(read.at):
        keep = [number for number in range(len(read.at)) if number != place]
        fewer = Read(
            at=tuple(read.at[n] for n in keep), values=read.values[keep], u=read.u[keep], seen=read.seen,
            cuts=None if read.cuts is None else read.cuts[:, keep],
        )  # fmt: skip
        weighed = weigh(fewer, supposed)
        good = _probability(GOOD, supposed, weighed)
        if good > 0.8:
            key = KEYS[at]
            return (Verdict(
                code="reading-stands-alone", severity=Severity.CAUTION,
                text=f"Without the {WORDS[key].label} all other readings are those of a good unit ({chance(good)} probable). It may be a slip.",
                remedy="Take it again before anything is rebuilt.", data={"key": key, "no_fault_without": good},
            ),)  # fmt: skip
    return ()
