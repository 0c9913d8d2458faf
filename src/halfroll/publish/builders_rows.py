"""A builder's check as rows, as JSON and as a text to answer with."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from halfroll.builds.checks import Checked
from halfroll.builds.faults.kinds import BY_KEY
from halfroll.builds.faults.words import chance
from halfroll.builds.types import CheckResult, Diagnosis, Suspect
from halfroll.core.text import format_percent
from halfroll.publish.parameter_rows import Rows
from halfroll.workshop.builder_record import BuilderRecord
from halfroll.workshop.builders import Standing
from halfroll.workshop.loaded import Loaded

OUTCOMES = {"good": "good", "outside": "not good", "unsure": "cannot tell", "not judged": "not judged"}
HEADS = {
    "no fault": "No fault found",
    "fault": "A fault",
    "unclear": "Unclear",
    "too little": "Too little was read",
}
NOTHING = "none"
"""Said where a unit turned out to be good."""

STATUSES = {"open": "open", "answered": "answered", "mended": "mended"}


def check_rows(diagnosis: Diagnosis) -> Rows:
    """Every reading against its band."""
    rows = tuple((OUTCOMES[one.outcome], one.text, one.evidence.how) for one in diagnosis.checks)
    return Rows(head=("Verdict", "Reading", "By"), rows=rows)


def suspect_rows(diagnosis: Diagnosis) -> Rows:
    """What may be wrong, the likeliest first."""
    rows = tuple((one.label, chance(one.probability), one.size, one.remedy) for one in diagnosis.suspects)
    return Rows(head=("May be", "Chance", "How large", "What to do"), rows=rows)


def next_rows(diagnosis: Diagnosis) -> Rows:
    """What to read next."""
    rows = tuple((one.label, format_percent(one.gain), one.how) for one in diagnosis.next_readings)
    return Rows(head=("Read next", "Takes away of the doubt", "How"), rows=rows)


def list_rows(found: Standing) -> Rows:
    """All checks of a workshop."""
    rows = tuple(
        (one.id, one.record.date.isoformat(), one.record.builder or "-", one.record.version, one.record.complaint or "-",
         STATUSES[one.record.status], fault_words(one.record.found_fault) or "-")
        for one in found.checks
    )  # fmt: skip
    return Rows(
        head=("Check", "Date", "Builder", "Version", "Says", "Status", "Was"),
        rows=rows,
        notes=counts_said(found),
    )


def counts_said(found: Standing) -> tuple[str, ...]:
    """How many checks stand how, and how often each fault was found."""
    if not found.checks:
        return ()
    status = ", ".join(
        f"{found.by_status[key]} {word}" for key, word in STATUSES.items() if found.by_status.get(key)
    )
    faults = sorted(found.by_fault.items(), key=lambda item: (-item[1], item[0]))
    was = ", ".join(f"{fault_words(fault)} {times}" for fault, times in faults)
    return (f"{status}.", *((f"Found in the end: {was}.",) if was else ()))


def fault_words(fault: str | None) -> str:
    """What a unit's fault was, in words; empty where it is not known, a word of one's own as it is."""
    if not fault:
        return ""
    if fault == NOTHING:
        return "nothing"
    known = BY_KEY.get(fault)
    return fault if known is None else known.label


def chance_word(probability: float) -> str:
    """A probability in a word."""
    steps = ((0.9, "almost surely"), (0.6, "likely"), (0.3, "perhaps"), (0.1, "less likely"))
    return next((word for least, word in steps if probability >= least), "unlikely")


def answer_text(checked: Checked) -> str:
    """A plain text to send to the builder: what was found, what to do, what to read next."""
    diagnosis = checked.diagnosis
    name = checked.record.builder
    lines = [f"Hello{' ' + name if name else ''},", "", _opening(checked), "", diagnosis.said]
    suspects = [one for one in diagnosis.suspects if one.probability >= 0.1][:3]
    if diagnosis.outcome != "no fault" and suspects:
        lines += ["", "What it may be:"]
        lines += [f"- {_suspect(one)}" for one in suspects]
    odd = [one for one in diagnosis.checks if one.outcome == "outside"]
    if odd:
        lines += ["", "What your readings say:", *(f"- {one.text}" for one in odd)]
    if diagnosis.outcome != "no fault" and diagnosis.next_readings:
        one = diagnosis.next_readings[0]
        lines += ["", f"Please read next: {one.label}. {one.how}"]
    notes = [verdict for verdict in checked.verdicts if verdict.severity >= 2]
    if notes:
        lines += ["", *(f"{one.text} {one.remedy}".strip() for one in notes)]
    return "\n".join(lines) + "\n"


def check_dict(checked: Checked, name: str | None = None) -> dict[str, Any]:
    """A check for a program; keys carry units."""
    diagnosis, phone = checked.diagnosis, checked.phone
    return {
        "check": name,
        "version": checked.record.version,
        "outcome": diagnosis.outcome,
        "said": diagnosis.said,
        "checks": [_check(one) for one in diagnosis.checks],
        "suspects": [_plain(one) for one in diagnosis.suspects],
        "next_readings": [_plain(one) for one in diagnosis.next_readings],
        "recording": None if phone is None else phone_dict(checked),
        "verdicts": [verdict.as_dict() for verdict in checked.verdicts],
        "answer": answer_text(checked),
        "data": diagnosis.data,
    }


def phone_dict(checked: Checked) -> dict[str, Any]:
    """What a recording told, for a program."""
    phone = checked.phone
    assert phone is not None
    told = phone.gain_and_clock
    return {
        "usable": phone.usable,
        "against_good_unit": phone.against,
        "bands": [
            {"key": one.key, "low_hz": one.low_hz, "high_hz": one.high_hz, "value_db": one.value_db, "u_db": one.u_db,
             "u_parts_db": dict(one.parts), "good_db": 0.0 if phone.against else checked.expected[one.key]}
            for one in phone.bands
        ],
        "thd_bass_percent": None if phone.thd is None else {"value": 100.0 * phone.thd.value, "u": 100.0 * phone.thd.u, "bound": phone.thd.bound},
        "residue_db": None if phone.residue is None else {"value": phone.residue.value, "u": phone.residue.u, "bound": phone.residue.bound},
        "resonance_hz": None if phone.resonance is None else {"value": phone.resonance.value, "u": phone.resonance.u},
        "signal_over_noise_db": phone.signal_over_noise_db,
        "clock_ppm": None if told.clock is None else 1e6 * told.clock,
        "gain_change_db": told.gain_change_db,
    }  # fmt: skip


def record_dict(loaded: Loaded[BuilderRecord]) -> dict[str, Any]:
    """A kept check for a program."""
    return {"check": loaded.id, **loaded.record.model_dump(mode="json", exclude={"format"})}


def _opening(checked: Checked) -> str:
    record = checked.record
    said = f' You wrote: "{record.complaint.rstrip(".")}".' if record.complaint else ""
    return f"thank you for your readings of {record.version}.{said}"


def _suspect(one: Suspect) -> str:
    size = f" ({one.size})" if one.size else ""
    caution = f" Mind: {one.caution}" if one.caution else ""
    return f"{one.label}, {chance_word(one.probability)}, {chance(one.probability)}{size}. {one.remedy}{caution}".strip()


def _check(one: CheckResult) -> dict[str, Any]:
    band = one.band
    return {
        "key": one.evidence.key, "value": one.evidence.value, "u": one.evidence.u, "how": one.evidence.how, "outcome": one.outcome,
        "text": one.text,
        "band": None if band is None else {"low": band.low, "high": band.high, "value": band.value, "unit": band.unit, "source": band.source},
    }  # fmt: skip


def _plain(value: Any) -> Mapping[str, Any]:
    """A value object of the room as plain values."""
    return {key: (list(item) if isinstance(item, tuple) else item) for key, item in vars(value).items()
            if not (isinstance(item, float) and not math.isfinite(item))}  # fmt: skip
