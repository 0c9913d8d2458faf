"""What must be said about a series of tones, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from halfroll.core.levels import DB_OF_RELATIVE, ComplexArray, FloatArray
from halfroll.core.text import count, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.analysis.checks import clipping
from halfroll.measure.heat.coil_temperature import from_impedance
from halfroll.measure.recording import Recording, Role
from halfroll.measure.stepped.tones import Schedule

if TYPE_CHECKING:
    from halfroll.measure.stepped.tone_results import ToneResults

UNDER_NOISE_POWER = 10.0
"""A fundamental counts as found from this power over the expected power of the noise (10 dB)."""

DRIVE_SHARE = 0.5
DRIVE_FLOOR = 0.003
"""The drive's own distortion is said from half of that of the sound, and 0.3 %, on; a bound from common practice."""

DRIVE_OFF_DB = 0.5
MOVED_DB = 0.1
NOISE_WITH_TONE_DB = 10.0


def is_clipped(samples: FloatArray, roles: Sequence[Role]) -> bool:
    """Whether a channel of (channels, n) stood at full scale.

    Of the two signs in `checks.clipping` only this one: the crest of a slow sine looks flat.
    """
    found = [
        clipping(channel, role)
        for role, channel in zip(roles, samples, strict=True)
        if role is not Role.UNUSED
    ]
    return any(verdict is not None and verdict.code == "clipped" for verdict in found)


def without_clipped(recording: Recording, schedule: Schedule) -> tuple[Schedule, list[Verdict]]:
    """The schedule without the tones that were clipped, and what to say of them; all stay when none is clean."""
    rate = schedule.rate_hz
    pieces = [recording.samples[:, t.start : t.start + t.length(rate)] for t in schedule.tones]
    spoiled = [
        tone for tone, piece in zip(schedule.tones, pieces, strict=True) if is_clipped(piece, recording.roles)
    ]
    if not spoiled:
        return schedule, []
    every = len(spoiled) == len(schedule.tones)
    where = _frequencies(np.array([tone.frequency_hz(rate) for tone in spoiled]))
    verdict = Verdict(
        code="tone-clipped",
        severity=Severity.BAD if every else Severity.CAUTION,
        text=f"{'Every tone' if every else count(len(spoiled), 'tone')} drove a channel to full scale: {where}."
        + ("" if every else " It is left out, and nothing louder was played."),
        remedy="Lower the input gain and measure again.",
        data={"level_v": [tone.level_v for tone in spoiled]},
    )
    clean = tuple(tone for tone in schedule.tones if tone not in spoiled)
    return (schedule if every else replace(schedule, tones=clean)), [verdict]


def tone_verdicts(results: ToneResults) -> tuple[Verdict, ...]:
    """What the results show."""
    found = (
        _unsettled(results),
        _under_noise(results),
        _drive_off(results),
        _drive_distorts(results),
        moved(results),
    )
    return tuple(verdict for verdict in found if verdict is not None)


def _unsettled(results: ToneResults) -> Verdict | None:
    where = results.frequency_hz[~results.settled]
    if not where.size:
        return None
    return Verdict(
        code="tone-unsettled",
        severity=Severity.CAUTION,
        text=f"{count(where.size, 'tone')} had not become steady: {_frequencies(where)}.",
        remedy="Allow longer tones, and see that nothing warms up, rattles or creeps.",
        data={"frequency_hz": [float(f) for f in where]},
    )


def _under_noise(results: ToneResults) -> Verdict | None:
    power, noise = np.abs(results.pressure[0]) ** 2, results.pressure_noise[0] ** 2
    where = results.frequency_hz[power < UNDER_NOISE_POWER * noise]
    if not where.size:
        return None
    every = where.size == len(results.tones)
    return Verdict(
        code="tone-under-noise",
        severity=Severity.BAD if every else Severity.CAUTION,
        text=f"{'Every tone' if every else count(where.size, 'tone')} lies under the noise: {_frequencies(where)}.",
        remedy="Begin louder, move the microphone nearer, or check that the driver plays at all.",
        data={"frequency_hz": [float(f) for f in where]},
    )


def _drive_off(results: ToneResults) -> Verdict | None:
    if not results.voltage_recorded:
        return None
    off = 20.0 * np.log10(np.maximum(results.voltage_v, 1e-12) / results.level_v)
    worst = int(np.argmax(np.abs(off)))
    if abs(off[worst]) <= DRIVE_OFF_DB:
        return None
    return Verdict(
        code="drive-off",
        severity=Severity.CAUTION,
        text=f"The voltage at the terminals was {abs(off[worst]):.1f} dB {'above' if off[worst] > 0 else 'below'} what "
        f"was wanted, at {format_value(float(results.frequency_hz[worst]), None, 'Hz')}. The measured voltage counts.",
        remedy="Calibrate the output of the rig again.",
        data={"off_db": float(off[worst])},
    )


def _drive_distorts(results: ToneResults) -> Verdict | None:
    """An amplifier near its limit gives harmonics of its own, which the driver then only passes on."""
    if results.voltage is None:
        return None
    drive = _ratio(results.voltage)
    sound = _ratio(results.pressure)
    much = (drive > DRIVE_FLOOR) & (drive > DRIVE_SHARE * sound)
    if not much.any():
        return None
    worst = int(np.argmax(np.where(much, drive, 0.0)))
    return Verdict(
        code="drive-distorts",
        severity=Severity.CAUTION,
        text=f"The voltage at the terminals is itself distorted, by up to {format_value(100 * float(drive[worst]), None, '%')} "
        f"at {format_value(float(results.frequency_hz[worst]), None, 'Hz')} and "
        f"{format_value(float(results.level_v[worst]), None, 'V')}: part of what is shown is the amplifier.",
        remedy="Use a stronger amplifier, or leave out the highest level.",
        data={"ratio": float(drive[worst])},
    )


def moved(results: ToneResults) -> Verdict | None:
    """Whether the tone repeated at the end gave another level than before the loud tones."""
    pair = _pair(results)
    if pair is None:
        return None
    early, late = pair
    if not all(abs(results.pressure[0, i]) > 0.0 and results.voltage_v[i] > 0.0 for i in pair):
        return None
    per_volt = np.abs(results.pressure[0, [early, late]]) / results.voltage_v[[early, late]]
    change = 20.0 * float(np.log10(per_volt[1] / per_volt[0]))
    u = float(
        np.hypot(*(DB_OF_RELATIVE * results.pressure_u[0, i] / abs(results.pressure[0, i]) for i in pair))
    )
    if abs(change) <= max(MOVED_DB, 3.0 * u):
        return None
    where = format_value(results.tones[late].nominal_hz, None, "Hz")
    return Verdict(
        code="tones-moved",
        severity=Severity.CAUTION,
        text=f"The same tone at the end is {abs(change):.2f} dB {'louder' if change > 0 else 'quieter'} than at the "
        f"beginning ({where}): the driver changed during the series.{_warmed(results, early, late)}",
        remedy="A warm coil is quieter; let it cool down, and measure again with shorter tones.",
        data={"change_db": change, "u_db": u},
    )


def _pair(results: ToneResults) -> tuple[int, int] | None:
    """Places of the closing tone's first playing and of itself; None where it was not played."""
    for late, tone in enumerate(results.tones):
        for early, other in enumerate(results.tones[:late]):
            if tone.closing and (other.nominal_hz, other.level_v) == (tone.nominal_hz, tone.level_v):
                return early, late
    return None


def _warmed(results: ToneResults, early: int, late: int) -> str:
    """How much the coil warmed up by its impedance, in words; the real part stands for Re, so it is at least that."""
    if results.impedance_ohm is None or results.impedance_u_ohm is None:
        return ""
    cold, hot = complex(results.impedance_ohm[early]), complex(results.impedance_ohm[late])
    u = float(np.hypot(results.impedance_u_ohm[early], results.impedance_u_ohm[late]))
    if not hot.real - cold.real > 3.0 * u:
        return ""
    rise = from_impedance(cold, hot, cold.real, u_ohm=u)
    return f" Its coil warmed by at least {format_value(rise.rise_k, rise.u_k, 'K', digits=1)}."


def noise_with_tone(results: ToneResults, silence: FloatArray) -> Verdict | None:
    """Whether more than the silence lies between the harmonics while tones play.

    `silence` is the expected r.m.s. magnitude of the silence at the orders 1 to 10 of each tone, shape (10, n). Lower
    orders than 6 may carry leakage of a tone that settles.
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        over = 20.0 * np.log10(np.nanmedian(results.pressure_noise[5:] / silence[5:], axis=0))
    where = results.frequency_hz[np.nan_to_num(over, nan=0.0) > NOISE_WITH_TONE_DB]
    if not where.size:
        return None
    return Verdict(
        code="noise-with-tone",
        severity=Severity.NOTE,
        text=f"While {count(where.size, 'tone')} played, what lies between the harmonics was up to {float(np.nanmax(over)):.0f} dB over "
        f"the silence before: {_frequencies(where)}.",
        remedy="Listen to these tones: a rattle, a scraping coil, a leak, or wind.",
        data={"over_db": float(np.nanmax(over))},
    )


def _ratio(orders: ComplexArray) -> FloatArray:
    """Harmonics 2 to 10 over the fundamental (n,)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.sqrt(np.nansum(np.abs(orders[1:]) ** 2, axis=0)) / np.abs(orders[0])
    return np.asarray(np.nan_to_num(ratio), dtype=np.float64)


def _frequencies(values: FloatArray) -> str:
    """The first few of some frequencies in words."""
    shown = sorted({round(float(f), 1) for f in values})
    text = ", ".join(f"{f:g}" for f in shown[:4])
    return f"{text} Hz" if len(shown) <= 4 else f"{text} ... {shown[-1]:g} Hz"
