"""A builder's check from what was read to what is said: readings and recording as evidence, and the fault finder's answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from halfroll.builds.faults.types import BAFFLE, FREE_AIR, Mounted, Mounting, Reference
from halfroll.builds.types import Diagnosis, Evidence
from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.phone.placing import NEAR_M
from halfroll.measure.phone.verdicts import FAR_M
from halfroll.workshop.builder_readings import READINGS
from halfroll.workshop.builder_record import BuilderRecord
from halfroll.workshop.builders import NewRecording, read_new

if TYPE_CHECKING:
    from halfroll.builds.faults.ensemble import Supposition
    from halfroll.driver.lumped import DriverModel
    from halfroll.measure.phone.features import Told
    from halfroll.measure.phone.reading import PhoneReading
    from halfroll.workshop.contents import Contents
    from halfroll.workshop.store import Workshop

TAKE_RESIDUE_U_DB, BOUND_U_DB = 3.0, 6.0
"""Standard uncertainty of the residue of a unit's takes from one to the next, and what is added where only a bound is known (own choice)."""

BOX_HZ = 200.0
"""Below this a box's bass says nothing of the driver where its volume is not known or a port plays beside the cone."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Checked:
    """A builder's check with its answer.

    Parameters
    ----------
    evidence
        What counts, by reading, unit and recording.
    phone
        What the recording told; None without one.
    expected
        What a good unit would give in each band of the recording, by key (dB).
    good
        The same as a curve: frequency (Hz) and level re the middle (dB), each (n_f,).
    """

    record: BuilderRecord
    evidence: tuple[Evidence, ...]
    phone: PhoneReading | None
    expected: Mapping[str, float]
    good: tuple[FloatArray, FloatArray]
    diagnosis: Diagnosis

    @property
    def verdicts(self) -> tuple[Verdict, ...]:
        """What is said of the recording and of the answer."""
        return (*(self.phone.verdicts if self.phone else ()), *self.diagnosis.verdicts)


@dataclass(frozen=True, kw_only=True, eq=False)
class Known:
    """What is known of a version for units mounted in one way: worked out once for many answers, as while somebody types."""

    reference: Reference
    supposed: tuple[Supposition, ...]
    fits: tuple[object, ...]


def known_of(
    workshop: Workshop, record: BuilderRecord, progress: Progress = silent, before: Known | None = None, *, distance_cm: float | None = None
) -> Known:  # fmt: skip
    """What an answer to a record needs of its version; that of `before` where it still fits. `distance_cm` of a recording not kept yet."""
    from halfroll.builds.faults.ensemble import suppositions
    from halfroll.builds.faults.reference import reference_of

    mounted = mounted_of(record, distance_cm)
    fits = (
        record.version,
        workshop.version(record.version).revision,
        mounted,
        record.drive_v,
        record.from_unit,
    )
    if before is not None and before.fits == fits:
        return before
    reference = reference_of(
        workshop, record.version, part(progress, 0.0, 0.7), without=record.from_unit or ""
    )
    reference = replace(reference, mounted=mounted, drive_v=record.drive_v or reference.drive_v)
    return Known(
        reference=reference, supposed=suppositions(reference, progress=part(progress, 0.7, 1.0)), fits=fits
    )


def check_unit(
    workshop: Workshop, record: BuilderRecord, recordings: Mapping[str, NewRecording] | None = None, progress: Progress = silent,
    *, known: Known | None = None,
) -> Checked:  # fmt: skip
    """Answer a builder.

    Parameters
    ----------
    recordings
        By place: of the unit, and of a good unit by the same telephone.
    known
        From `known_of`, to save the time when several answers are wanted.

    Raises
    ------
    InputError
        Nothing was read; nothing is known of the version; a recording cannot be read, with its file.
    CancelledError
        Through `progress`.
    """
    from halfroll.builds.faults.find import find_faults

    phone = read_new(workshop, record, recordings or {}, part(progress, 0.0, 0.2))
    new = (recordings or {}).get("recording")
    known = known_of(
        workshop,
        record,
        part(progress, 0.2, 0.9),
        known,
        distance_cm=None if new is None else new.distance_cm,
    )
    reference = known.reference
    expected = expected_bands(reference)
    evidence = evidence_of(record, phone, expected)
    if record.from_unit is not None:
        there = {one.key for one in evidence}
        of_unit = unit_evidence(workshop, record.from_unit, reference.model)
        evidence = (*evidence, *(one for one in of_unit if one.key not in there))
    if not evidence:
        raise InputError(
            "Nothing was read of the unit", key="readings", found=unusable(phone) or None,
            remedy="Begin with the resistance between the terminals, by multimeter",
        )  # fmt: skip
    diagnosis = find_faults(reference, evidence, supposed=known.supposed, progress=part(progress, 0.9, 1.0))
    good = expected_curve(reference)
    return Checked(
        record=record, evidence=evidence, phone=phone, expected=expected, good=good, diagnosis=diagnosis
    )


def mounted_of(record: BuilderRecord, distance_cm: float | None = None) -> Mounted:
    """How the unit sat: meters are read lying free; sound as the record says. A box of unknown volume counts as free.

    A telephone as near as builders are asked to hold it hears the cone alone; `distance_cm` of a recording not kept yet.
    """
    if distance_cm is None:
        distance_cm = 100.0 * NEAR_M if record.recording is None else record.recording.distance_cm
    near = distance_cm <= 100.0 * FAR_M
    if record.mounting == "box" and record.box_l is not None:
        return Mounted(
            electrical=FREE_AIR,
            sound=Mounting(kind="box", volume_m3=1e-3 * record.box_l, tuning_hz=record.port_hz),
            near=near,
        )
    return Mounted(electrical=FREE_AIR, sound=BAFFLE if record.mounting == "baffle" else FREE_AIR, near=near)


def evidence_of(
    record: BuilderRecord, phone: PhoneReading | None, expected: Mapping[str, float]
) -> tuple[Evidence, ...]:
    """Readings of a record and of its recording as the fault finder takes them.

    A recording beside that of a good unit gives differences; they are put on what is `expected` of a good one.
    """
    found = [
        Evidence(key=one.what, value=one.value, u=one.standard_u, how=one.how or READINGS[one.what].usual) for one in record.readings
    ]  # fmt: skip
    if phone is not None and phone.usable:
        found += _of_phone(record, phone, expected)
    return tuple(found)


def unit_evidence(
    workshop: Workshop, unit_id: str, model: DriverModel | None = None, progress: Progress = silent
) -> tuple[Evidence, ...]:
    """What is known of a unit of the workshop: its record, its impedance curves, and what its takes leave above the harmonics.

    `model` turns what was read in a baffle into free air.
    """
    from halfroll.builds.guide.readings import unit_readings
    from halfroll.workshop.contents import read_contents

    contents = read_contents(workshop.folder, workshop.index)
    read = unit_readings(workshop, unit_id, contents, model, part(progress, 0.0, 0.5))
    name = unit_id.rpartition("/")[2]
    found = [
        Evidence(key=key, value=value, u=u, how=f"unit {name}")
        for key, (value, u) in read.items() if key in READINGS
    ]  # fmt: skip
    residue = _residue_of_takes(workshop, unit_id, contents, part(progress, 0.5, 1.0))
    return tuple(found) if residue is None else (*found, residue)


def _residue_of_takes(
    workshop: Workshop, unit_id: str, contents: Contents, progress: Progress
) -> Evidence | None:
    """The mean of the figure over the unit's takes that count; None without any."""
    from halfroll.workshop import derive

    takes = derive.readings(workshop, workshop.take_ids(unit_id), contents=contents, progress=progress)
    read = [one.readings.get("residue_db") for one in takes.values() if one.usable]
    known = [one for one in read if one is not None and one.value is not None]
    if not known:
        return None
    bound = all(one.bound is not None for one in known)
    value = sum(float(one.value or 0.0) for one in known) / len(known)
    return Evidence(
        key="residue_db",
        value=value,
        u=TAKE_RESIDUE_U_DB + (BOUND_U_DB if bound else 0.0),
        how=f"takes of unit {unit_id.rpartition('/')[2]}",
    )


def expected_bands(reference: Reference) -> dict[str, float]:
    """What the middle of a version's good units gives in each band of a recording (dB)."""
    from halfroll.builds.faults.many import units_of
    from halfroll.builds.faults.observe import BAND_KEYS, KEYS, observed, readings_of
    from halfroll.driver.predicted.packing import pack

    row = observed(
        units_of(np.asarray(pack(reference.model))[None, :], reference.model), readings_of(reference)
    )[0]
    return {key: float(row[KEYS.index(key)]) for key in BAND_KEYS}


def expected_curve(reference: Reference) -> tuple[FloatArray, FloatArray]:
    """Frequency (Hz) and level re the middle (dB) of the middle of a version's good units, each (n_f,)."""
    from halfroll.builds.faults.many import units_of
    from halfroll.builds.faults.observe import readings_of, sound_db
    from halfroll.core.frequency import log_grid
    from halfroll.driver.predicted.packing import pack
    from halfroll.measure.phone.bands import MIDDLE_HZ, band_mean

    frequency = log_grid(40.0, 12_500.0, 24)
    level = sound_db(
        units_of(np.asarray(pack(reference.model))[None, :], reference.model),
        frequency,
        readings_of(reference),
    )[0]
    return frequency, level - (band_mean(frequency, level, MIDDLE_HZ) or 0.0)


def _of_phone(record: BuilderRecord, phone: PhoneReading, expected: Mapping[str, float]) -> list[Evidence]:
    how = "telephone beside a good unit" if phone.against else "telephone"
    blind = record.mounting == "box" and (record.box_l is None or record.port_hz is not None)
    found = [
        Evidence(key=band.key, value=band.value_db + (expected[band.key] if phone.against else 0.0), u=band.u_db, how=how,
                 cut=not phone.against)
        for band in phone.bands if not (blind and band.low_hz < BOX_HZ)
    ]  # fmt: skip
    if phone.thd is not None and record.drive_v is not None:  # distortion without its drive says nothing
        found.append(_thd(phone.thd))
    if phone.residue is not None:
        found.append(
            Evidence(
                key="residue_db",
                value=phone.residue.value,
                u=phone.residue.u + (BOUND_U_DB if phone.residue.bound else 0.0),
                how=how,
                cut=True,
            )
        )
    if phone.resonance is not None and not blind:
        found.append(Evidence(key="phone_fs_hz", value=phone.resonance.value, u=phone.resonance.u, how=how))
    return found


def _thd(told: Told) -> Evidence:
    """Bass distortion in per cent; of a bound, half of it, give or take as much."""
    value, u = (
        (max(0.5 * told.value, 1e-4), 0.5 * told.value) if told.bound else (max(told.value, 1e-4), told.u)
    )
    return Evidence(key="thd_bass_percent", value=100.0 * value, u=100.0 * u, how="telephone", cut=True)


def unusable(phone: PhoneReading | None) -> str:
    """Why a recording does not count; empty where it does or there is none."""
    if phone is None or phone.usable:
        return ""
    return next(verdict.text for verdict in phone.verdicts if verdict.severity is Severity.BAD)
