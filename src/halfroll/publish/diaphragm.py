"""Pictures of a diaphragm's break-up: the far field against a rigid piston's, and how the parts move in a resonance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN, format_value, format_with_u
from halfroll.publish.charts import level_chart
from halfroll.publish.curves import NamedCurve
from halfroll.publish.drives import NORMAL_95
from halfroll.publish.frame import spread_out, text_width
from halfroll.publish.hatch import Limit
from halfroll.publish.scales import frequency_range
from halfroll.publish.section_sheet import Sheet, inks_of
from halfroll.publish.spec import Spec
from halfroll.publish.suspension_shapes import corners, notes_under, only_words, svg
from halfroll.publish.theme import Theme
from halfroll.suspension.diaphragm.modes import HEARD_DB, nodal_circles
from halfroll.suspension.results import BreakUp, ShellMode

SHOWN_DEG = (0.0, 30.0, 60.0)
"""Angles of the chart; the others are in the numbers."""

LARGEST = 0.055
"""The largest displacement of a resonance is drawn as this share of the diaphragm's width."""

LOWEST_HZ = 100.0
_MOST_SHIFTS = 17


def response_chart(found: BreakUp, *, theme: Theme, width_px: float) -> Spec:
    """Far field at three angles, re that of a rigid piston on axis, with the piston's own; hatched where the depth is too much for it."""
    at = [found.angles_deg.index(angle) for angle in SHOWN_DEG if angle in found.angles_deg]
    curves = [_shell(found, n, style) for style, n in enumerate(at)]
    curves += [_piston(found, n, 4 + place) for place, n in enumerate(at[1:])]
    low = min(LOWEST_HZ, float(found.frequency_hz[-1]) / 10)
    deep = format_value(found.valid_hz, None, "Hz")
    zones = (
        [Limit(from_x=found.valid_hz, word=f"depth counts above {deep}")]
        if math.isfinite(found.valid_hz)
        else []
    )
    return level_chart(
        curves, theme=theme, width_px=width_px, ratio_db_per_decade=None, most_db=45.0, zones=zones,
        range_hz=frequency_range(low, float(found.frequency_hz[-1])), title="The moving shell against a rigid piston",
        quantity="Level in dB re a rigid piston on axis", notes=_notes(found),
        band_note="shaded: 95 % band, of modulus, density and wall, on axis",
    )  # fmt: skip


def mode_svg(mode: ShellMode, *, theme: Theme, width_px: float, name: str = "") -> str:
    """SVG of one resonance over the half-section at rest, both halves, to scale but for the motion: one end of it full, the other
    dashed, nodal circles ringed with their diameters. `name` says whose it is.
    """
    if not len(mode.places_m):
        return only_words(theme, width_px, "No resonance is known.")
    reach = float(mode.places_m[:, 0].max())
    swing = LARGEST * 2 * reach
    inks = inks_of(theme)
    right = text_width("⌀ 000", inks.text) + 3.0 * inks.text
    sheet = _sheet(mode, theme, width_px, swing, right)
    circles = [(r, z) for line, r, z in nodal_circles(mode) if line not in ("former", "surround")]
    drawn = [_axis(sheet), *_lines(sheet, mode, swing)]
    drawn += _ringed(sheet, circles, right)
    said = [
        f"{_at(mode)}: {mode.words}",
        f"motion larger than life, up to {1e3 * swing:.2g}{THIN}mm",
        "thin: at rest, thick and dashed: both ends of the motion",
    ]
    if circles:
        said.append("ringed: nodal circles, diameter in mm")
    notes, height = notes_under(sheet, said)
    whose = f"Resonance of {name} at {_at(mode)}" if name else f"Resonance at {_at(mode)}"
    return svg(sheet, [*drawn, *notes], height, f"{whose}. {mode.words}", "mode")


def shown_modes(found: BreakUp, most: int = 4) -> tuple[ShellMode, ...]:
    """The resonances worth a picture: the first break-up and the next, then what else is heard, loudest first, all in their order."""
    ends = [hz for hz in (found.first_hz, found.second_hz) if hz is not None]
    heard = [mode for mode in found.modes if mode.kind != "piston" and mode.peak_db >= HEARD_DB]
    ranked = sorted(heard, key=lambda mode: (mode.frequency_hz not in ends, -mode.peak_db))[:most]
    return tuple(sorted(ranked, key=lambda mode: mode.frequency_hz))


# The chart's curves.


def _shell(found: BreakUp, n: int, style: int) -> NamedCurve:
    angle = found.angles_deg[n]
    low, high = frequency_band(found, n) if angle == 0.0 and math.isfinite(found.u_relative) else (None, None)
    curve = Curve(
        frequency_hz=found.frequency_hz,
        value=found.response_db[n],
        low=low,
        high=high,
        valid_to_hz=found.valid_hz,
    )
    return NamedCurve(label="on axis" if angle == 0.0 else f"{angle:g}°", curve=curve, style=style)


def _piston(found: BreakUp, n: int, style: int) -> NamedCurve:
    """The rigid piston, thinned: it is smooth."""
    kept = np.unique(np.round(np.geomspace(1, len(found.frequency_hz), 120)).astype(int)) - 1
    curve = Curve(frequency_hz=found.frequency_hz[kept], value=np.maximum(found.piston_db[n, kept], -90.0))
    return NamedCurve(label=f"piston, {found.angles_deg[n]:g}°", curve=curve, style=style)


def frequency_band(found: BreakUp, n: int) -> tuple[FloatArray, FloatArray]:
    """What the curve spans when all its frequencies move by their uncertainty."""
    level, hz = found.response_db[n], np.log(found.frequency_hz)
    reach = NORMAL_95 * found.u_relative
    moved = np.stack([np.interp(hz - shift, hz, level) for shift in np.linspace(-reach, reach, _MOST_SHIFTS)])
    return moved.min(axis=0), moved.max(axis=0)


def _notes(found: BreakUp) -> tuple[str, ...]:
    notes = [
        f"within {found.usable_db:g}{THIN}dB of the piston up to {format_value(found.usable_hz, None, 'Hz')}"
    ]
    if found.first_hz is not None:
        first = format_with_u(found.first_hz, NORMAL_95 * found.u_relative * found.first_hz, "Hz")
        notes.insert(0, f"first break-up {first}")
    return (*notes, "shapes with nodal diameters are left out")


# The picture of a resonance.


def _sheet(mode: ShellMode, theme: Theme, width_px: float, swing: float, right: float) -> Sheet:
    inks = inks_of(theme)
    r, z = mode.places_m.T
    reach = float(r.max()) + swing
    low, high = float(z.min()) - swing, float(z.max()) + swing
    scale = (width_px - 1.2 * inks.text - right) / (2 * reach)
    top = 0.8 * inks.text
    return Sheet(
        inks=inks, width=width_px, height=round(2 * top + scale * (high - low), 1), axis_px=0.6 * inks.text + scale * reach,
        zero_px=top + scale * high, scale=scale, view=(-reach, reach, low, high),
    )  # fmt: skip


def _axis(sheet: Sheet) -> str:
    """The axis as a chain line (ISO 128-2, 04.1)."""
    x = sheet.axis_px
    return sheet.stroke(f"M{x:.1f} 0V{sheet.height:.1f}", cls="axis", more=' stroke-dasharray="14 3 2 3"')


def _lines(sheet: Sheet, mode: ShellMode, swing: float) -> list[str]:
    """Every line at rest, and at both ends of the motion."""
    thick, thin = sheet.inks.thick, sheet.inks.thin
    out: list[str] = []
    for at, cls, width, more in (
        (0.0, "rest", thin, ""),
        (-swing, "other", 0.45 * thick, ' stroke-dasharray="5 2.5"'),
        (swing, "moved", thick, ' stroke-linejoin="round"'),
    ):
        for places in _parts(mode, mode.places_m + at * mode.shape):
            both = "".join(sheet.path(corners(places), mirrored=side) for side in (False, True))
            out.append(sheet.stroke(both, cls=cls, width=width, more=more))
    return out


def _parts(mode: ShellMode, places: FloatArray) -> list[FloatArray]:
    ends = np.concatenate([[0], np.cumsum(mode.lines)])
    return [places[a:b] for a, b in pairwise(ends)]


def _ringed(sheet: Sheet, circles: Sequence[tuple[float, float]], right: float) -> list[str]:
    """Rings on the nodal circles, both sides; diameters beside the drawing, each with a thread to its ring."""
    text, inks = sheet.inks.text, sheet.inks
    drawn: list[str] = []
    for r, z in circles:
        for side in (-r, r):
            drawn.append(
                f'<circle class="node" cx="{sheet.x(side):.1f}" cy="{sheet.y(z):.1f}" r="{0.32 * text:.1f}" fill="{inks.paper}" '
                f'stroke="{inks.accent}" stroke-width="{0.8 * inks.thick:g}"/>'
            )
    ordered = sorted(circles, key=lambda place: -place[1])
    levels = spread_out([sheet.y(z) for _, z in ordered], 1.2 * text, 0.7 * text, sheet.height - 0.7 * text)
    edge = sheet.width - right + 1.6 * text
    for (r, z), y in zip(ordered, levels, strict=True):
        drawn.append(
            sheet.stroke(
                f"M{sheet.x(r) + 0.4 * text:.1f} {sheet.y(z):.1f}L{edge - 0.3 * text:.1f} {y:.1f}",
                cls="thread",
                width=0.6 * inks.thin,
            )
        )
        drawn.append(sheet.word(edge, y + 0.35 * text, f"⌀ {2e3 * r:.0f}", anchor="start", cls="x"))
    return drawn


def _at(mode: ShellMode) -> str:
    return format_value(mode.frequency_hz, None, "Hz")
