"""Proposals for a rig's microphone: from a recorded calibrator, typed in, and its correction curve."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray, db
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.rig.budget import normal
from halfroll.measure.rig.calibrator import Calibrator, microphone_sensitivity, sensitivity_verdicts
from halfroll.workshop.audio import read_audio
from halfroll.workshop.calibrate import Proposal, file_name, table_of
from halfroll.workshop.correction_file import correction_text, read_correction
from halfroll.workshop.files import digest, read_whole
from halfroll.workshop.rig_record import RigRecord
from halfroll.workshop.store import Workshop

MUCH_DB = 0.5
"""A correction curve that is not near 0 dB at the calibrator's frequency is told from here on."""


def channel_of(path: Path, channel: int | None = None, *, shown: str | None = None) -> tuple[FloatArray, int]:
    """Samples (n,) of one channel of an audio file, counted from 1, and the rate; without `channel` the only one."""
    audio, file = read_audio(path), shown or str(path)
    count = len(audio.samples)
    if channel is None and count > 1:
        raise InputError("The file has several channels; say which one holds the signal", file=file, key="channel",
                         found=f"{count} channels", allowed=f"1 to {count}")  # fmt: skip
    number = 1 if channel is None else channel
    if not 1 <= number <= count:
        raise InputError("There is no such channel in the file", file=file, key="channel", found=str(number),
                         allowed=f"1 to {count}")  # fmt: skip
    return audio.samples[number - 1], audio.rate_hz


def propose_calibrator(
    workshop: Workshop, rig: str, path: Path, calibrator: Calibrator, *, channel: int | None = None,
    date: dt.date | None = None, valid_days: int | None = None, shown: str | None = None,
) -> Proposal:  # fmt: skip
    """Microphone sensitivity from the recording of a sound calibrator.

    Parameters
    ----------
    path, channel
        WAV or FLAC file, and which channel of it holds the microphone (from 1).
    date
        Day of the calibration; today when left out.
    valid_days
        How long it counts; the record's default when left out.
    shown
        The name a person knows the file by.

    Raises
    ------
    InputError
        There is no such rig, or the recording holds no calibrator's tone.
    """
    record = workshop.rig(rig).record
    samples, rate = channel_of(path, channel, shown=shown)
    previous = None if record.microphone is None else record.microphone.pa_per_full_scale
    found = microphone_sensitivity(samples, rate, calibrator, previous_pa=previous)
    day = date or dt.date.today()
    data = read_whole(path)
    name = file_name(rig, "calibrator", data, path.suffix.lower())
    grade = "" if calibrator.grade == "none" else f", class {calibrator.grade}"
    values = {
        "pa_per_full_scale": found.pa_per_full_scale, "u_db": found.u_db, "date": day, "valid_days": valid_days,
        "method": f"sound calibrator, {calibrator.level_db:g} dB, {found.nominal_hz:g} Hz{grade}",
        "calibrator_db": found.level_db, "calibrator_hz": found.nominal_hz, "recording": name, **_curve(record),
    }  # fmt: skip
    tone = found.tone
    facts = {
        "pa_per_full_scale": found.pa_per_full_scale, "full_scale_db": found.full_scale_db, "u_db": found.u_db,
        "frequency_hz": tone.frequency_hz, "level_in_recording_db_re_full_scale": _dbfs(tone.peak), "duration_s": tone.duration_s,
        "fluctuation_db": tone.fluctuation_db, "trend_db": tone.trend_db, "residual_percent": 100 * tone.residual,
    }  # fmt: skip
    return Proposal(
        rig=rig, table="microphone", values=table_of(RigRecord, "microphone", values), contributions=found.contributions,
        verdicts=found.verdicts, facts=facts, files={name: data},
    )  # fmt: skip


def propose_sensitivity(
    workshop: Workshop, rig: str, pa_per_full_scale: float, u_db: float, *, method: str = "", date: dt.date | None = None,
    valid_days: int | None = None,
) -> Proposal:  # fmt: skip
    """Microphone sensitivity known from elsewhere, typed in."""
    record = workshop.rig(rig).record
    previous = None if record.microphone is None else record.microphone.pa_per_full_scale
    day = date or dt.date.today()
    values = {"pa_per_full_scale": pa_per_full_scale, "u_db": u_db, "date": day, "valid_days": valid_days,
              "method": method or "typed in", **_curve(record)}  # fmt: skip
    return Proposal(rig=rig, table="microphone", values=table_of(RigRecord, "microphone", values),
                    contributions=(normal("as stated", u_db),), verdicts=sensitivity_verdicts(pa_per_full_scale, previous),
                    facts={"pa_per_full_scale": pa_per_full_scale, "u_db": u_db})  # fmt: skip


def propose_correction(
    workshop: Workshop,
    rig: str,
    path: Path,
    *,
    turned: bool = False,
    u_db: float = 0.0,
    shown: str | None = None,
) -> Proposal:
    """A correction curve for the rig's microphone; it completes the present calibration.

    Takes that use this calibration are analysed anew with it. `turned`: the file states what must be added, not what the
    microphone reads too high.
    """
    record = workshop.rig(rig).record
    if record.microphone is None:
        raise InputError(f"The rig {rig} has no microphone yet", remedy="Calibrate the microphone first")
    curve = read_correction(path, turned=turned, shown=shown)
    data = correction_text(curve).encode()
    name = file_name(rig, "correction", data, ".csv")
    values = {
        **dict(record.microphone),
        "correction": name,
        "correction_sha256": digest(data),
        "correction_u_db": u_db,
    }
    low, high = curve.range_hz
    at_hz = record.microphone.calibrator_hz
    facts = {"from_hz": low, "to_hz": high, "points": int(curve.frequency_hz.size), "has_phase": curve.phase_deg is not None,
             "lowest_db": float(curve.level_db.min()), "highest_db": float(curve.level_db.max()), "correction_u_db": u_db}  # fmt: skip
    return Proposal(
        rig=rig, table="microphone", values=record.microphone.changed(**values), facts=facts, files={name: data}, amends=True,
        verdicts=_curve_verdicts(curve.range_hz, at_hz, float(curve.level_at(curve.frequency_hz[:1] * 0 + (at_hz or 1000.0))[0])),
    )  # fmt: skip


def _curve_verdicts(
    range_hz: tuple[float, float], calibrator_hz: float | None, level_db: float
) -> tuple[Verdict, ...]:
    """What must be said of a curve beside the calibrator."""
    low, high = range_hz
    said = []
    if low > 100.0 or high < 10_000.0:
        said.append(Verdict(
            code="correction-range", severity=Severity.CAUTION,
            text=f"The curve covers {low:.4g} to {high:.4g} Hz only; elsewhere nothing will be corrected.",
            remedy="See that this is the curve of this microphone for its whole range.", data={"from_hz": low, "to_hz": high},
        ))  # fmt: skip
    at = calibrator_hz or 1000.0
    if not low <= at <= high and calibrator_hz is not None:
        said.append(Verdict(
            code="correction-elsewhere", severity=Severity.CAUTION,
            text=f"The curve does not hold the calibrator's {at:g} Hz, so its level is taken as it stands.",
            remedy="Use a curve that covers it, so that curve and sensitivity meet there.", data={"calibrator_hz": at},
        ))  # fmt: skip
    elif abs(level_db) > MUCH_DB and calibrator_hz is None:
        said.append(Verdict(
            code="correction-elsewhere", severity=Severity.CAUTION,
            text=f"The curve lies at {level_db:+.2f} dB at 1 kHz, and at which frequency the sensitivity holds is not known.",
            remedy="Calibrate with a sound calibrator, or state calibrator_hz.", data={"level_db": level_db},
        ))  # fmt: skip
    return tuple(said)


def _curve(record: RigRecord) -> dict[str, object]:
    """The correction curve goes on from one calibration to the next: it is the same microphone."""
    old = record.microphone
    if old is None or old.correction is None:
        return {}
    return {key: getattr(old, key) for key in ("correction", "correction_sha256", "correction_u_db")}


def _dbfs(peak: float) -> float:
    return float(db(peak))
