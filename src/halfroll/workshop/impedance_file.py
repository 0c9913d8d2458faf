"""An impedance curve from a table, whoever wrote it: `read_number_table` finds the numbers, `find_columns` what they are."""

from __future__ import annotations

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.text import join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.workshop.impedance_columns import ASSUMED, Column, Quantity, find_columns
from halfroll.workshop.number_table import NumberTable, read_number_table, text_of

Columns = dict[Quantity, Column]

REACH_HZ = (100.0, 1e6)
"""The highest frequency of a driver's table lies between these, or hertz and kilohertz were mistaken."""

MOST_DEGREES = 180.0
FEWEST_ROWS = 8


def read_impedance(data: bytes, file: str, *, scale_u: float = 0.0) -> ImpedanceCurve:
    """The impedance curve in the bytes of a table (`parse_impedance`); UTF-8, UTF-16 with a mark, or Latin-1."""
    return parse_impedance(text_of(data, file), file, scale_u=scale_u)


def parse_impedance(text: str, file: str, *, scale_u: float = 0.0) -> ImpedanceCurve:
    """The impedance curve in a table.

    Parameters
    ----------
    text
        The table; its head names the columns with their units.
    file
        Where it came from, for messages.
    scale_u
        Relative standard uncertainty of the whole curve (1).

    Raises
    ------
    InputError
        Something is missing, ambiguous or cannot be an impedance; it names file and line.
    """
    table = read_number_table(text, file)
    columns = find_columns(table.head, file=file, line=table.head_line)
    if len(table.lines) < FEWEST_ROWS:
        raise InputError(
            f"An impedance table must have {FEWEST_ROWS} rows at least",
            file=file,
            found=str(len(table.lines)),
        )
    frequency = _frequencies(table, columns["frequency"], file)
    impedance, phase_known = _impedance(table, columns, file)
    u = None
    if "uncertainty" in columns:
        u = _not_negative(table, columns["uncertainty"], file)
    return ImpedanceCurve(
        frequency_hz=frequency,
        impedance_ohm=impedance,
        u_ohm=u,
        scale_u=scale_u,
        phase_known=phase_known,
        source=f"table {file.replace(chr(92), '/').rpartition('/')[2]}",
        verdicts=tuple(_notes(columns, phase_known)),
    )


def _values(table: NumberTable, column: Column) -> FloatArray:
    return np.ascontiguousarray(table.values[:, column.place] * column.factor)


def _frequencies(table: NumberTable, column: Column, file: str) -> FloatArray:
    """Frequencies (Hz), above zero and ascending, in the range of loudspeakers."""
    values = _values(table, column)
    steps = np.diff(values)
    if values[0] <= 0.0 or (steps <= 0.0).any():
        at = 0 if values[0] <= 0.0 else int(np.argmax(steps <= 0.0)) + 1
        before = "" if at == 0 else f" after {table.values[at - 1, column.place]:g}"
        again = at > 0 and steps[at - 1] == 0.0
        raise InputError(
            "Every frequency may stand in a table once" if again else "Frequencies must be above 0 and ascend from row to row",
            file=file, key=column.name, line=table.lines[at], found=f"{table.values[at, column.place]:g}{before}",
            remedy="Delete the row that is too much" if again else "Sort the table by frequency",
        )  # fmt: skip
    top = float(values[-1])
    if not REACH_HZ[0] <= top <= REACH_HZ[1]:
        unit, other = ("Hz", "kHz") if top < REACH_HZ[0] else (column.unit or "Hz", "Hz")
        raise InputError(
            f"The highest frequency must lie between {REACH_HZ[0]:g} Hz and {REACH_HZ[1] / 1e3:g} kHz",
            file=file, key=column.name, line=table.lines[-1],
            found=f"{table.values[-1, column.place]:g} {'kHz' if column.factor > 1.0 else unit}",
            remedy=f"If the numbers are {other}, write {other} into the head of the column",
        )  # fmt: skip
    return values


def _impedance(table: NumberTable, columns: Columns, file: str) -> tuple[ComplexArray, bool]:
    """The impedance (ohm), and whether its phase is known."""
    if "modulus" not in columns:
        parts = _values(table, columns["real"]) + 1j * _values(table, columns["imaginary"])
        _refuse_where(np.abs(parts) == 0.0, table, columns["real"], file, "An impedance must not be zero")
        return parts, True
    modulus = _values(table, columns["modulus"])
    _refuse_where(
        modulus <= 0.0, table, columns["modulus"], file, "A modulus must be above zero",
        remedy="A level in decibels or a real part is not a modulus: name the column for what it is",
    )  # fmt: skip
    if "phase" not in columns:
        return modulus.astype(np.complex128), False
    degrees = _phase(table, columns["phase"], modulus, file)
    return np.asarray(modulus * np.exp(1j * np.deg2rad(degrees))), True


def _phase(table: NumberTable, column: Column, modulus: FloatArray, file: str) -> FloatArray:
    """Phase (degrees), its unit checked against what a loudspeaker can have."""
    degrees = _values(table, column)
    said = "rad" if column.factor > 1.0 else "degrees"
    _refuse_where(
        np.abs(degrees) > MOST_DEGREES, table, column, file,
        "A phase must lie within π" if said == "rad" else f"A phase must lie within {MOST_DEGREES:g} degrees",
        remedy="If the numbers are degrees, write deg into the head of the column" if said == "rad"
        else "Export the phase of the impedance itself, wrapped to -180 to 180 degrees",
    )  # fmt: skip
    turns, swings = float(np.ptp(degrees)), float(modulus.max() / modulus.min())
    if said == "degrees" and swings > 1.5 and np.abs(degrees).max() < np.pi / 2.0 + 0.1 and turns > 0.1:
        raise InputError(
            "A phase in degrees must turn further when the modulus changes so much", file=file, key=column.name,
            line=table.head_line, found=f"at most {np.abs(degrees).max():.2g} while the modulus changes {swings:.2g} times",
            remedy="If the numbers are radians, write rad into the head of the column",
        )  # fmt: skip
    return degrees


def _not_negative(table: NumberTable, column: Column, file: str) -> FloatArray:
    values = _values(table, column)
    _refuse_where(values < 0.0, table, column, file, "An uncertainty must not be negative")
    return values


def _refuse_where(
    wrong: np.ndarray, table: NumberTable, column: Column, file: str, message: str, remedy: str | None = None
) -> None:
    """Refuse the first row that is wrong."""
    if not wrong.any():
        return
    at = int(np.argmax(wrong))
    raise InputError(message, file=file, key=column.name, line=table.lines[at],
                     found=f"{table.values[at, column.place]:g}", remedy=remedy)  # fmt: skip


def _notes(columns: Columns, phase_known: bool) -> list[Verdict]:
    """What must be said of how the table was read."""
    found = []
    bare = [c for c in columns.values() if not c.unit]
    if bare:
        words = join_words([f"{c.name} in {ASSUMED[c.quantity]}" for c in bare])
        found.append(
            Verdict(
                code="units-assumed",
                severity=Severity.NOTE,
                text=f"The table names no unit for every column; read were {words}.",
                remedy="Write the units into the head of the table.",
                data={"columns": [c.name for c in bare]},
            )
        )
    if not phase_known:
        found.append(
            Verdict(
                code="phase-unknown",
                severity=Severity.NOTE,
                text="The table holds no phase, so only the modulus is fitted; its values are less certain.",
                remedy="Export the phase as well.",
            )
        )
    return found
