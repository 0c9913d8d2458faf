"""What must be said of a crossover beside its curves."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.core.text import format_plain, format_stated, format_value, join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.crossover.elements import Element
from halfroll.driver.crossover.results import Result
from halfroll.driver.crossover.stress import Stress

LEAST_OF_RATED = 0.8
"""The impedance must not fall below this share of the rated one (IEC 60268-5:2003, 16.1)."""
WARM_SHARE = 0.5
"""Above this share of its rated power a resistor burns fingers and plastic: common practice is to take twice the power."""
ELECTROLYTIC_YEARS = 10
_LEAST_DELAY_S = 1e-6


def verdicts_of(result: Result) -> tuple[Verdict, ...]:
    """Everything that must be said, the drivers' own first."""
    return (*_of_ways(result), *_of_impedance(result), *_of_parts(result), *_of_sound(result))


def _of_ways(result: Result) -> Iterator[Verdict]:
    for name, data in result.data.items():
        yield from data.verdicts
        if data.phase == "minimum":
            yield Verdict(
                code="crossover-phase-assumed", severity=Severity.CAUTION,
                text=f"Only the level of {name} is known. Its phase is taken as that of a minimum-phase driver whose sound starts at the stated depth.",
                remedy="Record the terminal voltage with a take: then the phase is measured.", data={"way": name},
            )  # fmt: skip
    spaces = {name: data.space for name, data in result.data.items()}
    if len(set(spaces.values())) > 1:
        told = join_words([f"{name} {space}" for name, space in spaces.items()])
        yield Verdict(
            code="crossover-unlike-spaces", severity=Severity.CAUTION,
            text=f"The drivers did not radiate into the same space: {told}. Their levels differ by that too.",
            remedy="Take both in the same space, or both predicted.", data={n: str(s) for n, s in spaces.items()},
        )  # fmt: skip


def _of_impedance(result: Result) -> Iterator[Verdict]:
    rated, least = result.asked.rated_ohm, result.minimum_ohm
    if rated is None or least >= LEAST_OF_RATED * rated:
        return
    yield Verdict(
        code="crossover-impedance-low", severity=Severity.CAUTION,
        text=f"The impedance falls to {format_value(least, None, 'ohm')} at {format_value(result.minimum_hz, None, 'Hz')}, below 80 % of the "
             f"rated {format_value(rated, None, 'ohm')}. An amplifier made for that may switch off or run hot.",
        remedy="State a lower rated impedance, raise the load, or tune with the impedance kept.",
        data={"minimum_ohm": least, "minimum_hz": result.minimum_hz, "rated_ohm": rated},
    )  # fmt: skip


def _of_parts(result: Result) -> Iterator[Verdict]:
    elements = {element.name: element for element in result.crossover.elements}
    for stress in result.stresses:
        yield from _of_part(elements[stress.name], stress, result.asked.drive_v)
    for way in result.way_stresses:
        rated = result.data[way.name].rated_w
        if rated is not None and way.power_w > rated:
            yield Verdict(
                code="crossover-driver-power", severity=Severity.CAUTION,
                text=f"{way.name} takes {format_value(way.power_w, None, 'W')} of a {format_plain(result.asked.drive_v, 'V')} sine at "
                     f"{format_value(way.at_w_hz, None, 'Hz')}; its rated power is {format_value(rated, None, 'W')}.",
                remedy="Cross it higher, steeper, or at less power; music holds less than a sine.",
                data={"way": way.name, "power_w": way.power_w, "rated_w": rated},
            )  # fmt: skip
    old = [e.name for e in elements.values() if e.construction == "bipolar"]
    if old:
        yield Verdict(
            code="crossover-capacitor-ages", severity=Severity.NOTE,
            text=f"{join_words(old)} {'is a bipolar electrolytic capacitor' if len(old) == 1 else 'are bipolar electrolytic capacitors'}. "
                 "They dry out: capacitance falls and series resistance rises over the years, faster in heat.",
            remedy=f"Measure or change them after about {ELECTROLYTIC_YEARS} years, or take film capacitors (common practice).",
            data={"elements": old},
        )  # fmt: skip


def _of_part(element: Element, stress: Stress, drive_v: float) -> Iterator[Verdict]:
    if element.kind == "capacitor" and element.rated_v is not None and stress.peak_v > element.rated_v:
        yield Verdict(
            code="crossover-capacitor-voltage", severity=Severity.CAUTION,
            text=f"{element.name} sees {format_plain(stress.peak_v, 'V')} peak at {format_value(stress.at_v_hz, None, 'Hz')} and is rated {format_stated(element.rated_v, 'V')}.",
            remedy="Take one of a higher voltage: an electrolytic that breaks down can burst.",
            data={"element": element.name, "peak_v": stress.peak_v, "rated_v": element.rated_v},
        )  # fmt: skip
    if (
        element.kind == "resistor"
        and element.rated_w is not None
        and stress.power_w > WARM_SHARE * element.rated_w
    ):
        over = stress.power_w > element.rated_w
        yield Verdict(
            code="crossover-resistor-hot", severity=Severity.CAUTION if over else Severity.NOTE,
            text=f"{element.name} turns {format_value(stress.power_w, None, 'W')} into heat at {format_value(stress.at_w_hz, None, 'Hz')} "
                 f"and {format_plain(drive_v, 'V')}, {'more than' if over else 'over half of'} its rated {format_value(element.rated_w, None, 'W')}. It burns fingers and printed plastic.",
            remedy="Take one of twice the power, and mount it clear of plastic and stuffing.",
            data={"element": element.name, "power_w": stress.power_w, "rated_w": element.rated_w},
        )  # fmt: skip
    if element.kind == "coil" and element.rated_a is not None and stress.peak_a > element.rated_a:
        yield Verdict(
            code="crossover-coil-saturates", severity=Severity.CAUTION,
            text=f"{element.name} carries {format_plain(stress.peak_a, 'A')} peak at {format_value(stress.at_a_hz, None, 'Hz')}; its core bears {format_stated(element.rated_a, 'A')}.",
            remedy="Take a larger core or an air-core coil.",
            data={"element": element.name, "peak_a": stress.peak_a, "rated_a": element.rated_a},
        )  # fmt: skip


def _of_sound(result: Result) -> Iterator[Verdict]:
    low, high = result.valid_hz
    f = result.frequency_hz
    if math.isnan(low):
        yield Verdict(
            code="crossover-valid-range", severity=Severity.CAUTION,
            text="Nowhere do all the ways that count hold: the sum says nothing.", remedy="Measure the drivers over the range in which they sound.",
        )  # fmt: skip
    elif low > f[0] * 1.01 or high < f[-1] / 1.01:
        yield Verdict(
            code="crossover-valid-range", severity=Severity.NOTE,
            text=f"The sum holds from {format_value(low, None, 'Hz')} to {format_value(high, None, 'Hz')}: beyond, a way that counts was not measured or is not predicted.",
            data={"valid_from_hz": low, "valid_to_hz": high},
        )  # fmt: skip
    worst = max(result.arrival_s, key=lambda name: result.arrival_s[name])
    late = result.arrival_s[worst]
    if late > _LEAST_DELAY_S and result.crossings_hz:
        top = max(f for _, _, f in result.crossings_hz)
        turn = 360.0 * late * top
        if turn > 60.0:
            yield Verdict(
                code="crossover-late-way", severity=Severity.NOTE,
                text=f"The sound of {worst} has {format_plain(1e3 * late * STANDARD_AIR.speed_of_sound, 'mm', 2)} farther to go than that of the nearest way: {turn:.0f}° at {format_value(top, None, 'Hz')}.",
                remedy="Move it forwards or tilt the baffle; a passive crossover can only turn the phase by its order.",
                data={"way": worst, "late_s": late, "turn_deg": turn},
            )  # fmt: skip
