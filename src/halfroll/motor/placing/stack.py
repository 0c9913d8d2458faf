"""From parts that touch to places: every body of a motor, its gap and its coil; what cannot be is refused by name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NoReturn

from halfroll.core.errors import InputError
from halfroll.motor.placing.coil_room import place_coil
from halfroll.motor.placing.design import Design, MotorDesign, Placement
from halfroll.motor.placing.design_checks import (
    check_design,
    key_of,
    matter_of,
    outline_of,
    placement_key,
)
from halfroll.motor.placing.polygons import (
    TOUCH_M,
    Polygon,
    distance,
    drop,
    edges,
    moved,
    overlap,
    upside_down,
)
from halfroll.motor.types import Assembly, Body, Gap


def assemble(design: Design) -> Assembly:
    """Every part in its place, z = 0 in the middle of the gap, the winding where the coil rests.

    Raises
    ------
    InputError
        Parts that cannot be, overlap, hang in the air or depend on each other in a circle; a gap pair that does not face
        each other; a coil without clearance, outside the gap's reach or with less room than the stated travel. The message
        names the parts; `key` is the key of ``version.toml``.
    """
    motor = design.motor
    check_design(motor)
    outlines = _placed(motor)
    _refuse_overlaps(motor, outlines)
    _refuse_loose(motor, outlines)
    gap = _gap(motor, outlines)
    middle = 0.5 * (gap.z_low + gap.z_high)
    bodies = tuple(
        Body(
            name=part.name,
            outline=tuple((r, round(z - middle, 12)) for r, z in outlines[part.name]),
            matter=matter_of(part, motor.temperature_c),
            part=part.part,
        )
        for part in motor.parts
    )
    half = round(0.5 * (gap.z_high - gap.z_low), 12)
    centred = Gap(
        inner=gap.inner, outer=gap.outer, r_inner=gap.r_inner, r_outer=gap.r_outer, z_low=-half, z_high=half
    )
    bare = Assembly(bodies=bodies, gap=centred)
    return bare if design.coil is None else place_coil(bare, design.coil, motor.travel_m)


def _placed(motor: MotorDesign) -> dict[str, Polygon]:
    """Outlines by name, the first part's base at z = 0."""
    first = motor.parts[0]
    placed = {first.name: outline_of(first)}
    waiting = {index: part for index, part in enumerate(motor.parts) if index}
    while waiting:
        ready = [
            i for i, part in waiting.items() if part.placement is not None and part.placement.of in placed
        ]
        if not ready:
            _refuse_circle(motor, list(waiting))
        for index in ready:
            part = waiting.pop(index)
            assert part.placement is not None
            placed[part.name] = _settled(motor, index, outline_of(part), placed[part.placement.of])
    return placed


def _refuse_circle(motor: MotorDesign, waiting: list[int]) -> NoReturn:
    """Refuse parts none of which leads back to the first one: their placement runs in a circle."""
    waits_for = {
        motor.parts[i].name: placement.of
        for i in waiting
        if (placement := motor.parts[i].placement) is not None
    }
    chain = [motor.parts[waiting[0]].name]
    while chain[-1] not in chain[:-1]:
        chain.append(waits_for[chain[-1]])
    circle = chain[chain.index(chain[-1]) :]
    index = next(i for i in waiting if motor.parts[i].name == circle[0])
    raise InputError(
        "The parts of the motor must not be placed in a circle", key=placement_key(motor, index),
        found=" on ".join(circle), remedy=f"Place one of them by a part that leads to {motor.parts[0].name}",
    )  # fmt: skip


def _settled(motor: MotorDesign, index: int, outline: Polygon, other: Polygon) -> Polygon:
    """An outline where its placement puts it beside, on or under another."""
    part = motor.parts[index]
    placement = part.placement
    assert placement is not None
    if placement.how == "beside":
        return moved(outline, _level(placement, outline, other))
    upwards = placement.how == "on"
    lift = drop(outline, other) if upwards else drop(upside_down(outline), upside_down(other))
    if lift is None:
        raise InputError(
            f"{part.name} must meet {placement.of} where it lies {placement.how} it", key=key_of(index, placement.how),
            found=f"{_span(part.name, outline)}, {_span(placement.of, other)}",
            remedy=f"Place it beside {placement.of}, or {placement.how} a part that it does meet",
        )  # fmt: skip
    return moved(outline, lift + placement.glue_m if upwards else -lift - placement.glue_m)


def _level(placement: Placement, outline: Polygon, other: Polygon) -> float:
    """How far up a part that stands beside another is moved."""
    (low, high), (other_low, other_high) = _heights(outline), _heights(other)
    level = {
        "top": other_high - high,
        "middle": 0.5 * (other_low + other_high - low - high),
        "bottom": other_low - low,
    }[placement.align]
    return level + placement.offset_m


def _heights(outline: Polygon) -> tuple[float, float]:
    return min(z for _, z in outline), max(z for _, z in outline)


def _span(name: str, outline: Polygon) -> str:
    radii = [r for r, _ in outline]
    return f"{name} from {2e3 * min(radii):.6g} to {2e3 * max(radii):.6g} mm diameter"


def _refuse_overlaps(motor: MotorDesign, outlines: Mapping[str, Polygon]) -> None:
    for later, part in enumerate(motor.parts):
        for earlier in motor.parts[:later]:
            shared = overlap(outlines[part.name], outlines[earlier.name])
            if shared is not None:
                raise InputError(
                    f"{part.name} and {earlier.name} must not overlap", key=placement_key(motor, later),
                    found=f"{1e3 * shared[0]:.4g} mm in radius by {1e3 * shared[1]:.4g} mm in height that both take up",
                    remedy="Change a diameter or a height, or what one of them lies on",
                )  # fmt: skip


def _refuse_loose(motor: MotorDesign, outlines: Mapping[str, Polygon]) -> None:
    """Refuse a part beside another that touches neither it nor anything else, within the glue of its joint."""
    for index, part in enumerate(motor.parts):
        placement = part.placement
        if placement is None or placement.how != "beside":
            continue
        others = [
            (distance(outlines[part.name], outlines[o.name]), o.name) for o in motor.parts if o is not part
        ]
        nearest, name = min(others)
        if nearest > placement.glue_m + TOUCH_M:
            raise InputError(
                f"{part.name} must touch another part", key=key_of(index, "beside"),
                found=f"{1e3 * nearest:.4g} mm of air to {name}, the nearest",
                remedy="State the glue in the joint as glue_mm, change a diameter, or add the spacer that holds it",
            )  # fmt: skip


@dataclass(frozen=True)
class _Reach:
    low: float
    high: float


def _gap(motor: MotorDesign, outlines: Mapping[str, Polygon]) -> Gap:
    """The gap where the two parts of the pair face each other: as high as both, between their nearest walls."""
    inner_name, outer_name = motor.gap
    inner, outer = outlines[inner_name], outlines[outer_name]
    (low, high), (outer_low, outer_high) = _heights(inner), _heights(outer)
    z_low, z_high = max(low, outer_low), min(high, outer_high)
    if z_high - z_low <= TOUCH_M:
        raise InputError(
            f"{inner_name} and {outer_name} must face each other across the gap", key="motor.gap",
            found=f"{1e3 * (z_low - z_high):.4g} mm of height between the one and the other",
            remedy="Change a height so that both stand at the same height somewhere",
        )  # fmt: skip
    r_inner, r_outer = _radii(inner, z_low, z_high).high, _radii(outer, z_low, z_high).low
    if r_outer - r_inner <= TOUCH_M:
        turned_round = _radii(outer, z_low, z_high).high < _radii(inner, z_low, z_high).low
        raise InputError(
            f"There must be a gap between {inner_name} and {outer_name}", key="motor.gap",
            found=f"{2e3 * r_inner:.6g} mm outside of {inner_name}, {2e3 * r_outer:.6g} mm inside of {outer_name}",
            remedy="Name the inner part first" if turned_round else "Make the bore wider or the pole thinner",
        )  # fmt: skip
    return Gap(inner=inner_name, outer=outer_name, r_inner=r_inner, r_outer=r_outer, z_low=z_low, z_high=z_high)  # fmt: skip


def _radii(outline: Polygon, z_low: float, z_high: float) -> _Reach:
    """Smallest and largest radius of an outline between two heights (both within it)."""
    found = []
    for (ar, az), (br, bz) in edges(outline):
        low, high = max(z_low, min(az, bz)), min(z_high, max(az, bz))
        if az == bz:
            if z_low + TOUCH_M < az < z_high - TOUCH_M:
                found += [ar, br]
        elif high - low > TOUCH_M:
            found += [ar + (br - ar) * (z - az) / (bz - az) for z in (low, high)]
    return _Reach(min(found), max(found))
