"""The words claims are made of: properties, amounts, and what stands before an amount."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from halfroll.compare.claims.types import Amount, AmountUnit, Relation


@dataclass(frozen=True, kw_only=True)
class Property:
    """A way of praising: the words (a pattern), the figure meant, whether it is to be higher."""

    words: str
    figure: str
    up: bool


# The first that fits counts, so what is said more closely stands before what is said loosely.
COMPARATIVES = tuple(
    Property(words=words, figure=figure, up=up)
    for words, figure, up in (
        (r"louder at (?:its|full|the) (?:maximum|limit|power)|(?:plays|goes) louder|(?:higher|more) maximum level|more level at (?:its )?(?:limit|maximum)",
         "max_level_db", True),
        (r"lower maximum level", "max_level_db", False),
        (r"(?:less|lower) (?:worst|highest|peak)[- ](?:case )?distortion|(?:less|lower) distortion at (?:its|the) worst|cleaner at (?:its|the) worst",
         "thd_worst_percent", False),
        (r"(?:more|higher) (?:worst|highest|peak)[- ](?:case )?distortion", "thd_worst_percent", True),
        (r"(?:less|lower)(?: mean| average| bass)? distortion|cleaner(?: in the bass)?|less distorted", "thd_mean_percent", False),
        (r"(?:more|higher)(?: mean| average| bass)? distortion|more distorted", "thd_mean_percent", True),
        (r"less second harmonic", "h2_percent", False),
        (r"less third harmonic", "h3_percent", False),
        (r"deeper(?: in the bass| down)?|lower(?: down)? in the bass|(?:reaches|goes|extends) lower|lower lower limit|more bass extension",
         "lower_limit_hz", False),
        (r"less deep|higher lower limit", "lower_limit_hz", True),
        (r"(?:reaches|goes|extends) higher|higher(?: up)? in the treble|higher upper limit|wider to the top", "upper_limit_hz", True),
        (r"lower upper limit", "upper_limit_hz", False),
        (r"more sensitive|louder(?: at 1 ?w)?|higher sensitivity|more sensitivity", "sensitivity_db", True),
        (r"less sensitive|quieter|softer|lower sensitivity|less sensitivity", "sensitivity_db", False),
        (r"higher (?:fs|resonance frequency|resonance)", "fs_hz", True),
        (r"lower (?:fs|resonance frequency|resonance)", "fs_hz", False),
        (r"higher qts", "qts", True),
        (r"lower qts", "qts", False),
        (r"(?:more|higher|stronger) (?:bl|force factor)|stronger in the motor", "bl_n_per_a", True),
        (r"lighter(?: in the cone)?|less moving mass|lower moving mass", "mms_g", False),
        (r"heavier(?: in the cone)?|more moving mass|higher moving mass", "mms_g", True),
    )
)  # fmt: skip

SUPERLATIVES = tuple(
    Property(words=words, figure=figure, up=up)
    for words, figure, up in (
        (r"deepest|lowest in the bass", "lower_limit_hz", False),
        (r"most sensitive|loudest(?: at 1 ?w)?", "sensitivity_db", True),
        (r"cleanest|least distortion|lowest distortion|least distorted", "thd_mean_percent", False),
        (r"highest maximum level", "max_level_db", True),
        (r"lightest", "mms_g", False),
    )
)

# Statements of a figure; {n} is where the number stands.
STATED = tuple(
    Property(words=words, figure=figure, up=up)
    for words, figure, up in (
        (r"(?:down to|lower limit(?: of| is| at)?|bass (?:extends )?down to|f3 of) ?{n}", "lower_limit_hz", False),
        (r"(?:up to|upper limit(?: of| is| at)?) ?{n}", "upper_limit_hz", True),
        (r"sensitivity(?: of| is|:)? ?{n}|{n} (?:of )?sensitivity|{n} (?:at|for) (?:1|one) ?w(?:att)?(?: ?(?:/|and|at)? ?1 ?m)?", "sensitivity_db", True),
        (r"maximum level(?: of| is|:)? ?{n}|plays (?:up )?to {n}", "max_level_db", True),
        (r"{n} (?:of )?distortion at (?:its|the) worst|worst distortion(?: of| is|:)? ?{n}", "thd_worst_percent", False),
        (r"{n} (?:of )?(?:mean |average )?distortion|(?:mean |average )?distortion(?: of| is|:)? ?{n}", "thd_mean_percent", False),
        (r"(?:resonance(?: frequency)?|fs)(?: of| is| at|:)? ?{n}", "fs_hz", False),
        (r"qts(?: of| is|:)? ?{n}", "qts", False),
        (r"moving mass(?: of| is|:)? ?{n}|mms(?: of| is|:)? ?{n}", "mms_g", False),
    )
)  # fmt: skip

RELATIONS: Mapping[str, Relation] = {
    "well over": "more than", "more than": "more than", "over": "more than", "above": "more than", "at least": "at least",
    "no less than": "at least", "about": "about", "around": "about", "roughly": "about", "some": "about", "nearly": "about", "almost": "about",
    "less than": "less than", "under": "less than", "below": "less than", "at most": "at most", "no more than": "at most",
}  # fmt: skip
"""Words before an amount."""

RELATION = "|".join(sorted(RELATIONS, key=len, reverse=True))

_UNITS: Mapping[str, tuple[AmountUnit, float]] = {
    "db": ("dB", 1.0), "decibel": ("dB", 1.0), "decibels": ("dB", 1.0), "octave": ("octaves", 1.0), "octaves": ("octaves", 1.0),
    "hz": ("Hz", 1.0), "hertz": ("Hz", 1.0), "khz": ("Hz", 1e3), "ohm": ("ohm", 1.0), "ohms": ("ohm", 1.0), "g": ("g", 1.0), "grams": ("g", 1.0),
    "gram": ("g", 1.0), "%": ("percent", 1.0), "percent": ("percent", 1.0), "per cent": ("percent", 1.0),
    "percentage points": ("points", 1.0), "points": ("points", 1.0), "times": ("ratio", 1.0),
}  # fmt: skip
UNIT = "|".join(re.escape(unit) for unit in sorted(_UNITS, key=len, reverse=True))
NUMBER = r"\d+(?:\.\d+)?"

_COUNTS = {"a": 1.0, "an": 1.0, "one": 1.0, "two": 2.0, "three": 3.0, "four": 4.0, "five": 5.0, "six": 6.0, "half an": 0.5, "half a": 0.5, "a third of an": 1.0 / 3.0,
           "a quarter of an": 0.25, "one and a half": 1.5}  # fmt: skip
_COUNT = "|".join(sorted(_COUNTS, key=len, reverse=True))
SHARES: Mapping[str, float] = {
    "half": 0.5, "a half": 0.5, "a third": 1.0 / 3.0, "one third": 1.0 / 3.0, "a quarter": 0.25, "two thirds": 2.0 / 3.0, "a fifth": 0.2, "a tenth": 0.1,
    "twice": 2.0, "double": 2.0,
}  # fmt: skip
SHARE = "|".join(sorted(SHARES, key=len, reverse=True))

AMOUNT = rf"(?:(?P<number>{NUMBER}) ?(?P<unit>{UNIT})(?![a-z])|(?P<count>{_COUNT}) (?P<counted>octaves?|decibels?))"
"""A number with its unit, or a word for one."""

IN_WORDS = 0.1
"""A number in words, such as an octave, is taken to be meant within ten per cent (own choice)."""

_OF_FIGURES = (
    "distortion|sensitivity|maximum level|lower limit|upper limit|moving mass|force factor|resonance"
)
_TIMES = rf"{SHARE}|halves|halved|doubles|doubled|{NUMBER} times"

NUMBERISH = re.compile(
    rf"(?<![\w/])\d|\b(?:two|three|four|five|six|seven|eight|nine|ten|twelve|twenty|{'|'.join(SHARES)}|times|{'|'.join(u for u in _UNITS if len(u) > 1)})\b",
    re.IGNORECASE,
)
"""What an amount is made of; where it is left over, the amount was not read."""

TELLING = re.compile(
    rf"\b(?:{'|'.join(p.words for p in (*COMPARATIVES, *SUPERLATIVES))}|as loud)\b|{NUMBER} ?(?:db|octaves?|hz|khz|%)(?![a-z])"
    rf"|\b(?:{_TIMES})\b.*\b(?:{_OF_FIGURES})\b|\b(?:{_OF_FIGURES})\b.*\b(?:than|{_TIMES})\b", re.IGNORECASE
)  # fmt: skip
"""What makes a sentence one that claims something."""


def amount_of(found: re.Match[str]) -> Amount:
    """The amount in a match of `AMOUNT`."""
    if found["number"] is not None:
        unit, factor = _UNITS[found["unit"].lower()]
        places = len(found["number"].partition(".")[2])
        return Amount(
            value=factor * float(found["number"]), unit=unit, half_step=0.5 * factor * 10.0**-places
        )
    value = _COUNTS[found["count"].lower()]
    unit, _ = _UNITS[found["counted"].lower()]
    return Amount(value=value, unit=unit, half_step=IN_WORDS * value)
