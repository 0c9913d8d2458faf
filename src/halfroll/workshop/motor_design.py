"""The design of a motor between ``version.toml`` (millimetres, keys of the catalogue) and the motor room (metres, values)."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Iterator
from typing import TypeVar

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue
from halfroll.materials.glue import glue_of
from halfroll.materials.types import Conductor, Filament, StockPart
from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.placing.design import Design, How, MotorDesign, PartDesign, Placement
from halfroll.workshop.faults import asked_by, placed
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.motor_record import CoilTable, MotorTable, PartTable
from halfroll.workshop.records import VersionRecord
from halfroll.workshop.toml_lines import KeyPath, line_of

T = TypeVar("T")

EXAMPLE = """\
[motor]
gap = ["pole", "top plate"]

[[motor.parts]]
name = "back plate"
shape = "ring"
outer_mm = 60
inner_mm = 20
height_mm = 5
material = "steel-1008"

[[motor.parts]]
name = "magnet"
part = "ferrite-ring-60x32x10"
material = "y30"
magnetised = "down"
on = "back plate"

[[motor.parts]]
name = "top plate"
shape = "ring"
outer_mm = 56
inner_mm = 22.4
height_mm = 4
material = "steel-1008"
on = "magnet"

[[motor.parts]]
name = "pole"
shape = "disc"
outer_mm = 20
height_mm = 19
material = "steel-1008"
beside = "back plate"
align = "bottom"

[coil]
wire = "cu-0.200-g1"
layers = 2
turns = 80
former_inner_mm = 20.6
former_wall_mm = 0.15
former_material = "polyimide"
"""
"""A motor with a coil that can be copied into ``version.toml``."""

_WAYS: tuple[How, ...] = ("on", "under", "beside")


def design_of(motor: MotorTable, coil: CoilTable | None, catalogue: Catalogue) -> Design:
    """The design that two tables describe, with what their keys stand for.

    Raises
    ------
    InputError
        A key that is not in the catalogue, or what a part or coil cannot be; its `place.key` names the key in ``version.toml``.
    """
    parts = tuple(_part(index, part, catalogue) for index, part in enumerate(motor.parts))
    design = MotorDesign(
        parts=parts,
        gap=motor.gap,
        temperature_c=motor.temperature_c,
        travel_m=_m(motor.travel_mm),
    )
    return Design(motor=design, coil=None if coil is None else coil_of(coil, catalogue))


def coil_of(table: CoilTable, catalogue: Catalogue) -> CoilDesign:
    """The coil that a table describes."""
    wire = _found("coil.wire", lambda: catalogue.wire(table.wire))
    former = _found("coil.former_material", lambda: catalogue.material(table.former_material))
    if not isinstance(former, Filament | Conductor):
        raise InputError("The coil's former must be of a filament or a metal without magnetism", key="coil.former_material",
                         found=former.title)  # fmt: skip
    glue = None if table.glue is None else _found("coil.glue", lambda: glue_of(table.glue or ""))
    tolerance = _m(table.print_tolerance_mm)
    return CoilDesign(
        wire=wire,
        layers=table.layers,
        turns=table.turns,
        former_inner_m=1e-3 * table.former_inner_mm,
        former_wall_m=1e-3 * table.former_wall_mm,
        former=former,
        former_height_m=_m(table.former_height_mm),
        insulation_m=_m(table.insulation_mm) or 0.0,
        offset_m=_m(table.offset_mm) or 0.0,
        packing=table.packing or "stacked",
        glue=glue,
        **({} if tolerance is None else {"print_tolerance_m": tolerance}),
    )


def _part(index: int, table: PartTable, catalogue: Catalogue) -> PartDesign:
    """One part: what its record or the catalogue says, and over it what stands in the design."""
    key = f"motor.parts[{index + 1}]"
    bought = None if table.part is None else _found(f"{key}.part", lambda: catalogue.part(table.part or ""))
    shape = table.shape or (bought.shape if bought is not None else None)
    if shape is None:
        raise InputError(f"{table.name} must have a shape", key=f"{key}.shape", found="nothing",
                         allowed="disc, ring, turned, or a part that has a shape")  # fmt: skip
    material = table.material or (bought.material if bought is not None else None)
    if material is None:
        raise InputError(f"{table.name} must say what it is made of", key=f"{key}.material", found="nothing",
                         allowed="a key of a magnet grade, steel, conductor or filament")  # fmt: skip
    turned = shape == "turned"
    if turned and (
        size := next(
            (s for s in ("outer_mm", "inner_mm", "height_mm") if getattr(table, s) is not None), None
        )
    ):
        raise InputError(f"{table.name} is turned, and its profile says its sizes", key=f"{key}.{size}",
                         found=f"{getattr(table, size):g}", remedy=f"Leave out {size}, or change the profile")  # fmt: skip
    profile = tuple((1e-3 * r, 1e-3 * z) for r, z in _open(table.profile_mm)) or (
        bought.profile_m if bought is not None and turned else ()
    )
    return PartDesign(
        name=table.name,
        shape=shape,
        material=_found(f"{key}.material", lambda: catalogue.material(material)),
        outer_m=None if turned else _size(table.outer_mm, bought, "outer_m"),
        inner_m=_size(table.inner_mm, bought if shape == "ring" else None, "inner_m"),
        height_m=None if turned else _size(table.height_mm, bought, "height_m"),
        profile_m=profile,
        magnetised=table.magnetised,
        placement=_placement(key, table),
        turns=table.turns,
        current_a=table.current_a,
        part=table.part,
    )


def _open(profile: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """A profile without its first corner repeated at the end."""
    return profile[:-1] if len(profile) > 1 and profile[0] == profile[-1] else profile


def _size(inline_mm: float | None, bought: StockPart | None, name: str) -> float | None:
    if inline_mm is not None:
        return 1e-3 * inline_mm
    return None if bought is None else getattr(bought, name)


def _m(length_mm: float | None) -> float | None:
    return None if length_mm is None else 1e-3 * length_mm


def _placement(key: str, table: PartTable) -> Placement | None:
    """Where a part is; refuses two places, and words that belong to another way of placing."""
    said = [how for how in _WAYS if getattr(table, how) is not None]
    if len(said) > 1:
        raise InputError(f"{table.name} must be placed in one way", key=f"{key}.{said[1]}", found=" and ".join(said),
                         allowed="exactly one of on, under, beside")  # fmt: skip
    words = [word for word in ("align", "offset_mm") if getattr(table, word) is not None]
    if words and said != ["beside"]:
        raise InputError(f"{words[0]} of {table.name} must stand with beside", key=f"{key}.{words[0]}",
                         found=said[0] if said else "no place",
                         remedy="A part that keeps a distance needs glue_mm, or a spacer as a part of its own")  # fmt: skip
    if not said:
        if table.glue_mm is not None:
            raise InputError(f"glue_mm of {table.name} must stand with on, under or beside", key=f"{key}.glue_mm",
                             found="no place")  # fmt: skip
        return None
    how = said[0]
    return Placement(
        how=how,
        of=getattr(table, how),
        glue_m=_m(table.glue_mm) or 0.0,
        align=table.align or "middle",
        offset_m=_m(table.offset_mm) or 0.0,
    )


def _found(key: str, look_up: Callable[[], T]) -> T:
    """What a look-up gives; its fault with the key of the record."""
    with asked_by(key):
        return look_up()


@contextlib.contextmanager
def in_record(loaded: Loaded[VersionRecord]) -> Iterator[None]:
    """Give faults of a design inside the block the file of its record and the line their key stands on."""
    text = loaded.path.read_text(encoding="utf-8-sig")
    try:
        yield
    except InputError as fault:
        if fault.place.file is not None:
            raise
        key = fault.place.key
        line = None if key is None else line_of(text, path_of(key))
        raise placed(fault, file=str(loaded.path), line=line) from fault


def path_of(key: str) -> KeyPath:
    """The path of a dotted key such as ``motor.parts[2].on``; entries of lists count from 1 there and from 0 in the path."""
    steps: list[str | int] = []
    for name, index in re.findall(r"([^.\[\]]+)|\[(\d+)\]", key):
        steps.append(name if name else int(index) - 1)
    return tuple(steps)
