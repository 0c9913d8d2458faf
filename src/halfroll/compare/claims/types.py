"""What a written claim says, and what the figures say to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Relation = Literal["more than", "at least", "about", "stated", "at most", "less than"]
"""``stated``: a number without such a word, which must agree to the places it is given with."""

AmountUnit = Literal["octaves", "dB", "points", "Hz", "ohm", "g", "ratio", "percent", "any"]
"""``ratio``: times the other's value; ``percent``: by so many per cent of it; ``any``: no amount, only a direction."""

Outcome = Literal["borne", "not borne", "not shown", "not read"]
"""``not borne``: the figures say otherwise; ``not shown``: they lie the right way, but not clearly enough."""


@dataclass(frozen=True, kw_only=True)
class Amount:
    """How much: a number as written in `unit`, and half a step of its last place."""

    value: float
    unit: AmountUnit
    half_step: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Claim:
    """One sentence, read.

    Parameters
    ----------
    text
        The sentence as it was written.
    subject
        Version that is praised.
    figure, up
        The figure, and whether the claim is that it is higher.
    relation, amount
        How much at least, about or at most; None: no amount.
    others
        Versions it is held against; empty: the figure itself is stated.
    level_w
        Drive at which it is said to hold; None: that of the comparison.
    """

    text: str
    subject: str
    figure: str
    up: bool = True
    relation: Relation = "stated"
    amount: Amount | None = None
    others: tuple[str, ...] = ()
    level_w: float | None = None


@dataclass(frozen=True, kw_only=True)
class Checked:
    """What the figures say to a sentence: an outcome, the reason with numbers, and what may be written instead."""

    text: str
    outcome: Outcome
    reason: str
    instead: str = ""
    claim: Claim | None = None

    @property
    def refused(self) -> bool:
        """Whether it may not be printed beside the figures."""
        return self.outcome in ("not borne", "not shown")

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        claim = self.claim
        read = None if claim is None else {
            "version": claim.subject, "against": list(claim.others), "figure": claim.figure,
            "direction": "higher" if claim.up else "lower", "relation": claim.relation, "level_w": claim.level_w,
            "amount": None if claim.amount is None else {"value": claim.amount.value, "unit": claim.amount.unit},
        }  # fmt: skip
        return {"text": self.text, "outcome": self.outcome, "refused": self.refused, "reason": self.reason, "instead": self.instead,
                "read_as": read}  # fmt: skip
