"""What the measurements of a version say of the assumptions its prediction rests on; gathered, worked out, and kept in the index."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from halfroll.core.progress import Progress, part, silent
from halfroll.workshop.contents import Contents, read_contents
from halfroll.workshop.jobs import code_of, key_of
from halfroll.workshop.kept import kept

if TYPE_CHECKING:
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.driver.update.types import Update
    from halfroll.workshop.measured_driver import MeasuredDriver
    from halfroll.workshop.store import Workshop

_ROOMS = ("core", "acoustics", "materials", "measure", "motor", "suspension", "driver", "figures")


@dataclass(frozen=True, kw_only=True, eq=False)
class VersionUpdate:
    """A version's update: what was found, from which units, what was not measured; `unit` when only one counted."""

    version_id: str
    update: Update
    units: tuple[str, ...]
    missing: tuple[str, ...] = ()
    unit: str | None = None


def version_update(
    workshop: Workshop, version_id: str, progress: Progress = silent, *, unit: str | None = None
) -> VersionUpdate:
    """What was measured of a version, held against its prediction; from the index while neither changes.

    Parameters
    ----------
    unit
        Name of the one unit that is to count; None: the mean over all.

    Raises
    ------
    InputError
        There is no such version or unit, its design cannot be predicted, or nothing was measured that can be held against it.
    CancelledError
        `progress` asked to stop.
    """
    from halfroll.workshop.prediction import predicted_driver

    predicted = predicted_driver(workshop, version_id, part(progress, 0.0, 0.3))
    key, measured = _measured(workshop, version_id, predicted, unit, part(progress, 0.3, 0.7))
    lasting = key_of("update", key, code_of(*_ROOMS), _said(predicted))

    def work() -> Any:
        from halfroll.driver.update.solve import update
        from halfroll.workshop.measured_driver import COIL_U

        found = update(predicted, measured.observations, coil_u=COIL_U, progress=part(progress, 0.7, 1.0))
        return replace(found, predicted=_lean(predicted))

    found = kept(workshop, lasting, f"update {version_id} {unit or ''}", work)
    return VersionUpdate(
        version_id=version_id, update=replace(found, predicted=predicted), units=measured.units, missing=measured.missing, unit=unit
    )  # fmt: skip


def _measured(
    workshop: Workshop, version_id: str, predicted: PredictedDriver, unit: str | None, progress: Progress
) -> tuple[str, MeasuredDriver]:
    """The observations, and the key under which they are kept."""
    from halfroll.driver.lumped import small_signal
    from halfroll.workshop.measured_driver import MeasuredDriver, measured_driver

    small = small_signal(predicted.model)
    first = None if predicted.break_up is None else predicted.break_up.first_hz
    highest = first if first is not None else float("inf")
    within = f"{predicted.model.radius:.4g} {small.fs:.4g} {highest:.4g} {unit}"
    contents = read_contents(workshop.folder, workshop.index)
    key = key_of(
        "measured",
        within,
        repr(workshop.settings),
        code_of(*_ROOMS, "workshop"),
        _records(contents, version_id),
    )

    def work() -> Any:
        found = measured_driver(
            workshop, version_id, radius_m=predicted.model.radius, resonance_hz=small.fs, highest_hz=highest, unit=unit, progress=progress
        )  # fmt: skip
        return found.observations, found.units, found.missing

    observations, units, missing = kept(workshop, key, f"measured {version_id} {unit or ''}", work)
    return key, MeasuredDriver(version_id=version_id, observations=observations, units=units, missing=missing)


def _records(contents: Contents, version_id: str) -> str:
    """All records that what was measured of a version hangs on, as text; recordings have their hashes in them."""
    below = f"{version_id}/"
    found = [contents.versions[version_id].model_dump_json()] if version_id in contents.versions else []
    for records in (contents.units, contents.takes, contents.runs):
        found += [
            f"{key} {records[key].model_dump_json()}" for key in sorted(records) if key.startswith(below)
        ]
    return "\n".join(
        [*found, *(f"{key} {rig.model_dump_json()}" for key, rig in sorted(contents.rigs.items()))]
    )


def _said(predicted: PredictedDriver) -> str:
    """Everything an update takes from a prediction, as text."""
    return repr((predicted.model, predicted.assumptions, predicted.slopes.tobytes().hex()))


def _lean(predicted: PredictedDriver) -> PredictedDriver:
    """The prediction without the studies behind it, which the index holds already."""
    return replace(predicted, suspension=None, mass=None, break_up=None, heat=None, values=(), verdicts=())
