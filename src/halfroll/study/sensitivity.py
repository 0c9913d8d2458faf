"""Every dimension of a design one step up and one step down, solved: what each does to every figure. Kept in the index."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from halfroll.core.errors import CancelledError, HalfrollError, InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.packing import pack, unpack
from halfroll.study.dimensions import Dimension, dimension, dimensions_of, with_value
from halfroll.study.grams import with_grams
from halfroll.study.reading import Reader, modes_of
from halfroll.study.surrogate import Solved, Surrogate
from halfroll.workshop.jobs import code_of, key_of
from halfroll.workshop.kept import kept
from halfroll.workshop.motor_design import in_record

if TYPE_CHECKING:
    from halfroll.driver.cone import ConeMode
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.figures.types import FigureSettings
    from halfroll.workshop.prediction_studies import Run
    from halfroll.workshop.records import VersionRecord
    from halfroll.workshop.store import Workshop

SLOT = "what-next"
"""Neighbours' studies are kept under this name, so that they do not push out those of versions."""

_BASE_SHARE = 0.1
_ROOMS = ("core", "acoustics", "materials", "measure", "motor", "suspension", "driver", "figures", "study")
_CURVES = ("Bl", "K", "Le")


@dataclass(frozen=True, kw_only=True, eq=False)
class Start:
    """The design itself, solved: its driver, how its figures are read, the cone's resonances, and the figures with their uncertainty."""

    model: DriverModel
    reader: Reader
    modes: tuple[ConeMode, ...]
    figures: dict[str, float]
    u: dict[str, float]


Side = dict[str, Any]
"""A design a step away as the index keeps it: its model as a dict (None where there is none), its figures, what reading its packed model with
the resonances of the design itself gives, and why there is none.
"""


def what_next(
    workshop: Workshop,
    version_id: str,
    progress: Progress = silent,
    *,
    keys: Sequence[str] | None = None,
    settings: FigureSettings | None = None,
    run: Run | None = None,
) -> Surrogate:
    """What every dimension of a version does to every figure, from the index or solved now and kept there.

    Parameters
    ----------
    keys
        Only these dimensions; all when None.
    settings
        How figures are read; the workshop's own when None.
    run
        Does the heavy studies somewhere else, see `workshop.prediction.predict_record`.

    Raises
    ------
    InputError
        The version has no design that a driver follows from, or no dimension is called so.
    CancelledError
        `progress` asked to stop; dimensions that were finished are kept.
    """
    asked = asked_of(workshop.version(version_id).record, keys)
    start = start_of(workshop, version_id, part(progress, 0.0, _BASE_SHARE), settings=settings, run=run)
    sides = {}
    for i, one in enumerate(asked):
        at = [_BASE_SHARE + (1.0 - _BASE_SHARE) * n / len(asked) for n in (i, i + 1)]
        sides[one.key] = sides_of(workshop, version_id, start, one, part(progress, *at), run=run)
    progress(1.0, "done")
    return surrogate_of(start, asked, sides)


def start_of(
    workshop: Workshop, version_id: str, progress: Progress = silent, *, settings: FigureSettings | None = None, run: Run | None = None
) -> Start:  # fmt: skip
    """The design of a version, solved; errors as `what_next`."""
    loaded = workshop.version(version_id)
    chosen = settings or workshop.settings
    with in_record(loaded):
        base = _predict(workshop, version_id, loaded.record, progress, slot=version_id, run=run)
    reader, modes = Reader.of(loaded.record, base.model, chosen), modes_of(base)
    figures = reader.figures(base.model, modes)
    return Start(
        model=base.model,
        reader=reader,
        modes=modes,
        figures=figures,
        u=_uncertainty(workshop, version_id, chosen),
    )


def sides_of(
    workshop: Workshop, version_id: str, start: Start, one: Dimension, progress: Progress = silent, *, run: Run | None = None
) -> tuple[Side, Side]:  # fmt: skip
    """The design with one dimension a step up and a step down, from the index or solved now and kept there."""
    record = workshop.version(version_id).record
    key = key_of(SLOT, code_of(*_ROOMS), repr(start.model), repr(one), repr(start.reader.settings), repr(start.reader.conditions),
                 repr(start.modes), _tables(record))  # fmt: skip

    def work() -> tuple[Side, Side]:
        up, down = (
            _side(workshop, version_id, record, start, one, way, part(progress, at, at + 0.5), run) for way, at in ((1.0, 0.0), (-1.0, 0.5))
        )  # fmt: skip
        return up, down

    found: tuple[Side, Side] = kept(workshop, key, f"{SLOT} {version_id} {one.key}", work)
    return found


def surrogate_of(
    start: Start, asked: Sequence[Dimension], sides: Mapping[str, tuple[Side, Side]]
) -> Surrogate:
    """The estimates for those dimensions whose neighbours are known."""
    known = [one for one in asked if one.key in sides]
    models = {(one.key, way): _model(sides[one.key][way]) for one in known for way in (0, 1)}
    like = padded(start.model, [model for model in models.values() if model is not None])
    figures = tuple(start.figures)
    none = np.full(pack(like).size, np.nan)

    def packed(way: int) -> FloatArray:
        return np.array([_packed(models[one.key, way], like, none) for one in known]).reshape(
            len(known), none.size
        )

    def values(way: int, what: str) -> FloatArray:
        return np.array([_values(sides[one.key][way][what], figures) for one in known]).reshape(
            len(known), len(figures)
        )

    solved = Solved(
        dimensions=tuple(known), model=like, packed=pack(like), packed_up=packed(0), packed_down=packed(1), figures=figures,
        values=_values(start.figures, figures), values_up=values(0, "figures"), values_down=values(1, "figures"),
        read_up=values(0, "read"), read_down=values(1, "read"), u=_values(start.u, figures),
        faults=tuple("; ".join(dict.fromkeys(side["fault"] for side in sides[one.key] if side["fault"])) for one in known),
    )  # fmt: skip
    return Surrogate(solved=solved, reader=start.reader, modes=start.modes)


def solve_properly(
    workshop: Workshop,
    version_id: str,
    record: VersionRecord,
    reader: Reader,
    progress: Progress = silent,
    *,
    slot: str = "what-if",
    run: Run | None = None,
) -> tuple[DriverModel, dict[str, float]]:
    """A changed design solved: its driver, and its figures as `reader` reads them; errors as `what_next`."""
    predicted = _predict(workshop, version_id, record, part(progress, 0.0, 0.95), slot=slot, run=run)
    progress(0.95, "reading the figures")
    figures = reader.figures(predicted.model, modes_of(predicted))
    progress(1.0, "done")
    return predicted.model, figures


def asked_of(record: VersionRecord, keys: Sequence[str] | None = None) -> tuple[Dimension, ...]:
    """The dimensions of some keys, or all; `InputError` where there is none."""
    known = dimensions_of(record)
    if not known:
        raise InputError("There is nothing to change: the version has no design", found="no dimension",
                         remedy="Design its motor, coil and moving parts first")  # fmt: skip
    return known if keys is None else tuple(dimension(record, key) for key in keys)


def padded(model: DriverModel, others: Sequence[DriverModel]) -> DriverModel:
    """The model with zeros behind its curves, so that they have as many coefficients as those of all others."""
    most = {name: max(len(getattr(one, name)) for one in (model, *others)) for name in _CURVES}
    curves: dict[str, Any] = {name: _zeros(getattr(model, name), most[name]) for name in _CURVES}
    return replace(model, **curves)


def packed_like(model: DriverModel, like: DriverModel) -> FloatArray:
    """A model packed so that it can be told from `like`: curves of the same length, over the same travel.

    Raises
    ------
    InputError
        It cannot be: it has other branches, or its curves do not hold over that travel.
    """
    curves: dict[str, Any] = {
        name: _zeros(getattr(model, name), len(getattr(like, name))) for name in _CURVES
    }
    same = replace(model, x_range=like.x_range, **curves)
    row = pack(same)
    if row.size != pack(like).size:
        raise InputError(
            "The models must have as many eddy-current branches",
            found=f"{len(model.branches)} and {len(like.branches)}",
        )
    return row


def _predict(
    workshop: Workshop, version_id: str, record: VersionRecord, progress: Progress, *, slot: str, run: Run | None
) -> PredictedDriver:  # fmt: skip
    from halfroll.workshop.prediction import predict_record

    return predict_record(workshop, version_id, record, progress, slot=slot, slopes=False, run=run)


def _side(
    workshop: Workshop, version_id: str, record: VersionRecord, start: Start, one: Dimension, way: float, progress: Progress, run: Run | None
) -> Side:  # fmt: skip
    """The design with one dimension a step away, or why it cannot be."""
    value = one.value + way * one.step
    progress(0.0, f"{one.label}, {one.more if way > 0 else one.less}")
    none: Side = {"model": None, "figures": {}, "read": {}, "fault": ""}
    if not one.low - 1e-9 <= value <= one.high + 1e-9:
        return {**none, "fault": f"{one.label} cannot be {value:g} {one.unit}".rstrip()}
    try:
        changed = with_grams(workshop, version_id, record, with_value(record, one.key, round(value, 6)))
        found = _predict(workshop, version_id, changed, _named(progress, one), slot=SLOT, run=run)
    except CancelledError:
        raise
    except HalfrollError as fault:
        return {**none, "fault": getattr(fault, "message", str(fault))}
    figures = start.reader.figures(found.model, modes_of(found))
    return {"model": asdict(found.model), "figures": figures, "read": _read(found.model, start), "fault": ""}


def _read(model: DriverModel, start: Start) -> dict[str, float]:
    """The figures of a neighbour's packed model with the resonances of the design itself; none where it cannot be packed like that."""
    like = padded(start.model, [model])
    try:
        return start.reader.figures(unpack(packed_like(model, like), like), start.modes)
    except InputError:
        return {}


def _named(progress: Progress, one: Dimension) -> Progress:
    def told(done: float, what: str) -> None:
        progress(done, f"{one.label}: {what}")

    return told


def _model(side: Side) -> DriverModel | None:
    return None if side["model"] is None else DriverModel(**side["model"])


def _packed(model: DriverModel | None, like: DriverModel, none: FloatArray) -> FloatArray:
    try:
        return none if model is None else packed_like(model, like)
    except InputError:
        return none


def _values(found: Mapping[str, float], figures: Sequence[str]) -> FloatArray:
    return np.array([found.get(key, np.nan) for key in figures], dtype=np.float64)


def _zeros(curve: tuple[float, ...], count: int) -> tuple[float, ...]:
    return (*curve, *(0.0 for _ in range(count - len(curve))))


def _tables(record: VersionRecord) -> str:
    names = ("motor", "coil", "surround", "spider", "cone", "cap", "moving")
    return repr([getattr(record, name) for name in names])


def _uncertainty(workshop: Workshop, version_id: str, settings: FigureSettings) -> dict[str, float]:
    """Standard uncertainties of the version's predicted figures as far as its computed take is kept; nothing is computed."""
    from halfroll.workshop.virtual_takes import kept_take

    take = kept_take(workshop, version_id, settings=settings)
    return {
        key: reading.u
        for one in (() if take is None else take.all)
        if one.kind == "take" or one.mounting == "baffle"
        for key, reading in one.readings.items()
        if reading.u is not None
    }
