"""Numbers as people read them: no more digits than the uncertainty bears, a thin space before the unit.

JCGM 100:2008, 7.2.6: the uncertainty is given with at most two significant digits, the value to the same place.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

THIN = "\u202f"
"""The narrow no-break space between number and unit."""

MINUS = "\u2212"

SYMBOLS = {"ohm": "Ω", "degC": "°C", "percent": "%"}
"""How a unit is printed where its printed form differs from its name in code."""

MOST_DECIMALS = {"dB": 2, "octaves": 2, "points": 2}
"""Nothing is shown finer than this, however small the uncertainty; other units stop at four significant digits."""

MOST_SIGNIFICANT = 4

WIDE = 0.5
"""Share of a frequency from which its uncertainty is given in octaves."""

DEFAULT_DECIMALS = {"dB": 1, "octaves": 2}
"""Decimals where no uncertainty is known; other units get three significant digits, percent two."""


def format_value(
    value: float, u: float | None = None, unit: str = "", *, digits: int = 2, sign: bool = False
) -> str:
    """A value with its unit, rounded to the place its standard uncertainty reaches.

    Parameters
    ----------
    value, u, unit
        In the same unit; `u` None when no uncertainty is known. Hertz from 1000 up are shown as kilohertz.
    digits
        Significant digits of `u` that are kept, 1 in a sentence, 2 in a table.
    sign
        Put a plus before what is not negative.

    Examples
    --------
    61.24 Hz with u = 2.3 Hz gives "61.2 Hz", with one digit "61 Hz".
    """
    value, u, unit = _scaled(value, u, unit)
    return _with_unit(_number(value, _decimals(value, u, unit, digits), sign), unit)


def format_with_u(value: float, u: float | None, unit: str = "", *, digits: int = 2) -> str:
    """A value with its uncertainty, "86.3 ± 0.4 dB"; without one just the value.

    Of a frequency whose `u` is more than half of it the uncertainty is given in octaves, "10 kHz ± 3.5 octaves": hertz
    would reach below zero, and frequencies are compared by their ratio anyway (see `octaves_of`).
    """
    number, spread, shown = parts_with_u(value, u, unit, digits=digits)
    if not spread:
        return _with_unit(number, shown)
    if octaves_of(value, u, unit) is not None:
        return f"{_with_unit(number, shown)}{THIN}±{THIN}{spread}{THIN}octaves"
    return _with_unit(f"{number}{THIN}±{THIN}{spread}", shown)


def parts_with_u(value: float, u: float | None, unit: str = "", *, digits: int = 2) -> tuple[str, str, str]:
    """The number, its uncertainty and the unit of the number; the uncertainty is empty where there is none.

    Where `octaves_of` gives a value the uncertainty is one in octaves.
    """
    wide = octaves_of(value, u, unit)
    if u is None or wide is not None:
        value, _, unit = _scaled(value, None, unit)
        decimals = _decimals(value, None, unit, digits)
        if wide is None:
            return _number(value, decimals), "", unit
        coarse = max(0, 1 - _exponent(value, 2))  # two digits: the interval leaves no more
        return _number(value, coarse), f"{wide:.1f}", unit
    value, scaled, unit = _scaled(value, u, unit)
    u = u if scaled is None else scaled
    decimals = _decimals(value, u, unit, digits)
    return _number(value, decimals), _number(_at_least_one_step(u, decimals), decimals), unit


def octaves_of(value: float, u: float | None, unit: str) -> float | None:
    """The uncertainty of a frequency in octaves, u / (f ln 2), where it is more than half of it; else None."""
    if unit not in ("Hz", "kHz") or u is None or not (math.isfinite(u) and value > 0.0) or u <= WIDE * value:
        return None
    return u / (value * math.log(2.0))


def format_band(band_hz: tuple[float, float]) -> str:
    """A frequency band, "40 to 150 Hz"."""
    low, high = band_hz
    if low >= 1000.0:
        return f"{low / 1000.0:.4g} to {high / 1000.0:.4g}{THIN}kHz"
    return f"{low:.4g} to {high:.5g}{THIN}Hz"


def format_stated(value: float, unit: str) -> str:
    """A number somebody stated, as short as it can be written with four digits, "4 Ω"."""
    return _with_unit(f"{value:.4g}" if abs(value) < 9999.5 else f"{value:.0f}", unit)


def format_percent(share: float, *, sign: bool = False, digits: int = 2) -> str:
    """A share in percent with so many digits, never as a power of ten: "153 %", "4.6 %", "0.0021 %"; what is under a thousandth of a per cent is 0."""
    value = 100.0 * share
    if not math.isfinite(value):
        return "–"
    if abs(value) < 1e-3:
        return f"0{THIN}%"
    return f"{_number(value, max(0, digits - 1 - _exponent(value, digits)), sign)}{THIN}%"


def format_plain(value: float, unit: str, digits: int = 3) -> str:
    """A number with so many digits at least and its unit, never as a power of ten: "877 MPa", "132000 N/mm", "0.0016 mm"."""
    return _with_unit(_number(value, max(0, digits - 1 - _exponent(value, digits))), unit)


def count(n: int, noun: str) -> str:
    """A number of things, "1 unit", "3 units"."""
    return f"{n} {noun}" if n == 1 else f"{n} {noun}s"


def join_words(words: Sequence[str]) -> str:
    """Words as a list in a sentence, "a, b and c"."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else list(words))


def _scaled(value: float, u: float | None, unit: str) -> tuple[float, float | None, str]:
    if unit == "Hz" and abs(value) >= 999.5:
        return value / 1000.0, None if u is None else u / 1000.0, "kHz"
    return value, u, unit


def _decimals(value: float, u: float | None, unit: str, digits: int) -> int:
    """Decimals to show; negative means rounding to tens, hundreds."""
    if u is None or not (math.isfinite(u) and u > 0.0):
        significant = 2 if unit == "%" else 3
        return DEFAULT_DECIMALS.get(unit, max(0, significant - 1 - _exponent(value, significant)))
    from_u = digits - 1 - _exponent(u, digits)
    most = MOST_DECIMALS.get(unit, MOST_SIGNIFICANT - 1 - _exponent(value, MOST_SIGNIFICANT))
    return min(from_u, max(0, most))


def _exponent(value: float, significant: int) -> int:
    """Power of ten of the first digit once the value is rounded to so many digits."""
    return int(f"{value:.{significant - 1}e}".partition("e")[2]) if value and math.isfinite(value) else 0


def _number(value: float, decimals: int, sign: bool = False) -> str:
    if math.isnan(value):
        return "–"
    rounded = round(value, decimals)
    text = f"{abs(rounded):.{max(0, decimals)}f}" if math.isfinite(rounded) else "∞"
    if rounded < 0:
        return MINUS + text
    return f"+{text}" if sign else text


def _at_least_one_step(u: float, decimals: int) -> float:
    """An uncertainty finer than the last digit shown is rounded up to it, never to zero."""
    return max(u, 10.0**-decimals)


def _with_unit(number: str, unit: str) -> str:
    return f"{number}{THIN}{SYMBOLS.get(unit, unit)}" if unit else number
