"""The front of a cabinet to scale, with the driver in it: what a person typed, to be checked by eye.

Lines follow ISO 128-2: continuous for what is there, long-dashed dotted for centre lines, narrow for dimensions (ISO 129-1).
"""

from __future__ import annotations

from html import escape

from halfroll.acoustics.baffle import Baffle

_LONGEST = 200.0
"""Length of the longer side on the sheet."""
_SIDE, _FOOT = 44.0, 34.0
"""Room for the dimensions left of and below the front."""


def front_drawing(baffle: Baffle, radius_m: float | None) -> str:
    """SVG of a front with its driver at scale, dimensions in centimetres; without a radius only the driver's centre."""
    k = _LONGEST / max(baffle.width_m, baffle.height_m)
    width, height = k * baffle.width_m, k * baffle.height_m
    x, y = k * baffle.x_m, height - k * baffle.y_m
    radius = 0.0 if radius_m is None else k * radius_m
    reach = max(radius, 4.0) + 5.0
    lines = [
        f'<path class="outline solid" d="M0 0H{width:.1f}V{height:.1f}H0Z"/>',
        f'<circle class="outline solid" cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}"/>' if radius else "",
        f'<path class="centre" d="M{x - reach:.1f} {y:.1f}H{x + reach:.1f}M{x:.1f} {y - reach:.1f}V{y + reach:.1f}"/>',
        _across(0.0, x, height, 12.0, 100 * baffle.x_m),
        _across(0.0, width, height, 28.0, 100 * baffle.width_m),
        _up(y, height, 12.0, 100 * baffle.y_m),
        _up(0.0, height, 30.0, 100 * baffle.height_m),
    ]
    over = radius_m is not None and radius_m > baffle.to_edge_m
    label = (
        f"Front {100 * baffle.width_m:.3g} by {100 * baffle.height_m:.3g} cm, driver's centre {100 * baffle.x_m:.3g} cm from the left "
        f"and {100 * baffle.y_m:.3g} cm from below" + (", cone over the edge" if over else "")
    )
    box = f"{-_SIDE:.0f} -6 {width + _SIDE + 8:.0f} {height + _FOOT + 10:.0f}"
    return (
        f'<svg class="section" viewBox="{box}" role="img" aria-label="{escape(label)}" '
        f'xmlns="http://www.w3.org/2000/svg">{"".join(lines)}</svg>'
    )


def _across(left: float, right: float, foot: float, below: float, centimetres: float) -> str:
    y = foot + below
    return (
        f'<path class="narrow" d="M{left:.1f} {foot + 2:.1f}V{y + 2:.1f}M{right:.1f} {foot + 2:.1f}V{y + 2:.1f}'
        f'M{left:.1f} {y:.1f}H{right:.1f}"/><text class="dimension" x="{(left + right) / 2:.1f}" y="{y - 2:.1f}" '
        f'text-anchor="middle">{centimetres:.3g}</text>'
    )


def _up(top: float, foot: float, aside: float, centimetres: float) -> str:
    middle = (top + foot) / 2
    return (
        f'<path class="narrow" d="M-2 {top:.1f}H{-aside - 2:.1f}M-2 {foot:.1f}H{-aside - 2:.1f}M{-aside:.1f} {top:.1f}V{foot:.1f}"/>'
        f'<text class="dimension" transform="translate({-aside - 2:.1f} {middle:.1f}) rotate(-90)" text-anchor="middle">'
        f"{centimetres:.3g}</text>"
    )
