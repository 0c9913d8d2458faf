"""Curves as they enter a chart, and the rows of data that draw them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray
from halfroll.figures.types import Source
from halfroll.publish.frame import Frame
from halfroll.publish.thin import thinned

Row = dict[str, Any]

SURE, LIMITED, BOUND = 0, 1, 2
"""What a stretch of a curve is: valid; outside its validity limits; only an upper bound."""


@dataclass(frozen=True, kw_only=True)
class NamedCurve:
    """A curve with the name it is labelled by.

    Parameters
    ----------
    label
        Name at the curve's end.
    curve
        The numbers; ``curve.frequency_hz`` is the horizontal quantity.
    base
        It is the base of the comparison; said beside the name.
    source
        Said beside the name unless measured.
    style
        Place in the theme's order of curve styles; by position in the chart when None.
    """

    label: str
    curve: Curve
    base: bool = False
    source: Source = "measured"
    style: int | None = None

    @property
    def remark(self) -> str:
        """What must be said behind the label."""
        return remark_of(base=self.base, source=self.source)

    @property
    def name(self) -> str:
        """The label with the remark."""
        return self.label + self.remark


def remark_of(*, base: bool, source: Source) -> str:
    """What must be said behind a version's title: that it is the base, that it was not measured."""
    remarks = [r for r, said in (("base", base), (source, source != "measured")) if said]
    return f" ({', '.join(remarks)})" if remarks else ""


def styles_of(curves: Sequence[NamedCurve]) -> list[int]:
    """The style number of each curve."""
    return [i if c.style is None else c.style for i, c in enumerate(curves)]


def stretch_kinds(curve: Curve) -> NDArray[np.intp]:
    """For each point (n,): `SURE`, `LIMITED` or `BOUND`."""
    kinds = np.full(curve.frequency_hz.shape, SURE, dtype=np.intp)
    outside = (curve.frequency_hz < curve.valid_from_hz) | (curve.frequency_hz > curve.valid_to_hz)
    kinds[outside] = LIMITED
    if curve.bound is not None:
        kinds[np.asarray(curve.bound, dtype=bool)] = BOUND
    return kinds


def curve_rows(frame: Frame, curves: Sequence[NamedCurve]) -> list[Row]:
    """Rows x, y, lo, hi (95 % band, where known), s (curve), k (kind), g (unbroken stretch).

    One stretch ends where the next begins, so the line does not break where only its kind changes.
    """
    rows: list[Row] = []
    for s, named in enumerate(curves):
        curve = named.curve
        index = _visible(frame, curve)
        kinds = np.where(np.isfinite(curve.value[index]), stretch_kinds(curve)[index], -1)
        for g, (start, stop) in enumerate(_stretches(kinds)):
            shared = stop < index.size and kinds[stop] >= 0
            for i in index[start : stop + shared]:
                row: Row = {"x": tidy(curve.frequency_hz[i]), "y": tidy(curve.value[i]), "s": s}
                if (
                    curve.low is not None
                    and curve.high is not None
                    and np.isfinite(curve.low[i] + curve.high[i])
                ):
                    least = frame.y.low / 10.0 if frame.y.log else -np.inf
                    row |= {"lo": tidy(max(curve.low[i], least)), "hi": tidy(curve.high[i])}
                rows.append(row | {"k": int(kinds[start]), "g": f"{s}.{g}"})
    return rows


def marker_rows(frame: Frame, curves: Sequence[NamedCurve], *, every_px: float) -> list[Row]:
    """Rows x, y, s of the few points that carry a marker, those of different curves not above each other."""
    rows: list[Row] = []
    for s, named in enumerate(curves):
        first = every_px * (s + 0.5) / len(curves)
        for i in _nearest(frame, named.curve, np.arange(first, frame.width, every_px), BOUND, wanted=False):
            rows.append({"x": tidy(named.curve.frequency_hz[i]), "y": tidy(named.curve.value[i]), "s": s})
    return rows


def down_tick_rows(frame: Frame, curves: Sequence[NamedCurve], *, every_px: float) -> list[Row]:
    """Rows x, y, y2, s of the small ticks that hang from a curve where it is only an upper bound."""
    rows: list[Row] = []
    for s, named in enumerate(curves):
        curve = named.curve
        for i in _nearest(frame, curve, np.arange(every_px / 2, frame.width, every_px), BOUND, wanted=True):
            below = float(frame.y_at(float(frame.y_px(float(curve.value[i]))) + every_px * 0.6))
            rows.append(
                {"x": tidy(curve.frequency_hz[i]), "y": tidy(curve.value[i]), "y2": tidy(below), "s": s}
            )
    return rows


def end_of(frame: Frame, curve: Curve) -> tuple[float, float] | None:
    """Place (px right, px down) where the curve leaves the plot on the right; None when it is never in it."""
    shown = np.flatnonzero(_inside(frame, curve))
    if shown.size == 0:
        return None
    last = shown[-1]
    return float(frame.x_px(float(curve.frequency_hz[last]))), float(frame.y_px(float(curve.value[last])))


def tidy(value: float) -> float:
    """The number as it goes into a specification: 5 significant digits are finer than any pixel."""
    return float(f"{float(value):.5g}")


def _visible(frame: Frame, curve: Curve) -> NDArray[np.intp]:
    """Indices of the points to draw: one beyond each end of the axis, thinned to the pixels there are."""
    x = curve.frequency_hz
    first = max(int(np.searchsorted(x, frame.x.low)) - 1, 0)
    last = min(int(np.searchsorted(x, frame.x.high, side="right")) + 1, x.size)
    edges = [np.asarray(e[first:last]) for e in (curve.value, curve.low, curve.high) if e is not None]
    position = np.log(np.maximum(x[first:last], 1e-12)) if frame.x.log else x[first:last]
    return first + thinned(position, *edges, columns=max(int(frame.width), 1))


def _stretches(kinds: NDArray[np.intp]) -> Iterator[tuple[int, int]]:
    """Start and stop of the runs of one kind; -1 marks missing values, which are left out."""
    cuts = np.flatnonzero(np.diff(kinds)) + 1
    for start, stop in zip([0, *cuts], [*cuts, kinds.size], strict=True):
        if start < stop and kinds[start] >= 0:
            yield int(start), int(stop)


def _inside(frame: Frame, curve: Curve) -> NDArray[np.bool_]:
    x, y = curve.frequency_hz, curve.value
    with np.errstate(invalid="ignore"):
        across = (x >= frame.x.low) & (x <= frame.x.high * (1 + 1e-9) + 1e-12)
        return np.asarray(across & np.isfinite(y) & (y >= frame.y.low) & (y <= frame.y.high))


def _nearest(frame: Frame, curve: Curve, places_px: FloatArray, kind: int, *, wanted: bool) -> list[int]:
    """Indices of the points in the plot nearest to some places along the width, of (or not of) one kind."""
    usable = np.flatnonzero(_inside(frame, curve) & ((stretch_kinds(curve) == kind) == wanted))
    if usable.size == 0:
        return []
    px = frame.x_px(curve.frequency_hz[usable])
    chosen: list[int] = []
    for place in places_px:
        i = int(np.argmin(np.abs(px - place)))
        if abs(px[i] - place) <= 6.0 and (not chosen or usable[i] != chosen[-1]):
            chosen.append(int(usable[i]))
    return chosen
