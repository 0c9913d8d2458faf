"""Computed takes of versions: what a design, or entered parameters, would give before the microphone; kept in the index like takes.

A take of a version is computed in a large baffle, 1 m before it, at 20 °C, at a power into the rated impedance; with a cabinet, in that. Its
readings are of the source ``predicted`` and their uncertainty is that of the assumptions of the design.
"""

from __future__ import annotations

import json
import math
from contextlib import suppress
from dataclasses import dataclass, replace
from threading import Thread
from typing import TYPE_CHECKING, Literal

from halfroll.core.conditions import Conditions, Space
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.core.text import format_plain, format_stated
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.computed import SERIES_OHM as SERIES_OHM
from halfroll.figures.computed import ComputedTake
from halfroll.figures.types import FigureSettings, TakeReadings
from halfroll.workshop.index import Result
from halfroll.workshop.jobs import code_of, key_of
from halfroll.workshop.packing import pack, unpack_value
from halfroll.workshop.records import VersionRecord
from halfroll.workshop.stored import Identity, readings_from_json, readings_to_json

if TYPE_CHECKING:
    from halfroll.acoustics.load import AcousticLoad
    from halfroll.driver.lumped import DriverModel
    from halfroll.figures.predicted import PredictedFigures
    from halfroll.measure.analysis.response import Response
    from halfroll.workshop.store import Workshop

UNIT = "predicted"
"""Stands in an id where a built unit would: ``driver/version/predicted/1w``."""

DISTANCE_M, TEMPERATURE_C = 1.0, 20.0

RATED_OHM = (2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 32.0)
"""Rated impedances of the trade (common practice)."""

RATED_SHARE = 0.8
"""The lowest modulus must be at least this share of the rated impedance, IEC 60268-5 cl. 16.1 (as in `figures.impedance`)."""

_ROOMS = ("core", "acoustics", "materials", "measure", "motor", "suspension", "driver", "figures", "workshop")


@dataclass(frozen=True, kw_only=True, eq=False)
class PredictedTake:
    """A computed take with its curves, and its readings; `runs` are the parameters, one reading a mounting."""

    computed: ComputedTake
    readings: TakeReadings
    runs: tuple[TakeReadings, ...] = ()

    @property
    def all(self) -> tuple[TakeReadings, ...]:
        """Take and runs."""
        return self.readings, *self.runs


def predicted_take(
    workshop: Workshop,
    version_id: str,
    progress: Progress = silent,
    *,
    settings: FigureSettings | None = None,
    cabinet: str | None = None,
) -> PredictedTake:
    """The computed take of a version at the level of `settings`, from the index or computed now and kept there.

    Parameters
    ----------
    settings
        Bands, rules and level; the workshop's own when None.
    cabinet
        Id of a cabinet behind the driver; None: an infinite baffle.

    Raises
    ------
    InputError
        The version has neither a design nor entered parameters, something of it cannot be, or there is no such cabinet. `RefusedError`
        where the drive takes the cone out of its travel throughout.
    CancelledError
        Through `progress`.
    """
    job = _job(workshop, version_id, settings, cabinet)
    found = _kept(workshop, job)
    return found if found is not None else _work(workshop, job, progress)


def kept_take(
    workshop: Workshop,
    version_id: str,
    *,
    settings: FigureSettings | None = None,
    cabinet: str | None = None,
) -> PredictedTake | None:
    """The same if the index has it, of the design as it is now; None otherwise. Computes nothing."""
    try:
        return _kept(workshop, _job(workshop, version_id, settings, cabinet))
    except InputError:  # the design is not whole, or wrong: its own pages say so
        return None


def take_id(version_id: str, level_w: float, cabinet: str | None = None) -> str:
    """The id of a computed take: ``driver/version/predicted/1w``, in a cabinet ``…/1w-in-<cabinet>``."""
    return f"{version_id}/{UNIT}/{level_w:g}w" + (f"-in-{cabinet}" if cabinet else "")


def cabinet_of(id_: str) -> str | None:
    """The cabinet in the id of a computed take; None for an infinite baffle."""
    return id_.rpartition("/")[2].partition("w-in-")[2] or None


def is_predicted(id_: str) -> bool:
    """Whether an id of a take or run is that of a computed one."""
    return f"/{UNIT}/" in id_


def foreseen(record: VersionRecord) -> bool:
    """Whether there is something in a version's record that a driver could be worked out from."""
    from halfroll.workshop.prediction import has_design

    return has_design(record) or record.parameters is not None


def rated_impedance(record: VersionRecord, model: DriverModel) -> tuple[float, Verdict | None]:
    """The rated impedance (ohm), and what is said where it had to be taken from Re."""
    if record.rated_impedance_ohm is not None:
        return record.rated_impedance_ohm, None
    fitting = [rated for rated in RATED_OHM if RATED_SHARE * rated <= model.Re * 1.0001]
    rated = fitting[-1] if fitting else RATED_OHM[0]
    return rated, Verdict(
        code="rated-impedance-taken",
        severity=Severity.NOTE,
        text=f"The version states no rated impedance; {format_stated(rated, 'ohm')} is taken, the highest usual one of which a direct-current "
        f"resistance of {format_plain(model.Re, 'ohm')} is at least 80 % (common practice after IEC 60268-5).",
        remedy="State the rated impedance of the version.",
        data={"rated_impedance_ohm": rated, "re_ohm": model.Re},
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Job:
    """All a computed take depends on; `design` is the design with the values of its materials, as text."""

    version_id: str
    record: VersionRecord
    design: str
    settings: FigureSettings
    cabinet: str | None
    load: AcousticLoad | None
    cabinet_text: str
    usual: bool

    @property
    def key(self) -> str:
        """Changes whenever the take or its readings may."""
        record = self.record
        rated = f"{record.rated_impedance_ohm!r} {record.rated_power_w!r} {record.effective_area_cm2!r}"
        return key_of(code_of(*_ROOMS), self.design, rated, repr(self.settings), self.cabinet_text)

    @property
    def id_(self) -> str:
        return take_id(self.version_id, self.settings.level_w, self.cabinet)

    @property
    def slot(self) -> str:
        """What is kept under: figures read otherwise than the workshop reads them do not push out the usual ones."""
        return self.id_ if self.usual else f"{self.id_} {key_of(repr(self.settings))[:8]}"


def _job(workshop: Workshop, version_id: str, settings: FigureSettings | None, cabinet: str | None) -> _Job:
    usual = workshop.settings
    chosen = settings or usual
    load, text = _load_of(workshop, version_id, cabinet)
    return _Job(
        version_id=version_id, record=workshop.version(version_id).record, design=_design(workshop, version_id), settings=chosen,
        cabinet=cabinet, load=load, cabinet_text=text, usual=replace(chosen, level_w=usual.level_w) == usual,
    )  # fmt: skip


def _design(workshop: Workshop, version_id: str) -> str:
    """A version's design as text that changes whenever its prediction may; its units count where they may stand in for a part."""
    from halfroll.workshop.motors import load_design
    from halfroll.workshop.suspensions import MovingTables, load_moving

    record = workshop.version(version_id).record
    if not foreseen(record):
        raise nothing_to_predict(version_id)
    motor = "" if record.motor is None else repr(load_design(workshop, version_id))
    moving = repr(load_moving(workshop, version_id)) if MovingTables.of(record).any else ""
    units = (
        ""
        if motor and moving
        else repr([workshop.unit(unit).record for unit in workshop.unit_ids(version_id)])
    )
    return "\n".join((motor, moving, units, repr(record.parameters)))


def design_digest(workshop: Workshop, version_id: str, cabinet: str | None = None) -> str:
    """SHA-256 of all that a version's prediction depends on besides the program: design with the values of its materials, cabinet."""
    record = workshop.version(version_id).record
    rated = f"{record.rated_impedance_ohm!r} {record.rated_power_w!r} {record.effective_area_cm2!r}"
    return key_of(_design(workshop, version_id), rated, _load_of(workshop, version_id, cabinet)[1])


def nothing_to_predict(version_id: str) -> InputError:
    """What is said of a version that has neither a design nor entered parameters."""
    return InputError(
        f"The version {version_id} has nothing to predict from", found="no table [motor], [surround], [spider], [cone] or [parameters]",
        remedy=f"Design its motor on the page /design/{version_id} and its moving parts on /suspension/{version_id}",
    )  # fmt: skip


def _load_of(workshop: Workshop, version_id: str, cabinet: str | None) -> tuple[AcousticLoad | None, str]:
    """What stands behind the cone, and the same as text that changes with it."""
    if cabinet is None:
        return None, ""
    from halfroll.acoustics.air import Air
    from halfroll.acoustics.cabinet.network import load_of
    from halfroll.workshop.cabinets import load_cabinet

    loaded = load_cabinet(workshop, cabinet, version_id)
    return load_of(loaded, Air.at(TEMPERATURE_C)), repr(loaded)


def load_in(workshop: Workshop, version_id: str, cabinet: str | None) -> AcousticLoad | None:
    """What stands behind the cone of a version in a cabinet of the workshop; None for an infinite baffle."""
    return _load_of(workshop, version_id, cabinet)[0]


def _kept(workshop: Workshop, job: _Job) -> PredictedTake | None:
    key = job.key
    text = workshop.index.readings([key]).get(key)
    packed = workshop.index.response(key)
    computed = None if packed is None else unpack_value(packed)
    if text is None or not isinstance(computed, ComputedTake):
        return None
    readings = [readings_from_json(one, _identity(id_)) for id_, one in json.loads(text)]
    whole = [one for one in readings if one is not None]
    if len(whole) != len(readings):
        return None
    return PredictedTake(computed=computed, readings=whole[0], runs=tuple(whole[1:]))


def _work(workshop: Workshop, job: _Job, progress: Progress) -> PredictedTake:
    """Compute a take and keep it."""
    from halfroll.figures.computing import compute
    from halfroll.workshop.prediction import driver_model, has_design
    from halfroll.workshop.prediction_studies import aside

    Thread(target=_warmed_up).start()
    record = job.record
    source: Literal["predicted", "entered"] = "predicted" if has_design(record) else "entered"
    predicted = driver_model(workshop, job.version_id, source, part(progress, 0.0, 0.6))
    rated, said = rated_impedance(record, predicted.model)
    conditions = Conditions(
        drive_v=math.sqrt(rated * job.settings.level_w),
        distance_m=DISTANCE_M,
        space=Space.HALF if job.cabinet is None else Space.CABINET,
        rated_impedance_ohm=rated,
        radius_m=predicted.model.radius,
        temperature_c=TEMPERATURE_C,
    )
    computed, figures = compute(
        predicted, job.settings, conditions, load=job.load, own=job.version_id, rated_power_w=record.rated_power_w,
        said=() if said is None else (said,), progress=part(progress, 0.6, 1.0),
        aside=aside,
    )  # fmt: skip
    readings = _readings(job, computed.response, figures)
    text = json.dumps([(one.take_id, readings_to_json(one)) for one in readings])
    key = job.key
    workshop.index.put_results([
        Result(take=job.slot, response_key=key, response=pack(computed), readings_key=key, readings=text)
    ])  # fmt: skip
    return PredictedTake(computed=computed, readings=readings[0], runs=tuple(readings[1:]))


def _warmed_up() -> None:
    """Load what the take needs; what cannot be loaded is told where it is used."""
    from halfroll.driver.virtual import warm_up

    with suppress(Exception):
        warm_up()


def _readings(job: _Job, response: Response, figures: PredictedFigures) -> list[TakeReadings]:
    """The take's readings, then those of the parameters by mounting; parameters stand for the driver alone, in no cabinet."""
    take = TakeReadings(
        **_identity(job.id_), conditions=response.conditions, readings=figures.take, verdicts=response.verdicts,
        valid_hz=response.valid_hz, source="predicted",
    )  # fmt: skip
    runs = [
        TakeReadings(
            **_identity(f"{job.version_id}/{UNIT}/impedance/{mounting}"), conditions=response.conditions, readings=readings,
            source="predicted", kind="impedance", mounting=mounting,
        )
        for mounting, readings in figures.parameters.items()
    ]  # fmt: skip
    return [take, *([] if job.cabinet else runs)]


def _identity(id_: str) -> Identity:
    return Identity(take_id=id_, when="", rig="computed", excluded="")
