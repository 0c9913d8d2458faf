"""The figures of a motor that are asked first, and what they were before a change."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from halfroll.core.text import MINUS, THIN, format_value, format_with_u
from halfroll.motor.coil.wound import Coil
from halfroll.motor.field.travel import TravelLimits
from halfroll.motor.results import MotorResult
from halfroll.workshop.motor_report import MotorReport

COVERAGE = 1.96
"""Half of a 95 % interval in standard uncertainties."""

LEAST_REL = 1e-4
"""A relative difference below this is none: the numbers shown do not have so many digits."""


@dataclass(frozen=True, kw_only=True)
class Figure:
    """One figure: its name, its number and what stands behind it as they are shown, the value itself, and its standard uncertainty.

    Two are the same figure by `key`. Where `unit` is given their difference is said in it, else in percent of the earlier.
    """

    key: str
    name: str
    number: str
    behind: str
    value: float
    u: float = 0.0
    unit: str = ""


@dataclass(frozen=True, kw_only=True)
class Changed:
    """A figure and what became of it: in words, empty where it is as it was; and whether that is more than its uncertainty."""

    figure: Figure
    words: str = ""
    real: bool = False


def field_figures(result: MotorResult, limits: TravelLimits | None, coil: Coil | None) -> Iterator[Figure]:
    """What field and coil give."""
    bl = result.force_factor
    if bl is not None:
        u = float(bl.u[len(bl.u) // 2])
        yield _with_u("bl", "Force factor Bl at rest", abs(bl.at_rest), u, "N/A")
    yield _with_u("gap", "Mean flux density in the gap", abs(result.gap_mean_t), result.gap_u_t, "T")
    if limits is not None:
        sign = "" if limits.reached else f">{THIN}"
        u = max(limits.inwards.u_m, limits.outwards.u_m)
        yield Figure(key="travel", name=f"Travel to {100 * limits.share:.0f}{THIN}% of Bl", number=f"{sign}±{1e3 * limits.peak_m:.3g}", behind="mm",
                     value=1e3 * limits.peak_m, u=1e3 * u, unit="mm")  # fmt: skip
    if coil is not None:
        yield _plain("re", "Re at 20 °C, with leads", coil.resistance_ohm, "ohm")
        if bl is not None:
            rel = u_rel(result)
            strength = bl.at_rest**2 / coil.resistance_ohm
            yield _plain("strength", "(Bl)²/Re", strength, "N²/W", u=2.0 * rel * strength)
        yield _plain("mass", "Moving mass of the coil", 1e3 * coil.mass_kg, "g")
    yield _plain(
        "leakage",
        "Flux that misses the gap",
        100.0 * result.leakage_share,
        "%",
        u=100.0 * u_rel(result),
        points=True,
    )


def u_rel(result: MotorResult) -> float:
    """Relative standard uncertainty of a field, by Bl at rest or else by the gap's mean flux density."""
    bl = result.force_factor
    if bl is None or not bl.at_rest:
        return abs(result.gap_u_t / result.gap_mean_t) if result.gap_mean_t else 0.0
    return float(bl.u[len(bl.u) // 2]) / abs(bl.at_rest)


def limit_figures(report: MotorReport) -> Iterator[Figure]:
    """What the motor bears: how full its steel is, its magnets' margin, room for the coil, lasting power, and what it costs."""
    result = report.solved.motor
    if result is not None and result.steel:
        full = max(result.steel, key=lambda steel: steel.mean_t)
        yield Figure(key="steel", name=f"Fullest steel, {full.body}", number=f"{full.mean_t:.2f}", behind="T", value=full.mean_t,
                     u=u_rel(result) * full.mean_t, unit="T")  # fmt: skip
    if result is not None and result.magnets:
        near = min(result.magnets, key=lambda magnet: magnet.margin_t)
        margin = f"{near.margin_t:+.3f}".replace("-", MINUS)
        yield Figure(key="margin", name=f"Margin to the knee, {near.body}", number=margin, value=near.margin_t,
                     behind=f"T at {near.temperature_c:g}{THIN}°C", unit="T", u=u_rel(result) * abs(near.b_worst_t))  # fmt: skip
    if report.clearance_warm is not None:
        tight = min(
            (report.clearance_warm.inside, report.clearance_warm.outside), key=lambda side: side.worst_m
        )
        yield Figure(key="room", name=f"Room between {tight.part} and {tight.wall}", number=f"{1e3 * tight.nominal_m:.2f}", behind="mm",
                     value=1e3 * tight.nominal_m, unit="mm")  # fmt: skip
    if report.heat is not None:
        lasting = report.heat.continuous
        low, high = lasting.band_w
        yield Figure(key="power", name="Power borne for ever", number=f"{lasting.power_w:.2g}", value=lasting.power_w,
                     behind=f"W, {low:.2g} to {high:.2g}")  # fmt: skip
    for currency, used in report.cost.used.items():
        known = ", as far as priced" if report.cost.missing else ""
        yield Figure(
            key=f"cost {currency}",
            name=f"Parts{known}",
            number=f"{used:.2f}",
            behind=currency,
            value=used,
            unit=currency,
        )


def figures(report: MotorReport) -> tuple[Figure, ...]:
    """All of them, in the order in which they are asked."""
    result = report.solved.motor
    of_field = () if result is None else field_figures(result, report.limits, report.coil)
    return (*of_field, *limit_figures(report))


def changes(now: Sequence[Figure], before: Sequence[Figure]) -> tuple[Changed, ...]:
    """The figures of now with what became of each since before."""
    known = {figure.key: figure for figure in before}
    return tuple(_changed(figure, known.get(figure.key)) for figure in now)


def _changed(now: Figure, before: Figure | None) -> Changed:
    if before is None:
        return Changed(figure=now)
    by = now.value - before.value
    if now.number == before.number or abs(by) <= LEAST_REL * max(abs(now.value), abs(before.value)):
        return Changed(figure=now)
    real = abs(by) > COVERAGE * math.hypot(now.u, before.u)
    if now.unit or not before.value:
        more = f"{by:+.2g}{THIN}{now.unit}".rstrip()
    else:
        more = f"{100.0 * by / abs(before.value):+.2g}{THIN}%"
    said = f"was {before.number}, {more}".replace("-", MINUS)
    return Changed(figure=now, words=said if real else f"{said}: within its uncertainty", real=real)


def _with_u(key: str, name: str, value: float, u: float, unit: str) -> Figure:
    number, _, behind = format_with_u(value, COVERAGE * u, unit).partition(THIN)
    return Figure(key=key, name=name, number=number, behind=behind, value=value, u=u)


def _plain(key: str, name: str, value: float, unit: str, *, u: float = 0.0, points: bool = False) -> Figure:
    number, _, behind = format_value(value, None, unit).partition(THIN)
    return Figure(
        key=key, name=name, number=number, behind=behind, value=value, u=u, unit="points" if points else ""
    )
