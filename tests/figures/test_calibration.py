"""What of a rig's calibration reaches a figure: by formula, with takes whose readings are given."""

import numpy as np
import pytest

from halfroll.core.uncertainty import Sources
from halfroll.figures.combine import version_figures
from halfroll.figures.types import FigureSettings
from tests.figures.make import make_take

DB = 20.0 / np.log(10.0)
"""Decibels of a relative change of one, to first order."""


def impedance(ohms: float = 4.0, version: str = "dunlin/1", sources: Sources | None = None, **more: object):  # type: ignore[no-untyped-def]
    """The estimate of the impedance minimum from four takes of two units."""
    takes = [
        make_take(
            unit, n, {"impedance_min_ohm": ohms}, version=version, voltage_u_db=0.1, current_u_db=0.2, **more
        )  # type: ignore[arg-type]
        for unit in ("01", "02")
        for n in (1, 2)
    ]
    return version_figures(takes, FigureSettings(), version_id=version, sources=sources)["impedance_min_ohm"]


def test_voltage_and_current_by_two_meters() -> None:
    """0.1 and 0.2 dB: the modulus is known to the root of the sum of squares, 2.6 %."""
    assert impedance().figure.u_calibration == pytest.approx(4.0 * np.hypot(0.1, 0.2) / DB, rel=1e-6)


def test_one_meter_for_both() -> None:
    """The meter's error is in voltage and current and leaves the impedance; the resistor's 0.2 dB stay."""
    assert impedance(current_shares_voltage=True).figure.u_calibration == pytest.approx(
        4.0 * 0.2 / DB, rel=1e-6
    )


def test_one_calibration_cancels_between_versions_and_two_do_not() -> None:
    """Two versions of one impedance on one calibration: no part of it is left in their difference; with another one both are."""
    sources = Sources()
    first = impedance(sources=sources, calibration_dates=("", "2026-01-10", "2026-01-10")).quantity
    same = impedance(
        version="dunlin/2", sources=sources, calibration_dates=("", "2026-01-10", "2026-01-10")
    ).quantity
    anew = impedance(
        version="dunlin/3", sources=sources, calibration_dates=("", "2026-03-20", "2026-03-20")
    ).quantity
    share = 4.0 * np.hypot(0.1, 0.2) / DB
    assert (same - first).std_dev == pytest.approx(0.0, abs=1e-9)
    assert (anew - first).std_dev == pytest.approx(np.sqrt(2) * share, rel=1e-6)


def test_a_level_does_not_care_for_the_current() -> None:
    """Sensitivity takes microphone and voltage, 0.3 and 0.1 dB, and nothing of the current."""
    take = make_take(
        "01", 1, {"sensitivity_db": 85.0}, microphone_u_db=0.3, voltage_u_db=0.1, current_u_db=1.0
    )
    figure = version_figures([take], FigureSettings())["sensitivity_db"].figure
    assert figure.u_calibration == pytest.approx(np.hypot(0.3, 0.1), rel=1e-6)
