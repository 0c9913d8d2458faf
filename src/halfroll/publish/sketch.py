"""From a sketch of a chart, what it shows and says, to its specification."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.publish.curves import BOUND, NamedCurve, stretch_kinds, tidy
from halfroll.publish.frame import Frame, plan
from halfroll.publish.hatch import Limit, limits, noise_floor
from halfroll.publish.hover import Readout, hover
from halfroll.publish.lines import curves_part, markers, names
from halfroll.publish.parts import Part, ground, layer, place, words_around
from halfroll.publish.scales import Axis
from halfroll.publish.spec import Spec, specification
from halfroll.publish.summary import curves_summary
from halfroll.publish.theme import Theme

BAND_NOTE = "shaded: 95 % band of the mean"
BOUND_NOTE = "dotted with ticks down: at most this, harmonics lie under the noise"


@dataclass(frozen=True, kw_only=True)
class Noise:
    """A noise floor in the chart's unit over frequency, both (n,); everything under it is hatched."""

    frequency_hz: FloatArray
    value: FloatArray
    word: str = "noise"


@dataclass(frozen=True, kw_only=True)
class Dots:
    """Single measured points in the chart's unit over frequency, both (n,); those with `out` (n,) true are crosses in the
    signal colour: they hardly counted.
    """

    frequency_hz: FloatArray
    value: FloatArray
    out: NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class Sketch:
    """All that makes one chart: curves, look, axes, height for a plot width, and what is said."""

    curves: Sequence[NamedCurve]
    theme: Theme
    width_px: float
    title: str
    quantity: str
    zones: Sequence[Limit]
    x: Callable[[float], Axis]
    y: Axis
    height: Callable[[float], float]
    readout: Readout
    notes: tuple[str, ...] = ()
    room_for: Sequence[str] = ()
    noise: Noise | None = None
    dots: Dots | None = None
    band_note: str = BAND_NOTE
    under: Callable[[Frame], Part] | None = None
    """Drawn under the curves, once the frame is known."""
    tallest_px: float | None = None
    """The most the whole picture may be tall (px); the plot is made smaller for it."""


def drawn(sketch: Sketch) -> Spec:
    """The specification of a sketch: all parts of the picture in their order."""
    curves = sketch.curves
    frame = plan(
        sketch.theme,
        width_px=sketch.width_px,
        names=[c.name for c in curves],
        room_for=sketch.room_for,
        notes=[*_said(curves, sketch.band_note), *sketch.notes],
        title=sketch.title,
        x=sketch.x,
        y=sketch.y,
        height=sketch.height,
        tallest_px=sketch.tallest_px,
    )
    noise = sketch.noise
    parts = [
        ground(frame),
        words_around(frame, sketch.quantity),
        limits(frame, sketch.zones, curves),
        Part() if noise is None else noise_floor(frame, noise.frequency_hz, noise.value, noise.word),
        Part() if sketch.dots is None else _dots(frame, sketch.dots),
        Part() if sketch.under is None else sketch.under(frame),
        curves_part(frame, curves),
        markers(frame, curves),
        names(frame, curves),
        hover(frame, curves, sketch.readout),
    ]
    summary = curves_summary(frame, curves, sketch.quantity, sketch.readout.unit.strip())
    return specification(frame, parts, summary=summary)


def _dots(frame: Frame, dots: Dots) -> Part:
    """The points, open, so that a curve shows through, and clearly wider than it; as many as find room; crosses all."""
    sizes, palette = frame.look.sizes, frame.look.palette
    rows, last = [], -np.inf
    for x, y, out in zip(dots.frequency_hz, dots.value, dots.out, strict=True):
        if not (frame.x.low <= x <= frame.x.high and frame.y.low <= y <= frame.y.high):
            continue
        at_px = float(frame.x_px(x))
        if out or at_px - last >= 0.9 * sizes.text:
            rows.append({"x": tidy(x), "y": tidy(y), "out": bool(out)})
            last = last if out else at_px
    at, look = place(frame, x="x", y="y"), {"size": 0.9 * sizes.marker**2, "strokeWidth": 1.5 * sizes.hair}
    quiet: dict[str, object] = {"stroke": palette.ink, "filled": False, **look}
    crosses: dict[str, object] = {"stroke": palette.accent, "shape": "cross", "filled": False, **look}
    return Part(
        layers=[
            layer("dots", "point", at, "!datum.out", **quiet),
            layer("dots", "point", at, "datum.out", **crosses),
        ],
        data={"dots": rows},
    )


def _said(curves: Sequence[NamedCurve], band_note: str) -> list[str]:
    """What the curves' look means, for what occurs in the chart."""
    kinds = np.concatenate([stretch_kinds(c.curve) for c in curves]) if curves else np.zeros(0)
    notes = [band_note] if any(c.curve.low is not None for c in curves) else []
    notes += [BOUND_NOTE] if np.any(kinds == BOUND) else []
    return notes
