"""What the ways of ``halfroll calibrate`` share: readings from tables and from a unit, the result worked out, saved and said."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import in_lines, open_workshop, print_json, progress_bar, say, say_verdicts
from halfroll.core.errors import InputError

if TYPE_CHECKING:
    from halfroll.workshop.calibration_record import CalibrationTable


def finish(material: str, readings: dict[str, Any], common: dict[str, Any]) -> None:
    """Check, work out, save unless told not to, and say what came of it."""
    from halfroll.materials.calibrate.types import Estimate
    from halfroll.publish.calibrations import budget_words, change_words, result_words, trial_dict
    from halfroll.workshop.calibrations import add_calibration, try_calibration

    workshop, key, like = open_workshop(), material, common["like"]
    with _named_as_options():
        table = _table(readings, common)
        trial = try_calibration(workshop, key, table, like=like)
    if not common["show_only"]:
        add_calibration(workshop, key, table, like=like, title=common["title"])
    if common["as_json"]:
        print_json(trial_dict(trial, saved=not common["show_only"]))
        return
    words = result_words(trial.result)
    click.echo(f"{words[0].upper()}{words[1:]}.")
    if isinstance(trial.result, Estimate):
        click.echo(in_lines(f"Its uncertainty comes from: {budget_words(trial.result)}."))
    click.echo(in_lines(change_words(trial.before, trial.after, saved=not common["show_only"])))
    say_verdicts((*trial.result.verdicts, *trial.after.calibrated.combined.verdicts))
    say("Not saved." if common["show_only"] else f"Saved with its readings in materials/{key}.toml.")


OPTIONS = {
    "deflections_mm": "--sinks",
    "loads_g": "--load",
    "times_s": "--time",
    "moving_mass_g": "--mass",
    "date": "--date",
}
"""Where an option is not called as the key in the file is, without its unit."""


@contextmanager
def _named_as_options() -> Iterator[None]:
    """A fault in a reading names the option that was typed, not the key in the file that it would have become."""
    try:
        yield
    except InputError as fault:
        key = (fault.place.key or "").split(".")[-1]
        name = OPTIONS.get(key) or "--" + re.sub(r"_(mm|g|s|hz|mpa|n_mm|percent)$", "", key).replace("_", "-")
        option = next((one for one in click.get_current_context().command.params if name in one.opts), None)
        if option is None or fault.place.file not in (None, "calibrate"):
            raise
        raise InputError(
            fault.message, key=name, found=fault.found, allowed=fault.allowed, remedy=fault.remedy
        ) from fault


def _table(readings: dict[str, Any], common: dict[str, Any]) -> CalibrationTable:
    from halfroll.workshop.calibration_record import CalibrationTable
    from halfroll.workshop.faults import check

    day = common["day"] or dt.date.today().isoformat()
    return check(CalibrationTable, {"date": day, "note": common["note"], **readings}, file="calibrate")


def from_unit(material: str, unit_id: str, given: dict[str, float | None]) -> dict[str, Any]:
    """What a unit and its version say of all that was not given."""
    from halfroll.workshop import paths
    from halfroll.workshop.calibration_readings import measured_resonance, predicted_stiffness

    workshop = open_workshop()
    workshop.existing(unit_id, "unit")
    inside: dict[str, Any] = {"unit": unit_id}
    with progress_bar("unit") as progress:
        if given["resonance_hz"] is None or given["moving_mass_g"] is None:
            inside |= measured_resonance(workshop, unit_id, progress)
        if given["predicted_n_mm"] is None or given["reference_mpa"] is None:
            inside |= predicted_stiffness(workshop, paths.version_of(unit_id), material, progress)
    return inside


def columns(
    path: Path, first: str, second: str, *, given: bool
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Two named columns of a CSV file."""
    if given:
        raise InputError("Readings must come from the table or from options", key="--table", found="both")
    head, values, line = _read(path)
    if first not in head or second not in head:
        raise InputError(f"The table must have a column {first} and a column {second}", file=str(path), line=line,
                         found=", ".join(head), allowed=f"{first}, {second}")  # fmt: skip
    return tuple(values[:, head.index(first)].tolist()), tuple(values[:, head.index(second)].tolist())


def curve_columns(path: Path) -> tuple[str, tuple[float, ...], tuple[float, ...]]:
    """Which quantity a curve is of, its displacements and its values."""
    head, values, line = _read(path)
    kinds = {"k_n_mm": "stiffness", "force_n": "force"}
    named = [name for name in kinds if name in head]
    if "x_mm" not in head or len(named) != 1:
        raise InputError("The curve must have a column x_mm and one of k_n_mm and force_n", file=str(path), line=line,
                         found=", ".join(head), allowed="x_mm with k_n_mm or force_n")  # fmt: skip
    return (
        kinds[named[0]],
        tuple(values[:, head.index("x_mm")].tolist()),
        tuple(values[:, head.index(named[0])].tolist()),
    )


def _read(path: Path) -> tuple[list[str], Any, int]:
    from halfroll.workshop.files import read_whole
    from halfroll.workshop.number_table import read_number_table, text_of

    table = read_number_table(text_of(read_whole(path), str(path)), str(path))
    return [name.strip().casefold() for name in table.head], table.values, table.head_line
