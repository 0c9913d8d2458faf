"""Whether values can be those of a material; the first thing wrong is named with its place."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from halfroll.core.errors import InputError
from halfroll.materials.steel import MU_0

FEWEST_POINTS = 6
"""With fewer, knee and saturation of a steel are not both described (own choice)."""

SLOPE_ROUNDING = 0.01
"""Share of mu0 by which rounding of printed tables may bring a slope below that of vacuum."""

HIGHEST_T = 10.0
HIGHEST_A_M = 1e8


def check_bh_table(
    h_a_m: Sequence[float], b_t: Sequence[float], *, lines: Sequence[int] | None = None, **place: Any
) -> None:
    """Check a normal magnetisation curve.

    Parameters
    ----------
    h_a_m, b_t
        Field strength (A/m) and flux density (T) of each point, both from 0 and strictly rising.
    lines
        Line of the file each point stands in.
    place
        `file`, `key`, `line` of the table, for the message.

    Raises
    ------
    InputError
        Columns of different length, fewer than 6 points, a value that is no number, a curve that does not begin at 0, does
        not rise, or rises less steeply than vacuum does. The first wrong row is named, counted from 1.
    """
    if len(h_a_m) != len(b_t):
        raise InputError("A B-H table must have as many flux densities as field strengths", **place,
                         found=f"{len(h_a_m)} of h_a_m, {len(b_t)} of b_t")  # fmt: skip
    if len(h_a_m) < FEWEST_POINTS:
        raise InputError("A B-H table must have enough points to show knee and saturation", **place,
                         found=str(len(h_a_m)), allowed=f"{FEWEST_POINTS} or more")  # fmt: skip
    for row, (h, b) in enumerate(zip(h_a_m, b_t, strict=True)):
        rule = _wrong(row, h_a_m, b_t)
        if rule:
            where = dict(place)
            if lines is not None:
                where["line"] = lines[row]
            raise InputError(f"Row {row + 1} of the B-H table {rule}", **where, found=_pair(row, h, b, h_a_m, b_t),
                             remedy="h_a_m in A/m and b_t in T both begin at 0 and rise from row to row")  # fmt: skip


def _pair(row: int, h: float, b: float, h_a_m: Sequence[float], b_t: Sequence[float]) -> str:
    after = f" after {h_a_m[row - 1]:g} A/m, {b_t[row - 1]:g} T" if row else ""
    return f"{h:g} A/m, {b:g} T{after}"


def _wrong(row: int, h_a_m: Sequence[float], b_t: Sequence[float]) -> str:
    """What a row breaks; empty when nothing."""
    h, b = h_a_m[row], b_t[row]
    if not (math.isfinite(h) and math.isfinite(b)):
        return "must hold two numbers"
    if row == 0:
        return "" if h == 0.0 and b == 0.0 else "must be 0 A/m, 0 T: it is the beginning of the curve"
    if h > HIGHEST_A_M or b > HIGHEST_T:
        return f"must stay below {HIGHEST_A_M:g} A/m and {HIGHEST_T:g} T, or it is in other units"
    if h <= h_a_m[row - 1]:
        return "must have a larger field strength than the row before"
    if b <= b_t[row - 1]:
        return "must have a larger flux density than the row before"
    if (b - b_t[row - 1]) < (1.0 - SLOPE_ROUNDING) * MU_0 * (h - h_a_m[row - 1]):
        return (
            "must not rise less than vacuum does (1.2566 µT for each A/m), or columns or units are mixed up"
        )
    return ""
