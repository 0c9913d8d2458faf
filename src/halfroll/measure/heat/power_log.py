"""A power-handling log: what a unit bore for how long, how warm it got, and what changed in it.

IEC 60268-5 cl. 18 (wording from memory) judges a rated power by whether anything changed for good after the hours of
noise; the bounds of that change here are common practice, without a source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from halfroll.core.errors import InputError
from halfroll.core.text import format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.heat.coil_temperature import CoilTemperature, Metal, from_resistance

Judged = Literal["passed", "changed", "failed"]

RESISTANCE_CHANGE = 0.03
"""Lasting relative change of the cold DC resistance from which on the coil is taken to be damaged."""

RESONANCE_CHANGE = 0.15
"""Lasting relative change of the resonance that is said; suspensions soften when they are worked in."""

LEVEL_CHANGE_DB = 1.0
"""Lasting change of the level that is said (dB)."""

NEAR_LIMIT_K = 10.0
"""A coil this near to the lowest stated limit is said."""


@dataclass(frozen=True, kw_only=True)
class HeatLimits:
    """Temperatures (°C) that what is near the coil bears, as its makers state; None where not stated."""

    glue_c: float | None = None
    filament_c: float | None = None
    enamel_c: float | None = None

    @property
    def lowest(self) -> tuple[str, float] | None:
        """The part that gives way first, and at what temperature."""
        stated = [(name, limit) for name, limit in (("glue", self.glue_c), ("filament", self.filament_c),
                                                    ("wire's enamel", self.enamel_c)) if limit is not None]  # fmt: skip
        return min(stated, key=lambda one: one[1], default=None)


@dataclass(frozen=True, kw_only=True)
class PowerStep:
    """One step: a drive, its time, and readings before, at the end and after; None where not read.

    Parameters
    ----------
    drive_v
        R.m.s. voltage at the terminals (V).
    hours
        How long.
    temperature_c
        Air temperature (°C).
    re_before_ohm, re_warm_ohm, re_after_ohm
        DC resistance cold before, at once after switching off, and cold again (ohm).
    fs_before_hz, fs_after_hz
        Resonance before and after (Hz).
    level_change_db
        Level after minus before at one drive (dB).
    judged
        What the person found.
    note
        What was seen, heard or smelt.
    """

    drive_v: float
    hours: float
    temperature_c: float | None = None
    re_before_ohm: float | None = None
    re_warm_ohm: float | None = None
    re_after_ohm: float | None = None
    fs_before_hz: float | None = None
    fs_after_hz: float | None = None
    level_change_db: float | None = None
    judged: Judged | None = None
    note: str = ""

    def power_w(self, rated_impedance_ohm: float | None) -> float | None:
        """Power into the rated impedance (W); None when that is not stated."""
        return None if rated_impedance_ohm is None else self.drive_v**2 / rated_impedance_ohm


@dataclass(frozen=True, kw_only=True)
class StepResult:
    """A step with the coil's temperature and what the rules say about it."""

    step: PowerStep
    coil: CoilTemperature | None
    verdicts: tuple[Verdict, ...] = field(default=())


@dataclass(frozen=True, kw_only=True)
class PowerResult:
    """A whole log: its steps judged, the hours altogether, and the highest drive that was borne (None: no step was)."""

    steps: tuple[StepResult, ...]
    hours: float
    borne_v: float | None


AIR_ASSUMED_C = 20.0


def judge(steps: Sequence[PowerStep], limits: HeatLimits, metal: Metal = "copper") -> PowerResult:
    """Judge the steps of a log.

    A step counts as borne when no rule and no person found it failed. Without a stated air temperature 20 °C is taken,
    with a standard uncertainty of 3 K.
    """
    results = tuple(_judged(step, limits, metal) for step in steps)
    borne = [r.step.drive_v for r in results if r.step.judged != "failed" and not any(v.severity is Severity.BAD for v in r.verdicts)]  # fmt: skip
    return PowerResult(
        steps=results, hours=sum(step.hours for step in steps), borne_v=max(borne, default=None)
    )


def _judged(step: PowerStep, limits: HeatLimits, metal: Metal) -> StepResult:
    coil = _coil(step, metal)
    found = (_too_hot(coil, limits), _resistance(step), _resonance(step), _level(step), _person(step))
    return StepResult(step=step, coil=coil, verdicts=tuple(v for v in found if v is not None))


def _coil(step: PowerStep, metal: Metal) -> CoilTemperature | None:
    """Temperature of the coil when it was switched off; it falls by some kelvin before a meter has settled."""
    if step.re_before_ohm is None or step.re_warm_ohm is None:
        return None
    known = step.temperature_c is not None
    try:
        return from_resistance(
            step.re_before_ohm, step.re_warm_ohm, reference_c=AIR_ASSUMED_C if step.temperature_c is None else step.temperature_c,
            metal=metal, u_ratio=0.003, u_reference_k=1.0 if known else 3.0,
        )  # fmt: skip
    except InputError as fault:
        raise InputError(fault.message, key="re_warm_ohm", found=fault.found, allowed=fault.allowed, remedy=fault.remedy) from fault  # fmt: skip


def _too_hot(coil: CoilTemperature | None, limits: HeatLimits) -> Verdict | None:
    lowest = limits.lowest
    if coil is None or lowest is None:
        return None
    part, limit = lowest
    text = f"The coil reached {format_value(coil.temperature_c, coil.u_k, 'degC', digits=1)}; the {part} bears {limit:g} °C."
    data = {"temperature_c": coil.temperature_c, "limit_c": limit}
    if coil.temperature_c > limit:
        return Verdict(code="coil-too-hot", severity=Severity.BAD, text=text, data=data,
                       remedy="Stop here. A softened former or glue lets the coil go, and hot plastic gives off fumes.")  # fmt: skip
    if coil.temperature_c + 1.96 * coil.u_k > limit - NEAR_LIMIT_K:
        return Verdict(code="coil-near-limit", severity=Severity.CAUTION, text=text, data=data,
                       remedy="Go up in small steps from here, and stay beside it.")  # fmt: skip
    return None


def _resistance(step: PowerStep) -> Verdict | None:
    change = _relative(step.re_before_ohm, step.re_after_ohm)
    if change is None or abs(change) <= RESISTANCE_CHANGE:
        return None
    return Verdict(
        code="resistance-changed",
        severity=Severity.BAD,
        text=f"The cold DC resistance changed by {100 * change:+.1f} %: turns are shorted or a joint is failing.",
        remedy="Let it cool for an hour and read again; if it stays, this drive was too much.",
        data={"change": change},
    )


def _resonance(step: PowerStep) -> Verdict | None:
    change = _relative(step.fs_before_hz, step.fs_after_hz)
    if change is None or abs(change) <= RESONANCE_CHANGE:
        return None
    return Verdict(
        code="resonance-moved",
        severity=Severity.CAUTION,
        text=f"The resonance moved by {100 * change:+.0f} %: the suspension was worked in, or it is giving way.",
        remedy="Measure it again after a day of rest; what does not come back is lasting.",
        data={"change": change},
    )


def _level(step: PowerStep) -> Verdict | None:
    if step.level_change_db is None or abs(step.level_change_db) <= LEVEL_CHANGE_DB:
        return None
    return Verdict(
        code="level-changed",
        severity=Severity.CAUTION,
        text=f"The level changed by {step.level_change_db:+.1f} dB.",
        remedy="Let it cool, measure again, and look at magnet, coil and glue.",
        data={"change_db": step.level_change_db},
    )


def _person(step: PowerStep) -> Verdict | None:
    if step.judged != "failed":
        return None
    return Verdict(code="step-failed", severity=Severity.BAD, text=f"Judged as failed{': ' if step.note else '.'}{step.note}")  # fmt: skip


def _relative(before: float | None, after: float | None) -> float | None:
    if before is None or after is None or not (before > 0.0 and math.isfinite(after)):
        return None
    return after / before - 1.0
