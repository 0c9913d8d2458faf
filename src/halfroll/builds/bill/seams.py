"""What of a driver is glued to what, and what therefore comes off only together.

Glue between magnet and steel, and in the moving parts, does not open without harm: ferrite and neodymium break before epoxy does, a thin
print tears. Screws and press fits open, and so does a seam of which ``[[bill.glued]]`` says ``opens = true``. A coil is one piece: wire,
former and the glue in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from halfroll.builds.bill.glue import COIL_GLUE
from halfroll.core.errors import InputError
from halfroll.motor.placing.design import Design
from halfroll.workshop.records import BillTable, VersionRecord

COIL = frozenset({"coil wire", "former", COIL_GLUE})
"""Keys of the lines that are one coil."""

_MOVING = (("surround", "cone"), ("cone", "former"), ("spider", "former"), ("cap", "cone"))
"""What is glued to what of the moving parts; without a cone surround and cap sit on the former."""


@dataclass(frozen=True, kw_only=True)
class Seam:
    """A glued joint of two parts or more, by the keys of their lines; `key` is its line of glue where the bill has one."""

    parts: frozenset[str]
    opens: bool = False
    key: str = ""


def seams_of(
    record: VersionRecord, stated: BillTable, design: Design | None, keys: Sequence[str]
) -> tuple[Seam, ...]:
    """The glued joints of a version: those of its design, those of the moving parts, and what the bill says of any of them.

    Raises
    ------
    InputError
        A seam of the bill joins something that is no line.
    """
    told = [
        Seam(parts=_joined(one.joins, n, keys), opens=one.opens, key=one.seam)
        for n, one in enumerate(stated.glued, 1)
    ]
    said = [one.parts for one in told if one.parts]
    own = [
        Seam(parts=parts)
        for parts in (*_of_motor(design), *_of_moving(keys))
        if not any(parts <= one for one in said)
    ]
    return (*own, *told)


def _joined(joins: Iterable[str], n: int, keys: Sequence[str]) -> frozenset[str]:
    named = frozenset("former" if name in ("coil", *COIL) and "former" in keys else name for name in joins)
    for name in named:
        if name not in keys:
            raise InputError(
                "A seam must join lines of the bill",
                key=f"bill.glued[{n}].joins",
                found=name,
                allowed=list(keys),
            )
    return named


def _of_motor(design: Design | None) -> list[frozenset[str]]:
    if design is None:
        return []
    placed = [(part.name, part.placement) for part in design.motor.parts]
    return [frozenset({name, at.of}) for name, at in placed if at is not None and at.glue_m > 0.0]


def _of_moving(keys: Sequence[str]) -> list[frozenset[str]]:
    there = set(keys)
    found = []
    for one, other in _MOVING:
        if other == "cone" and "cone" not in there:
            other = "former"
        if one in there and other in there:
            found.append(frozenset({one, other}))
    return found


def groups(keys: Iterable[str], seams: Iterable[Seam]) -> list[frozenset[str]]:
    """Lines that come off together: the coil as one, and whatever seams that do not open hold on to each other."""
    found = [frozenset({key}) for key in keys]
    known = frozenset(key for one in found for key in one)
    for held in (COIL & known, *(seam.parts for seam in seams if not seam.opens)):
        touched = [one for one in found if one & held]
        if len(touched) > 1:
            found = [one for one in found if not one & held]
            found.append(frozenset().union(*touched))
    return found
