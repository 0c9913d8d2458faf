"""Numbers in words: the rounding rule of JCGM 100:2008, 7.2.6, thin spaces, kilohertz."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfroll.core.text import (
    MINUS,
    THIN,
    count,
    format_band,
    format_percent,
    format_plain,
    format_value,
    format_with_u,
    join_words,
)


def plain(text: str) -> str:
    """The text with ordinary spaces."""
    return text.replace(THIN, " ")


def test_gum_mass_example() -> None:
    """JCGM 100:2008, 7.2.2 (from memory): 100.02147 g with u = 0.35 mg is written 100.021 47 g, u = 0.000 35 g.

    Our numbers stop at four significant digits, so the check runs on the part beyond 100 g: 21.47 mg, u 0.35 mg.
    """
    assert plain(format_with_u(21.4742, 0.3487, "mg")) == "21.47 ± 0.35 mg"


@pytest.mark.parametrize(
    ("value", "u", "unit", "digits", "text"),
    [
        (61.24, 2.3, "Hz", 2, "61.2 Hz"),
        (61.24, 2.3, "Hz", 1, "61 Hz"),
        (61.24, 23.0, "Hz", 1, "60 Hz"),
        (61.24, 0.0996, "Hz", 2, "61.24 Hz"),
        (86.31, None, "dB", 2, "86.3 dB"),
        (86.31, 1e-9, "dB", 2, "86.31 dB"),
        (2.4183, None, "%", 2, "2.4 %"),
        (2.4183, 0.03, "%", 1, "2.42 %"),
        (13250.0, None, "Hz", 2, "13.2 kHz"),
        (13250.0, 120.0, "Hz", 1, "13.2 kHz"),
        (999.7, None, "Hz", 2, "1.00 kHz"),
        (4.0, None, "ohm", 2, "4.00 Ω"),
        (-0.03, 0.5, "dB", 1, "0.0 dB"),
        (-1.25, 0.3, "dB", 1, f"{MINUS}1.2 dB"),
        (0.8, 0.04, "octaves", 1, "0.80 octaves"),
    ],
)
def test_values(value: float, u: float | None, unit: str, digits: int, text: str) -> None:
    """A value shows what its uncertainty bears, and not more than anybody needs."""
    assert plain(format_value(value, u, unit, digits=digits)) == text


def test_uncertainty_is_never_shown_as_zero() -> None:
    """Finer than the last digit is shown as one step of it."""
    assert plain(format_with_u(86.3, 0.0004, "dB")) == "86.30 ± 0.01 dB"


def test_kilohertz_with_uncertainty() -> None:
    """Value and uncertainty change unit together."""
    assert plain(format_with_u(13250.0, 120.0, "Hz")) == "13.25 ± 0.12 kHz"


@pytest.mark.parametrize(
    ("value", "u", "unit", "text"),
    [
        (10_000.0, 24_000.0, "Hz", "10 kHz ± 3.5 octaves"),
        (52.3, 30.0, "Hz", "52 Hz ± 0.8 octaves"),
        (52.3, 26.0, "Hz", "52 ± 26 Hz"),
        (2.0, 3.0, "%", "2.0 ± 3.0 %"),
    ],
)
def test_a_wide_interval_of_a_frequency(value: float, u: float, unit: str, text: str) -> None:
    """Above half of the value it is given in octaves: 24/10 over ln 2 is 3.46; other units stay as they are."""
    assert plain(format_with_u(value, u, unit)) == text


def test_bands() -> None:
    """Bands, below, across and above a kilohertz."""
    assert plain(format_band((40, 150))) == "40 to 150 Hz"
    assert plain(format_band((200, 2000))) == "200 to 2000 Hz"
    assert plain(format_band((2000, 12500))) == "2 to 12.5 kHz"


def test_words() -> None:
    """Plurals and lists."""
    assert [count(1, "unit"), count(3, "unit")] == ["1 unit", "3 units"]
    assert [join_words(["a"]), join_words(["a", "b"]), join_words(["a", "b", "c"])] == [
        "a",
        "a and b",
        "a, b and c",
    ]


@given(st.floats(-1e5, 1e5), st.floats(1e-3, 1e3))
def test_rounding_moves_less_than_the_uncertainty(value: float, u: float) -> None:
    """With one digit of u the shown value is off by at most half a unit of that digit, or of four digits."""
    text = plain(format_value(value, u, "V", digits=1)).removesuffix(" V").replace(MINUS, "-")
    assert re.fullmatch(r"-?\d+(\.\d+)?", text)
    digit = 10.0 ** int(f"{u:.0e}".partition("e")[2])  # 950 has its one digit, once rounded, at the thousands
    assert abs(float(text) - value) <= max(0.5000001 * digit, 0.51e-3 * max(abs(value), 1.0))


def test_numbers_that_are_none() -> None:
    """What could not be worked out is shown as a dash, what has no end as such; neither brings a sentence down."""
    assert format_value(math.nan, None, "%") == f"–{THIN}%"
    assert format_value(-math.inf, None, "dB") == f"−∞{THIN}dB"
    assert format_value(math.inf, 0.1, "ohm") == f"∞{THIN}Ω"


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (1.532, "153 %"),
        (0.0463, "4.6 %"),
        (0.000021, "0.0021 %"),
        (9.7e-9, "0 %"),
        (-0.0412, "−4.1 %"),
        (math.nan, "–"),
    ],
)
def test_percent_is_never_a_power_of_ten(share: float, text: str) -> None:
    """Two digits; less than a thousandth of a per cent is nothing."""
    assert format_percent(share) == text.replace(" ", THIN)


def test_plain_numbers() -> None:
    """Large and small ones alike."""
    assert format_plain(877.4, "MPa", 2) == f"877{THIN}MPa"
    assert format_plain(132_000.0, "N/mm") == f"132000{THIN}N/mm"
    assert format_plain(0.00156, "mm", 2) == f"0.0016{THIN}mm"
