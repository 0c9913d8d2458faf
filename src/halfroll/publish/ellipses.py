"""Pairs of parameters as points with ellipses of confidence: together they are surer, or less sure, than each alone.

The ellipse holds both true values with 95 %: its half-axes are the roots of the covariance's eigenvalues times √(2·F), F the
0.95 quantile of the F distribution with 2 and ν degrees of freedom; √5.991 for known covariance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.publish.curves import Row, tidy
from halfroll.publish.frame import LINE_HEIGHT, Frame, fitted, plan
from halfroll.publish.parts import Part, by_curve, ground, layer, marker_layer, place, words_around
from halfroll.publish.scales import Axis, linear_axis
from halfroll.publish.spec import Spec, specification
from halfroll.publish.theme import Theme

POINTS = 72
LEAST_SPAN = 0.01
"""An axis reaches over this share of its value at least, so that a very sure value is seen to be one."""

NOTE = "ellipse: both values together, 95 %"


@dataclass(frozen=True, kw_only=True)
class Ellipse:
    """A pair of values (centre) with its covariance (2, 2) in the axes' units, and the degrees of freedom behind it."""

    label: str
    centre: tuple[float, float]
    covariance: FloatArray
    dof: float = math.inf

    def outline(self) -> FloatArray:
        """Points (n, 2) of the 95 % ellipse, the first again at the end."""
        from scipy.special import chdtri, fdtri

        factor = float(chdtri(2.0, 0.05)) if math.isinf(self.dof) else 2.0 * float(fdtri(2.0, self.dof, 0.95))
        values, vectors = np.linalg.eigh(self.covariance)
        angle = np.linspace(0.0, 2.0 * np.pi, POINTS + 1)
        circle = np.stack([np.cos(angle), np.sin(angle)])
        reach = vectors @ (np.sqrt(np.maximum(values, 0.0) * factor)[:, None] * circle)
        return np.asarray(np.array(self.centre)[:, None] + reach).T

    @property
    def correlation(self) -> float:
        """Of the two values."""
        u = np.sqrt(np.diag(self.covariance))
        return float(self.covariance[0, 1] / (u[0] * u[1])) if u.all() else 0.0


def ellipse_chart(
    ellipses: Sequence[Ellipse], *, x: str, y: str, theme: Theme, width_px: float, title: str
) -> Spec:
    """Points with their 95 % ellipses on common linear scales; `x` and `y` name quantity and unit."""
    outlines = [e.outline() for e in ellipses]
    every = np.concatenate(outlines)
    frame = plan(
        theme, width_px=width_px, names=[e.label for e in ellipses], notes=[NOTE], title=title,
        x=lambda px: _axis(every[:, 0], x, max(2, int(px / (5.0 * theme.sizes.text)))),
        y=_axis(every[:, 1], "", 5), height=lambda px: 0.62 * px,
    )  # fmt: skip
    parts = [ground(frame), words_around(frame, y), _drawn(frame, ellipses, outlines), _key(frame, ellipses)]
    return specification(frame, parts, summary=_summary(title, ellipses, x, y))


def _axis(values: FloatArray, title: str, count: int) -> Axis:
    """A linear axis that holds all values with some air."""
    low, high = float(values.min()), float(values.max())
    middle, half = 0.5 * (low + high), 0.5 * (high - low) * 1.15
    half = max(half, 0.5 * LEAST_SPAN * abs(middle))
    return linear_axis(middle - half, middle + half, title=title, count=count)


def _drawn(frame: Frame, ellipses: Sequence[Ellipse], outlines: Sequence[FloatArray]) -> Part:
    styles = [frame.look.style(i) for i in range(len(ellipses))]
    rows: list[Row] = [
        {"x": float(f"{px:.9g}"), "y": float(f"{py:.9g}"), "s": s, "o": i}
        for s, outline in enumerate(outlines)
        for i, (px, py) in enumerate(outline)
    ]
    centres: list[Row] = [
        {"x": float(f"{e.centre[0]:.9g}"), "y": float(f"{e.centre[1]:.9g}"), "s": s}
        for s, e in enumerate(ellipses)
    ]
    path = {
        **place(frame, x="x", y="y"),
        "order": {"field": "o", "type": "quantitative"},
        "detail": {"field": "s"},
        **by_curve("stroke", [style.colour for style in styles]),
        **by_curve("strokeDash", [list(style.dash) or [1, 0] for style in styles]),
    }
    return Part(
        layers=[
            layer("ellipses", "line", path, clip=True, strokeWidth=0.8 * frame.look.sizes.curve),
            marker_layer(frame, "centres", {**place(frame, x="x", y="y"), **_marks(frame, len(ellipses))}),
        ],
        data={"ellipses": rows, "centres": centres},
    )


def _marks(frame: Frame, number: int) -> dict[str, Any]:
    styles = [frame.look.style(i) for i in range(number)]
    line = [frame.look.palette.ink if style.cased else style.colour for style in styles]
    return {
        **by_curve("shape", [style.marker for style in styles]),
        **by_curve("fill", [style.colour for style in styles]),
        **by_curve("stroke", line),
    }


def _key(frame: Frame, ellipses: Sequence[Ellipse]) -> Part:
    """The names beside the plot, or under it where it is narrow, each with its marker."""
    text, below = frame.look.sizes.text, frame.margins.key_below
    left = 0.0 if below else frame.width + 0.8 * text
    top = frame.height + 3.3 * text if below else 0.9 * text
    room = (frame.width if below else frame.margins.right) - 2.2 * text
    rows: list[Row] = [
        {
            "s": s,
            "name": fitted(e.label, "", room, text),
            "x": tidy(float(frame.x_at(left + 0.4 * text))),
            "tx": tidy(float(frame.x_at(left + 1.2 * text))),
            "y": tidy(float(frame.y_at(top + s * LINE_HEIGHT * text))),
        }
        for s, e in enumerate(ellipses)
    ]
    words = {**place(frame, x="tx", y="y"), "text": {"field": "name"}}
    look: dict[str, Any] = {
        "fontSize": text,
        "color": frame.look.palette.ink,
        "align": "left",
        "baseline": "middle",
    }
    return Part(
        layers=[
            marker_layer(frame, "key", {**place(frame, x="x", y="y"), **_marks(frame, len(ellipses))}),
            layer("key", "text", words, **look),
        ],
        data={"key": rows},
    )


def _summary(title: str, ellipses: Sequence[Ellipse], x: str, y: str) -> str:
    told = "; ".join(
        f"{e.label}: {e.centre[0]:.4g} and {e.centre[1]:.4g}, correlation {e.correlation:.2f}"
        for e in ellipses
    )
    return f"{title}: {x} against {y}, with 95 % ellipses. {told}."
