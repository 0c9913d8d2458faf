"""Charts of a rig, and the marks a correction curve leaves in the charts of a take."""

from dataclasses import replace

import numpy as np
import pytest

from halfroll.measure.rig.correction import Correction
from halfroll.publish.rig import correction_chart
from halfroll.publish.take import take_charts
from halfroll.publish.theme import theme
from tests.figures.make import make_response


def words(spec):
    """Every text in a specification."""
    return str(spec)


def test_the_curve_is_drawn_where_it_is_known():
    """Both ends outside the curve are hatched and say so."""
    curve = Correction(frequency_hz=np.geomspace(100, 9000, 30), level_db=np.linspace(-1, 3.0, 30), u_db=0.2)
    spec = correction_chart(curve, theme=theme("light"), width_px=640)
    assert words(spec).count("not corrected") >= 2
    assert "95 % band" in words(spec)


@pytest.mark.parametrize(
    ("corrected", "marked"), [(None, False), ((20.0, 20_000.0), False), ((1000.0, 20_000.0), True)]
)
def test_a_take_marks_where_nothing_was_corrected(corrected, marked):
    """Only where the curve ends inside what was measured."""
    response = replace(make_response(), corrected_hz=corrected)
    charts = take_charts(response, theme=theme("light"), width_px=640)
    for key in ("level", "harmonics"):
        assert ("microphone not corrected" in words(charts[key])) is marked
