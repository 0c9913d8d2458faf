"""Lines and curves in any order and direction, as drawing programs leave them, joined end to end into one open path."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.suspension.profile.stretches import Stretch, closed_path

JOINED_MM = 1e-3
"""Ends nearer than this are one: a thousandth of a millimetre is rounding in a drawing, and nothing to a printer."""

NEAR = 0.1
"""A gap of at most this share of the drawing's size is an open joint; a wider one parts two paths."""


def chained(stretches: Sequence[Stretch]) -> list[Stretch]:
    """The stretches in the order and direction in which they follow one another, places in mm.

    Raises
    ------
    InputError
        An open joint (where, and how wide), several paths, a place where three meet, or a closed loop.
    """
    ends = np.array([(one.start, one.stop) for one in stretches]).reshape(-1, 2)
    partner = _partners(ends)
    loose = [n for n, other in enumerate(partner) if other is None]
    if not loose:
        raise closed_path("loop")
    if len(loose) > 2:
        _refuse_pieces(ends, loose, stretches)
    ordered, end = [], loose[0]
    while True:
        n, backwards = divmod(end, 2)
        ordered.append(stretches[n].turned() if backwards else stretches[n])
        other = partner[end ^ 1]
        if other is None:
            break
        end = other
    if len(ordered) < len(stretches):
        raise InputError(
            "The drawing must hold one path", found="an open path and a closed one beside it", allowed="one open path"
        )  # fmt: skip
    return ordered


def _partners(ends: FloatArray) -> list[int | None]:
    """For each end the one other end that it meets; ends of one stretch are 2n and 2n + 1."""
    apart = np.hypot(*np.moveaxis(ends[:, None] - ends[None], -1, 0))
    np.fill_diagonal(apart, np.inf)
    partner: list[int | None] = []
    for n, row in enumerate(apart):
        met = np.nonzero(row <= JOINED_MM)[0]
        if len(met) > 1:
            raise InputError(
                f"Three or more lines meet at x = {ends[n, 0]:.3f} mm, y = {ends[n, 1]:.3f} mm", found=f"{len(met) + 1} ends",
                allowed="two: the path must not branch or touch itself",
            )  # fmt: skip
        partner.append(int(met[0]) if len(met) else None)
    return partner


def _refuse_pieces(ends: FloatArray, loose: list[int], stretches: Sequence[Stretch]) -> None:
    """Say where the narrowest gap is, or that there are several paths."""
    apart = np.hypot(*np.moveaxis(ends[loose][:, None] - ends[loose][None], -1, 0))
    np.fill_diagonal(apart, np.inf)
    for i, one in enumerate(loose):  # the two ends of one stretch are no joint
        for j, other in enumerate(loose):
            if one // 2 == other // 2:
                apart[i, j] = np.inf
    nearest, _ = divmod(int(apart.argmin()), len(loose))
    gap = float(apart.min())
    size = float(np.ptp(ends, axis=0).max())
    if gap <= NEAR * size:
        x, y = ends[loose[nearest]]
        raise InputError(
            f"The path has an open joint at x = {x:.3f} mm, y = {y:.3f} mm", found=f"a gap of {gap:.3g} mm",
            allowed=f"ends that meet to {JOINED_MM:g} mm", remedy="Join the two ends in the drawing",
        )  # fmt: skip
    raise InputError(
        "The drawing must hold one path", found=f"{len(loose) // 2} paths of {len(stretches)} lines and curves",
        allowed="one open path", remedy="Leave only the middle line in the file, without frame and dimensions",
    )  # fmt: skip
