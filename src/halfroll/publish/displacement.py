"""What the charts over displacement share: curves, the axis in mm, and the place of the plot."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray
from halfroll.publish.curves import NamedCurve
from halfroll.publish.hatch import Limit
from halfroll.publish.hover import Readout
from halfroll.publish.scales import Axis, linear_axis
from halfroll.publish.sketch import Dots, Sketch, drawn
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

NORMAL_95 = 1.96
"""Two-sided 95 % quantile of the normal distribution."""

AS_SAVED = "as saved"
"""Name of the curve of a design before it was changed."""

WAS = 1
"""Its place in the theme's order of curve styles."""


def curve_over(
    label: str, x_m: FloatArray, y: FloatArray, half: FloatArray | None = None, style: int = 0
) -> NamedCurve:
    """A curve over displacement (m, drawn in mm) with its band of +-`half`, in one of the theme's styles."""
    low, high = (None, None) if half is None else (y - half, y + half)
    return NamedCurve(
        label=label,
        style=style,
        source="measured",
        curve=Curve(frequency_hz=1e3 * x_m, value=y, low=low, high=high, valid_from_hz=-np.inf),
    )


def chart_over(
    curves: Sequence[NamedCurve], theme: Theme, width_px: float, y: Axis, x_m: FloatArray, title: str, zones: Sequence[Limit],
    notes: Sequence[str], dots: Dots | None, *, readout: Readout, x_title: str = "Displacement, outwards +, in mm", band_note: str = "",
) -> Spec:  # fmt: skip
    """A chart over displacement from the first to the last of `x_m`."""
    letters = 5.0 * theme.sizes.text
    low, high = 1e3 * float(x_m[0]), 1e3 * float(x_m[-1])
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title=title, quantity=y.title, zones=zones,
            x=lambda px: _within(low, high, x_title, max(2, int(px / letters))),
            y=y, height=lambda px: px / 2.2, readout=readout, notes=tuple(notes), dots=dots, band_note=band_note,
        )
    )  # fmt: skip


def outside(low_m: float, high_m: float, word: str) -> list[Limit]:
    """Zones below and above a range of displacement (m); an infinite end has none."""
    zones = [] if not np.isfinite(low_m) else [Limit(word=word, from_x=-np.inf, to_x=1e3 * low_m)]
    return zones if not np.isfinite(high_m) else [*zones, Limit(word=word, from_x=1e3 * high_m, to_x=np.inf)]


def _within(low: float, high: float, title: str, count: int) -> Axis:
    """An axis that ends where the numbers end, with round marks between."""
    wide = linear_axis(low, high, title=title, count=count)
    return Axis(low=low, high=high, marks=tuple(m for m in wide.marks if low <= m <= high), title=title)
