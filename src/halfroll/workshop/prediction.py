"""The predicted driver of a version: its design solved and put together, with what was assumed, kept in the index.

What the pages and the command line call; the rooms below do the work.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.workshop.motor_design import in_record
from halfroll.workshop.prediction_studies import Run
from halfroll.workshop.records import VersionRecord

if TYPE_CHECKING:
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.workshop.store import Workshop

EXAMPLE = """\
effective_area_cm2 = 54

[parameters]
re_ohm = 6.0
bl_n_per_a = 4.1
mms_g = 6.5
fs_hz = 75
qms = 4
le_mh = 0.3
travel_mm = 4
"""
"""Parameters that can be copied into ``version.toml``."""

Source = Literal["auto", "predicted", "measured", "entered"]
SOURCES: tuple[Source, ...] = ("auto", "predicted", "measured", "entered")


def predicted_driver(
    workshop: Workshop, version_id: str, progress: Progress = silent, *, run: Run | None = None
) -> PredictedDriver:
    """The driver that a version's design will make.

    Raises
    ------
    InputError
        There is no such version, its design lacks a part that nothing stands in for, or cannot be; with file, key and line.
    CancelledError
        `progress` asked to stop; what was finished is kept.
    """
    loaded = workshop.version(version_id)
    with in_record(loaded):
        return predict_record(workshop, version_id, loaded.record, progress, slot=version_id, run=run)


def predict_record(
    workshop: Workshop, version_id: str, record: VersionRecord, progress: Progress = silent, *, slot: str = "draft", slopes: bool = True,
    run: Run | None = None,
) -> PredictedDriver:  # fmt: skip
    """The same for a record that need not be saved. Of a `slot` only the results of the latest design are kept.

    Parameters
    ----------
    version_id
        The version it belongs to: its folder holds files with profiles, its units' measurements stand in for what is not designed.
    slopes
        Whether to find what each assumption does; without, the values have no uncertainty.
    run
        Does the heavy studies somewhere else: ``run(task, *arguments, progress=progress)``.
    """
    from halfroll.workshop.prediction_design import DesignPrediction

    return DesignPrediction(
        workshop=workshop, version_id=version_id, record=record, slot=slot, slopes=slopes, run=run
    ).worked_out(progress)


def driver_model(
    workshop: Workshop, version_id: str, source: Source = "auto", progress: Progress = silent
) -> PredictedDriver:
    """The model of a version's driver: predicted from its design, entered by hand in ``[parameters]``, or measured.

    `auto` takes the first of these there is.

    Raises
    ------
    InputError
        There is nothing of the kind; the message says what to add.
    """
    record = workshop.version(version_id).record
    if source == "predicted" or (source == "auto" and has_design(record)):
        return predicted_driver(workshop, version_id, progress)
    found = None
    if source in ("auto", "entered"):
        found = _stated(workshop, version_id, "entered", progress)
    if found is None and source in ("auto", "measured"):
        found = _stated(workshop, version_id, "measured", progress)
    if found is None:
        raise _unknown(workshop, version_id, source)
    return found


def has_design(record: VersionRecord) -> bool:
    """Whether a version says enough to be predicted from: a motor with its coil, or moving parts."""
    return (record.motor is not None and record.coil is not None) or any(
        table is not None for table in (record.surround, record.spider, record.cone)
    )


def _stated(workshop: Workshop, version_id: str, source: str, progress: Progress) -> PredictedDriver | None:
    """The driver of what is entered or measured; None where nothing is."""
    from halfroll.driver.predicted.entered import entered_driver
    from halfroll.workshop.prediction_known import entered_of, measured_stated

    loaded = workshop.version(version_id)
    if source == "entered":
        with in_record(loaded):
            entered = entered_of(loaded.record, loaded.path.parent)
            return None if entered is None else entered_driver(entered)
    measured = measured_stated(workshop, version_id, loaded.record, progress)
    try:
        return None if measured is None else entered_driver(measured)
    except InputError as fault:  # no key of a record is at fault
        raise InputError(
            f"What was measured of {version_id} makes no whole driver. {fault.message}", found=fault.found, allowed=fault.allowed,
            remedy="Measure it with an added mass or in a known volume too, or write what is known under [parameters] of its record",
        ) from fault  # fmt: skip


def _unknown(workshop: Workshop, version_id: str, source: str) -> InputError:
    """What is said where there is nothing of a source."""
    path = str(workshop.version(version_id).path)
    what = {
        "measured": ("measured parameters", "no impedance of a unit"),
        "entered": ("parameters entered by hand", "no table [parameters]"),
    }
    words, found = what.get(source, ("a design, entered parameters or measured ones", "none of them"))
    return InputError(
        f"A model of {version_id} needs {words}", file=path, key="parameters", found=found,
        remedy=f"Design it on the pages /design/{version_id} and /suspension/{version_id}, or write what a data sheet says into the file:\n\n{EXAMPLE}",
    )  # fmt: skip
