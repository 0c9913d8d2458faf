"""Which part of an older driver takes which place in a newer one.

A part stays where an equal one is wanted: of the same shape, first in its own place, then in any. What was cut to a length or weighed out is
only cut down, never lengthened. What is glued together comes off together: such a group stays when the newer version has all its parts and
all its seams as they are, and is otherwise left over as it is, stuck.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from halfroll.builds.bill.amounts import Amounts
from halfroll.builds.bill.seams import COIL, Seam, groups
from halfroll.builds.types import BillLine

Apart = Literal["all", "unglued"]
"""``all``: every part comes off its neighbours, as before gluing or with patience. ``unglued``: what is glued stays together."""

APARTS: tuple[Apart, ...] = ("unglued", "all")


@dataclass(frozen=True, kw_only=True)
class Match:
    """So many pieces of a line of the old driver go into a line of the new one."""

    new: str
    old: str
    pieces: float


@dataclass(frozen=True, kw_only=True)
class Matching:
    """What stays, and what of the old driver is stuck to something that does not: key of the line, and what it is glued to."""

    stays: tuple[Match, ...]
    stuck: Mapping[str, tuple[str, ...]]


def match(old: Amounts, new: Amounts, apart: Apart) -> Matching:
    """Parts of the old driver in the places of the new one; glue follows the parts it holds."""
    kept = [_solid(one.lines) for one in (old, new)]
    seams = old.seams if apart == "unglued" else ()
    held = [one for one in groups(kept[0], seams) if len(one) > 1]
    stays: list[Match] = []
    stuck: dict[str, tuple[str, ...]] = {}
    for group in held:
        if _whole(group, kept[0], kept[1], old.seams, new.seams):
            stays += [Match(new=key, old=key, pieces=kept[0][key].pieces) for key in kept[0] if key in group]
        else:
            named = [key for key in kept[0] if key in group and kept[0][key].kind != "glue"]
            stuck |= {key: tuple(one for one in named if one != key) for key in group}
    free = {key: line for key, line in kept[0].items() if not any(key in group for group in held)}
    wanted = {key: line for key, line in kept[1].items() if not any(one.new == key for one in stays)}
    stays += _equal(free, wanted)
    return Matching(stays=(*stays, *_glue(old, new, stays)), stuck=stuck)


def _solid(lines: Iterable[BillLine]) -> dict[str, BillLine]:
    """All lines but glue; the coil's own glue is in it."""
    return {one.key: one for one in lines if one.kind != "glue" or one.key in COIL}


def _whole(
    group: frozenset[str],
    old: Mapping[str, BillLine],
    new: Mapping[str, BillLine],
    seams: Sequence[Seam],
    other: Sequence[Seam],
) -> bool:
    """Whether a group can go over as it is: the same parts in the same places, and all its seams wanted there, too."""
    if not all(
        key in new and new[key].shape == old[key].shape and new[key].pieces == old[key].pieces
        for key in group
    ):
        return False
    inside = {one.parts for one in seams if not one.opens and one.parts and one.parts <= group}
    return inside <= {one.parts for one in other}


def _equal(old: Mapping[str, BillLine], new: Mapping[str, BillLine]) -> list[Match]:
    """Equal parts, first in their own places, then in any; as many pieces as there are."""
    left = {key: line.pieces for key, line in old.items()}
    lacking = {key: line.pieces for key, line in new.items()}
    found: dict[tuple[str, str], float] = {}
    for own_place in (True, False):
        for key, line in new.items():
            for other, had in old.items():
                if (own_place and key != other) or not _fits(had, line):
                    continue
                taken = min(left[other], lacking[key])
                if taken > 0.0:
                    left[other] -= taken
                    lacking[key] -= taken
                    found[key, other] = found.get((key, other), 0.0) + taken
    return [Match(new=key, old=other, pieces=pieces) for (key, other), pieces in found.items()]


def _fits(old: BillLine, new: BillLine) -> bool:
    """Whether a piece of one line can be one of the other: a length that was cut off must be long enough."""
    if old.shape != new.shape or old.kind != new.kind:
        return False
    return (
        old.unit == "pieces"
        or old.kind == "printed"
        or old.key in COIL
        or old.amount >= new.amount * (1.0 - 1e-9)
    )


def _glue(old: Amounts, new: Amounts, stays: Sequence[Match]) -> list[Match]:
    """Glue of seams that nothing is taken out of: in both versions, with every part it joins in its own place. Of glue whose parts are not
    named, that of the moving parts stays when all that holds on to each other does.
    """
    in_place = {one.new for one in stays if one.new == one.old}
    whole = {
        one
        for one in in_place
        if (line := new.line(one)) and sum(m.pieces for m in stays if m.new == one == m.old) == line.pieces
    }
    before = {one.key: one for one in old.seams if one.key}
    found = []
    for seam in new.seams:
        was = before.get(seam.key) if seam.key else None
        if (
            was is not None
            and was.parts == seam.parts
            and seam.parts
            and seam.parts <= whole
            and old.line(seam.key)
        ):
            found.append(Match(new=seam.key, old=seam.key, pieces=1.0))
    joint, own = new.line("joint glue"), old.line("joint glue")
    joined = {key for one in new.seams if not one.key for key in one.parts}
    if joint and own and joint.amount == own.amount and joined and joined <= whole:
        found.append(Match(new=joint.key, old=own.key, pieces=1.0))
    return found
