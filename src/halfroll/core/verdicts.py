"""Verdicts: what is said about a recording or a result, in words, beside the number it touches."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import IntEnum
from typing import Any


class Severity(IntEnum):
    """How much a verdict weighs. `BAD` takes a recording out of the figures; `CAUTION` is shown beside them."""

    GOOD = 0
    NOTE = 1
    CAUTION = 2
    BAD = 3


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """One statement about a take or a comparison.

    Parameters
    ----------
    code
        A stable word for machines, such as ``clipped``.
    severity
        How much it weighs.
    text
        What happened and where, one or two short sentences.
    remedy
        What to do next, one sentence; empty when there is nothing to do.
    data
        Numbers behind the sentence, keys carry units.
    """

    code: str
    severity: Severity
    text: str
    remedy: str = ""
    data: dict[str, Any] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "code": self.code,
            "severity": self.severity.name.lower(),
            "text": self.text,
            "remedy": self.remedy,
            "data": self.data,
        }

    @staticmethod
    def from_dict(raw: dict[str, Any]) -> Verdict:
        """The inverse of `as_dict`."""
        return Verdict(
            code=raw["code"],
            severity=Severity[raw["severity"].upper()],
            text=raw["text"],
            remedy=raw["remedy"],
            data=raw["data"],
        )


def worst(verdicts: Iterable[Verdict]) -> Severity:
    """The highest severity among verdicts; `GOOD` when there are none."""
    return max((v.severity for v in verdicts), default=Severity.GOOD)
