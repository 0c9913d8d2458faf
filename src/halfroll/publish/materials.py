"""Charts of materials: magnetisation curves of steels, demagnetisation curves of magnets at several temperatures."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray
from halfroll.core.text import MINUS, THIN
from halfroll.materials.magnet import Demagnetisation, demagnetisation, on_load_line
from halfroll.materials.steel import curve
from halfroll.materials.types import MagnetGrade, Steel
from halfroll.publish.curves import NamedCurve
from halfroll.publish.drives import NORMAL_95, named
from halfroll.publish.hatch import Limit
from halfroll.publish.hover import Readout
from halfroll.publish.scales import Axis, linear_axis
from halfroll.publish.sketch import Dots, Sketch, drawn
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

FIELD_RANGE = (0.01, 200.0)
"""Field strengths (kA/m) of a chart of steels: from the foot of the curve to where motors end."""

FLAT_DISC = 1.1
"""Permeance coefficient of a disc half as high as wide in free air (Chen, Brug and Goldfarb 1991: 1.1075)."""

_POINTS = 200


def magnetisation_chart(steels: Sequence[Steel], *, theme: Theme, width_px: float) -> Spec:
    """Flux density over field strength of one steel or several; hatched where the only one's table has ended.

    Where H of a bought part is uncertain the band shows 95 % of it: H times or divided by (1 + u)^1.96.
    """
    field = np.geomspace(*FIELD_RANGE, _POINTS)
    curves, top = [], 0.0
    for steel in steels:
        law = curve(steel)
        value, low, high = law.b(1e3 * field), None, None
        if steel.h_factor_u:
            spread = (1.0 + steel.h_factor_u) ** NORMAL_95
            low, high = law.b(1e3 * field / spread), law.b(1e3 * field * spread)
        curves.append(named(steel.key, field, value, low, high))
        top = max(top, float(np.max(value if high is None else high)))
    ends = [1e-3 * float(curve(steel).h(curve(steel).table_end_t)) for steel in steels]
    zones = (
        [Limit(from_x=ends[0], word="beyond the table")]
        if len(steels) == 1 and ends[0] < FIELD_RANGE[1]
        else []
    )
    marks = (0.01, 0.1, 1.0, 10.0, 100.0)
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title=f"Magnetisation of {steels[0].title}" if len(steels) == 1 else "Magnetisation", quantity="Flux density B in T", zones=zones,
            x=lambda px: Axis(low=FIELD_RANGE[0], high=FIELD_RANGE[1], marks=marks, title="Field strength H in kA/m", log=True),
            y=linear_axis(0.0, top, title="Flux density B in T"), height=lambda px: px / 1.7,
            readout=Readout(number=".2f", spread=".2f", unit=" T"),
            band_note="shaded: 95 % of parts bought as such a steel, as far as published steels differ",
        )
    )  # fmt: skip


def temperatures_of(grade: MagnetGrade) -> tuple[float, ...]:
    """Temperatures (°C) worth drawing: 20 °C, the limit, half-way; of a magnet that suffers in the cold the cold limit too."""
    highest = min(grade.highest_c, 200.0)
    half_way = 10.0 * round(0.5 * (20.0 + highest) / 10.0)
    if grade.beta_hcj_per_k > 0.0:
        return (max(grade.lowest_c, -40.0), 20.0, min(grade.highest_c, 100.0))
    return (20.0, half_way, highest)


def demagnetisation_chart(
    grade: MagnetGrade, *, theme: Theme, width_px: float, temperatures_c: Sequence[float] | None = None
) -> Spec:
    """Flux density over the opposing field at several temperatures, a ring at each knee, and the load line of a flat disc."""
    chosen = temperatures_of(grade) if temperatures_c is None else temperatures_c
    found = [demagnetisation(grade, t) for t in chosen]
    by_field = sorted(found, key=lambda one: one.knee.h_a_m)
    curves = [_normal(one) for one in found]
    strongest = max(float(-one.h_a_m[-1]) for one in found)
    lowest = max(min(0.0, *(one.knee.b_t for one in found)), -0.4 * grade.br_t)
    h, b = on_load_line(grade, FLAT_DISC)
    curves.append(_curve("flat disc in free air", np.array([1.5e-3 * h, 0.0]), np.array([1.5 * b, 0.0]), 4))
    knees = Dots(
        frequency_hz=np.array([1e-3 * one.knee.h_a_m for one in by_field]), value=np.array([one.knee.b_t for one in by_field]),
        out=np.zeros(len(found), dtype=bool),
    )  # fmt: skip
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title=f"Demagnetisation of {grade.title}",
            quantity="Flux density B in T", zones=(),
            x=lambda px: linear_axis(-1e-3 * strongest, 0.0, title="Opposing field H in kA/m", count=max(3, int(px / 110))),
            y=linear_axis(lowest, max(one.b_t[0] for one in found), title="Flux density B in T"),
            height=lambda px: px / 1.7, dots=knees, readout=Readout(number=".2f", spread=".2f", unit=" T"),
            notes=("rings: knee; below it magnetisation is lost for good",
                   "flat disc: half as high as wide; a magnet in a motor works higher up"),
        )
    )  # fmt: skip


def _normal(one: Demagnetisation) -> NamedCurve:
    """The normal curve at a temperature, H rising."""
    sign = MINUS if one.temperature_c < 0 else ""
    label = f"{sign}{abs(one.temperature_c):g}{THIN}°C"
    return _curve(label, 1e-3 * one.h_a_m[::-1], one.b_t[::-1])


def _curve(label: str, x: FloatArray, y: FloatArray, style: int | None = None) -> NamedCurve:
    """A curve over a quantity that may be below zero."""
    return NamedCurve(label=label, curve=Curve(frequency_hz=x, value=y, valid_from_hz=-np.inf), style=style)
