"""What must be said of a driver's limits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from halfroll.acoustics.load import AcousticLoad
from halfroll.core.text import THIN, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.limits.travel import TravelLimit
from halfroll.driver.limits.types import MaximumLevel
from halfroll.driver.steady.types import Standing

SAFE_DB = 85.0
"""Level a day's work may have at the ear, 8 h (NIOSH recommended exposure limit, 3 dB exchange)."""

DISAGREE = 0.4
"""Rules of travel that differ by more than this are said: they may, by 40 % (common practice)."""

UNLOADED_DB = 6.0


def limit_verdicts(
    found: MaximumLevel, ended: Sequence[Standing], load: AcousticLoad | None
) -> tuple[Verdict, ...]:
    """Hearing first, then what the answer rests on."""
    return tuple(one for one in (
        *_loud(found), *_model(found), *_jump(found, ended), *_rules(found.travels), *_unloaded(found, load), *_out(found)
    ))  # fmt: skip


def allowed_s(level_db: float) -> float:
    """Time (s) a day the ear may have a level: 8 h/2^((L - 85)/3) (NIOSH)."""
    return float(8.0 * 3600.0 / 2.0 ** ((level_db - SAFE_DB) / 3.0))


def _loud(found: MaximumLevel) -> Iterator[Verdict]:
    loudest = found.loudest_db
    if loudest >= SAFE_DB:
        time = allowed_s(loudest)
        words = f"{time / 60:.0f}{THIN}min" if time >= 90.0 else format_value(time, None, "s")
        yield Verdict(
            code="level-hurts-hearing", severity=Severity.CAUTION,
            text=f"At its limits this driver makes up to {loudest:.0f}{THIN}dB at 1{THIN}m; so loud the ear bears about {words} a day (NIOSH: 85 dB for 8 h, half the time for every 3 dB more).",
            remedy="Try limits from another room or with ear protection, start low, and never leave a driver alone at its limit.",
            data={"level_db": loudest, "allowed_s": time},
        )  # fmt: skip


def _model(found: MaximumLevel) -> Iterator[Verdict]:
    acting = np.array([[key == "model-end" for key in one.acting] for one in found.lowest]).any(axis=0)
    if acting.any():
        where = found.frequency_hz[acting]
        yield Verdict(
            code="limit-beyond-model", severity=Severity.CAUTION,
            text=f"{_at(where)} the travel for which the model holds ends before any other limit is met; the level drawn there is what is safe to say, not what the driver bears.",
            remedy="Compute the motor and the suspension over a longer travel.",
            data={"frequency_hz": [float(f) for f in where]},
        )  # fmt: skip


def _jump(found: MaximumLevel, ended: Sequence[Standing]) -> Iterator[Verdict]:
    where = found.frequency_hz[np.array([one == "not found" for one in ended], dtype=bool)]
    if where.size:
        yield Verdict(
            code="limit-motion-jumps", severity=Severity.CAUTION,
            text=f"{_at(where)} no steady motion was found beyond a drive: a little more voltage makes the cone jump to another motion, or never settle.",
            remedy="Stay below; a more symmetric force factor or a suspension that stiffens later moves it up.",
            data={"frequency_hz": [float(f) for f in where]},
        )  # fmt: skip


def _rules(travels: Sequence[TravelLimit]) -> Iterator[Verdict]:
    each = {one.key: one.each_way_m for one in travels}
    geometric, force = each.get("travel-geometric"), each.get("travel-bl")
    if geometric and force and math.isfinite(force) and abs(geometric / force - 1.0) > DISAGREE:
        yield Verdict(
            code="travel-rules-disagree", severity=Severity.NOTE,
            text=f"The winding over the gap allows {1e3 * geometric:.1f}{THIN}mm each way, 82 % of the force factor {1e3 * force:.1f}{THIN}mm.",
            remedy="Print which one is meant beside Xmax. Force factors fall with the stray field, which the geometric rule does not know.",
            data={"geometric_mm": 1e3 * geometric, "bl_82_mm": 1e3 * force},
        )  # fmt: skip


def _unloaded(found: MaximumLevel, load: AcousticLoad | None) -> Iterator[Verdict]:
    """A vented cabinet, or one with a passive radiator, no longer holds the cone below its tuning."""
    if load is None or not {"port", "passive radiator"} & set(load.outlets):
        return
    f, voltage = found.frequency_hz, found.lowest[0].voltage_v
    pressure = np.abs(
        load.pressure(f) * 2.0 * np.pi * f
    )  # per displaced volume: largest where the outlet moves against the cone
    tuning = float(f[int(np.argmax(pressure * (f < 200.0)))])
    below, above = f < 0.8 * tuning, (f >= tuning) & (f < 4.0 * tuning)
    least = [float(np.min(voltage[where & np.isfinite(voltage)], initial=np.inf)) for where in (below, above)]
    if least[0] < least[1] * 10.0 ** (-UNLOADED_DB / 20.0) and math.isfinite(least[1]):
        yield Verdict(
            code="unloaded-below-tuning", severity=Severity.CAUTION,
            text=f"Below its tuning near {tuning:.0f}{THIN}Hz the cabinet no longer holds the cone: a limit is met at {format_value(least[0], None, 'V')} there, above the tuning only at {format_value(least[1], None, 'V')}.",
            remedy="Cut what lies below the tuning with a high-pass before the amplifier.",
            data={"tuning_hz": tuning, "below_v": least[0], "above_v": least[1]},
        )  # fmt: skip


def _out(found: MaximumLevel) -> Iterator[Verdict]:
    if found.left_out:
        yield Verdict(
            code="limits-left-out", severity=Severity.NOTE,
            text=f"Not among the limits: {'; '.join(found.left_out)}.",
            remedy="" if all("not met" in one for one in found.left_out) else "Design the motor and the coil of this version, and they follow.",
            data={"left_out": list(found.left_out)},
        )  # fmt: skip


def _at(frequency_hz: np.ndarray) -> str:
    low, high = float(np.min(frequency_hz)), float(np.max(frequency_hz))
    return f"At {low:.0f}{THIN}Hz" if low == high else f"From {low:.0f} to {high:.0f}{THIN}Hz"
