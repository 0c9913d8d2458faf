"""Thickness along a middle line, and what a printer makes of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import count
from halfroll.suspension.design import PrintSettings
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.profile.numbers import positive
from halfroll.suspension.profile.pieces import Curve

Thickness = Callable[[FloatArray], tuple[FloatArray, FloatArray]]


@dataclass(frozen=True, kw_only=True)
class Snapped:
    """A thickness as it will be printed (m): so many lines or layers; `pieces` 0 where it was left alone, `words` tell it."""

    thickness_m: float
    pieces: int
    words: str


def snapped(thickness_m: float, settings: PrintSettings) -> Snapped:
    """A thickness rounded to whole line widths or whole layers, at least one, as the print settings want it.

    Raises
    ------
    InputError
        A line width or layer height that is not above zero.
    """
    if settings.snap == "none":
        return Snapped(thickness_m=thickness_m, pieces=0, words=f"{_mm(thickness_m)} as drawn")
    lines = settings.snap == "lines"
    positive(settings.line_width_m, "The width of a line", "print.line_width_mm")
    positive(settings.layer_m, "The height of a layer", "print.layer_mm")
    unit = settings.line_width_m if lines else settings.layer_m
    pieces = max(1, round(thickness_m / unit))
    become = pieces * unit
    what = count(pieces, "line" if lines else "layer")
    words = f"{what} of {_mm(unit)}: {_mm(become)}"
    if abs(become - thickness_m) > 0.5e-6:
        words += f" instead of {_mm(thickness_m)}"
    return Snapped(thickness_m=become, pieces=pieces, words=words)


def along(curve: Curve, inner_m: float, outer_m: float | None) -> Thickness:
    """Thickness (m) and its derivative by s: the same everywhere, or linear in the radius from the inner to the outer edge."""
    if outer_m is None or outer_m == inner_m:

        def same(s: FloatArray) -> tuple[FloatArray, FloatArray]:
            return np.full(np.shape(s), inner_m), np.zeros(np.shape(s))

        return same
    edges = curve(np.array([0.0, 1.0])).r
    slope = (outer_m - inner_m) / float(edges[1] - edges[0])
    start = float(edges[0])

    def tapered(s: FloatArray) -> tuple[FloatArray, FloatArray]:
        line = curve(s)
        return inner_m + slope * (line.r - start), slope * line.r1

    return tapered


def smallest(profile: Profile) -> float:
    """The least thickness (m) anywhere."""
    return float(profile.thickness(np.linspace(0.0, 1.0, 801))[0].min())


def _mm(length_m: float) -> str:
    return f"{1e3 * length_m:.4g} mm"
