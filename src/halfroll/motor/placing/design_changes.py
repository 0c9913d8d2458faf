"""What differs between two designs, in the words and units a maker writes into "what changed"."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.placing.design import Design, MotorDesign, PartDesign, Placement


@dataclass(frozen=True, kw_only=True)
class DesignChange:
    """One thing that differs: `what` it is, the `key` of ``version.toml`` it stands under (parts by name), before and after as
    text, empty where it was not there; `delta_mm` where both are lengths.
    """

    what: str
    key: str
    before: str
    after: str
    delta_mm: float | None = None


_PART_LENGTHS = {"outer_m": "outer diameter", "inner_m": "inner diameter", "height_m": "height"}
_COIL_LENGTHS = {
    "former_inner_m": "former inner diameter",
    "former_wall_m": "former wall",
    "former_height_m": "former height",
    "insulation_m": "insulation",
    "offset_m": "coil offset",
    "print_tolerance_m": "print tolerance",
}

TINY_M = 1e-9


def design_changes(before: Design, after: Design) -> tuple[DesignChange, ...]:
    """What changed from one design to another; parts are known again by their names."""
    return (*_motor(before.motor, after.motor), *_coil(before.coil, after.coil))


def _motor(before: MotorDesign, after: MotorDesign) -> Iterator[DesignChange]:
    old = {part.name: part for part in before.parts}
    new = {part.name: part for part in after.parts}
    for name in [*old, *(name for name in new if name not in old)]:
        if name not in new:
            yield DesignChange(what=name, key=f"motor.parts.{name}", before=_whole(old[name]), after="")
        elif name not in old:
            yield DesignChange(what=name, key=f"motor.parts.{name}", before="", after=_whole(new[name]))
        else:
            yield from _part(old[name], new[name])
    yield from text_change("gap", "motor.gap", " to ".join(before.gap), " to ".join(after.gap))
    yield from text_change(
        "magnet temperature",
        "motor.temperature_c",
        f"{before.temperature_c:g} °C",
        f"{after.temperature_c:g} °C",
    )
    yield from length_change("stated travel", "motor.travel_mm", before.travel_m, after.travel_m)


def _part(old: PartDesign, new: PartDesign) -> Iterator[DesignChange]:
    name, key = new.name, f"motor.parts.{new.name}"
    yield from text_change(f"{name} shape", f"{key}.shape", old.shape, new.shape)
    for field, word in _PART_LENGTHS.items():
        yield from length_change(
            f"{name} {word}", f"{key}.{field}m", getattr(old, field), getattr(new, field)
        )
    yield from text_change(f"{name} profile", f"{key}.profile_mm", _profile(old), _profile(new))
    yield from text_change(f"{name} material", f"{key}.material", old.material.title, new.material.title)
    yield from text_change(
        f"{name} magnetised", f"{key}.magnetised", old.magnetised or "", new.magnetised or ""
    )
    yield from text_change(f"{name} turns", f"{key}.turns", _number(old.turns), _number(new.turns))
    yield from text_change(
        f"{name} current", f"{key}.current_a", _number(old.current_a, " A"), _number(new.current_a, " A")
    )
    place = "on" if new.placement is None else new.placement.how
    yield from text_change(f"{name} place", f"{key}.{place}", _place(old.placement), _place(new.placement))


def _coil(before: CoilDesign | None, after: CoilDesign | None) -> Iterator[DesignChange]:
    if before is None or after is None:
        if before is not after:
            yield DesignChange(what="coil", key="coil", before="" if before is None else _wound(before),
                               after="" if after is None else _wound(after))  # fmt: skip
        return
    yield from text_change("wire", "coil.wire", before.wire.title, after.wire.title)
    yield from text_change("coil layers", "coil.layers", f"{before.layers}", f"{after.layers}")
    yield from text_change("coil turns", "coil.turns", f"{before.turns}", f"{after.turns}")
    for field, word in _COIL_LENGTHS.items():
        yield from length_change(word, f"coil.{field}m", getattr(before, field), getattr(after, field))
    yield from text_change("former material", "coil.former_material", before.former.title, after.former.title)
    yield from text_change("coil packing", "coil.packing", before.packing, after.packing)
    old_glue = "" if before.glue is None else before.glue.title
    new_glue = "" if after.glue is None else after.glue.title
    yield from text_change("coil glue", "coil.glue", old_glue, new_glue)


def length_change(what: str, key: str, before: float | None, after: float | None) -> Iterator[DesignChange]:
    """A length (m) that changed, or came or went; lengths nearer than `TINY_M` are one."""
    if before is None or after is None:
        if before is not after:
            yield DesignChange(what=what, key=key, before=_mm(before), after=_mm(after))
    elif abs(after - before) > TINY_M:
        delta = round(1e3 * (after - before), 9)
        yield DesignChange(what=what, key=key, before=_mm(before), after=_mm(after), delta_mm=delta)


def text_change(what: str, key: str, before: str, after: str) -> Iterator[DesignChange]:
    """Words that changed."""
    if before != after:
        yield DesignChange(what=what, key=key, before=before, after=after)


def _mm(length: float | None) -> str:
    return "" if length is None else f"{1e3 * length:.6g} mm"


def _number(value: float | None, unit: str = "") -> str:
    return "" if value is None else f"{value:g}{unit}"


def _profile(part: PartDesign) -> str:
    return " ".join(f"[{1e3 * r:.6g}, {1e3 * z:.6g}]" for r, z in part.profile_m)


def _place(placement: Placement | None) -> str:
    if placement is None:
        return ""
    text = f"{placement.how} {placement.of}"
    if placement.glue_m:
        text += f", {_mm(placement.glue_m)} of glue"
    if placement.how == "beside":
        text += f", {placement.align} level" if placement.align != "middle" else ", middles level"
        text += f", {_mm(placement.offset_m)} out" if placement.offset_m else ""
    return text


def _whole(part: PartDesign) -> str:
    """A part in a few words."""
    sizes = [_mm(getattr(part, field)) for field in _PART_LENGTHS if getattr(part, field)]
    return f"{part.shape} of {part.material.title}" + (f", {' x '.join(sizes)}" if sizes else "")


def _wound(coil: CoilDesign) -> str:
    return f"{coil.turns} turns in {coil.layers} layers of {coil.wire.title}"
