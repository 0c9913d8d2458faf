"""Voltage scales from one reading of a multimeter: of the output, and of an input.

A sine of known digital level is played; the meter at the terminals shows its r.m.s. voltage. Output: volts of digital full
scale = reading times sqrt(2) over the digital peak. Input: the same over the peak found in the recording. A meter's
accuracy is stated as percent of the reading plus digits of its last place (common practice), taken as limits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray, db
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.rig.budget import (
    PERCENT_DB,
    Contribution,
    above_zero,
    combined_db,
    normal,
    not_negative,
    rectangular,
)
from halfroll.measure.rig.tone import Tone, find_tone

TRUSTED_HZ = (40.0, 1000.0)
"""Where a plain multimeter reads alternating voltage as accurately as it says; common practice, its manual decides."""

ROUGH_PERCENT = 5.0
"""An accuracy worse than this is told."""

MOST_RESIDUAL = 0.03
MOST_FLUCTUATION_DB = 0.1


@dataclass(frozen=True, kw_only=True)
class MeterReading:
    """What the meter showed.

    Parameters
    ----------
    volts
        R.m.s. voltage read (V).
    frequency_hz
        Frequency of the tone (Hz).
    percent, digits
        Accuracy as the manual states it for that range: so many percent of the reading and so many digits.
    resolution_v
        What one digit of the last place is worth (V).
    """

    volts: float
    frequency_hz: float
    percent: float
    digits: float
    resolution_v: float

    def __post_init__(self) -> None:
        above_zero(self.volts, "The voltage read on the meter", "volts")
        above_zero(self.frequency_hz, "The frequency of the tone", "frequency_hz")
        not_negative(self.percent, "The accuracy of the meter in percent", "percent")
        not_negative(self.digits, "The accuracy of the meter in digits", "digits")
        above_zero(self.resolution_v, "The value of one digit", "resolution_v")

    @property
    def half_width_db(self) -> float:
        """Limits of the reading as decibels."""
        share = self.percent / 100.0 + self.digits * self.resolution_v / self.volts
        return 100.0 * PERCENT_DB * share

    def contributions(self) -> tuple[Contribution, ...]:
        """Accuracy and, where the digits do not hold it, half a digit of rounding."""
        parts = [rectangular(f"meter, {self.percent:g} % and {self.digits:g} digits", self.half_width_db)]
        if self.digits < 0.5:
            half_digit = 100.0 * PERCENT_DB * 0.5 * self.resolution_v / self.volts
            parts.append(rectangular("rounding of the display", half_digit))
        return tuple(parts)

    def verdicts(self) -> tuple[Verdict, ...]:
        """What must be said about the reading."""
        said = []
        low, high = TRUSTED_HZ
        if not low <= self.frequency_hz <= high:
            said.append(Verdict(
                code="meter-frequency", severity=Severity.CAUTION,
                text=f"The meter was read at {self.frequency_hz:g} Hz; plain multimeters are right only from about 50 Hz to "
                "1 kHz.", remedy="Read it with a tone of 50 to 400 Hz, or see what its manual says of this frequency.",
                data={"frequency_hz": self.frequency_hz},
            ))  # fmt: skip
        if self.half_width_db > ROUGH_PERCENT * PERCENT_DB:
            said.append(Verdict(
                code="meter-rough", severity=Severity.CAUTION,
                text=f"The reading is uncertain by {self.half_width_db / PERCENT_DB:.0f} %: few digits of it count.",
                remedy="Choose a lower range of the meter or a higher voltage.",
                data={"half_width_db": self.half_width_db},
            ))  # fmt: skip
        return tuple(said)


def resolution_of(text: str) -> float:
    """What one digit of the last place is worth in a reading as it was typed: "2.83" gives 0.01."""
    plain = text.strip().replace(",", ".")
    try:
        value = float(plain)
    except ValueError:
        value = math.nan
    if not math.isfinite(value) or "e" in plain.lower():
        raise InputError(
            "The reading must be typed as the meter shows it", found=repr(text), allowed="such as 2.83"
        )
    return float(10.0 ** -len(plain.partition(".")[2]))


@dataclass(frozen=True, kw_only=True)
class VoltageScale:
    """Volts of one full scale with its budget; `tone` is what was found in a recording, None for an output."""

    v_per_full_scale: float
    u_db: float
    at_hz: float
    contributions: tuple[Contribution, ...]
    verdicts: tuple[Verdict, ...] = ()
    tone: Tone | None = None


def output_scale(reading: MeterReading, digital_peak: float) -> VoltageScale:
    """Terminal volts of digital full scale, from the reading while a sine of `digital_peak` (0 to 1) is played."""
    if not 0.0 < digital_peak <= 1.0:
        raise InputError("The digital level of the tone must be its peak re full scale", key="level",
                         found=f"{digital_peak:g}", allowed="above 0, at most 1 (0.5 is -6.02 dB)")  # fmt: skip
    parts = reading.contributions()
    return VoltageScale(
        v_per_full_scale=reading.volts * math.sqrt(2.0) / digital_peak, u_db=combined_db(parts),
        at_hz=reading.frequency_hz, contributions=parts, verdicts=reading.verdicts(),
    )  # fmt: skip


def input_scale(
    samples: FloatArray, rate_hz: int, reading: MeterReading, *, previous_v: float | None = None
) -> VoltageScale:
    """Volts of one full scale of an input, from its recording (n,) of the tone whose voltage was read.

    Raises
    ------
    InputError
        There is no steady tone in it, it is clipped, or its frequency is not the one stated.
    """
    tone = find_tone(samples, rate_hz)
    if tone.clipped >= 3:
        raise InputError("The recorded tone is clipped", found=f"{tone.clipped} samples at full scale",
                         remedy="Lower the input gain or the level, and read the meter again")  # fmt: skip
    if abs(tone.frequency_hz / reading.frequency_hz - 1.0) > 0.01:
        raise InputError("The recorded tone does not have the frequency stated", key="frequency_hz",
                         found=f"{tone.frequency_hz:.2f} Hz", allowed=f"{reading.frequency_hz:g} Hz within 1 %",
                         remedy="Check that this is the recording of that tone, and its sample rate")  # fmt: skip
    parts = (
        *reading.contributions(),
        normal("fluctuation of the level in the recording", tone.fluctuation_db),
    )
    scale = reading.volts / tone.rms
    said = [*reading.verdicts(), *_tone_verdicts(tone), *_moved(scale, previous_v)]
    return VoltageScale(
        v_per_full_scale=scale, u_db=combined_db(parts), at_hz=reading.frequency_hz, contributions=parts,
        verdicts=tuple(said), tone=tone,
    )  # fmt: skip


def _tone_verdicts(tone: Tone) -> list[Verdict]:
    said = []
    if tone.residual > MOST_RESIDUAL:
        said.append(Verdict(
            code="tone-impure", severity=Severity.CAUTION,
            text=f"Distortion and noise are {100 * tone.residual:.1f} % of the tone; the meter counts them, the fit does not.",
            remedy="Lower the level of the amplifier, and look for hum.", data={"residual_percent": 100 * tone.residual},
        ))  # fmt: skip
    if max(tone.fluctuation_db, abs(tone.trend_db)) > MOST_FLUCTUATION_DB:
        said.append(Verdict(
            code="tone-unsteady", severity=Severity.CAUTION,
            text=f"The level of the tone moves by {max(tone.fluctuation_db, abs(tone.trend_db)):.2f} dB.",
            remedy="Let it settle before the meter is read.", data={"fluctuation_db": tone.fluctuation_db},
        ))  # fmt: skip
    return said


def _moved(scale: float, previous: float | None) -> list[Verdict]:
    """A scale far from the one before: another range, another gain, or a slip of the pen."""
    step = 0.0 if previous is None else float(db(np.float64(scale / previous)))
    if abs(step) < 1.5:
        return []
    return [Verdict(
        code="calibration-moved", severity=Severity.CAUTION,
        text=f"The scale differs by {step:+.1f} dB from the calibration before.",
        remedy="If the gain was not changed, check the reading and the range of the meter.", data={"step_db": step},
    )]  # fmt: skip
