"""The figures of a suspension that are asked first, and the same in sentences."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from halfroll.core.text import MINUS, THIN, format_percent, format_plain, format_with_u, parts_with_u
from halfroll.driver.suspension_distortion import SuspensionDistortion
from halfroll.publish.motor_figures import COVERAGE, Figure
from halfroll.publish.suspension import LIMIT_SHARE, elongation
from halfroll.suspension.results import BreakUp, MovingMass, PartResult, SuspensionResult, TravelRange

_LITTLE = 0.05
"""Asymmetry below this is called even; it makes about as many percent of second harmonic at the travel's ends (own choice)."""

_LEAST = 0.001
"""Asymmetry below this is not told in figures: the finite elements are no better."""


def suspension_figures(
    result: SuspensionResult | None, mass: MovingMass | None, break_up: BreakUp | None
) -> tuple[Figure, ...]:
    """All figures there are, in the order in which they are asked."""
    found = [] if result is None else list(_of_result(result))
    found += [] if mass is None else list(_of_mass(mass))
    return (*found, *([] if break_up is None else _of_break_up(break_up)))


def _of_result(result: SuspensionResult) -> Iterator[Figure]:
    if result.resonance_hz is not None:
        yield _figure(
            "resonance", "Resonance, in a large baffle", result.resonance_hz, result.resonance_u_hz, "Hz"
        )
    rest = 1e-3 * result.curve.at_rest()
    yield _figure("kms", "Stiffness Kms at rest", rest, rest * result.curve.u_relative, "N/mm")
    yield _signed("asymmetry", "Asymmetry at the travel's ends", 100.0 * result.asymmetry, "%")
    reach = min(-result.limit.low_m, result.limit.high_m)
    full = result.limit.full_low and result.limit.full_high
    yield Figure(key="usable", name=f"Travel to {100 * LIMIT_SHARE:.0f}{THIN}% of compliance", number=f"{f'>{THIN}' if full else ''}±{1e3 * reach:.3g}",
                 behind="mm", value=1e3 * reach, unit="mm")  # fmt: skip
    most = max(result.parts, key=lambda part: largest(part)[0])
    value, x = largest(most)
    yield Figure(key="strain", name=f"Largest elongation, {most.name}", number=format_percent(value).removesuffix(f"{THIN}%"), behind=f"% at {_mm(x)}",
                 value=100 * value, unit="%")  # fmt: skip
    if result.sag_m is not None:
        spread = math.hypot(result.curve.u_relative, (result.moving_u_kg or 0.0) / (result.moving_kg or 1.0))
        yield _figure("sag", "Sag, axis upright", 1e3 * result.sag_m, 1e3 * result.sag_m * spread, "mm")
    if result.rocking is not None:
        yield _figure("rocking", "Rocking", result.rocking.rocking_hz, result.rocking.rocking_u_hz, "Hz")


def _of_mass(mass: MovingMass) -> Iterator[Figure]:
    yield _figure("mms", "Moving mass Mms, with air", 1e3 * mass.mms_kg, 1e3 * mass.mass_u_kg, "g")
    yield _figure("sd", "Area Sd", 1e4 * mass.area_m2, 1e4 * mass.area_u_m2, "cm²")


def _of_break_up(break_up: BreakUp) -> list[Figure]:
    if break_up.first_hz is None:
        return []
    return [
        _figure(
            "break-up", "First break-up", break_up.first_hz, break_up.u_relative * break_up.first_hz, "Hz"
        )
    ]


def largest(part: PartResult) -> tuple[float, float]:
    """The largest elongation of a part in its travel, and the displacement (m) at which it is."""
    stretched = elongation(part.strain)
    at = int(np.nanargmax(stretched))
    return float(stretched[at]), float(part.curve.x_m[at])


def answers(
    result: SuspensionResult | None,
    mass: MovingMass | None,
    break_up: BreakUp | None,
    bears: dict[str, float] | None = None,
    distortion: SuspensionDistortion | None = None,
) -> list[str]:
    """What there is to know, in sentences; `bears` is what the materials of the parts bear for millions of cycles."""
    said: list[str] = []
    if result is not None:
        said += [
            *_resonates(result),
            _even(result),
            _reaches(result.limit, result),
            *_stretched(result, bears or {}),
            *_held(result),
        ]
    elif mass is not None:
        said.append(f"{_g(mass)} move; nothing holds them yet: there is no surround and no spider.")
    if break_up is not None:
        said.append(_breaks(break_up))
    if distortion is not None:
        said += [_distorts(distortion, number) for number in range(len(distortion.alone))]
    return said


def _resonates(result: SuspensionResult) -> list[str]:
    rest = 1e-3 * result.curve.at_rest()
    stiffness = format_with_u(rest, COVERAGE * rest * result.curve.u_relative, "N/mm")
    if result.resonance_hz is None or result.moving_kg is None:
        return [
            f"Its stiffness at rest is {stiffness}. The moving mass is not known, so neither is the resonance."
        ]
    half = None if result.resonance_u_hz is None else COVERAGE * result.resonance_u_hz
    grams = format_with_u(
        1e3 * result.moving_kg,
        None if result.moving_u_kg is None else COVERAGE * 1e3 * result.moving_u_kg,
        "g",
    )
    return [
        f"It resonates at {format_with_u(result.resonance_hz, half, 'Hz')} in a large baffle: {grams} on {stiffness}."
    ]


def _even(result: SuspensionResult) -> str:
    share = result.asymmetry
    ends = f"at ±{1e3 * min(-result.curve.x_m[0], result.curve.x_m[-1]):.3g}{THIN}mm"
    if abs(share) < _LITTLE:
        much = format_percent(abs(share)) if abs(share) >= _LEAST else f"less than {format_percent(_LEAST)}"
        return f"It is as stiff outwards as inwards: {much} of asymmetry {ends}."
    way = "outwards" if share > 0 else "inwards"
    ratio = (1.0 + abs(share)) / (1.0 - abs(share))
    return f"It is stiffer {way}: {ratio:.2g} times as stiff as the other way {ends}, an asymmetry of {format_percent(abs(share))}."


def _reaches(limit: TravelRange, result: SuspensionResult) -> str:
    share = f"{100 * LIMIT_SHARE:.0f}{THIN}%"
    if limit.full_low and limit.full_high:
        low, high = float(result.curve.x_m[0]), float(result.curve.x_m[-1])
        return f"Compliance stays above {share} of that at rest over the whole travel, {_mm(low)} to {_mm(high)}."
    return f"It may be used from {_mm(limit.low_m)} to {_mm(limit.high_m)}: beyond, compliance is below {share} of that at rest (IEC 62458)."


def _stretched(result: SuspensionResult, bears: dict[str, float]) -> list[str]:
    said = []
    for part in result.parts:
        value, x = largest(part)
        text = f"The {part.name}'s plastic is stretched by {format_percent(value)} at most, at {_mm(x)}"
        limit = bears.get(part.name)
        said.append(text + ("; what it bears for millions of cycles is not known." if limit is None
                            else f"; it bears {100 * limit:.2g}{THIN}% for millions of cycles."))  # fmt: skip
    return said


def _held(result: SuspensionResult) -> list[str]:
    said = []
    if result.sag_m is not None:
        later = (
            ""
            if result.sag_later_m is None
            else f", and {format_plain(1e3 * result.sag_later_m, 'mm', 2)} after {_days(result.creep_days)}"
        )
        said.append(
            f"With the axis upright it sags by {format_plain(1e3 * result.sag_m, 'mm', 2)} under what moves{later}."
        )
    if result.rocking is not None:
        rocks = result.rocking
        text = f"It rocks at {format_with_u(rocks.rocking_hz, COVERAGE * rocks.rocking_u_hz, 'Hz')}"
        if result.resonance_hz:
            octaves = math.log2(rocks.rocking_hz / result.resonance_hz)
            side = "above" if octaves > 0 else "below"
            text += f", {abs(octaves):.1f}{THIN}octaves {side} the resonance"
        said.append(f"{text}, about a point {_over_gap(rocks.pivot_m)}.")
    return said


def _breaks(break_up: BreakUp) -> str:
    text = (
        f"The cone moves as one piece up to about {format_with_u(break_up.usable_hz, None, 'Hz')}, where its response leaves the piston's by "
        f"{break_up.usable_db:.2g}{THIN}dB"
    )
    if break_up.first_hz is None:
        return f"{text}; no break-up was found below {format_with_u(float(break_up.frequency_hz[-1]), None, 'Hz')}."
    return f"{text}; it first breaks up at {format_with_u(break_up.first_hz, COVERAGE * break_up.u_relative * break_up.first_hz, 'Hz')}."


def _distorts(found: SuspensionDistortion, number: int) -> str:
    """How much of the bass distortion at one voltage is the suspension's."""
    alone = found.alone[number]
    volts = f"At {alone.voltage_v:.3g}{THIN}V"
    if not np.isfinite(alone.thd).any():
        return f"{volts} no bass tone stays in the travel that was computed."
    worst = int(np.nanargmax(alone.thd))
    text = f"{volts} the suspension alone makes {format_percent(alone.thd[worst])} of harmonic distortion at {alone.frequency_hz[worst]:g}{THIN}Hz, its most"
    if found.both and np.isfinite(found.both[number].thd[worst]):
        text += f"; with the motor it is {format_percent(found.both[number].thd[worst])}"
    return f"{text}."


def _over_gap(z_m: float) -> str:
    way = "outwards from" if z_m >= 0 else "inwards from"
    return f"{1e3 * abs(z_m):.2g}{THIN}mm {way} the gap's middle"


def _g(mass: MovingMass) -> str:
    return format_with_u(1e3 * mass.mms_kg, COVERAGE * 1e3 * mass.mass_u_kg, "g")


def _days(days: float) -> str:
    return "a year" if abs(days - 365.0) < 1.0 else f"{days:.3g} days"


def _mm(x_m: float) -> str:
    mm = round(1e3 * x_m, 2) + 0.0
    return f"{f'{mm:+g}'.replace('-', MINUS) if mm else '0'}{THIN}mm"


def _figure(key: str, name: str, value: float, u: float | None, unit: str) -> Figure:
    number, spread, shown = parts_with_u(value, None if not u else COVERAGE * u, unit)
    behind = f"{f'±{THIN}{spread} ' if spread else ''}{shown}"
    return Figure(key=key, name=name, number=number, behind=behind, value=value, u=u or 0.0, unit=unit)


def _signed(key: str, name: str, value: float, unit: str) -> Figure:
    return Figure(
        key=key,
        name=name,
        number=f"{value:+.2g}".replace("-", MINUS) if abs(value) >= 0.05 else "0",
        behind=unit,
        value=value,
        unit=unit,
    )
