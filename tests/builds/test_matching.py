"""Matching of old and new parts on random drivers: nothing is lost or made, nothing glued comes off alone, and as much stays as can."""

from __future__ import annotations

from collections import Counter
from typing import Any, cast

from hypothesis import given, settings
from hypothesis import strategies as st

from halfroll.builds.bill.amounts import Amounts
from halfroll.builds.bill.matching import match
from halfroll.builds.bill.seams import Seam, groups
from halfroll.builds.types import BillLine

KEYS = "abcdef"
SHAPES = "xyz"


def driver(parts: dict[str, tuple[str, int]], pairs: list[tuple[str, str, bool]]) -> Amounts:
    """Parts by key as (shape, pieces), and seams between those that are there."""
    lines = tuple(
        BillLine(key=key, what=key, kind="bought", part_id=shape, amount=float(n), unit="pieces", shape=shape, pieces=float(n))
        for key, (shape, n) in parts.items()
    )  # fmt: skip
    seams = tuple(
        Seam(parts=frozenset({a, b}), opens=opens) for a, b, opens in pairs if a != b and {a, b} <= set(parts)
    )
    return Amounts(version=cast(Any, None), lines=lines, tools=(), seams=seams, work_hours=None)


DRIVERS = st.builds(
    driver,
    st.dictionaries(st.sampled_from(KEYS), st.tuples(st.sampled_from(SHAPES), st.integers(1, 3)), min_size=1),
    st.lists(st.tuples(st.sampled_from(KEYS), st.sampled_from(KEYS), st.booleans()), max_size=5),
)


def held(lines: tuple[BillLine, ...]) -> Counter[str]:
    """Pieces by shape."""
    found: Counter[str] = Counter()
    for line in lines:
        found[line.shape] += int(line.pieces)
    return found


@given(old=DRIVERS, new=DRIVERS)
@settings(max_examples=200)
def test_as_much_stays_as_can_when_all_comes_apart(old: Amounts, new: Amounts) -> None:
    """Of every shape the smaller of both numbers; no place gets more than it wants, none gives more than it has."""
    stays = match(old, new, "all").stays
    shapes = {line.key: line.shape for line in old.lines}
    kept: Counter[str] = Counter()
    for one in stays:
        kept[shapes[one.old]] += int(one.pieces)
        assert shapes[one.old] == next(line.shape for line in new.lines if line.key == one.new)
    assert kept == held(old.lines) & held(new.lines)
    for line in (*new.lines, *old.lines):
        side = "new" if any(line is one for one in new.lines) else "old"
        assert sum(one.pieces for one in stays if getattr(one, side) == line.key) <= line.pieces


@given(old=DRIVERS, new=DRIVERS)
@settings(max_examples=200)
def test_what_is_glued_goes_over_whole_or_not_at_all(old: Amounts, new: Amounts) -> None:
    """Every group of the old driver is either in its own places with all its seams, or stuck; what is stuck does not stay."""
    found = match(old, new, "unglued")
    wanted = {seam.parts for seam in new.seams}
    for group in groups([line.key for line in old.lines], old.seams):
        gone = {one.old for one in found.stays} & group
        if len(group) == 1:
            assert not group & found.stuck.keys()
            continue
        assert gone in (set(), set(group))
        assert (group & found.stuck.keys()) == (set() if gone else group)
        if gone:
            assert all(one.new == one.old for one in found.stays if one.old in group)
            assert all(seam.parts in wanted for seam in old.seams if not seam.opens and seam.parts <= group)


@given(one=DRIVERS)
@settings(max_examples=50)
def test_a_driver_goes_into_itself(one: Amounts) -> None:
    """Whole, glued or not."""
    for apart in ("unglued", "all"):
        found = match(one, one, apart)  # type: ignore[arg-type]
        assert not found.stuck
        assert {m.new: m.pieces for m in found.stays} == {line.key: line.pieces for line in one.lines}
