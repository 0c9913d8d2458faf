"""Which column of a table is which part of an impedance, by its name and its unit.

Words are those of the trade in English, German and French; a unit may stand in round or square brackets, behind a comma, a stroke
or an underscore. Nothing is guessed: two columns that could be the same are refused, and so is a unit nobody named.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Literal

from halfroll.core.errors import InputError

Quantity = Literal["frequency", "modulus", "phase", "real", "imaginary", "uncertainty"]

WORDS: dict[Quantity, frozenset[str]] = {
    "uncertainty": frozenset({"u", "uncertainty", "unsicherheit", "incertitude", "sigma", "std"}),
    "phase": frozenset({"phase", "phi", "arg", "argument", "angle", "winkel", "theta", "phasenwinkel"}),
    "imaginary": frozenset({"imag", "imaginary", "imaginar", "imaginarteil", "imaginaire", "im", "x", "reactance",
                            "reaktanz", "blindwiderstand"}),
    "real": frozenset({"real", "realteil", "reel", "re", "r", "resistance", "resistanz", "wirkwiderstand"}),
    "frequency": frozenset({"frequency", "freq", "frequenz", "frequence", "f"}),
    "modulus": frozenset({"modulus", "magnitude", "mag", "abs", "betrag", "module", "impedance", "impedanz", "z",
                          "scheinwiderstand"}),
}  # fmt: skip
"""Words that name a quantity, looked for in this order: "impedance phase" is a phase."""

UNITS: dict[str, tuple[Quantity, float]] = {
    "hz": ("frequency", 1.0), "khz": ("frequency", 1e3),
    "ohm": ("modulus", 1.0), "ohms": ("modulus", 1.0), "kohm": ("modulus", 1e3), "kohms": ("modulus", 1e3),
    "deg": ("phase", 1.0), "degree": ("phase", 1.0), "degrees": ("phase", 1.0), "grad": ("phase", 1.0), "degre": ("phase", 1.0),
    "degres": ("phase", 1.0), "rad": ("phase", 57.29577951308232), "radian": ("phase", 57.29577951308232),
    "radians": ("phase", 57.29577951308232), "radiant": ("phase", 57.29577951308232),
}  # fmt: skip
"""Units, the quantity each is a unit of, and its size in hertz, ohms or degrees."""

ASSUMED = {
    "frequency": "Hz",
    "modulus": "ohm",
    "phase": "degrees",
    "real": "ohm",
    "imaginary": "ohm",
    "uncertainty": "ohm",
}

ALLOWED = {
    "frequency": "Hz or kHz", "modulus": "ohm or kohm", "phase": "deg or rad", "real": "ohm or kohm",
    "imaginary": "ohm or kohm", "uncertainty": "ohm",
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column that is part of an impedance.

    Parameters
    ----------
    place
        From 0 on.
    name
        As the head has it.
    quantity
        What it holds.
    factor
        Its unit in hertz, ohms or degrees.
    unit
        As the head has it; empty when the head names none.
    """

    place: int
    name: str
    quantity: Quantity
    factor: float
    unit: str


def find_columns(head: tuple[str, ...], *, file: str, line: int) -> dict[Quantity, Column]:
    """The columns that make an impedance, by what they hold: frequency, and modulus with or without phase, or real and
    imaginary part.

    Raises
    ------
    InputError
        A column is missing, two could be the same, a unit is another one, or the modulus is in decibels.
    """
    levels = []
    found: dict[Quantity, list[Column]] = {}
    for place, name in enumerate(head):
        words = words_of(name)
        if {"db", "dbohm"} & set(words):
            levels.append(name)
            continue
        column = _column(place, name, words, file, line)
        if column is not None:
            found.setdefault(column.quantity, []).append(column)
    for quantity, columns in found.items():
        if len(columns) > 1:
            _refuse_two(quantity, columns, file, line)
    chosen = {quantity: columns[0] for quantity, columns in found.items()}
    _complete(chosen, levels, head, file, line)
    if "modulus" in chosen:
        chosen.pop("real", None)
        chosen.pop("imaginary", None)
    return chosen


def words_of(name: str) -> list[str]:
    """The words in a name, small and without accents: "Impedanz |Z| [Ω]" gives impedanz, z, ohm."""
    text = (
        name.replace("\u2126", "ohm")
        .replace("Ω", "ohm")
        .replace("°", " deg ")
        .replace("Z''", "im")
        .replace("Z'", "re")
    )
    plain = unicodedata.normalize("NFKD", text.replace("ß", "ss")).encode("ascii", "ignore").decode()
    return re.findall(r"[a-z]+", re.sub(r"(?<=[a-z]{2})(?=[A-Z][a-z])", " ", plain).lower())


def _column(place: int, name: str, words: list[str], file: str, line: int) -> Column | None:
    """The column, or None when its name says nothing of impedance."""
    units = [word for word in words if word in UNITS]
    named = next((quantity for quantity, known in WORDS.items() if known & set(words)), None)
    if named == "real" and words[0] == "r" and len(words) > 1 and not units:
        named = None
    of_unit = UNITS[units[-1]][0] if units else None
    if named is None and of_unit is None:
        return None
    quantity = named or of_unit
    assert quantity is not None
    wanted = "modulus" if quantity in ("real", "imaginary", "uncertainty") else quantity
    if of_unit is not None and of_unit != wanted:
        if quantity in ("uncertainty", "real", "imaginary") or of_unit == "frequency":
            return None  # a column of something else, such as "phase at 1 kHz"
        raise InputError(
            f"The column {name!r} has a unit that does not fit its name", file=file, line=line, found=units[-1],
            allowed=ALLOWED[quantity],
        )  # fmt: skip
    if of_unit is None:
        _known_unit(name, words, quantity, file, line)
    factor = UNITS[units[-1]][1] if units else 1.0
    return Column(place=place, name=name, quantity=quantity, factor=factor, unit=units[-1] if units else "")


def _known_unit(name: str, words: list[str], quantity: Quantity, file: str, line: int) -> None:
    """Refuse a unit in brackets that is none of those allowed; without brackets there is no unit."""
    inside = re.search(r"[(\[]([^)\]]*)[)\]]", name)
    if inside is None or inside[1].strip().lower() in ("z", "f", "", "-", "zin", "in"):
        return
    raise InputError(
        f"The unit of the column {name!r} is not one halfroll knows", file=file, line=line, found=inside[1],
        allowed=ALLOWED[quantity],
    )  # fmt: skip


def _refuse_two(quantity: Quantity, columns: list[Column], file: str, line: int) -> None:
    raise InputError(
        f"Only one column may be the {quantity}", file=file, line=line, found=", ".join(repr(c.name) for c in columns),
        remedy="Rename or delete the columns that are not meant",
    )  # fmt: skip


def _complete(
    chosen: dict[Quantity, Column], levels: list[str], head: tuple[str, ...], file: str, line: int
) -> None:
    """Refuse a head in which something is missing."""
    found = ", ".join(repr(name) for name in head)
    if "frequency" not in chosen:
        raise InputError("A column must be the frequency", file=file, line=line, found=found,
                         allowed="frequency (Hz) or frequency (kHz)")  # fmt: skip
    if "modulus" in chosen or {"real", "imaginary"} <= chosen.keys():
        return
    if levels:
        raise InputError("The modulus of an impedance must be in ohms, not in decibels", file=file, line=line,
                         found=", ".join(repr(name) for name in levels), allowed="ohm or kohm",
                         remedy="Export the impedance in ohms")  # fmt: skip
    lacking = {"real": "the real part has no imaginary part beside it", "imaginary": "the imaginary part has no real part beside it",
               "phase": "the phase has no modulus beside it"}  # fmt: skip
    why = next(
        (text for quantity, text in lacking.items() if quantity in chosen), "no column of an impedance"
    )
    raise InputError(
        "Columns must give the impedance", file=file, line=line, found=f"{found}: {why}",
        allowed="modulus (ohm), with phase (deg) or (rad) if known; or real (ohm) and imaginary (ohm)",
    )  # fmt: skip
