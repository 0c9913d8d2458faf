"""A claim held against the figures: it stands when the whole 95 % interval lies where it says, and the numbers agree."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfroll.compare.claims.types import Amount, AmountUnit, Checked, Claim, Outcome
from halfroll.compare.types import Comparison, Difference
from halfroll.core.text import THIN, format_value
from halfroll.core.uncertainty import coverage_factor
from halfroll.figures.rules import RULE
from halfroll.figures.types import Figure, FigureSettings

ABOUT = 0.15
"""How far from a number something may lie that is called about it, as a share of it (own choice)."""

_GRAVITY: dict[Outcome, int] = {"borne": 0, "not read": 1, "not shown": 2, "not borne": 3}


@dataclass(frozen=True, kw_only=True)
class Measured:
    """What a claim speaks of, in its own unit: larger is more of it; half the 95 % interval (None: unknown), and bounds."""

    value: float
    half: float | None
    unit: AmountUnit
    bound: str | None = None

    @property
    def low(self) -> float:
        """Lower edge of the interval; minus infinity where it is not known."""
        return -math.inf if self.half is None or self.bound == "upper" else self.value - self.half

    @property
    def high(self) -> float:
        """Upper edge."""
        return math.inf if self.half is None or self.bound == "lower" else self.value + self.half


def check_claim(claim: Claim, comparison: Comparison) -> Checked:
    """What the figures of a comparison, with the claim's subject in it, say to the claim; of several others the worst counts.

    The comparison's differences must be taken against each of the others; see `recipe`.
    """
    if claim.level_w is not None and abs(claim.level_w - comparison.settings.level_w) > 1e-9:
        return Checked(text=claim.text, claim=claim, outcome="not shown",
                       reason=f"The figures are those at {comparison.settings.level_w:g} W, not at {claim.level_w:g} W.")  # fmt: skip
    if not claim.others:
        return _stated(claim, comparison.column(claim.subject).figures.get(claim.figure), comparison.settings)
    return _compared(claim, comparison)


def gravest(found: list[Checked]) -> Checked:
    """The one that speaks most strongly against the claim."""
    return max(found, key=lambda one: _GRAVITY[one.outcome])


def _stated(claim: Claim, figure: Figure | None, settings: FigureSettings) -> Checked:
    """A figure stated as a number."""
    rule = RULE[claim.figure]
    if figure is None or figure.value is None:
        why = "" if figure is None else figure.missing
        return _answer(claim, "not shown", f"{rule.label} of {claim.subject} is not known. {why}".strip())
    assert claim.amount is not None  # a statement has a number
    told = f"{rule.label} of {claim.subject}: {_shown(figure)}. {rule.text(settings)}."
    if not _fits(claim.amount.unit, figure.unit):
        return _answer(claim, "not read", f"{rule.label} is given in {figure.unit or 'no unit'}. {told}")
    found = Measured(value=figure.value, half=figure.expanded, unit=claim.amount.unit, bound=figure.bound)
    outcome, why = held(claim, found)
    return _answer(claim, outcome, f"{why} {told}".strip())


def _fits(unit: AmountUnit, of_figure: str) -> bool:
    return {"percent": "%", "dB": "dB", "Hz": "Hz", "ohm": "ohm", "g": "g"}.get(unit) == of_figure


def _compared(claim: Claim, comparison: Comparison) -> Checked:
    rule = RULE[claim.figure]
    difference = next(
        (d for d in comparison.differences if d.figure == claim.figure and d.version_id == claim.subject),
        None,
    )
    ours, theirs = (
        comparison.column(id_).figures.get(claim.figure) for id_ in (claim.subject, claim.others[0])
    )
    if difference is None or difference.value is None or ours is None or theirs is None:
        said = f"{rule.label} is not known of both." if difference is None else difference.sentence
        return _answer(claim, "not shown", said)
    if difference.outcome == "unknown":
        return _answer(
            claim, "not shown", f"The spread is not known, so nothing can be claimed. {difference.sentence}"
        )
    sign = 1.0 if claim.up else -1.0
    if sign * difference.value < 0.0 and (claim.amount is None or claim.amount.unit != "ratio"):
        return _answer(claim, "not borne", f"It is the other way round. {difference.sentence}", difference)
    if not difference.claimed:
        return _answer(claim, "not shown", difference.sentence, difference)
    if claim.amount is None:
        return _answer(claim, "borne", difference.sentence)
    found = _measured(claim, claim.amount, difference, ours, theirs)
    if found is None:
        return _answer(
            claim,
            "not read",
            f"{rule.label} differs in {rule.difference}, not in {claim.amount.unit}. {difference.sentence}",
        )
    outcome, why = held(claim, found)
    return _answer(claim, outcome, f"{why} {difference.sentence}".strip(), difference)


def _measured(
    claim: Claim, amount: Amount, difference: Difference, ours: Figure, theirs: Figure
) -> Measured | None:
    """The difference in the unit the claim is made in; None where that unit does not fit the figure."""
    sign = 1.0 if claim.up else -1.0
    assert difference.value is not None
    assert ours.value is not None
    assert theirs.value is not None
    unit = amount.unit
    if unit == difference.unit or (unit == "percent" and difference.unit == "percent"):
        return Measured(
            value=sign * difference.value,
            half=difference.expanded,
            unit=unit,
            bound=_turned(difference.bound, sign),
        )
    if unit in ("Hz", "ohm", "g") and ours.unit == unit:
        return Measured(
            value=sign * (ours.value - theirs.value),
            half=_half(ours, theirs, difference),
            unit=unit,
            bound=_turned(difference.bound, sign),
        )
    if unit in ("ratio", "percent") and ours.unit != "dB" and ours.value > 0.0 and theirs.value > 0.0:
        ratio = ours.value / theirs.value
        half = _relative_half(ours, theirs, difference)
        spread = None if half is None else ratio * half
        if unit == "ratio":
            return Measured(value=ratio, half=spread, unit=unit, bound=difference.bound)
        return Measured(value=100.0 * sign * (ratio - 1.0), half=None if spread is None else 100.0 * spread, unit=unit,
                        bound=_turned(difference.bound, sign))  # fmt: skip
    return None


def _turned(bound: str | None, sign: float) -> str | None:
    if bound is None or sign > 0.0:
        return bound
    return {"upper": "lower", "lower": "upper"}[bound]


def _half(ours: Figure, theirs: Figure, difference: Difference) -> float | None:
    """Half the 95 % interval of the plain difference; what both share is counted in both, which makes it no smaller."""
    if ours.u is None or theirs.u is None or difference.dof is None:
        return None
    return coverage_factor(difference.dof) * math.hypot(ours.u, theirs.u)


def _relative_half(ours: Figure, theirs: Figure, difference: Difference) -> float | None:
    """The same of the ratio, relative (JCGM 100, 5.1.6)."""
    if ours.u is None or theirs.u is None or difference.dof is None or not ours.value or not theirs.value:
        return None
    return coverage_factor(difference.dof) * math.hypot(ours.u / ours.value, theirs.u / theirs.value)


def held(claim: Claim, found: Measured) -> tuple[Outcome, str]:
    """Whether a measured amount bears the claimed one, and why not.

    ``more than`` and the like hold where the whole 95 % interval lies on the right side. A number without such a word must agree with the
    value to the places it is given with, ``about`` within 15 %; and neither may hide an interval wider than the number itself.
    """
    assert claim.amount is not None
    amount, shown, is_ = claim.amount.value, _number(claim.amount), _found(found)
    if claim.relation in ("more than", "at least"):
        if found.low >= amount:
            return "borne", ""
        if found.value < amount:
            return "not borne", f"It is {is_}, less than {shown}."
        return "not shown", f"It is {is_}, above {shown}, but the 95 % interval reaches below."
    if claim.relation in ("less than", "at most"):
        if found.high <= amount:
            return "borne", ""
        if found.value > amount:
            return "not borne", f"It is {is_}, more than {shown}."
        return "not shown", f"It is {is_}, below {shown}, but the 95 % interval reaches above."
    return _agrees(claim, found, amount, shown)


def _agrees(claim: Claim, found: Measured, amount: float, shown: str) -> tuple[Outcome, str]:
    """A number as such, or one that is said to be about right."""
    assert claim.amount is not None
    step = claim.amount.half_step
    room = max(step, ABOUT * abs(amount)) if claim.relation == "about" else step
    if found.bound is not None:
        return "not shown", "Only a bound is known."
    if abs(found.value - amount) > room * (1.0 + 1e-9):
        return (
            "not borne",
            f"It is {_found(found)}, not {'about ' if claim.relation == 'about' else ''}{shown}.",
        )
    if found.half is None:
        return "not shown", "The spread is not known."
    if claim.others and found.half > max(abs(amount), step):
        return "not shown", f"The 95 % interval is wider than {shown} itself."
    return "borne", ""


def _answer(claim: Claim, outcome: Outcome, reason: str, difference: Difference | None = None) -> Checked:
    return Checked(text=claim.text, claim=claim, outcome=outcome, reason=reason,
                   instead=_instead(claim, difference) if outcome in ("not borne", "not shown") else "")  # fmt: skip


def _instead(claim: Claim, difference: Difference | None) -> str:
    """What may be written: the lower edge of the interval, cut to what is certain."""
    if (
        difference is None
        or not difference.claimed
        or difference.value is None
        or difference.expanded is None
    ):
        return ""
    rule = RULE[claim.figure]
    edge = abs(difference.value) - difference.expanded
    step = {"dB": 0.5, "octaves": 0.1}.get(rule.difference)
    word = rule.more if difference.value > 0.0 else rule.less
    who = f"{claim.subject}, {rule.label.lower()}: "
    if step is None or edge < step:
        return f"{who}{word} than {claim.others[0]}"
    return f"{who}more than {format_value(math.floor(edge / step) * step, step, rule.difference, digits=1)} {word} than {claim.others[0]}"


def _number(amount: Amount) -> str:
    """The number as it was written."""
    return _with_unit(f"{amount.value:.4g}", amount.unit)


def _found(found: Measured) -> str:
    """The number it should be, to the place its interval reaches."""
    u = None if found.half is None else 0.5 * found.half
    return _with_unit(format_value(found.value, u, digits=1), found.unit)


def _with_unit(number: str, unit: AmountUnit) -> str:
    words = {"percent": "%", "ratio": "times", "any": ""}.get(unit, unit)
    return f"{number}{THIN}{words}".rstrip(THIN)


def _shown(figure: Figure) -> str:
    assert figure.value is not None
    half = figure.expanded
    u = figure.u
    edges = "" if half is None else ", 95 % " + " to ".join(
        format_value(figure.value + sign * half, u, figure.unit) for sign in (-1.0, 1.0)
    )  # fmt: skip
    return format_value(figure.value, u, figure.unit) + edges
