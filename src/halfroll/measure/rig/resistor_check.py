"""Checks of a rig that measures current: with nothing connected, and with a known resistor in place of the driver.

Open check: no current flows, so both channels of a divider (or a voltage and a current channel put on the same voltage) see
one voltage; what they differ by is gain and delay between the channels. Resistor check: the impedance must come out as the
resistor's; what is left is the error of shunt or series resistor, which it corrects.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import fft

from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray, db
from halfroll.core.text import format_stated
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.recording import Recording, Role
from halfroll.measure.rig.budget import (
    PERCENT_DB,
    Contribution,
    above_zero,
    combined_db,
    normal,
    not_negative,
    rectangular,
)

BANDS_PER_OCTAVE = 6
LEAST_SHARE_DB = -50.0
"""Bands whose power lies further below the strongest are not looked at: nothing was played there."""

LEAST_POWER = 1e-14
"""Power of the strongest band over the number of samples, in squares of the samples' unit, from which on there is a signal."""

SHORTEST_S = 0.2
"""A check must hold this much (s)."""

SAME_VOLTAGE_DB = 1.0
"""More than this between the lowest and highest band of an open check: something was connected."""

OTHER_GAIN_DB = 20.0
GOOD_RESISTOR_PERCENT = 5.0
FAR_RESISTOR_PERCENT = 20.0
TENFOLD = (7.0, 14.0)
"""Factor by which a resistance is taken for one typed ten times too large or too small."""


@dataclass(frozen=True, kw_only=True)
class Mismatch:
    """Second channel over first for one and the same voltage.

    Parameters
    ----------
    gain_db, delay_s
        Second channel re first (dB), and how much later it is (s).
    residual_db
        Standard deviation over frequency of what gain and delay leave over (dB, and radians taken as 8.7 dB each).
    frequency_hz
        Middle of each band (n,).
    ratio
        Complex ratio in each band (n,).
    """

    gain_db: float
    delay_s: float
    residual_db: float
    frequency_hz: FloatArray
    ratio: ComplexArray
    verdicts: tuple[Verdict, ...] = ()

    @property
    def u_db(self) -> float:
        """Standard uncertainty of the gain: what is left over frequency is no better known anywhere (dB)."""
        return max(self.residual_db, 1e-4)


@dataclass(frozen=True, kw_only=True)
class ResistorCheck:
    """The known resistor as the rig measures it.

    Parameters
    ----------
    known_ohm, measured_ohm
        Resistor, and modulus of the impedance found in its place.
    phase_deg
        Mean phase of that impedance (degrees); 0 for a resistor.
    refined_ohm
        Shunt or series resistor that makes it come out right; None when the check is too far off to correct anything.
    u_db
        Standard uncertainty of the refined value (dB).
    """

    known_ohm: float
    measured_ohm: float
    phase_deg: float
    refined_ohm: float | None
    u_db: float
    contributions: tuple[Contribution, ...]
    verdicts: tuple[Verdict, ...]


def open_check(first: FloatArray, second: FloatArray, rate_hz: int) -> Mismatch:
    """Gain and delay between two channels (n,) that saw the same voltage: a sweep, or one tone.

    Raises
    ------
    InputError
        A channel is silent, or they differ by more than a gain setting.
    """
    if first.shape != second.shape or first.ndim != 1 or not first.size:
        raise InputError("Both channels of a check must have the same length")
    for name, channel in (("first", first), ("second", second)):
        if float(np.std(channel)) < 1e-6:
            raise InputError(f"The {name} channel of the check is silent",
                             remedy="Both inputs must be on the amplifier's output, with nothing else connected")  # fmt: skip
    frequency, ratio, weight = band_ratios(first, second, rate_hz)
    gain = float(np.average(db(ratio), weights=weight))
    if abs(gain) > OTHER_GAIN_DB:
        raise InputError("The two channels must see the same voltage", found=f"{gain:+.1f} dB between them",
                         allowed=f"{OTHER_GAIN_DB:g} dB at most", remedy="Set both inputs to the same gain and range")  # fmt: skip
    delay = _delay(frequency, ratio, weight)
    left = ratio * 10 ** (-gain / 20) * np.exp(2j * np.pi * frequency * delay)
    residual = float(np.sqrt(np.average(np.abs(left - 1.0) ** 2, weights=weight))) * 100 * PERCENT_DB
    return Mismatch(gain_db=gain, delay_s=delay, residual_db=residual, frequency_hz=frequency, ratio=ratio,
                    verdicts=_open_verdicts(ratio))  # fmt: skip


def band_ratios(
    first: FloatArray, second: FloatArray, rate_hz: int
) -> tuple[FloatArray, ComplexArray, FloatArray]:
    """Second over first in bands of a sixth of an octave: middle (n,), complex ratio (n,), weight (n,).

    The ratio is the least-squares one, sum(S2 S1*)/sum|S1|²; bands in which nothing was played are left out. A tone fills one.
    """
    if first.size < SHORTEST_S * rate_hz:
        raise InputError("The recording of a check is too short", found=f"{first.size / rate_hz:.2f} s",
                         allowed=f"{SHORTEST_S:g} s or more")  # fmt: skip
    if not (np.isfinite(first).all() and np.isfinite(second).all()):
        raise InputError("Every sample must be a number", remedy="Export the recording again")
    length = fft.next_fast_len(first.size, real=True)
    window = np.hanning(first.size) if _is_tone(first) else np.ones(first.size)
    one = fft.rfft((first - first.mean()) * window, length)
    two = fft.rfft((second - second.mean()) * window, length)
    hertz = fft.rfftfreq(length, 1 / rate_hz)
    low, high = 10.0, min(20_000.0, 0.45 * rate_hz)
    edges = low * 2 ** (np.arange(int(BANDS_PER_OCTAVE * math.log2(high / low)) + 2) / BANDS_PER_OCTAVE)
    index = np.digitize(hertz, edges)
    power = np.bincount(index, np.abs(one) ** 2, edges.size + 1)[1:-1]
    cross = np.array([np.bincount(index, part, edges.size + 1)[1:-1] for part in
                      ((two * np.conj(one)).real, (two * np.conj(one)).imag)])  # fmt: skip
    centre = np.bincount(index, hertz * np.abs(one) ** 2, edges.size + 1)[1:-1] / np.maximum(power, 1e-300)
    if not power.max() > LEAST_POWER * first.size:
        raise InputError("The recording of a check holds no tone and no sweep between 10 Hz and 20 kHz",
                         remedy="Play a sweep, or a tone of 100 to 1000 Hz, and record again")  # fmt: skip
    played = power > 10 ** (LEAST_SHARE_DB / 10) * power.max()
    if _is_tone(first):
        played = power >= power.max()
    ratio: ComplexArray = (cross[0] + 1j * cross[1])[played] / power[played]
    return centre[played], ratio, np.ones(int(played.sum()))


def _is_tone(channel: FloatArray) -> bool:
    """Whether nearly all power stands in one line."""
    power = np.abs(fft.rfft((channel - channel.mean()) * np.hanning(channel.size))) ** 2
    top = int(np.argmax(power))
    return bool(power[max(top - 4, 0) : top + 5].sum() > 0.8 * power.sum())


def _delay(frequency: FloatArray, ratio: ComplexArray, weight: FloatArray) -> float:
    """Delay (s) of the ratio by least squares on its phase, which passes through zero (or pi) at 0 Hz."""
    phase = np.unwrap(np.angle(ratio))
    phase = phase - np.pi * np.round(phase[0] / np.pi)
    return -float(np.sum(weight * frequency * phase) / np.sum(weight * frequency**2)) / (2 * np.pi)


def _open_verdicts(ratio: ComplexArray) -> tuple[Verdict, ...]:
    spread = float(np.ptp(db(ratio)))
    said = []
    if spread > SAME_VOLTAGE_DB:
        said.append(Verdict(
            code="open-check-loaded", severity=Severity.BAD,
            text=f"The channels differ by {spread:.1f} dB more at some frequencies than at others: something was connected "
            "during the open check.", remedy="Take the driver off and record the check again.", data={"spread_db": spread},
        ))  # fmt: skip
    if float(np.mean(ratio.real < 0)) > 0.5:
        said.append(Verdict(
            code="open-check-inverted", severity=Severity.BAD,
            text="One channel is upside down against the other.", remedy="Exchange the two leads of one input.",
        ))  # fmt: skip
    return tuple(said)


def resistor_check(
    recording: Recording,
    known_ohm: float,
    *,
    tolerance_percent: float = 1.0,
    resistance_ohm: float | None = None,
) -> ResistorCheck:
    """A known resistor in place of the driver, from a recording whose current was derived (`with_current`).

    Parameters
    ----------
    recording
        Voltage and current, with their scales; a sweep or one tone.
    known_ohm, tolerance_percent
        The resistor (ohm) and the limits of its value (percent).
    resistance_ohm
        Shunt or series resistor as stated so far (ohm), to be refined; None where there is none.

    Raises
    ------
    InputError
        No voltage or no current, one of them silent, or too short.
    """
    above_zero(known_ohm, "The known resistor", "known_ohm")
    not_negative(tolerance_percent, "The tolerance of the known resistor", "tolerance_percent")
    voltage, current = recording.physical(Role.VOLTAGE), recording.physical(Role.CURRENT)
    if voltage is None or current is None or not {Role.VOLTAGE, Role.CURRENT} <= set(recording.scales):
        raise InputError("A resistor check needs the voltage and the current, each with its scale",
                         found=", ".join(recording.roles))  # fmt: skip
    if min(float(np.std(voltage)), float(np.std(current))) <= 0.0:
        raise InputError("The voltage or the current channel of the check is silent",
                         remedy="Check leads, channel order and input gain, and record again")  # fmt: skip
    _, impedance, weight = band_ratios(current, voltage, recording.rate_hz)
    mean = complex(np.average(impedance, weights=weight))
    measured, spread = abs(mean), float(np.std(np.abs(impedance) / abs(mean)))
    factor = known_ohm / measured
    parts = (
        rectangular("known resistor", 100 * PERCENT_DB * tolerance_percent / 100),
        normal("spread over frequency", 100 * PERCENT_DB * spread),
    )
    verdicts = _resistor_verdicts(known_ohm, measured, mean, resistance_ohm)
    usable = all(v.severity < Severity.BAD for v in verdicts)
    refined = resistance_ohm * factor if usable and resistance_ohm is not None else None
    return ResistorCheck(
        known_ohm=known_ohm, measured_ohm=measured, phase_deg=math.degrees(math.atan2(mean.imag, mean.real)),
        refined_ohm=refined, u_db=combined_db(parts), contributions=parts, verdicts=verdicts,
    )  # fmt: skip


def _resistor_verdicts(
    known: float, measured: float, mean: complex, resistance: float | None
) -> tuple[Verdict, ...]:
    off = 100 * (measured / known - 1.0)
    data = {"known_ohm": known, "measured_ohm": measured}
    shown = f"The resistor of {format_stated(known, 'ohm')} comes out as {format_stated(float(f'{measured:.3g}'), 'ohm')}"
    ten = tenfold(measured / known)
    if ten:
        stated = "" if resistance is None else f" ({format_stated(resistance, 'ohm')} is stated)"
        text = f"{shown}: the shunt or series resistor{stated} is entered ten times too {ten}."
        return (Verdict(code="shunt-tenfold", severity=Severity.BAD, text=text,
                        remedy="Read the resistor's value again, also its multiplier, and correct it.", data=data),)  # fmt: skip
    if abs(off) > FAR_RESISTOR_PERCENT or mean.real <= 0:
        text = f"{shown}, {off:+.0f} % off: that is no tolerance."
        remedy = "Check wiring, channel order (voltage and current exchanged?), input gains, and both resistors' values."
        return (
            Verdict(code="resistor-check-far", severity=Severity.BAD, text=text, remedy=remedy, data=data),
        )
    if abs(off) > GOOD_RESISTOR_PERCENT:
        text = f"{shown}, {off:+.1f} % off: more than usual tolerances."
        return (Verdict(code="resistor-check-far", severity=Severity.CAUTION, text=text,
                        remedy="Check contacts and lead resistance before it is corrected away.", data=data),)  # fmt: skip
    return ()


def tenfold(ratio: float) -> str:
    """``large`` or ``small`` when a resistance seems to be entered ten times too large or too small; else empty.

    `ratio` is the impedance found over the one that is true; a shunt entered too large makes currents too small.
    """
    low, high = TENFOLD
    if low <= ratio <= high:
        return "large"
    return "small" if low <= 1.0 / max(ratio, 1e-12) <= high else ""


def rated_mismatch(impedance_ohm: ComplexArray, rated_ohm: float | None) -> Verdict | None:
    """An impedance about ten times too large or small for the rated one: a resistor typed with a slip of the point.

    The minimum of a driver lies at 0.8 to 1.3 times its rated impedance (IEC 60268-5 cl. 16.1 for the lower end).
    """
    lowest = float(np.abs(impedance_ohm).min())
    wrong = "" if rated_ohm is None else tenfold(lowest / rated_ohm)
    if not wrong or rated_ohm is None:
        return None
    return Verdict(
        code="shunt-tenfold",
        severity=Severity.CAUTION,
        text=f"The lowest impedance comes out as {lowest:.3g} ohm for a rated {rated_ohm:g} ohm: the shunt or series "
        f"resistor in the rig seems to be ten times too {wrong}.",
        remedy="Check its value in the rig, best with a known resistor in place of the driver.",
        data={"impedance_min_ohm": lowest, "rated_impedance_ohm": rated_ohm},
    )
