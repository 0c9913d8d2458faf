"""The dimensions of a design as a maker can change them: where each stands in the record, its size, a sensible step, its range.

Sizes of bought parts are no dimensions of a design: another size is another part. Diameters that are glued together move together.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from halfroll.core.errors import InputError
from halfroll.workshop.motor_design import path_of

if TYPE_CHECKING:
    from halfroll.workshop.records import VersionRecord

STEPS = 10
"""A slider reaches so many steps either way."""


@dataclass(frozen=True, kw_only=True)
class Dimension:
    """One dimension.

    Parameters
    ----------
    key
        Its path in ``version.toml``: ``surround.thickness_mm``, ``motor.parts[2].height_mm`` (parts count from 1).
    label
        In words: "thickness of the surround".
    unit
        ``mm``, ``g``, ``deg``, or empty for a count or share.
    value, step
        As it is, and by how much it is changed at a time: what a maker can set.
    low, high
        Ends of its range.
    whole
        Whether it is a count.
    more, less
        What a part with a larger and smaller value is called: "thicker", "thinner".
    part
        What it is a dimension of, in words.
    """

    key: str
    label: str
    unit: str
    value: float
    step: float
    low: float
    high: float
    whole: bool
    more: str
    less: str
    part: str

    def clipped(self, value: float) -> float:
        """A value within the range, on whole numbers where it is a count."""
        inside = min(max(value, self.low), self.high)
        return float(round(inside)) if self.whole else round(inside, 6)


@dataclass(frozen=True)
class _Kind:
    """What a key of a table is: words, unit, step, least value, words for more and less."""

    words: str
    unit: str
    step: float
    least: float
    more: str = "larger"
    less: str = "smaller"
    whole: bool = False


_THICK = _Kind("thickness", "mm", 0.1, 0.1, "thicker", "thinner")
_HIGH = _Kind("height", "mm", 0.5, 0.1, "higher", "lower")
_WIDE = _Kind("diameter", "mm", 1.0, 2.0, "wider", "narrower")
_INNER, _OUTER = (
    _Kind(f"{where} diameter", "mm", 1.0, 2.0, "wider", "narrower") for where in ("inner", "outer")
)
_SHARE = _Kind("share of filling", "", 0.05, 0.1, "fuller", "emptier")

_SUSPENSION = {
    "inner_mm": _INNER, "outer_mm": _OUTER, "thickness_mm": _THICK,
    "thickness_outer_mm": _Kind("thickness at the outer edge", "mm", 0.1, 0.1, "thicker", "thinner"),
    "height_mm": _HIGH, "amplitude_mm": _Kind("amplitude of the rolls", "mm", 0.1, 0.1, "deeper", "shallower"),
    "amplitude_outer_mm": _Kind("amplitude at the outer edge", "mm", 0.1, 0.1, "deeper", "shallower"),
    "rolls": _Kind("number of rolls", "", 1.0, 1.0, "more", "fewer", whole=True),
    "width_mm": _Kind("width of the arms", "mm", 0.1, 0.4, "wider", "narrower"),
    "arms": _Kind("number of arms", "", 1.0, 2.0, "more", "fewer", whole=True),
    "sweep_deg": _Kind("sweep of the arms", "deg", 5.0, 5.0, "longer", "shorter"),
    "print.infill": _SHARE,
}  # fmt: skip

_TABLES: dict[str, dict[str, _Kind]] = {
    "surround": _SUSPENSION,
    "spider": _SUSPENSION,
    "cone": {
        "inner_mm": _INNER, "outer_mm": _OUTER, "depth_mm": _Kind("depth", "mm", 1.0, 0.5, "deeper", "shallower"),
        "thickness_mm": _THICK, "thickness_outer_mm": _SUSPENSION["thickness_outer_mm"],
        "flare_mm": _Kind("flare", "mm", 0.2, 0.0, "more", "less"), "print.infill": _SHARE,
    },
    "cap": {"outer_mm": _WIDE, "height_mm": _HIGH, "thickness_mm": _THICK},
    "coil": {
        "turns": _Kind("turns of the coil", "", 1.0, 1.0, "more", "fewer", whole=True),
        "layers": _Kind("layers of the coil", "", 1.0, 1.0, "more", "fewer", whole=True),
        "former_inner_mm": _Kind("inner diameter of the former", "mm", 0.1, 3.0, "wider", "narrower"),
        "former_wall_mm": _Kind("wall of the former", "mm", 0.05, 0.05, "thicker", "thinner"),
        "former_height_mm": _Kind("height of the former", "mm", 0.5, 1.0, "higher", "lower"),
        "insulation_mm": _Kind("insulation under the winding", "mm", 0.05, 0.0, "thicker", "thinner"),
        "offset_mm": _Kind("place of the winding over the gap's middle", "mm", 0.1, -50.0, "farther out", "farther in"),
    },
    "moving": {
        "glue_g": _Kind("glue on the moving parts", "g", 0.1, 0.0, "more", "less"),
        "leads_g": _Kind("leads", "g", 0.1, 0.0, "heavier", "lighter"),
    },
}  # fmt: skip

_MOTOR_PART = {
    "outer_mm": _OUTER, "inner_mm": _INNER, "height_mm": _HIGH,
    "glue_mm": _Kind("glue line", "mm", 0.02, 0.0, "thicker", "thinner"),
    "offset_mm": _Kind("offset", "mm", 0.1, -50.0, "farther out", "farther in"),
}  # fmt: skip

_ALWAYS = {"coil.offset_mm": 0.0, "moving.glue_g": 0.0}
"""Keys that mean this when they are not said, and can be changed all the same."""

_GLUED = {
    "cone.outer_mm": ("surround.inner_mm",), "surround.inner_mm": ("cone.outer_mm",), "cone.inner_mm": ("spider.inner_mm",),
    "spider.inner_mm": ("cone.inner_mm",),
}  # fmt: skip
"""Diameters that lie on one another."""


def dimensions_of(record: VersionRecord) -> tuple[Dimension, ...]:
    """Every dimension of a version's design that can be changed: what moves first, then coil and motor."""
    return (*_of_tables(record), *_of_motor(record))


def dimension(record: VersionRecord, key: str) -> Dimension:
    """The dimension of a key; `InputError` when the design has none such."""
    known = dimensions_of(record)
    found = next((one for one in known if one.key == key), None)
    if found is None:
        raise InputError(
            "The design has no such dimension", key=key, found=key, allowed=[one.key for one in known]
        )
    return found


def with_value(record: VersionRecord, key: str, value: float) -> VersionRecord:
    """The record with one dimension at another value; what is glued to it follows, and a surround keeps its width.

    Only types are checked here: whether such a driver can be is found when it is solved.
    """
    one = dimension(record, key)
    return _with(record, key, round(value) if one.whole else float(value), one.value)


def with_values(record: VersionRecord, values: dict[str, float]) -> VersionRecord:
    """The record with several dimensions at other values, in their order."""
    for key, value in values.items():
        record = with_value(record, key, value)
    return record


def _with(record: VersionRecord, key: str, value: float, old: float) -> VersionRecord:
    changed: VersionRecord = _put(record, path_of(key), value)
    for other in _GLUED.get(key, ()):
        if _value(record, other) == old:
            changed = _put(changed, path_of(other), value)
    before, after = _value(record, "surround.inner_mm"), _value(changed, "surround.inner_mm")
    outer = _value(changed, "surround.outer_mm")
    if before is not None and after is not None and outer is not None and key != "surround.inner_mm":
        changed = (
            changed
            if before == after
            else _put(changed, path_of("surround.outer_mm"), round(outer + after - before, 6))
        )
    return changed


def _put(thing: Any, path: tuple[str | int, ...], value: Any) -> Any:
    """A copy of a record, table or row of tables with the value at the end of a path."""
    if not path:
        return value
    head, rest = path[0], path[1:]
    if isinstance(head, int):
        return (*thing[:head], _put(thing[head], rest, value), *thing[head + 1 :])
    inner = getattr(thing, head)
    if inner is None and rest:
        from halfroll.workshop.suspension_record import MovingTable

        inner = MovingTable()  # the only table that may be missing and still have dimensions
    return thing.changed(**{head: _put(inner, rest, value)})


def _value(record: VersionRecord, key: str) -> float | None:
    """What stands at a key; None when nothing does."""
    here: Any = record
    for step in path_of(key):
        if here is None:
            return None
        here = here[step] if isinstance(step, int) else getattr(here, step)
    return float(here) if isinstance(here, int | float) else None


def _of_tables(record: VersionRecord) -> Iterator[Dimension]:
    for name, kinds in _TABLES.items():
        if getattr(record, name) is None and name != "moving":
            continue
        if name == "moving" and record.surround is None and record.cone is None:
            continue
        for last, kind in kinds.items():
            key = f"{name}.{last}"
            value = _value(record, key)
            value = _ALWAYS.get(key) if value is None else value
            if value is not None and not _only_of_points(record, name, last):
                part = "" if name in ("moving", "coil") else name
                yield _dimension(
                    key, kind, value, part or {"coil": "coil", "moving": "moving parts"}[name], bare=not part
                )


def _of_motor(record: VersionRecord) -> Iterator[Dimension]:
    for number, part in enumerate(() if record.motor is None else record.motor.parts, start=1):
        for last, kind in _MOTOR_PART.items():
            value = getattr(part, last)
            if value is not None:
                yield _dimension(f"motor.parts[{number}].{last}", kind, float(value), part.name)


def _only_of_points(record: VersionRecord, name: str, last: str) -> bool:
    """Whether a diameter only repeats where the points of a free profile end."""
    table = getattr(record, name)
    return last in ("inner_mm", "outer_mm") and bool(
        getattr(table, "points_mm", ()) or getattr(table, "points", None)
    )


def _dimension(key: str, kind: _Kind, value: float, part: str, *, bare: bool = False) -> Dimension:
    step = kind.step
    most = 1.0 if kind is _SHARE else value + STEPS * step
    least = max(kind.least, value - STEPS * step)
    return Dimension(
        key=key, label=kind.words if bare else f"{kind.words} of the {part}", unit=kind.unit, value=value, step=step, low=min(least, value),
        high=max(most, value), whole=kind.whole, more=kind.more, less=kind.less, part=part,
    )  # fmt: skip
