"""Correction curves of microphones as files: what a person brings, and the plain one kept beside the rig's record."""

from __future__ import annotations

import functools
from pathlib import Path

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.measure.rig.correction import Correction
from halfroll.workshop import paths
from halfroll.workshop.files import digest, read_whole
from halfroll.workshop.number_table import NumberTable, read_number_table, text_of
from halfroll.workshop.rig_record import RigRecord
from halfroll.workshop.toml_read import decode

HEAD = "frequency_hz,level_db"
SIGN = "# level_db is what the microphone reads too high; it is taken off. phase_deg is by how much its phase leads."


def read_correction(path: Path, *, turned: bool = False, shown: str | None = None) -> Correction:
    """A correction curve as it came: two columns or three, frequency (Hz), level (dB), phase (degrees).

    Columns are told by their names; a file without names is read in that order. `turned`: the levels are what has to be
    added instead of what the microphone reads too high; phases are turned with them. `shown` is the name for messages.

    Raises
    ------
    InputError
        There is no such table, or its numbers cannot be a microphone's correction.
    """
    file = shown or str(path)
    table = _table(text_of(read_whole(path), file), file)
    frequency, level, phase = _columns(table, file)
    steps = np.flatnonzero((np.diff(frequency) <= 0) | (frequency[1:] <= 0))
    if steps.size:
        raise InputError("Frequencies of a correction curve must be above 0 Hz and ascending", file=file,
                         line=table.lines[int(steps[0]) + 1], found=f"{frequency[int(steps[0]) + 1]:g}")  # fmt: skip
    sign = -1.0 if turned else 1.0
    try:
        return Correction(
            frequency_hz=frequency, level_db=sign * level, phase_deg=None if phase is None else sign * phase
        )
    except InputError as fault:
        raise InputError(fault.message, file=file, key=fault.place.key, found=fault.found, allowed=fault.allowed,
                         remedy=fault.remedy) from None  # fmt: skip


def correction_text(correction: Correction) -> str:
    """The curve as the plain file that is kept."""
    columns = [correction.frequency_hz, correction.level_db]
    head = HEAD
    if correction.phase_deg is not None:
        head, columns = f"{HEAD},phase_deg", [*columns, correction.phase_deg]
    rows = [",".join(f"{value:.7g}" for value in row) for row in zip(*columns, strict=True)]
    return "\n".join([SIGN, head, *rows, ""])


def correction_of(folder: Path, rig: RigRecord) -> Correction | None:
    """The correction curve of a rig's microphone, with its level 0 dB at the calibrator; None when there is none.

    `folder` is any folder of the workshop.

    Raises
    ------
    InputError
        The file is missing, or not the one the record was made with.
    """
    table = rig.microphone
    if table is None or table.correction is None:
        return None
    path = _workshop_above(folder) / "rigs" / table.correction
    data = read_whole(path)
    if digest(data) != table.correction_sha256:
        raise InputError("The microphone's correction curve is not the one the rig was given", file=str(path),
                         remedy="Bring the old file back, or give it to the rig with: halfroll rig correction")  # fmt: skip
    curve = _parsed(data, str(path), table.correction_u_db)
    return curve.relative_to(table.calibrator_hz)


@functools.lru_cache(maxsize=16)
def _parsed(data: bytes, file: str, u_db: float) -> Correction:
    frequency, level, phase = _columns(_table(decode(data, file), file), file)
    return Correction(frequency_hz=frequency, level_db=level, phase_deg=phase, u_db=u_db)


def _workshop_above(folder: Path) -> Path:
    """The workshop a folder lies in."""
    for above in (folder, *folder.parents):
        if (above / paths.WORKSHOP_FILE).exists():
            return above
    raise InputError("This folder lies in no workshop", file=str(folder))


def _table(text: str, file: str) -> NumberTable:
    """The table in a text; without names over its columns they stand in the usual order."""
    try:
        return read_number_table(text, file)
    except InputError as fault:
        if "must name the columns" not in fault.message:
            raise
    for names in (HEAD, f"{HEAD},phase_deg"):
        for separator in (",", ";", "\t"):
            try:
                return read_number_table(names.replace(",", separator) + "\n" + text, file)
            except InputError:
                continue
    raise InputError(
        "A correction curve must have two or three columns", file=file,
        allowed="frequency (Hz), level (dB), if known phase (degrees), with these names in a line above",
    )  # fmt: skip


def _columns(table: NumberTable, file: str) -> tuple[FloatArray, FloatArray, FloatArray | None]:
    """Frequency, level and phase by the names of their columns."""
    found: dict[str, int] = {}
    for column, name in enumerate(table.head):
        low = name.lower()
        kind = (
            "frequency" if "freq" in low or "hz" in low
            else "phase" if "phase" in low or "deg" in low or "°" in low
            else "level" if any(word in low for word in ("db", "level", "spl", "dev", "corr", "resp", "mag", "gain"))
            else ""
        )  # fmt: skip
        if kind:
            found.setdefault(kind, column)
    if not {"frequency", "level"} <= found.keys():
        raise InputError("A correction curve must have a column of frequencies and one of levels", file=file,
                         line=table.head_line, found=", ".join(table.head),
                         allowed="such as: frequency (Hz), level (dB), phase (deg)")  # fmt: skip
    khz = "khz" in table.head[found["frequency"]].lower()
    frequency = table.values[:, found["frequency"]] * (1000.0 if khz else 1.0)
    phase = table.values[:, found["phase"]] if "phase" in found else None
    return frequency, table.values[:, found["level"]], phase
