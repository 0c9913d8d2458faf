"""What became of a motor's figures, and whether its magnets bear a temperature: in words."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest

from halfroll.motor.results import OperatingPoint
from halfroll.publish.motor_figures import Figure, changes, field_figures
from halfroll.publish.motor_rows import THIN, magnet_rows
from halfroll.publish.motor_warm import warm_words, weaker_words, worst_in_the_cold
from tests.publish.test_section import motor, uniform


def _figure(value: float, u: float = 0.0, unit: str = "") -> Figure:
    return Figure(key="k", name="K", number=f"{value:g}", behind="", value=value, u=u, unit=unit)


@pytest.mark.parametrize(
    ("before", "now", "words", "real"),
    [
        (_figure(4.0, 0.01), _figure(4.2, 0.01), "was 4, +5\u202f%", True),
        (_figure(4.0, 0.01), _figure(3.8, 0.01), "was 4, \u22125\u202f%", True),
        # 1.96 times the root of the sum of squares is 0.0277: 0.03 is more, 0.024 is not (JCGM 100:2008, 5.1.2)
        (_figure(4.0, 0.01), _figure(4.03, 0.01), "was 4, +0.75\u202f%", True),
        (_figure(4.0, 0.01), _figure(4.024, 0.01), "was 4, +0.6\u202f%: within its uncertainty", False),
        (_figure(-0.05, unit="T"), _figure(0.15, unit="T"), "was \u22120.05, +0.2\u202fT", True),
        (_figure(7.3), _figure(7.3), "", False),
        (_figure(0.2), replace(_figure(0.202), number="0.2"), "", False),  # it reads the same
    ],
)
def test_a_change_is_said_and_weighed(before: Figure, now: Figure, words: str, real: bool) -> None:
    """In percent, or in the unit where the sign may turn; less than the uncertainty of a difference is said to be no more."""
    (found,) = changes([now], [before])
    assert (found.words, found.real) == (words, real)


def test_without_a_before_nothing_is_said() -> None:
    """A figure that was not there before has not changed."""
    assert [one.words for one in changes([_figure(1.0)], [])] == [""]


def test_the_field_gives_its_figures() -> None:
    """Of a motor without a coil: no resistance, no mass; each figure once."""
    found = list(field_figures(uniform(0.5), None, None))
    assert [one.key for one in found] == ["bl", "gap", "leakage"]
    assert found[1].value == 0.5


def _point(name: str, margin: float, share: float = 0.0) -> OperatingPoint:
    return OperatingPoint(body=name, temperature_c=100.0, b_mean_t=0.5, h_mean_a_m=-3e5, permeance=2.0, b_worst_t=0.3 + margin,
                          worst_at_m=(0.0, 0.0), knee_t=0.3, margin_t=margin, share_below_knee=share)  # fmt: skip


def test_the_worst_magnet_is_named() -> None:
    """Of two the one nearer to its knee; lost for good when below it; and what the warmth does to Bl."""
    safe = replace(uniform(0.4), magnets=(_point("lower", 0.2), _point("upper", 0.05)))
    assert "nothing is lost for good: upper is nearest to its knee, by 0.050" in warm_words(safe)
    lost = replace(safe, magnets=(_point("lower", -0.02, 0.03), _point("upper", 0.05)))
    assert "lost for good: lower is worst, with 3\u202f%" in warm_words(lost)
    assert "no magnet" in warm_words(uniform(0.4))
    half = safe.force_factor
    assert half is not None
    weaker = replace(safe, force_factor=replace(half, bl=0.9 * half.bl))
    assert "Bl changes by \u221210\u202f% against 20\u202f°C" in weaker_words(weaker, safe, 20.0)


def test_ferrite_fears_the_cold() -> None:
    """Its coercivity rises with the temperature (IEC 60404-8-1: about +0.3 % per kelvin), so frost is its danger."""
    assert worst_in_the_cold(motor())


@pytest.mark.parametrize(
    ("now_c", "margin_t", "limit_c", "said"),
    [
        (20.0, 0.1, 86.4, "up to 86 °C"),  # neodymium, well
        (95.0, -0.02, 86.4, "below 86 °C"),  # neodymium, past it
        (20.0, 0.05, -31.0, "down to −31 °C"),  # ferrite, well
        (20.0, -0.04, 49.0, "from 49 °C"),  # ferrite, too thin already
        (20.0, 0.3, -math.inf, "to its grade's limit"),
    ],
)
def test_on_which_side_a_magnet_is_safe(now_c: float, margin_t: float, limit_c: float, said: str) -> None:
    """The words follow from where the magnet stands now: inside its safe side or past it."""
    point = OperatingPoint(
        body="magnet", temperature_c=now_c, b_mean_t=0.3, h_mean_a_m=-1e5, permeance=2.0, b_worst_t=margin_t,
        worst_at_m=(0.02, 0.0), knee_t=0.0, margin_t=margin_t, share_below_knee=0.0, safe_to_c=limit_c,
    )  # fmt: skip
    result = SimpleNamespace(magnets=(point,))
    assert magnet_rows(result).rows[0][-1].replace(THIN, " ") == said
