"""Charts in words, for people who do not see them: computed from the numbers, a few short sentences."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.core.text import THIN
from halfroll.publish.curves import BOUND, LIMITED, SURE, NamedCurve, stretch_kinds
from halfroll.publish.frame import Frame


def curves_summary(frame: Frame, curves: Sequence[NamedCurve], quantity: str, unit: str) -> str:
    """What the chart shows and, for each curve, its highest and lowest value with their places."""
    x_unit = frame.x.title.rsplit(" ", 1)[-1]
    about = f"{frame.title}: {quantity}" if frame.title else quantity
    head = f"{about}, {_number(frame.x.low)} to {_number(frame.x.high)}{THIN}{x_unit}."
    return " ".join([head, *(_curve_sentence(frame, named, x_unit, unit) for named in curves)])


def _curve_sentence(frame: Frame, named: NamedCurve, x_unit: str, unit: str) -> str:
    x, y = named.curve.frequency_hz, named.curve.value
    kinds = stretch_kinds(named.curve)
    shown = (x >= frame.x.low) & (x <= frame.x.high) & np.isfinite(y)
    sure = np.flatnonzero(shown & (kinds == SURE))
    if sure.size == 0:
        return f"{named.name}: nothing valid to show."

    def told(word: str, i: int) -> str:
        return f"{word} {_number(y[i])}{THIN}{unit} at {_number(x[i])}{THIN}{x_unit}"

    text = f"{named.name}: {told('highest', sure[np.argmax(y[sure])])}, "
    text += told("lowest", sure[np.argmin(y[sure])])
    if np.any(shown & (kinds == BOUND)):
        text += "; only an upper bound in part of the range"
    if np.any(shown & (kinds == LIMITED)):
        text += "; outside its validity limits in part of the range"
    return f"{text}."


def _number(value: float) -> str:
    return f"{float(f'{value:.3g}'):g}"
