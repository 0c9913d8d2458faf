"""What a builder can read from a unit with what is in the house: its range, how well it is usually read, how it is typed."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from halfroll.core.errors import InputError


@dataclass(frozen=True, kw_only=True)
class ReadingKind:
    """One kind of reading.

    Parameters
    ----------
    key, label, unit
        Key (with its unit), words, unit as it is shown; empty of what is only seen.
    low, high
        Range of what can be.
    u_relative, u_absolute
        Standard uncertainty where none is stated, both parts together (own choice for the instrument of `usual`).
    units
        Other units it may be typed in, by what one is in `unit`.
    words
        Words that stand for a number.
    usual
        Instrument.
    hint
        How it is read, for a builder.
    """

    key: str
    label: str
    unit: str = ""
    low: float
    high: float
    u_relative: float = 0.0
    u_absolute: float = 0.0
    units: Mapping[str, float] = field(default_factory=dict)
    words: Mapping[str, float] = field(default_factory=dict)
    usual: str = ""
    hint: str = ""

    def usual_u(self, value: float) -> float:
        """Standard uncertainty of a value where none is stated."""
        return math.hypot(self.u_relative * value, self.u_absolute)

    def told(self, value: float) -> str:
        """The word for a value, where there are words."""
        return min(self.words, key=lambda word: abs(self.words[word] - value)) if self.words else ""


_OHM = {"ohm": 1.0, "ohms": 1.0, "Ω": 1.0, "kohm": 1e3, "kΩ": 1e3, "mohm": 1e-3, "mΩ": 1e-3}
_SEEN = "Push the cone in gently by three fingertips set evenly about its middle."

READINGS: dict[str, ReadingKind] = {
    kind.key: kind
    for kind in (
        ReadingKind(
            key="re_ohm", label="DC resistance", unit="ohm", low=0.1, high=1000.0, u_relative=0.01, u_absolute=0.1, units=_OHM,
            usual="multimeter", hint="Multimeter on its lowest ohm range at the terminals, nothing else connected, the leads' own value taken off.",
        ),
        ReadingKind(
            key="fs_hz", label="Resonance in free air", unit="Hz", low=5.0, high=2000.0, u_relative=0.03,
            units={"Hz": 1.0, "kHz": 1e3}, usual="tone and multimeter",
            hint="Driver lying free, magnet down; a quiet tone through a resistor of some 100 ohm: the frequency with most volts at the terminals.",
        ),
        ReadingKind(
            key="impedance_peak_ohm", label="Impedance at resonance", unit="ohm", low=1.0, high=2000.0, u_relative=0.08, units=_OHM,
            usual="tone and multimeter", hint="At that frequency: R times the volts at the terminals over those at the resistor R.",
        ),
        ReadingKind(
            key="qts", label="Qts", low=0.05, high=20.0, u_relative=0.08, usual="impedance", hint="From an impedance measurement in free air."
        ),
        ReadingKind(
            key="moving_mass_g", label="Moving mass", unit="g", low=0.05, high=1000.0, u_relative=0.01, u_absolute=0.1,
            units={"g": 1.0, "kg": 1e3, "mg": 1e-3}, usual="scale",
            hint="Weighed before it was glued in: cone, former, coil, half of surround and spider.",
        ),
        ReadingKind(
            key="rest_height_mm", label="Height of the coil over its drawn place", unit="mm", low=-20.0, high=20.0, u_absolute=0.3,
            units={"mm": 1.0, "cm": 10.0}, usual="ruler", hint="By ruler, cone at rest: how far it stands out (+) or in (-) from the drawing.",
        ),
        ReadingKind(
            key="stiffness_n_per_mm", label="Stiffness of the suspension", unit="N/mm", low=0.001, high=100.0, u_relative=0.15,
            units={"N/mm": 1.0, "N/m": 1e-3}, usual="weight and ruler",
            hint="Driver level, cone up: lay a known weight on the dust cap; its 9.81 N for a kilogram over the millimetres it sinks.",
        ),
        ReadingKind(
            key="magnet_pull", label="Pull of the magnet re a good one", low=0.01, high=5.0, u_relative=0.2, usual="hand",
            hint="How hard a steel screwdriver is held at the pole, beside a good unit: 1 is alike. Mind your fingers.",
        ),
        ReadingKind(
            key="polarity", label="Polarity", low=-1.0, high=1.0, u_absolute=0.05, words={"right": 1.0, "reversed": -1.0}, usual="cell",
            hint="A 1.5 V cell for half a second at most, + on the terminal marked +: the cone must jump out.",
        ),
        ReadingKind(
            key="rub", label="Rub", low=0.0, high=1.0, u_absolute=0.1, words={"none": 0.0, "some": 0.5, "clear": 1.0}, usual="ear",
            hint=f"{_SEEN} Listen and feel: does anything scrape?",
        ),
        ReadingKind(
            key="leak", label="Leak", low=0.0, high=1.0, u_absolute=0.1, words={"none": 0.0, "some": 0.5, "clear": 1.0}, usual="hand",
            hint=f"In its closed box. {_SEEN} A tight box lets it come back slowly; a leak lets it spring back at once.",
        ),
    )
}  # fmt: skip
"""By key, in the order in which a builder would take them."""

OPTIONS = {
    "re_ohm": "re", "fs_hz": "fs", "impedance_peak_ohm": "peak", "qts": "qts", "moving_mass_g": "mass", "rest_height_mm": "height",
    "stiffness_n_per_mm": "stiffness", "magnet_pull": "pull", "polarity": "polarity", "rub": "rub", "leak": "leak",
}  # fmt: skip
"""Short names, as on the command line."""

_TYPED = re.compile(
    r"\s*([-+−]?\d+(?:[.,]\d+)?(?:e[-+]?\d+)?)\s*([^\s\d±+-][^±]*?)?\s*(?:(?:±|\+-|\+/-)\s*(\d+(?:[.,]\d+)?)\s*([^\s\d]+)?)?\s*",
    re.IGNORECASE,
)


def typed_reading(key: str, text: str, *, name: str | None = None) -> tuple[float, float | None]:
    """Value and, where it was typed, standard uncertainty of a reading as a person writes it: ``6.4``, ``6,4 ohm``, ``5.1 g ± 0.1``, ``right``.

    Raises
    ------
    InputError
        Neither a number nor one of its words, a unit of something else, or a value that cannot be; `name` is the key it is told under.
    """
    kind = READINGS[key]
    place = name or key
    word = text.strip().casefold()
    if word in kind.words:
        return kind.words[word], None
    match = _TYPED.fullmatch(text)
    if match is None or kind.words:
        allowed = (
            list(kind.words)
            if kind.words
            else f"a number{' of ' + kind.unit if kind.unit else ''}, such as {_example(kind)}"
        )
        raise InputError(f"{kind.label} must be {'one of these words' if kind.words else 'a number'}", key=place, found=repr(text.strip()), allowed=allowed)  # fmt: skip
    factor = _factor(kind, match[2], place, text)
    value = factor * _number(match[1])
    u = None if match[3] is None else _factor(kind, match[4] or match[2], place, text) * _number(match[3])
    return check_reading(key, value, name=place), u


def check_reading(key: str, value: float, *, name: str | None = None) -> float:
    """The value if it can be one of its kind; else `InputError`, which says what other unit it was probably typed in."""
    kind = READINGS[key]
    if kind.words and value not in kind.words.values() and key == "polarity":
        raise InputError(f"{kind.label} must be 1 or -1", key=name or key, found=f"{value:g}")
    if kind.low <= value <= kind.high:
        return value
    slips = [
        (unit, factor * value)
        for unit, factor in kind.units.items()
        if factor != 1.0 and kind.low <= factor * value <= kind.high
    ]
    raise InputError(
        f"{kind.label} is out of range", key=name or key, found=f"{value:g} {kind.unit}".strip(),
        allowed=f"{kind.low:g} to {kind.high:g} {kind.unit}".strip(),
        remedy=f"If it was read in {slips[0][0]}, write {slips[0][1]:g} {kind.unit}" if slips else None,
    )  # fmt: skip


def reading_kind(key: str, *, place: str = "what") -> ReadingKind:
    """The kind of a key; `InputError` with those there are."""
    if key not in READINGS:
        raise InputError("There is no such reading", key=place, found=repr(key), allowed=list(READINGS))
    return READINGS[key]


def _factor(kind: ReadingKind, unit: str | None, place: str, text: str) -> float:
    """What one of a typed unit is in the kind's; 1 without one."""
    if not unit or not unit.strip():
        return 1.0
    folded = {known.casefold(): factor for known, factor in kind.units.items()}
    found = folded.get(unit.strip().casefold())
    if found is None:
        raise InputError(f"{kind.label} has another unit", key=place, found=repr(text.strip()),
                         allowed=list(kind.units) or "a number without a unit")  # fmt: skip
    return found


def _number(text: str) -> float:
    return float(text.replace(",", ".").replace("−", "-"))


def _example(kind: ReadingKind) -> str:
    return f"{math.sqrt(max(kind.low, 0.1) * kind.high):.3g}"
