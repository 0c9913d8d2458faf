"""Causes of distortion from the command line: printed, as an object, as a picture, and what is said of a driver without curves."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from tests.cli.test_predict import record
from tests.cli.test_windings import described_all

__all__ = ["record"]

CURVES = "x_mm,bl_n_per_a,kms_n_per_mm,le_mh\n" + "\n".join(
    f"{x},{6.0 * (1 - 0.01 * x * x + 0.01 * x):.4f},{2.0 * (1 + 0.02 * x * x - 0.01 * x):.4f},{0.4 * (1 - 0.03 * x):.4f}"
    for x in range(-5, 6)
)


@pytest.fixture
def bent(record):
    """The same version with curves over displacement."""
    record.with_name("curves.csv").write_text(CURVES)
    record.write_text(record.read_text().rstrip() + '\ncurves = "curves.csv"\n')
    return record


def test_causes_of_a_driver_with_curves(workshop, bent, say, ask, tmp_path) -> None:
    """Sentences and table; the object as described, shares adding up; the picture beside the curves'."""
    picture = tmp_path / "drawn.svg"
    code, out, _ = say("--workshop", workshop, "predict", "dunlin/v1", "--causes", "--svg", picture)
    assert code == 0
    for words in ("Even orders (2 and 4) are", "Causes of distortion", "together"):
        assert words in out, words
    assert ET.parse(tmp_path / "drawn-causes.svg").getroot().tag.endswith("svg")
    found = ask("--workshop", workshop, "predict", "dunlin/v1", "--causes")["causes"]
    assert found.keys() == described_all("causes of distortion")
    assert sum(found["even"]["band_share_percent"].values()) == pytest.approx(100.0)
    louder = ask("--workshop", workshop, "predict", "dunlin/v1", "--causes", "--level", "2")["causes"]
    assert louder["level_w"] == 2.0
    assert louder["thd_percent"][10] > found["thd_percent"][10]


def test_a_driver_without_curves_is_refused(workshop, record, say) -> None:
    """Constant Bl, Kms and Le make no distortion: said, with what to do."""
    code, _, err = say("--workshop", workshop, "predict", "dunlin/v1", "--causes")
    assert code == 2
    assert "makes no distortion" in err
