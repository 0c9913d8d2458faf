"""What must hold of a motor's parts before they can be placed; every refusal names the part and the key of ``version.toml``."""

from __future__ import annotations

import math
from typing import NoReturn

from halfroll.core.errors import InputError
from halfroll.materials.types import Conductor, MagnetGrade, Steel
from halfroll.motor.placing.design import DIRECTIONS, MotorDesign, PartDesign
from halfroll.motor.placing.polygons import Polygon, anticlockwise, crossing_edges, rectangle, signed_area
from halfroll.motor.types import FieldCoil, Filler, Magnet, Matter, Ring, SoftSteel

LARGEST_M = 1.0
"""Largest diameter or height of a part: more is a slip of the unit."""

SMALLEST_M = 0.05e-3
"""Smallest diameter or height of a part, that of foil: less is a slip of the unit, metres where millimetres belong."""

THICKEST_GLUE_M = 2e-3

SMALLEST_AREA_M2 = 1e-9
"""Smallest half-section of a turned part, a square of 0.03 mm."""


def key_of(index: int, field: str) -> str:
    """The key in ``version.toml`` of a field of the part at an index; parts count from 1."""
    return f"motor.parts[{index + 1}].{field}"


def placement_key(design: MotorDesign, index: int) -> str:
    """The key that says where a part is."""
    placement = design.parts[index].placement
    return key_of(index, "name" if placement is None else placement.how)


def check_design(design: MotorDesign) -> None:
    """Refuse names, sizes, matter, glue and temperatures that cannot be; `InputError` names part and key."""
    if not design.parts:
        raise InputError("A motor must have parts", key="motor.parts", found="none",
                         remedy="Add a table [[motor.parts]] for each part, from the back plate up")  # fmt: skip
    _check_names(design)
    for index, part in enumerate(design.parts):
        _check_size(index, part)
        _check_matter(index, part)
        _check_placement(design, index, part)
    _check_gap_names(design)
    _check_temperature(design)
    if design.travel_m is not None and not 0.0 < design.travel_m <= 0.1:
        raise InputError("The motor's travel must be a possible length", key="motor.travel_mm", found=f"{_mm(design.travel_m)} mm",
                         allowed="above 0 to 100 mm, each way")  # fmt: skip


def _check_names(design: MotorDesign) -> None:
    first: dict[str, int] = {}
    for index, part in enumerate(design.parts):
        if not part.name.strip():
            raise InputError(
                "A part of the motor must have a name", key=key_of(index, "name"), found="no name"
            )
        if part.name in first:
            raise InputError(
                f"Parts {first[part.name] + 1} and {index + 1} of the motor must not have the same name",
                key=key_of(index, "name"), found=part.name, remedy="Give one of the two another name",
            )  # fmt: skip
        first[part.name] = index


def _check_size(index: int, part: PartDesign) -> None:
    if part.shape == "turned":
        _check_profile(index, part)
        return
    if part.profile_m:
        raise InputError(f"{part.name} is a {part.shape} and must have no profile", key=key_of(index, "profile_mm"),
                         found="a profile", remedy="Say shape = \"turned\", or leave the profile out")  # fmt: skip
    for field in ("outer", "height") if part.shape == "disc" else ("outer", "inner", "height"):
        _check_length(index, part, field)
    if part.shape == "disc" and part.inner_m:
        raise InputError(f"{part.name} is a disc and must have no inner diameter", key=key_of(index, "inner_mm"),
                         found=f"{_mm(part.inner_m)} mm", remedy='Say shape = "ring"')  # fmt: skip
    if part.shape == "ring" and (part.inner_m or 0.0) >= (part.outer_m or 0.0):
        raise InputError(f"The inner diameter of {part.name} must be smaller than its outer one", key=key_of(index, "inner_mm"),
                         found=f"{_mm(part.inner_m)} mm inside, {_mm(part.outer_m)} mm outside")  # fmt: skip


def _check_length(index: int, part: PartDesign, field: str) -> None:
    value: float | None = getattr(part, f"{field}_m")
    if value is None or not SMALLEST_M <= value <= LARGEST_M:
        word = "height" if field == "height" else f"{field} diameter"
        raise InputError(f"The {word} of {part.name} must be a possible length in millimetres", key=key_of(index, f"{field}_mm"),
                         found="nothing" if value is None else f"{_mm(value)} mm", allowed="0.05 to 1000 mm")  # fmt: skip


def _check_profile(index: int, part: PartDesign) -> None:
    profile, key = part.profile_m, key_of(index, "profile_mm")

    def refuse(rule: str, found: str) -> NoReturn:
        raise InputError(f"The profile of {part.name} must {rule}", key=key, found=found,
                         remedy="Give the corners [r, z] in mm in order around the half-section")  # fmt: skip

    if len(profile) < 3:
        refuse("have three corners at least", f"{len(profile)}")
    for r, z in profile:
        if not (0.0 <= r <= LARGEST_M and -LARGEST_M <= z <= LARGEST_M):
            refuse("lie at radii from 0 to 1000 mm and heights within 1000 mm", f"[{_mm(r)}, {_mm(z)}]")
    if crossing_edges(profile):
        refuse("not cross or touch itself", f"{len(profile)} corners that do")
    if abs(signed_area(profile)) < SMALLEST_AREA_M2:
        refuse("enclose an area of 0.001 mm² at least", f"{abs(signed_area(profile)) * 1e6:.2g} mm²")


def _check_matter(index: int, part: PartDesign) -> None:
    magnet = isinstance(part.material, MagnetGrade)
    if magnet and part.magnetised not in DIRECTIONS:
        raise InputError(f"{part.name} is a magnet and must say how it is magnetised", key=key_of(index, "magnetised"),
                         found="nothing" if part.magnetised is None else str(part.magnetised), allowed=DIRECTIONS)  # fmt: skip
    if not magnet and part.magnetised is not None:
        raise InputError(f"{part.name} is no magnet and must not be magnetised", key=key_of(index, "magnetised"),
                         found=f"{part.magnetised}, of {part.material.title}")  # fmt: skip
    if part.turns is None and part.current_a is None:
        return
    if not isinstance(part.material, Conductor):
        raise InputError(f"The field coil {part.name} must be wound of a conductor", key=key_of(index, "material"),
                         found=part.material.title)  # fmt: skip
    if part.turns is None or not 0.0 < part.turns <= 1e6:
        raise InputError(f"The field coil {part.name} must state its turns", key=key_of(index, "turns"),
                         found="nothing" if part.turns is None else f"{part.turns:g}", allowed="above 0 to 1000000")  # fmt: skip
    if part.current_a is None or not math.isfinite(part.current_a):
        raise InputError(f"The field coil {part.name} must state its direct current", key=key_of(index, "current_a"),
                         found="nothing")  # fmt: skip


def _check_placement(design: MotorDesign, index: int, part: PartDesign) -> None:
    placement = part.placement
    if index == 0:
        if placement is not None:
            raise InputError(f"The first part, {part.name}, must stand for itself", key=key_of(0, placement.how),
                             found=f"{placement.how} {placement.of}",
                             remedy=f"Leave out {placement.how}: everything else is placed from the first part")  # fmt: skip
        return
    if placement is None:
        raise InputError(f"{part.name} must say what it touches", key=key_of(index, "name"), found="nothing",
                         allowed="one of on, under, beside with the name of another part")  # fmt: skip
    names = [other.name for other in design.parts if other is not part]
    if placement.of not in names:
        raise InputError(f"{part.name} must lie {placement.how} another part of this motor", key=key_of(index, placement.how),
                         found=placement.of, allowed=names)  # fmt: skip
    if not 0.0 <= placement.glue_m <= THICKEST_GLUE_M:
        raise InputError(
            f"The glue between {part.name} and {placement.of} must be a possible thickness", key=key_of(index, "glue_mm"),
            found=f"{_mm(placement.glue_m)} mm", allowed=f"0 to {_mm(THICKEST_GLUE_M)} mm",
            remedy="A part that is kept away farther needs a spacer, which is a part of its own",
        )  # fmt: skip
    if not -LARGEST_M <= placement.offset_m <= LARGEST_M:
        raise InputError(f"The offset of {part.name} must be a possible length", key=key_of(index, "offset_mm"),
                         found=f"{_mm(placement.offset_m)} mm", allowed="-1000 to 1000 mm")  # fmt: skip


def _check_gap_names(design: MotorDesign) -> None:
    names = [part.name for part in design.parts]
    for name in design.gap:
        if name not in names:
            raise InputError("The gap must lie between two parts of the motor", key="motor.gap", found=name, allowed=names)  # fmt: skip
    if design.gap[0] == design.gap[1]:
        raise InputError("The gap must lie between two different parts, the inner one first", key="motor.gap",
                         found=" and ".join(design.gap))  # fmt: skip


def _check_temperature(design: MotorDesign) -> None:
    if not math.isfinite(design.temperature_c) or design.temperature_c < -273.15:
        raise InputError("The temperature of the magnets must be a temperature", key="motor.temperature_c",
                         found=f"{design.temperature_c:g} °C", allowed="above -273.15 °C")  # fmt: skip
    for part in design.parts:
        grade = part.material
        if isinstance(grade, MagnetGrade) and not grade.lowest_c <= design.temperature_c <= grade.highest_c:
            above = design.temperature_c > grade.highest_c
            raise InputError(
                f"{part.name} of {grade.title} must stay within the temperatures its grade bears",
                key="motor.temperature_c", found=f"{design.temperature_c:g} °C",
                allowed=f"{grade.lowest_c:g} to {grade.highest_c:g} °C",
                remedy="Take a grade for higher temperatures, or keep the motor cooler" if above else "Keep the motor warmer",
            )  # fmt: skip


def outline_of(part: PartDesign) -> Polygon:
    """The half-section of a checked part with its base at z = 0, anticlockwise."""
    if part.shape == "turned":
        base = min(z for _, z in part.profile_m)
        return anticlockwise(tuple((r, z - base) for r, z in part.profile_m))
    assert part.outer_m is not None
    assert part.height_m is not None
    return rectangle(0.5 * (part.inner_m or 0.0), 0.5 * part.outer_m, 0.0, part.height_m)


def matter_of(part: PartDesign, temperature_c: float) -> Matter:
    """What a checked part is to the field."""
    material = part.material
    if isinstance(material, MagnetGrade):
        assert part.magnetised is not None
        return Magnet(grade=material, direction=DIRECTIONS[part.magnetised], temperature_c=temperature_c)
    if isinstance(material, Steel):
        return SoftSteel(steel=material)
    if not isinstance(material, Conductor):
        return Filler(title=material.title, density_kg_m3=material.density_kg_m3)
    if part.turns is None or part.current_a is None:
        return Ring(conductor=material)
    return FieldCoil(turns=part.turns, current_a=part.current_a)


def _mm(length_m: float | None) -> str:
    return f"{(length_m or 0.0) * 1e3:.6g}"
