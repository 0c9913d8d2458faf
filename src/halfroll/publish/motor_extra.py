"""Charts of forces in a motor: on the coil for currents of both signs, and on parts while it is put together."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.compare.types import Curve
from halfroll.core.levels import FloatArray
from halfroll.core.text import MINUS, THIN
from halfroll.motor.force.assembly_cautions import FINGER_N
from halfroll.motor.results import AssemblyForce, Modulation
from halfroll.publish.curves import NamedCurve
from halfroll.publish.hover import Readout
from halfroll.publish.scales import linear_axis, log_axis
from halfroll.publish.sketch import Sketch, drawn
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

_POINTS = 81


def force_per_current_chart(found: Modulation, *, theme: Theme, width_px: float) -> Spec:
    """Force over current against displacement at the largest current of either sign, between them Bl without current.

    What lies between the curves is the pull of the coil on the steel, which does not turn with the current: it makes
    second-harmonic distortion.
    """
    top = float(found.current_a[-1])
    pull = found.reluctance_n[-1] / top
    lines = {
        f"+{top:.2g}{THIN}A": found.bl[-1] + pull,
        f"0{THIN}A": found.bl[0],
        f"{MINUS}{top:.2g}{THIN}A": found.bl[-1] - pull,
    }
    curves = [_named(label, found.x_m, value, style) for style, (label, value) in enumerate(lines.items())]
    values = np.concatenate([named.curve.value for named in curves])
    quantity = "Force per ampere in N/A"
    low, high = 1e3 * float(found.x_m[0]), 1e3 * float(found.x_m[-1])
    letters = 5.0 * theme.sizes.text
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title="Force with current", quantity=quantity, zones=(),
            x=lambda px: linear_axis(low, high, title="Displacement, outwards +, in mm", count=max(2, int(px / letters))),
            y=linear_axis(min(0.0, float(values.min())), max(0.0, float(values.max())), title=quantity),
            height=lambda px: px / 2.2, readout=Readout(number=".3f", unit=" N/A"),
            notes=("steady currents; eddy currents bring the curves together as frequency rises",),
        )
    )  # fmt: skip


def pull_chart(forces: Sequence[AssemblyForce], *, theme: Theme, width_px: float) -> Spec:
    """Force on every part over the distance it still has to go, which is logarithmic: the last millimetres matter most.

    Parts whose force is not known are left out; at least one must be known. Where one is strong enough to hurt a finger,
    that force is drawn as a line.
    """
    known = [force for force in forces if force.force_n.size]
    curves = [_pull(force, style) for style, force in enumerate(known)]
    values = np.concatenate([force.force_n for force in known])
    reach = np.concatenate([force.distance_m for force in known]) * 1e3
    notes = ["above 0: pulled to its place"] if values.min() < 0.0 else []
    if values.max() > 0.5 * FINGER_N:
        ends = np.array([reach.min(), reach.max()])
        line = Curve(frequency_hz=ends, value=np.full(2, FINGER_N), valid_from_hz=0.0)
        curves.append(NamedCurve(label=f"hurts a finger, {FINGER_N:g}{THIN}N", curve=line, style=4))
        values = np.append(values, FINGER_N)
    return drawn(
        Sketch(
            curves=curves, theme=theme, width_px=width_px, title="Force while it is put together", quantity="Force in N", zones=(),
            x=lambda px: log_axis(reach, title="Distance still to go in mm"),
            y=linear_axis(min(0.0, float(values.min())), float(max(values.max(), 0.0)), title="Force in N"),
            height=lambda px: px / 2.2, readout=Readout(number=".3r", unit=" N"), notes=tuple(notes),
        )
    )  # fmt: skip


def _pull(force: AssemblyForce, style: int) -> NamedCurve:
    """Force over distance in mm, smooth over its logarithm and without overshoot."""
    distance, value = 1e3 * force.distance_m, force.force_n
    if len(distance) > 2:
        from scipy.interpolate import PchipInterpolator

        fine = np.geomspace(distance[0], distance[-1], _POINTS)
        distance, value = fine, np.asarray(PchipInterpolator(np.log(distance), value)(np.log(fine)))
    curve = Curve(frequency_hz=distance, value=value, valid_from_hz=0.0)
    return NamedCurve(label=force.body, style=style, source="measured", curve=curve)


def _named(label: str, x_m: FloatArray, value: FloatArray, style: int) -> NamedCurve:
    """A smooth curve through computed points, where there are enough of them."""
    x, y = x_m, value
    if len(x_m) > 3:
        from scipy.interpolate import CubicSpline

        x = np.linspace(x_m[0], x_m[-1], _POINTS)
        y = CubicSpline(x_m, value)(x)
    curve = Curve(frequency_hz=1e3 * x, value=np.asarray(y), valid_from_hz=-np.inf)
    return NamedCurve(label=label, style=style, source="measured", curve=curve)
