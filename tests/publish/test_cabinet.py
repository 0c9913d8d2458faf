"""Cabinets in pictures and words: the drawing to scale, charts of what there is, rows."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from halfroll.acoustics.baffle import Baffle
from halfroll.acoustics.cabinet.port import Port, length_for
from halfroll.acoustics.cabinet.stuffing import Stuffing
from halfroll.acoustics.cabinet.types import Box, Cabinet, Radiator
from halfroll.driver.boxed_suggest import suggest
from halfroll.driver.boxed_wish import Wish
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.publish.cabinet import cabinet_charts
from halfroll.publish.cabinet_drawing import cabinet_svg
from halfroll.publish.cabinet_rows import cabinet_figures, report_dict, suggestion_rows
from halfroll.publish.theme import theme
from halfroll.workshop.cabinet_report import cabinet_report

BOX = Box(width_m=0.2, height_m=0.3, depth_m=0.16)
DRIVER = DriverModel(
    Re=6.0, Mms=12e-3, Rms=1.0, Sd=133e-4, Bl=(6.0,), K=(1 / 0.9e-3,), Le=(2e-5,), x_range=(-5e-3, 5e-3)
)


def _vented() -> Cabinet:
    port = Port.round(0.04, length_for(0.009, 50.0, math.pi * 0.02**2))
    return Cabinet(
        kind="vented",
        gross_m3=BOX.volume_m3,
        inside=BOX,
        port=port,
        front=Baffle(width_m=0.21, height_m=0.31, x_m=0.105, y_m=0.155),
    )


def _predicted() -> PredictedDriver:
    return PredictedDriver(model=DRIVER, assumptions=(), slopes=np.zeros((0, 20)), values=())


def test_drawing_is_to_scale() -> None:
    """Inside width and depth in the picture over millimetres are one scale, which the picture says."""
    svg = cabinet_svg(_vented(), wall_m=5e-3, cone_radius_m=0.065, theme=theme("light"), width_px=500)
    root = ET.fromstring(svg)
    scale = float(root.attrib["data-px-per-mm"])
    lines = [float(x) for x in re.findall(r"M(-?[\d.]+) [\d.]+V", svg)]
    assert min(abs(abs(a - b) - 200 * scale) for a in lines for b in lines) < 0.15
    assert ">200<" in svg
    assert ">160<" in svg
    assert "⌀" in svg
    assert "port of" in root.attrib["aria-label"]


@pytest.mark.parametrize("kind", ["closed", "radiator", "volume"])
def test_other_drawings(kind: str) -> None:
    """Stuffing, passive radiator, and one of which only the volume is known."""
    radiator = Radiator(mass_kg=0.03, compliance_m_n=1e-3, resistance=0.5, area_m2=6e-3)
    cabinet = {
        "closed": Cabinet(
            kind="closed", gross_m3=BOX.volume_m3, inside=BOX, stuffing=Stuffing(packing_kg_m3=8.0)
        ),
        "radiator": Cabinet(kind="passive-radiator", gross_m3=BOX.volume_m3, inside=BOX, radiator=radiator),
        "volume": Cabinet(kind="closed", gross_m3=0.004),
    }[kind]
    svg = cabinet_svg(cabinet, theme=None, width_px=300)
    ET.fromstring(svg)
    wanted = {
        "closed": 'data-part="stuffing"',
        "radiator": 'data-part="radiator"',
        "volume": "drawn as a cube",
    }[kind]
    assert wanted in svg


def test_charts() -> None:
    """What there is of each cabinet, and nothing without a driver."""
    report = cabinet_report(_vented(), _predicted(), volts=4.0)
    charts = cabinet_charts(report, theme=theme("print"), width_px=700)
    assert list(charts) == ["level", "travel", "port", "delay", "impedance"]
    assert "infinite baffle" in str(charts["level"])
    assert "with its edges" in str(charts["level"])
    closed = cabinet_report(Cabinet(kind="closed", gross_m3=0.009), _predicted())
    assert "port" not in cabinet_charts(closed, theme=theme("print"), width_px=700)
    assert cabinet_charts(cabinet_report(_vented(), None), theme=theme("print"), width_px=700) == {}


def test_figures_and_rows() -> None:
    """Figures carry number and unit; suggestions say why, or what they miss."""
    report = cabinet_report(_vented(), _predicted(), volts=4.0)
    shown = {one.key: one for one in cabinet_figures(report)}
    assert shown["tuning_hz"].behind == "Hz"
    assert float(shown["net_l"].number) == pytest.approx(1e3 * _vented().net_m3, rel=0.01)
    assert report_dict(report)["figures"]["f3_hz"]["value"] == pytest.approx(shown["f3_hz"].value)
    closed = cabinet_report(Cabinet(kind="closed", gross_m3=0.009), _predicted())
    qtc = next(one for one in cabinet_figures(closed) if one.key == "qtc")
    # 0.52164 √(1 + Vas/V) with Vas 22.593 l in air of 20 °C
    assert (qtc.number, qtc.behind) == ("0.977", "")
    rows = suggestion_rows(suggest(DRIVER, Wish(most_m3=0.02)))
    assert rows.rows
    assert all(len(row) == len(rows.head) and row[-1] for row in rows.rows)
