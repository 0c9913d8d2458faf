"""The tables of a design as plain values, the way a form holds them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from halfroll.app.typed import number_or_text
from halfroll.motor.coil.wound import Coil
from halfroll.motor.placing.design import Design
from halfroll.motor.types import Assembly
from halfroll.workshop.motor_record import CoilTable, MotorTable

Data = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Built:
    """A state of the design that can be built."""

    motor: MotorTable
    coil_table: CoilTable | None
    design: Design
    assembly: Assembly
    coil: Coil | None


def sizes_of(built: Built, name: str) -> Data:
    """Shape, sizes and material of a part as they can stand in its own table."""
    part = next((one for one in built.design.motor.parts if one.name == name), None)
    if part is None:
        return {}
    lengths = {"outer_mm": part.outer_m, "inner_mm": part.inner_m, "height_mm": part.height_m}
    mm = {key: round(1e3 * value, 4) for key, value in lengths.items() if value}
    return {"shape": part.shape, "material": part.material.key, **mm}


def free_name(name: str, taken: list[str]) -> str:
    """The name, with a number behind it when it is taken."""
    number, free = 2, name
    while free in taken:
        free, number = f"{name} {number}", number + 1
    return free


def written(motor: MotorTable | None, coil: CoilTable | None) -> Data:
    """The tables as plain values without what is not said."""
    tables = {"motor": motor, "coil": coil}
    return {
        name: plain(table.model_dump(mode="json", exclude_none=True, exclude_defaults=name == "motor"))
        for name, table in tables.items()
        if table is not None
    }


def plain(value: Any) -> Any:
    """Lists for tuples, and nothing where nothing is said."""
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items() if inner not in ((), [])}
    return [plain(inner) for inner in value] if isinstance(value, list | tuple) else value


_WORDS = ("name", "part", "shape", "material", "magnetised", "on", "under", "beside", "align", "wire", "former_material", "packing",
          "glue")  # fmt: skip


def is_word(key: str) -> bool:
    """Whether what stands at a key is text, even when it looks like a number."""
    return key.rpartition(".")[2] in _WORDS


WHOLE = ("coil.layers", "coil.turns")
PROFILE = "profile_mm"


def typed_value(key: str, text: str, old: Any) -> Any:
    """What was typed at a key as it can stand in the record; what cannot be read stays text, for the check to refuse."""
    if key.endswith(f".{PROFILE}"):
        return corners(text)
    if isinstance(old, str) or is_word(key):
        return text.strip() or None
    return number_or_text(text, whole=key in WHOLE)


def as_turned(part: Data) -> None:
    """Give a disc or ring the corners of its section, so that they can be changed."""
    outer, inner, height = (part.pop(key, None) for key in ("outer_mm", "inner_mm", "height_mm"))
    if PROFILE not in part and isinstance(outer, int | float) and isinstance(height, int | float):
        out, bore = 0.5 * outer, 0.5 * inner if isinstance(inner, int | float) else 0.0
        part[PROFILE] = [[bore, 0.0], [out, 0.0], [out, float(height)], [bore, float(height)]]


def as_plain(part: Data) -> None:
    """Give a turned part the diameter and height it had at most."""
    profile = part.pop(PROFILE, None)
    numbers = [
        one for one in profile or [] if isinstance(one, list) and all(isinstance(x, int | float) for x in one)
    ]
    if numbers:
        part.setdefault("outer_mm", 2.0 * max(r for r, *_ in numbers))
        part.setdefault("height_mm", max(one[-1] for one in numbers) - min(one[-1] for one in numbers))


def corners(text: str) -> Any:
    """The corners of a profile, a line for each with r and z in mm between blanks or a semicolon, or as in a CSV file with one comma; a line
    that cannot be read stays text.
    """
    lines = [line.replace(";", " ").split() for line in text.splitlines() if line.strip()]
    lines = [line[0].split(",") if len(line) == 1 and line[0].count(",") == 1 else line for line in lines]
    return [[number_or_text(word.strip(",")) for word in line] for line in lines] or None


def in_lines(profile: Any) -> str:
    """The corners of a profile as they are typed."""
    if not isinstance(profile, list | tuple):
        return str(profile)
    return "\n".join(
        "  ".join(f"{x:g}" if isinstance(x, int | float) else str(x) for x in one)
        if isinstance(one, list | tuple)
        else str(one)
        for one in profile
    )
