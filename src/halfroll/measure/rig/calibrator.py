"""Sensitivity of a microphone from the recorded tone of a sound calibrator (IEC 60942).

The calibrator states a sound pressure level in its coupler; the recording states an r.m.s. value re full scale; their
quotient is the sound pressure of full scale. 94 dB re 20 µPa are 1.002374 Pa, 114 dB are 10.02374 Pa (ISO 1683).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from halfroll.core.errors import InputError
from halfroll.core.levels import DB_OF_RELATIVE, P_REF_PA, FloatArray, amplitude, db
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.rig.budget import Contribution, combined_db, normal, not_negative, rectangular
from halfroll.measure.rig.tone import Tone, find_tone

CalibratorClass = Literal["LS", "1", "2", "none"]

LEVEL_TOLERANCE_DB: dict[CalibratorClass, float] = {"LS": 0.20, "1": 0.40, "2": 0.75, "none": 1.0}
"""How far the level may lie from the one stated, by class (IEC 60942, from memory: acceptance limit and permitted uncertainty
of measurement together). ``none``: a calibrator without a class; 1 dB is the project's choice."""

FREQUENCY_TOLERANCE = 0.02
"""Relative deviation from the nominal frequency that is accepted (class 2 of IEC 60942, from memory)."""

MOST_DISTORTION = 0.04
"""Total distortion and noise that is accepted without a word (class 2 of IEC 60942, from memory)."""

FLUCTUATION_DB = 0.2
"""Short-term fluctuation of the level that is accepted without a word (class 2 of IEC 60942, from memory)."""

NOMINAL_HZ = (250.0, 1000.0)
LEVELS_DB = (94.0, 114.0, 124.0)
"""Principal levels: 94 or 114 dB (IEC 60942); 124 dB is common practice with pistonphones."""

NEAR_LEVEL_DB = 1.0
"""A calibrator's own stated level may differ from the principal one by this, for coupler and microphone type."""

COUPLER_DB = 0.1
"""Limits for the seat of the microphone in the coupler; the project's choice, after common practice."""

PRESSURE_DB = 0.3
"""Limits for the air pressure with a pistonphone when the pressure is not stated: 3.5 kPa, 300 m of height."""

STANDARD_PRESSURE_KPA = 101.325
USUAL_PA = (0.05, 5000.0)
"""Full scale of measuring microphones lies between 68 and 168 dB; what is outside is told."""

SHORT_S = 5.0
SAME_DB = 1.5
"""A sensitivity this near the earlier one needs no word."""

OTHER_LEVEL_DB = 3.0


@dataclass(frozen=True, kw_only=True)
class Calibrator:
    """What is stated of the calibrator.

    Parameters
    ----------
    level_db
        Level in the coupler (dB re 20 µPa): 94 or 114, or what its certificate says.
    frequency_hz
        Nominal frequency (Hz); None: the nearer of 250 Hz and 1 kHz.
    grade
        Class of IEC 60942; ``none`` when it has none.
    certificate_u_db
        Standard uncertainty of a level taken from a calibration certificate (dB); it goes in place of the class.
    pressure_kpa
        Air pressure (kPa), for a pistonphone, whose level goes with it.
    """

    level_db: float = 94.0
    frequency_hz: float | None = None
    grade: CalibratorClass = "none"
    certificate_u_db: float | None = None
    pressure_kpa: float | None = None

    def __post_init__(self) -> None:
        if min(abs(self.level_db - level) for level in LEVELS_DB) > NEAR_LEVEL_DB:
            raise InputError(
                "The level of a calibrator must be near one of the principal levels", key="level_db",
                found=f"{self.level_db:g} dB", allowed="94 or 114 dB (124 dB with a pistonphone), within 1 dB",
                remedy="Read it off the calibrator; sensitivity of another origin can be typed in",
            )  # fmt: skip
        if self.grade not in LEVEL_TOLERANCE_DB:
            raise InputError("The class of a calibrator must be one of those of IEC 60942", key="grade",
                             found=self.grade, allowed=list(LEVEL_TOLERANCE_DB))  # fmt: skip
        if self.certificate_u_db is not None:
            not_negative(
                self.certificate_u_db, "The uncertainty of the calibrator's level", "certificate_u_db"
            )
        if self.pressure_kpa is not None and not 50.0 <= self.pressure_kpa <= 110.0:
            raise InputError("The air pressure must be that of a place on earth", key="pressure_kpa",
                             found=f"{self.pressure_kpa:g} kPa", allowed="50 to 110 kPa (1013 hPa are 101.3 kPa)")  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class MicrophoneCalibration:
    """Result of a calibration: sound pressure of full scale with its budget, and what must be said."""

    pa_per_full_scale: float
    u_db: float
    level_db: float
    nominal_hz: float
    tone: Tone
    contributions: tuple[Contribution, ...]
    verdicts: tuple[Verdict, ...]

    @property
    def full_scale_db(self) -> float:
        """Sound pressure level of a sine that reaches full scale (dB re 20 µPa)."""
        return float(db(self.pa_per_full_scale / math.sqrt(2.0) / P_REF_PA))


def microphone_sensitivity(
    samples: FloatArray, rate_hz: int, calibrator: Calibrator, *, previous_pa: float | None = None
) -> MicrophoneCalibration:
    """Sound pressure of full scale from a recorded calibrator.

    Parameters
    ----------
    samples
        The microphone's channel re full scale, shape (n,).
    calibrator
        What is stated of it.
    previous_pa
        Sound pressure of full scale by an earlier calibration of the same rig (Pa), to find a wrong level by.

    Raises
    ------
    InputError
        There is no tone, it is not steady, clipped, a sweep, or of another frequency than a calibrator's.
    """
    tone = find_tone(samples, rate_hz)
    _refuse_clipped(tone)
    nominal = _nominal(tone, calibrator)
    level = calibrator.level_db + _pressure_correction_db(nominal, calibrator)
    pa = float(P_REF_PA * amplitude(level)) / tone.rms
    parts = _budget(tone, calibrator, nominal, rate_hz)
    said = (*_tone_verdicts(tone, nominal), *_level_verdicts(pa, previous_pa))
    return MicrophoneCalibration(
        pa_per_full_scale=pa, u_db=combined_db(parts), level_db=level, nominal_hz=nominal, tone=tone,
        contributions=parts, verdicts=said,
    )  # fmt: skip


def _refuse_clipped(tone: Tone) -> None:
    if tone.clipped >= 3:
        raise InputError(
            "The calibrator's tone is clipped", found=f"{tone.clipped} samples at full scale",
            remedy="Lower the input gain, note its position, and record again; the gain must stay there for all takes",
        )  # fmt: skip


def _nominal(tone: Tone, calibrator: Calibrator) -> float:
    """The nominal frequency (Hz) the tone belongs to; refused when it belongs to none."""
    choices = NOMINAL_HZ if calibrator.frequency_hz is None else (calibrator.frequency_hz,)
    nominal = min(choices, key=lambda hz: abs(math.log(tone.frequency_hz / hz)))
    if abs(tone.frequency_hz / nominal - 1.0) > FREQUENCY_TOLERANCE:
        raise InputError(
            "The tone does not have the frequency of the calibrator", found=f"{tone.frequency_hz:.2f} Hz",
            allowed=f"{' or '.join(f'{hz:g}' for hz in choices)} Hz within {100 * FREQUENCY_TOLERANCE:g} %",
            remedy="Check that the calibrator was recorded and not another tone, and the sample rate of the file",
        )  # fmt: skip
    return nominal


def _pressure_correction_db(nominal_hz: float, calibrator: Calibrator) -> float:
    """A pistonphone's level goes with the air pressure, 20 lg(p/101.325 kPa); other calibrators keep theirs."""
    if calibrator.pressure_kpa is None or nominal_hz != NOMINAL_HZ[0]:
        return 0.0
    return float(db(calibrator.pressure_kpa / STANDARD_PRESSURE_KPA))


def _budget(tone: Tone, calibrator: Calibrator, nominal_hz: float, rate_hz: int) -> tuple[Contribution, ...]:
    if calibrator.certificate_u_db is not None:
        own = normal("level of the calibrator, by its certificate", calibrator.certificate_u_db)
    else:
        name = "without a class" if calibrator.grade == "none" else f"class {calibrator.grade} of IEC 60942"
        own = rectangular(f"level of the calibrator, {name}", LEVEL_TOLERANCE_DB[calibrator.grade])
    parts = [
        own,
        normal("fluctuation of the level in the recording", tone.fluctuation_db),
        normal("noise and distortion in the recording", _noise_db(tone, rate_hz)),
        rectangular("seat of the microphone in the coupler", COUPLER_DB),
    ]
    if nominal_hz == NOMINAL_HZ[0] and calibrator.pressure_kpa is None:
        parts.append(rectangular("air pressure, not stated (pistonphone)", PRESSURE_DB))
    return tuple(parts)


def _noise_db(tone: Tone, rate_hz: int) -> float:
    """What white noise as strong as the residual leaves uncertain in the amplitude (dB): relative variance r²/n."""
    samples = tone.duration_s * rate_hz
    return float(DB_OF_RELATIVE * tone.residual / math.sqrt(samples))


def _tone_verdicts(tone: Tone, nominal_hz: float) -> tuple[Verdict, ...]:
    said = []
    if tone.duration_s < SHORT_S:
        said.append(_caution("calibrator-short", f"Only {tone.duration_s:.1f} s of steady tone were found.",
                             "Record 10 s or more.", duration_s=tone.duration_s))  # fmt: skip
    if max(tone.fluctuation_db, abs(tone.trend_db)) > FLUCTUATION_DB:
        said.append(_caution(
            "calibrator-unsteady", f"The level of the tone moves: {tone.fluctuation_db:.2f} dB from piece to piece, "
            f"{tone.trend_db:+.2f} dB from beginning to end.",
            "Seat the calibrator firmly and let it settle; check its battery.",
            fluctuation_db=tone.fluctuation_db, trend_db=tone.trend_db,
        ))  # fmt: skip
    if tone.residual > MOST_DISTORTION:
        said.append(_caution(
            "calibrator-impure", f"Distortion and noise are {100 * tone.residual:.1f} % of the tone; a calibrator has less "
            f"than {100 * MOST_DISTORTION:g} %.", "Check that nothing is overdriven, and make it quieter.",
            residual_percent=100 * tone.residual,
        ))  # fmt: skip
    if abs(tone.frequency_hz / nominal_hz - 1.0) > FREQUENCY_TOLERANCE / 2:
        said.append(_caution(
            "calibrator-frequency", f"The tone lies at {tone.frequency_hz:.1f} Hz, {nominal_hz:g} Hz is nominal.",
            "Check the calibrator's battery and the sample rate of the file.", frequency_hz=tone.frequency_hz,
        ))  # fmt: skip
    return tuple(said)


def _level_verdicts(pa: float, previous_pa: float | None) -> tuple[Verdict, ...]:
    """Whether the calibrator was set to the level stated, and whether the sensitivity can be true."""
    if previous_pa is not None:
        step = float(db(pa / previous_pa))
        if abs(abs(step) - 20.0) <= OTHER_LEVEL_DB:
            text = (
                f"The sensitivity differs by {step:+.1f} dB from the calibration before: the calibrator was set to the other "
                "level (94 or 114 dB), or the gain was changed by 20 dB."
            )
            remedy = "Read the level off the calibrator and state that one. If the gain was changed on purpose, keep it anyway."
            return (Verdict(code="calibrator-other-level", severity=Severity.BAD, text=text, remedy=remedy,
                            data={"step_db": step}),)  # fmt: skip
    return sensitivity_verdicts(pa, previous_pa)


def sensitivity_verdicts(pa: float, previous_pa: float | None) -> tuple[Verdict, ...]:
    """Whether a sensitivity (Pa per full scale) can be true: against the one before, else against what microphones have."""
    if previous_pa is not None:
        step = float(db(pa / previous_pa))
        if abs(step) > SAME_DB:
            return (_caution("calibration-moved", f"The sensitivity differs by {step:+.1f} dB from the calibration before.",
                             "If the gain was not changed, look for a loose connector or a damaged microphone.",
                             step_db=step),)  # fmt: skip
        return ()
    if not USUAL_PA[0] <= pa <= USUAL_PA[1]:
        return (_caution(
            "calibration-unlikely", f"Full scale comes out as {pa:.3g} Pa, {float(db(pa / P_REF_PA)):.0f} dB; measuring "
            "microphones have 68 to 168 dB.", "Check the level of the calibrator and which channel was recorded.",
            pa_per_full_scale=pa,
        ),)  # fmt: skip
    return ()


def _caution(code: str, text: str, remedy: str, **data: float) -> Verdict:
    return Verdict(code=code, severity=Severity.CAUTION, text=text, remedy=remedy, data=dict(data))
