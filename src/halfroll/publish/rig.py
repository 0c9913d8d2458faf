"""Charts of a rig: the correction curve of its microphone."""

from __future__ import annotations

import numpy as np

from halfroll.compare.types import Curve
from halfroll.measure.rig.correction import Correction
from halfroll.publish.charts import frequency_chart
from halfroll.publish.curves import NamedCurve
from halfroll.publish.hatch import Limit
from halfroll.publish.hover import Readout
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme

AUDIBLE_HZ = (20.0, 20_000.0)
NORMAL_95 = 1.96
STEPS_DB = (2.0, 4.0, 6.0, 10.0, 20.0, 30.0)
"""Ends of the level axis that are used."""


def correction_chart(correction: Correction, *, theme: Theme, width_px: float) -> Spec:
    """What the microphone reads too high over frequency; where the curve ends, the chart is hatched."""
    low, high = correction.range_hz
    half = NORMAL_95 * correction.u_db if correction.u_db else None
    level = correction.level_db
    curve = Curve(
        frequency_hz=correction.frequency_hz, value=level, low=None if half is None else level - half,
        high=None if half is None else np.asarray(level + half), valid_from_hz=low, valid_to_hz=high,
    )  # fmt: skip
    zones = [Limit(to_x=low, word="not corrected"), Limit(from_x=high, word="not corrected")]
    most = float(np.abs(level).max()) + (half or 0.0)
    edge = next((step for step in STEPS_DB if step >= most), STEPS_DB[-1])
    return frequency_chart(
        [NamedCurve(label="microphone", curve=curve)], theme=theme, width_px=width_px, title="Correction curve",
        quantity="Reads too high by, in dB", range_hz=AUDIBLE_HZ, y_range=(-edge, edge), marks=(-edge, -edge / 2, 0.0, edge / 2, edge),
        readout=Readout(number="+.2f", unit=" dB"), zones=zones, band_note="shaded: 95 % band",
    )  # fmt: skip
