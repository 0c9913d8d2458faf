"""Charts in words, for people who do not see them: computed from the numbers, a few short sentences."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.publish.curves import BOUND, LIMITED, NamedCurve, stretch_kinds
from halfroll.publish.frame import Frame

THIN_SPACE = "\u2009"


def curves_summary(frame: Frame, curves: Sequence[NamedCurve], quantity: str, unit: str, digits: int = 3) -> str:
    """What the chart shows and, for each curve, its highest and lowest value with their places."""
    about = frame.title or quantity
    x_unit = frame.x.title.rsplit(" ", 1)[-1]
    reach = f"{_number(frame.x.low)} to {_number(frame.x.high)}{THIN_SPACE}{x_unit}"
    head = f"{about}: {quantity}, {reach}." if frame.title else f"{quantity}, {reach}."
    return " ".join([head, *(_curve_sentence(frame, named, x_unit, unit, digits) for named in curves)])


def _curve_sentence(frame: Frame, named: NamedCurve, x_unit: str, unit: str, digits: int) -> str:
    x, y = named.curve.frequency_hz, named.curve.value
    kinds = stretch_kinds(named.curve)
    shown = (x >= frame.x.low) & (x <= frame.x.high) & np.isfinite(y)
    sure = shown & (kinds != BOUND) & (kinds != LIMITED)
    if not np.any(sure):
        return f"{named.name}: nothing valid to show."
    text = f"{named.name}: {_extreme(x, y, sure, np.argmax, 'highest', x_unit, unit, digits)}, "
    text += f"{_extreme(x, y, sure, np.argmin, 'lowest', x_unit, unit, digits)}"
    if np.any(shown & (kinds == BOUND)):
        text += "; only an upper bound in part of the range"
    if np.any(shown & (kinds == LIMITED)):
        text += "; outside its validity limits in part of the range"
    return f"{text}."


def _extreme(x: FloatArray, y: FloatArray, where: FloatArray, pick: object, word: str, x_unit: str, unit: str, digits: int) -> str:
    indices = np.flatnonzero(where)
    i = indices[pick(y[indices])]  # type: ignore[operator]
    return f"{word} {_number(y[i], digits)}{THIN_SPACE}{unit} at {_number(x[i])}{THIN_SPACE}{x_unit}"


def _number(value: float, digits: int = 3) -> str:
    return f"{float(f'{value:.{digits}g}'):g}"
