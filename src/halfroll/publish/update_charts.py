"""Charts of an update: what was measured against the prediction before and after, and the difference by cause."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN
from halfroll.driver.update.types import Residual, Update
from halfroll.publish.charts import frequency_chart, impedance_chart
from halfroll.publish.curves import NamedCurve
from halfroll.publish.hover import Readout
from halfroll.publish.scales import frequency_axis, frequency_range, log_axis, log_height, tallest_log_ratio
from halfroll.publish.sketch import Dots, Sketch, drawn
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

DOTS = "open points: measured"
LARGEST_SHARES = 4
"""So many causes get a curve of their own; the others are drawn together."""


def update_charts(found: Update, *, theme: Theme, width_px: float) -> dict[str, Spec]:
    """By name: ``impedance``, ``level``, ``thd`` before and after, and ``causes``, the impedance's difference split; those there are."""
    charts = {}
    for one in found.residuals:
        key, count = one.observation.key, len(one.observation.values)
        if key in ("impedance", "modulus"):
            charts["impedance"] = _impedance(one, theme, width_px)
            charts["causes"] = _causes(found, one, theme, width_px)
        elif key == "level" and count > 1:
            charts["level"] = _level(one, theme, width_px)
        elif key == "thd" and count > 1:
            charts["thd"] = _thd(one, theme, width_px)
    return {key: charts[key] for key in ("impedance", "causes", "level", "thd") if key in charts}


def _curves(one: Residual, scale: float = 1.0) -> list[NamedCurve]:
    at = one.observation.frequency_hz
    told = (("as assumed", np.abs(one.before)), ("with what moved", np.abs(one.after)))
    if one.observation.kind == "level":
        told = (("as assumed", np.real(one.before)), ("with what moved", np.real(one.after)))
    return [
        NamedCurve(label=label, style=style, curve=Curve(frequency_hz=at[ok], value=scale * value[ok]))
        for style, (label, value) in enumerate(told)
        for ok in [np.isfinite(value)]
    ]


def _dots(one: Residual, scale: float = 1.0) -> Dots:
    measured = (
        np.real(one.observation.values) if one.observation.kind == "level" else np.abs(one.observation.values)
    )
    return Dots(
        frequency_hz=one.observation.frequency_hz,
        value=scale * measured,
        out=np.zeros(len(measured), dtype=bool),
    )


def _reach(one: Residual) -> tuple[float, float]:
    at = one.observation.frequency_hz
    return frequency_range(float(at[0]), float(at[-1]))


def _impedance(one: Residual, theme: Theme, width_px: float) -> Spec:
    return impedance_chart(
        _curves(one), theme=theme, width_px=width_px, ratio=None, title="Impedance", range_hz=_reach(one), dots=_dots(one), notes=[DOTS],
    )  # fmt: skip


def _level(one: Residual, theme: Theme, width_px: float) -> Spec:
    values = np.concatenate([np.real(one.before), np.real(one.after), np.real(one.observation.values)])
    low, high = 5.0 * math.floor((values.min() - 2.0) / 5.0), 5.0 * math.ceil((values.max() + 2.0) / 5.0)
    return frequency_chart(
        _curves(one), theme=theme, width_px=width_px, title="Level", quantity="Level at 1 m in dB re 20 µPa, half space",
        range_hz=(100.0, 2000.0), y_range=(low, high), marks=tuple(np.arange(low, high + 1.0, 5.0).tolist()),
        readout=Readout(number=".1f", unit=" dB"), dots=_dots(one), notes=[DOTS, f"{one.observation.drive_v:.3g}{THIN}V"],
    )  # fmt: skip


def _thd(one: Residual, theme: Theme, width_px: float) -> Spec:
    curves, dots = _curves(one, 100.0), _dots(one, 100.0)
    at = one.observation.frequency_hz
    reach = frequency_range(min(20.0, float(at[0])), max(200.0, float(at[-1])))
    axis = log_axis(np.concatenate([dots.value, *(curve.curve.value for curve in curves)]), title="THD in %")
    decades = math.log10(axis.high / axis.low)
    ratio = tallest_log_ratio(reach, decades)
    return drawn(Sketch(
        curves=curves, theme=theme, width_px=width_px, title="Distortion in the bass", quantity=axis.title, zones=(),
        x=lambda px: frequency_axis(*reach, width_px=px, text_px=theme.sizes.text), y=axis,
        height=lambda px: log_height(px, reach, decades, ratio), readout=Readout(number=".2r", unit=" %"),
        notes=(DOTS, f"{one.observation.drive_v:.3g}{THIN}V"), dots=dots,
    ))  # fmt: skip


def _causes(found: Update, one: Residual, theme: Theme, width_px: float) -> Spec:
    """Measured less predicted modulus, the largest shares, all others together, and what is left."""
    at, count = one.observation.frequency_hz, len(one.observation.values)
    named = {cause.assumption.key: cause.assumption.label for cause in found.causes}
    shares = sorted(
        ((key, share[:count]) for key, share in one.shares), key=lambda item: -float(np.max(np.abs(item[1])))
    )
    own = [(named[key], share) for key, share in shares if key in named][:LARGEST_SHARES]
    shown = {label for label, _ in own}
    rest = [share for key, share in shares if named.get(key) not in shown]
    curves = [("measured less predicted", one.difference[:count]), *own]
    if rest:
        curves.append(("all other causes", np.sum(rest, axis=0)))
    curves.append(("left", one.remainder[:count]))
    reach = _round(max(float(np.max(np.abs(value))) for _, value in curves))
    return frequency_chart(
        [NamedCurve(label=label, curve=Curve(frequency_hz=at, value=value)) for label, value in curves],
        theme=theme, width_px=width_px, title="What moves the impedance", quantity="Measured less predicted modulus in dB",
        range_hz=_reach(one), y_range=(-reach, reach), marks=(-reach, -reach / 2.0, 0.0, reach / 2.0, reach),
        readout=Readout(number=".2f", unit=" dB"), notes=["all but the first add up to the first"],
    )  # fmt: skip


def _round(top: float) -> float:
    power = 10.0 ** math.floor(math.log10(max(top, 0.1)))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= 1.05 * max(top, 0.1))


def rms(values: FloatArray | Sequence[float]) -> float:
    """Root of the mean square."""
    return float(np.sqrt(np.mean(np.square(values))))
