"""What can be wrong with a recording, found in its samples and spectra and said in words."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import median_filter

from halfroll.core.conditions import Conditions, Space
from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray, db
from halfroll.core.text import THIN, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.analysis.response import SPEED_OF_SOUND, Gate
from halfroll.measure.recording import Recording, Role
from halfroll.measure.sweep import HIGHEST_RATE_HZ, LOWEST_RATE_HZ, Sweep

NAMES = {
    Role.MICROPHONE: "microphone",
    Role.VOLTAGE: "voltage",
    Role.CURRENT: "current",
    Role.SOURCE: "source",
}

_BLOCK = 256
_CLICK_RATIO = 12.0
_ZERO_RUN = 24
_SAME_INSTANT_S = 5e-4


def check_samples(recording: Recording, sweep: Sweep) -> None:
    """Refuse what cannot be analysed at all.

    Raises
    ------
    InputError
        Sample rate out of range or not the sweep's, no microphone channel, too short, or samples that are no numbers.
    """
    if not LOWEST_RATE_HZ <= recording.rate_hz <= HIGHEST_RATE_HZ:
        raise InputError(
            "The sample rate of the recording is out of range",
            found=f"{recording.rate_hz} Hz",
            allowed=f"{LOWEST_RATE_HZ} to {HIGHEST_RATE_HZ} Hz",
        )
    if Role.MICROPHONE not in recording.roles:
        raise InputError(
            "A take must have a microphone channel", key="roles", found=", ".join(recording.roles)
        )
    if not np.isfinite(recording.samples).all():
        channel, sample = (int(v) for v in np.argwhere(~np.isfinite(recording.samples))[0])
        raise InputError(
            f"Every sample must be a number; channel {channel + 1} is none at sample {sample}",
            remedy="Export the recording again",
        )
    if recording.samples.shape[1] < 0.5 * sweep.duration_s * recording.rate_hz:
        raise InputError(
            "The recording is shorter than the sweep",
            found=f"{recording.samples.shape[1] / recording.rate_hz:.2f} s",
            allowed=f"at least {sweep.duration_s:.2f} s",
        )
    for role, channel_samples in zip(recording.roles, recording.samples, strict=True):
        if role is not Role.UNUSED and not np.any(channel_samples):
            raise InputError(
                f"The {NAMES[role]} channel is silent: every sample is zero",
                remedy="Check cable, input and channel order",
            )


def clipping(samples: FloatArray, role: Role) -> Verdict | None:
    """Clipping of a channel (n,) re full scale.

    Two signs: three samples in a row at full scale; or a peak region far fuller than a sine's, where the share of
    samples within 0.2 % of the peak is 2 acos(0.998)/pi = 4 % (arcsine distribution of a sine's samples).
    """
    magnitude = np.abs(samples)
    peak = float(magnitude.max())
    full = magnitude >= 0.9995
    runs = int(np.count_nonzero(full[:-2] & full[1:-1] & full[2:]))
    if runs:
        return Verdict(
            code="clipped",
            severity=Severity.BAD,
            text=f"The {NAMES[role]} channel is clipped: {runs + 2} samples stand at full scale.",
            remedy="Lower the input gain and record again.",
            data={"channel": str(role), "samples": runs + 2},
        )
    blocks = magnitude[: len(magnitude) // _BLOCK * _BLOCK].reshape(-1, _BLOCK)
    loud = blocks.max(axis=1) > 0.998 * peak
    share = float(np.mean(blocks[loud] > 0.998 * peak)) if loud.any() else 0.0
    if share > 0.16 and np.count_nonzero(loud) >= 8:
        return Verdict(
            code="flat-topped",
            severity=Severity.BAD,
            text=f"The {NAMES[role]} channel has flat tops at {peak:.3f} of full scale: "
            "something clipped before the converter.",
            remedy="Lower the level of amplifier or microphone preamplifier and record again.",
            data={"channel": str(role), "share": share},
        )
    return None


def _sweep_part(samples: FloatArray, sweep: Sweep, start_s: float) -> tuple[FloatArray, int]:
    first = max(round((start_s + sweep.fade_in_s) * sweep.rate_hz), 0)
    last = min(round((start_s + sweep.duration_s - sweep.fade_out_s) * sweep.rate_hz), len(samples))
    return samples[first:last], first


def dropout(samples: FloatArray, role: Role, sweep: Sweep, start_s: float) -> Verdict | None:
    """A gap in a channel (n,) while the sweep runs: exact zeros in a row, or a click.

    A sine's second difference changes slowly along a sweep; a gap or a click stands far above its neighbours.
    """
    part, first = _sweep_part(samples, sweep, start_s)
    if len(part) < 20 * _BLOCK:
        return None
    zeros = np.flatnonzero(np.diff(np.concatenate([[0], (part == 0).astype(np.int8), [0]])))
    if len(zeros):
        lengths = zeros[1::2] - zeros[::2]
        longest = int(np.argmax(lengths))
        if lengths[longest] >= _ZERO_RUN:
            at = (first + zeros[2 * longest]) / sweep.rate_hz
            return _gap(role, at, f"{lengths[longest]} samples of exact silence", Severity.BAD)
    bend = np.abs(np.diff(part, 2))
    peaks = bend[: len(bend) // _BLOCK * _BLOCK].reshape(-1, _BLOCK).max(axis=1)
    usual = np.maximum(median_filter(peaks, 17, mode="nearest"), 1e-12)
    ratio = peaks / usual
    block = int(np.argmax(ratio))
    if ratio[block] > _CLICK_RATIO:
        at = (
            first + block * _BLOCK + int(np.argmax(bend[block * _BLOCK : (block + 1) * _BLOCK]))
        ) / sweep.rate_hz
        return _gap(role, at, f"a click {ratio[block]:.0f} times above its surroundings", Severity.CAUTION)
    return None


def lost_together(found: list[Verdict]) -> list[Verdict]:
    """The same verdicts, with clicks that several channels have at one instant told as what they are: samples lost.

    No sound and no voltage reaches microphone and wires within the same half millisecond by chance; a buffer that is dropped or
    repeated cuts all channels at once.
    """
    clicks = [v for v in found if v.code == "click"]
    for first in clicks:
        together = [v for v in clicks if abs(v.data["at_s"] - first.data["at_s"]) < _SAME_INSTANT_S]
        if len(together) > 1:
            lost = Verdict(
                code="samples-lost",
                severity=Severity.BAD,
                text=f"Several channels break off at the same instant, {first.data['at_s']:.3f} s: samples were lost or inserted.",
                remedy="Use a larger buffer, close other programs and record again.",
                data={"at_s": first.data["at_s"]},
            )
            return [*(v for v in found if v not in together), lost]
    return found


def _gap(role: Role, at_s: float, what: str, severity: Severity) -> Verdict:
    return Verdict(
        code="dropout" if severity is Severity.BAD else "click",
        severity=severity,
        text=f"The {NAMES[role]} channel has {what} at {at_s:.3f} s.",
        remedy="Use a larger buffer, close other programs and record again.",
        data={"channel": str(role), "at_s": at_s},
    )


def flatness_db(spectrum: ComplexArray) -> float:
    """Standard deviation (dB) of a spectrum's level over a log-frequency grid."""
    return float(np.std(db(spectrum)))


def swapped(spectra: dict[Role, ComplexArray], frequency_hz: FloatArray) -> Verdict | None:
    """Channels that seem to be exchanged.

    An amplifier's voltage is flat, a driver's pressure and current are not; so the flattest channel is the voltage.
    """
    if Role.VOLTAGE not in spectra:
        return None
    inside = (frequency_hz >= 30) & (frequency_hz <= 5000)
    if inside.sum() < 48:
        return None
    spread = {role: flatness_db(values[inside]) for role, values in spectra.items()}
    for other in (Role.MICROPHONE, Role.CURRENT):
        if other in spread and spread[Role.VOLTAGE] > 2.0 and spread[other] < 0.5 * spread[Role.VOLTAGE]:
            return Verdict(
                code="swapped-channels",
                severity=Severity.BAD,
                text=f"Voltage and {NAMES[other]} seem to be swapped: the voltage channel varies by "
                f"{spread[Role.VOLTAGE]:.1f} dB, the {NAMES[other]} channel by only {spread[other]:.1f} dB.",
                remedy="Correct the channel roles of this take.",
                data={f"spread_{role}_db": value for role, value in spread.items()},
            )
    return None


def impedance_sense(impedance_ohm: ComplexArray) -> Verdict | None:
    """An impedance no loudspeaker has: reversed current, or a wrong shunt value."""
    real_negative = float(np.mean(impedance_ohm.real < 0))
    if real_negative > 0.5:
        return Verdict(
            code="current-reversed",
            severity=Severity.CAUTION,
            text="The current channel is reversed: the impedance would have a negative resistance.",
            remedy="It was turned for this analysis; exchange the two leads of the shunt.",
        )
    lowest = float(np.abs(impedance_ohm).min())
    if not 0.5 <= lowest <= 200:
        return Verdict(
            code="impedance-scale",
            severity=Severity.CAUTION,
            text=f"The lowest impedance comes out as {lowest:.3g} ohm; loudspeakers have 2 to 32 ohm.",
            remedy="Check the shunt's value and the scales of voltage and current in the rig.",
            data={"impedance_min_ohm": lowest},
        )
    return None


def impedance_without_scale(recording: Recording) -> Verdict:
    """Voltage and current were recorded, but what full scale means is not known of both."""
    lacking = [NAMES[role] for role in (Role.VOLTAGE, Role.CURRENT) if role not in recording.scales]
    return Verdict(
        code="impedance-without-scale",
        severity=Severity.NOTE,
        text=f"The impedance is not given: the rig has no scale for {' and '.join(lacking)}.",
        remedy="Enter what full scale of the channel means in the rig.",
    )


def signal_over_noise(signal: FloatArray, noise: FloatArray, frequency_hz: FloatArray) -> Verdict | None:
    """Too little signal over noise in the fundamental; both (n_f,) r.m.s. magnitudes."""
    if not np.isfinite(noise).any():
        return Verdict(
            code="no-silence",
            severity=Severity.NOTE,
            text="There is too little silence around the sweep to read the noise floor.",
            remedy="Leave at least 0.2 s before and 0.5 s after the sweep; harmonics cannot be told from noise here.",
        )
    ratio = db(signal / noise)
    poor = ratio < 20.0
    share = float(np.mean(poor))
    if share > 0.5:
        return Verdict(
            code="too-little-signal",
            severity=Severity.BAD,
            text=f"The sweep stands less than 20 dB above the noise over {100 * share:.0f} % of the range.",
            remedy="Raise the level, come closer, make it quieter or use a longer sweep.",
            data={"share": share},
        )
    if share > 0.05:
        worst_hz = float(frequency_hz[np.argmin(ratio)])
        return Verdict(
            code="little-signal",
            severity=Severity.CAUTION,
            text=f"The sweep stands less than 20 dB above the noise over {100 * share:.0f} % of the range, "
            f"worst at {worst_hz:.0f} Hz with {float(ratio.min()):.0f} dB.",
            remedy="Raise the level, come closer, make it quieter or use a longer sweep.",
            data={"share": share, "worst_hz": worst_hz},
        )
    return None


def drive_mismatch(stated_v: float | None, recorded_v: float) -> Verdict | None:
    """The recorded terminal voltage against the one stated in the take."""
    if stated_v is None:
        return None
    difference = float(db(recorded_v / stated_v))
    if abs(difference) < 0.5:
        return None
    return Verdict(
        code="drive-mismatch",
        severity=Severity.CAUTION,
        text=f"The record states {stated_v:.3g} V at the terminals, the recording holds {recorded_v:.3g} V "
        f"({difference:+.1f} dB).",
        remedy="Check which is right; figures use the recorded voltage.",
        data={"difference_db": difference},
    )


def arrival_mismatch(
    arrival_s: float, conditions: Conditions, speed_m_s: float = SPEED_OF_SOUND
) -> Verdict | None:
    """The sound's travel time against the stated distance."""
    if conditions.space is Space.NEAR:
        return None
    heard = arrival_s * speed_m_s
    if abs(heard - conditions.distance_m) <= max(0.1, 0.15 * conditions.distance_m):
        return None
    return Verdict(
        code="arrival",
        severity=Severity.NOTE,
        text=f"The sound arrives {1e3 * arrival_s:.2f} ms after the voltage, as from {heard:.2f} m; "
        f"the record states {conditions.distance_m:g} m.",
        remedy="Check the distance; a converter's delay between channels also shows here.",
        data={"arrival_s": arrival_s},
    )


def reflection(gate: Gate, distance_m: float) -> Verdict | None:
    """A reflection that was found, whether the gate keeps it out, and what it may do in the bass."""
    if gate.reflection_s is None or gate.reflection_db is None:
        return None
    gain = gate.bass_gain(distance_m)
    lowest, highest = (
        format_value(float(db(1 + sign * gain)), 0.5, "dB", digits=1, sign=True) for sign in (-1, 1)
    )
    moves = f"by {lowest} to {highest}"
    at = format_value(gate.reflection_db, 5.0, "dB", digits=1, sign=True)
    text = f"A reflection arrives {1e3 * gate.reflection_s:.1f}{THIN}ms after the direct sound at {at}. "
    if gate.length_s is None or gate.length_s > gate.reflection_s:
        text += f"It can move the level {moves}."
        remedy = f"A gate of {1e3 * gate.reflection_s - 0.1:.1f}{THIN}ms keeps it out."
    else:
        text += (
            f"The gate of {1e3 * gate.length_s:.1f}{THIN}ms keeps it out above {gate.valid_from_hz:.0f}{THIN}Hz. Below that "
            f"the room is included and can move the level {moves}."
        )
        remedy = "For the bass measure farther from floor and walls, or close to the cone."
    return Verdict(
        code="reflection",
        severity=Severity.CAUTION,
        text=text,
        remedy=remedy,
        data={
            "delay_s": gate.reflection_s,
            "level_db": gate.reflection_db,
            "valid_from_hz": gate.valid_from_hz,
        },
    )
