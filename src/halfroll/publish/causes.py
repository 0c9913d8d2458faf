"""Charts of what makes the distortion: shares of the even and of the odd orders by cause over frequency, and what is left without each cause."""

from __future__ import annotations

import math
import re

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN
from halfroll.driver.causes import LEAST, ROWS, TOGETHER, Causes, Parity
from halfroll.publish.charts import thd_chart
from halfroll.publish.curves import NamedCurve
from halfroll.publish.drives import named
from halfroll.publish.hover import Readout
from halfroll.publish.render import to_svg
from halfroll.publish.scales import Axis, frequency_axis, frequency_range
from halfroll.publish.sketch import Sketch, drawn
from halfroll.publish.spec import Spec, chart_summary, picture_size
from halfroll.publish.theme import Theme

SHOWN = 0.05
"""A cause that nowhere has this share is not drawn."""

LOW, HIGH = -1.0, 2.0
"""Shares further out are cut off."""

OPPOSED = 4.0
"""Where shares add up to more than this, signs left out, causes cancel each other nearly whole, and shares of so little are not drawn."""

STEP = 0.25

QUANTITIES: dict[Parity, str] = {
    "even": "Share of even orders (2 and 4) in %",
    "odd": "Share of odd orders (3 and 5) in %",
}
TITLES: dict[Parity, str] = {"even": "Even distortion by cause", "odd": "Odd distortion by cause"}


def cause_charts(found: Causes, *, theme: Theme, width_px: float) -> dict[str, Spec]:
    """``even`` and ``odd``: shares of each cause over frequency, which add up to 100 %; ``without``: distortion with one cause switched off at a time.

    A chart is missing where there is nothing to draw.
    """
    charts: dict[str, Spec | None] = {parity: _shares(found, parity, theme, width_px) for parity in ROWS}
    charts["without"] = _without(found, theme, width_px)
    return {key: chart for key, chart in charts.items() if chart is not None}


def causes_svg(found: Causes, *, theme: Theme, width_px: float) -> str:
    """The one picture: even above odd orders, as a standing-alone SVG; empty where no distortion is worth parting."""
    charts = cause_charts(found, theme=theme, width_px=width_px)
    return stacked_svg([charts[parity] for parity in ROWS if parity in charts])


def stacked_svg(charts: list[Spec]) -> str:
    """Charts under each other in one SVG; an empty text for none."""
    if not charts:
        return ""
    width = max(picture_size(chart)[0] for chart in charts)
    inner, top = [], 0.0
    for chart in charts:
        svg = to_svg(chart)
        inner.append(re.sub(r"^<svg ", f'<svg y="{top:g}" ', svg[svg.index("<svg ") :], count=1))
        top += picture_size(chart)[1]
    said = " ".join(chart_summary(chart) for chart in charts).replace("&", "&amp;").replace("<", "&lt;")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}" height="{top:g}" viewBox="0 0 {width:g} {top:g}"><desc>{said}</desc>'
        f"{''.join(inner)}</svg>\n"
    )


def _style(found: Causes, key: str) -> int:
    """One look for a cause in every chart; the first is that of all together."""
    keys = [cause.key for cause in found.causes]
    return 1 + (keys.index(key) if key in keys else len(keys))


def _heard(found: Causes, parity: Parity) -> FloatArray:
    """Shares where there is enough to part, NaN elsewhere."""
    shares = found.shares(parity)
    with np.errstate(invalid="ignore"):
        return np.where(
            (found.size(parity) >= LEAST) & (np.abs(shares).sum(axis=0) <= OPPOSED), shares, np.nan
        )


def _names(found: Causes) -> list[tuple[str, str]]:
    """Key and label of each row of the shares."""
    return [(cause.key, cause.symbol) for cause in found.causes] + [(TOGETHER, TOGETHER)]


def drawn_causes(found: Causes, *parities: Parity) -> tuple[str, ...]:
    """Keys of the causes that have a share worth drawing somewhere."""
    shares = np.concatenate([np.abs(np.nan_to_num(_heard(found, parity))) for parity in parities], axis=1)
    return tuple(
        key for (key, _), most in zip(_names(found), shares.max(axis=1), strict=True) if most >= SHOWN
    )


def _shares(found: Causes, parity: Parity, theme: Theme, width_px: float) -> Spec | None:
    shares = _heard(found, parity)
    if not np.isfinite(shares).any():
        return None
    chosen = drawn_causes(found, parity)
    curves = [
        named(label, found.frequency_hz, 100.0 * row, style=_style(found, key))
        for (key, label), row in zip(_names(found), shares, strict=True)
        if key in chosen
    ]
    axis = _axis([curve.curve.value for curve in curves], QUANTITIES[parity])
    reach = frequency_range(float(found.frequency_hz[0]), float(found.frequency_hz[-1]))
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title=TITLES[parity], quantity=QUANTITIES[parity], zones=(),
            x=lambda px: frequency_axis(*reach, width_px=px, text_px=theme.sizes.text), y=axis, height=lambda px: px / 2.4,
            readout=Readout(number=".0f", unit=" %"), notes=tuple(_notes(found, parity, chosen)), room_for=[label for _, label in _names(found)],
        )
    )  # fmt: skip


def _axis(values: list[FloatArray], title: str) -> Axis:
    every = np.concatenate(values) / 100.0
    low = max(STEP * math.floor(min(float(np.nanmin(every)), 0.0) / STEP), LOW)
    high = min(STEP * math.ceil(max(float(np.nanmax(every)), 1.0) / STEP), HIGH)
    step = STEP if high - low <= 1.5 else 2.0 * STEP
    marks = tuple(100.0 * step * k for k in range(math.ceil(low / step), math.floor(high / step) + 1))
    return Axis(low=100.0 * low, high=100.0 * high, marks=marks, title=title)


def _notes(found: Causes, parity: Parity, chosen: tuple[str, ...]) -> list[str]:
    notes = [f"steady tones of {found.voltage_v:.3g}{THIN}V; below 0: takes away what others make"]
    with np.errstate(invalid="ignore"):
        if np.any(found.size(parity) < LEAST):
            notes.append(f"not drawn where these orders are under {100 * LEAST:g}{THIN}%")
        if np.any((found.size(parity) >= LEAST) & (np.abs(found.shares(parity)).sum(axis=0) > OPPOSED)):
            notes.append("gap: causes cancel each other nearly whole")
    if len(chosen) < len(found.causes) + 1:
        notes.append(f"not drawn: what stays under {100 * SHOWN:g}{THIN}%")
    if not np.isfinite(found.thd).all():
        notes.append("gaps: the cone leaves its travel or finds no steady motion")
    return notes


def _without(found: Causes, theme: Theme, width_px: float) -> Spec | None:
    if not np.isfinite(found.thd).any():
        return None
    chosen = drawn_causes(found, *ROWS)
    curves = [_percent("all", found.frequency_hz, found.thd, 0)]
    curves += [
        _percent(f"without {cause.symbol}", found.frequency_hz, rest, _style(found, cause.key))
        for cause, rest in zip(found.causes, found.thd_without, strict=True)
        if cause.key in chosen and np.isfinite(rest).any()
    ]
    return thd_chart(
        curves, theme=theme, width_px=width_px, ratio=None, title="Distortion with one cause switched off",
        quantity="Distortion, orders 2 to 5, in %", notes=(f"steady tones of {found.voltage_v:.3g}{THIN}V",),
    )  # fmt: skip


def _percent(label: str, f: FloatArray, share: FloatArray, style: int) -> NamedCurve:
    with np.errstate(invalid="ignore"):
        return named(
            label,
            f,
            np.where(np.isfinite(share), np.maximum(100.0 * share, 100.0 * LEAST), np.nan),
            style=style,
        )
