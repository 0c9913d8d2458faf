"""Charts of steels and magnets."""

import numpy as np
import pytest

from halfroll.materials.catalogue import catalogue
from halfroll.publish.materials import demagnetisation_chart, magnetisation_chart, temperatures_of
from halfroll.publish.render import to_svg
from halfroll.publish.theme import theme
from tests.publish.language import assert_valid

LOOK = {"theme": theme("light"), "width_px": 640}
KNOWN = catalogue()


def test_one_steel_with_its_band_and_the_end_of_its_table():
    """An unknown washer has a band about its curve; a table that ends inside the chart is hatched there."""
    spec = magnetisation_chart([KNOWN.steels["steel-unknown"]], **LOOK)
    assert_valid(spec)
    rows = [row for row in spec["datasets"]["curves"] if "lo" in row]
    assert rows
    assert all(row["lo"] <= row["y"] <= row["hi"] for row in rows)
    assert "95 %" in str(spec)
    assert "beyond the table" in str(magnetisation_chart([KNOWN.steels["steel-team13"]], **LOOK))
    assert "beyond the table" not in str(spec)


def test_steels_side_by_side():
    """Each is named by its key; the highest curve of TEAM 13 at 0.9 kA/m is at 1.5 T."""
    keys = ("steel-team13", "steel-1008", "steel-1010")
    spec = magnetisation_chart([KNOWN.steels[key] for key in keys], **LOOK)
    assert_valid(spec)
    assert [row["name"] for row in spec["datasets"]["names"]] == list(keys)
    first = [(row["x"], row["y"]) for row in spec["datasets"]["curves"] if row["s"] == 0]
    x, y = np.array(first).T
    assert float(np.interp(0.933, x, y)) == pytest.approx(1.5, abs=0.01)


def test_a_magnet_in_heat_and_a_ferrite_in_the_cold():
    """Temperatures that matter are drawn, each with a ring at its knee where that lies in the picture."""
    assert temperatures_of(KNOWN.magnets["n42"]) == (20.0, 50.0, 80.0)
    assert temperatures_of(KNOWN.magnets["y35"]) == (-40.0, 20.0, 100.0)
    for key in ("n42", "y35", "n42eh", "alnico-5"):
        spec = demagnetisation_chart(KNOWN.magnets[key], **LOOK)
        assert_valid(spec)
        assert "knee" in str(spec)
        assert "flat disc in free air" in str(spec)
    spec = demagnetisation_chart(KNOWN.magnets["n42"], **LOOK)
    assert len(spec["datasets"]["dots"]) == 3
    assert [row["name"] for row in spec["datasets"]["names"]][:3] == [
        "20\u202f°C",
        "50\u202f°C",
        "80\u202f°C",
    ]
    assert to_svg(spec).startswith("<svg")


def test_one_temperature_on_request():
    """Only that one is drawn."""
    spec = demagnetisation_chart(KNOWN.magnets["n42"], temperatures_c=[60.0], **LOOK)
    assert len(spec["datasets"]["dots"]) == 1
