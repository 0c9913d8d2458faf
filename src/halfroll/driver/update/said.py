"""What an update says in sentences."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

import numpy as np

from halfroll.core.text import format_band, format_percent, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.predicted.types import Assumption
from halfroll.driver.update.misfit import UNLIKELY
from halfroll.driver.update.problem import Problem
from halfroll.driver.update.types import Alike, Cause, Update

FAR = 2.5
"""Standard uncertainties from which a move is farther than a stated spread should allow (one in eighty; own choice)."""


def said(found: Update, problem: Problem) -> Update:
    """The same with its verdicts: what moved, what cannot be told apart, what is left, what was left out."""
    verdicts = [
        *_moved(found),
        *_alike(found),
        *_far(found),
        *_not_the_plastic(found),
        *_left(found),
        *_left_out(problem),
    ]
    return replace(found, verdicts=tuple(verdicts))


def moved_words(cause: Cause) -> str:
    """How far a cause moved, as a sentence."""
    one, change = cause.assumption, cause.change
    far = format_percent(abs(change)) if one.by_ratio else _in_unit(abs(change), cause.value_u, one.unit)
    side, sign = ("above", "+") if change > 0.0 else ("below", "−")
    return f"{_capital(one.label)}: {far} {side} what was assumed ({sign}{abs(cause.z_few):.1f} ± {cause.u_few:.1f} standard deviations)."


def _in_unit(value: float, u: float, unit: str) -> str:
    """Lengths in millimetres, as a maker measures them."""
    return format_value(1e3 * value, 1e3 * u, "mm") if unit == "m" else format_value(value, u, unit)


def _moved(found: Update) -> list[Verdict]:
    moved = [one for one in found.causes if one.moved]
    if not moved:
        return [Verdict(
            code="update-nothing-moved", severity=Severity.GOOD,
            text="Prediction and measurement agree within what was assumed: no assumption has to move.",
            remedy="", data={"probability": found.explanation.probability},
        )]  # fmt: skip
    return [
        Verdict(code="update-moved", severity=Severity.NOTE, text=moved_words(one), data={
            "assumption": one.assumption.key, "moved_sd": one.z_few, "u_sd": one.u_few, "probability": one.probability,
        })
        for one in moved
    ]  # fmt: skip


def _alike(found: Update) -> list[Verdict]:
    """One sentence a cause, with all that could stand in its place."""
    by_key = {one.key: one for one in found.predicted.assumptions}
    told = []
    ordered = sorted(found.alike, key=lambda one: one.first)
    for first, group in groupby(ordered, key=lambda one: one.first):
        pairs = sorted(group, key=lambda one: -one.odds)
        told.append(Verdict(
            code="update-causes-alike", severity=Severity.CAUTION,
            text=f"The data cannot tell {_inline(by_key[first])} from {_list([_inline(by_key[one.second]) for one in pairs[:3]])}.",
            remedy=_telling(pairs[0]),
            data={"first": first, "others": [{"key": one.second, "bayes_factor": one.odds, "correlation": one.correlation} for one in pairs]},
        ))  # fmt: skip
    return told


def _telling(one: Alike) -> str:
    if not one.telling:
        return ""
    return f"What would tell: {one.telling[0].what}."


def _far(found: Update) -> list[Verdict]:
    far = [one for one in found.causes if one.moved and abs(one.z_few) > FAR]
    if not far:
        return []
    named = _list([_inline(one.assumption) for one in far], "and")
    return [Verdict(
        code="update-assumption-far", severity=Severity.CAUTION,
        text=f"More than {FAR:g} standard deviations from what was assumed would be {named}.",
        remedy="A stated uncertainty may be too small, or something that is not in the list is at work: check by itself before accepting.",
        data={"assumptions": [{"key": one.assumption.key, "moved_sd": one.z_few} for one in far]},
    )]  # fmt: skip


def _not_the_plastic(found: Update) -> list[Verdict]:
    """A loss factor that moved up while the prediction leaves out another loss, which would be taken for the plastic's and handed on to other versions."""
    up = [
        one for one in found.causes if one.moved and one.change > 0.0 and one.assumption.key.endswith(".loss")
    ]
    if not up or not any(one.code == "air-pumping-left-out" for one in found.predicted.verdicts):
        return []
    named = _list([_inline(one.assumption) for one in up], "and")
    return [Verdict(
        code="update-loss-may-be-air", severity=Severity.CAUTION,
        text=f"The measured loss is higher than predicted, and {named} takes it all. Air pumped through the gap and under the spider and the cap loses, too, "
        "and the prediction leaves it out.",
        remedy="Do not accept this loss factor for other versions before a strip that rings, or a unit with an open former, says the same.",
        data={"assumptions": [one.assumption.key for one in up]},
    )]  # fmt: skip


def _left(found: Update) -> list[Verdict]:
    misfit = found.misfit
    if misfit.probability >= UNLIKELY:
        return []
    where = [_stretch(label, low, high) for label, low, high, _ in misfit.stretches[:3]]
    return [Verdict(
        code="update-unexplained", severity=Severity.CAUTION,
        text="Something is left that no assumption explains within its spread" + (f": {_list(where, 'and')}." if where else "."),
        remedy="Look there for what the model lacks (leak, rub, break-up, box, room). What is left was counted as uncertainty of the data.",
        data={"chi_squared": misfit.chi_squared, "points": misfit.points, "probability": misfit.probability,
              "stretches": [{"of": of, "low_hz": low, "high_hz": high, "rms_u": rms} for of, low, high, rms in misfit.stretches]},
    )]  # fmt: skip


def _stretch(label: str, low_hz: float, high_hz: float) -> str:
    """What is left, and where; NaN where it is one value."""
    name = label if label.isupper() else label.lower()
    if np.isnan(low_hz):
        return name
    if low_hz == high_hz:
        return f"{name} at {format_value(low_hz, None, 'Hz')}"
    return f"{name} from {format_band((low_hz, high_hz))}"


def _left_out(problem: Problem) -> list[Verdict]:
    if problem.steady.all():
        return []
    return [Verdict(
        code="update-tones-left-out", severity=Severity.NOTE,
        text="Some tones were left out: as predicted, the cone would leave the travel for which the model holds.",
        remedy="Measure distortion at a lower level, or compute the design for more travel.",
        data={"rows": int((~problem.steady).sum())},
    )]  # fmt: skip


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _inline(one: Assumption) -> str:
    return one.label


def _list(words: list[str], joint: str = "or") -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {joint} {words[-1]}"
