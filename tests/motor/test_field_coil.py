"""A real motor excited by a field coil, from its author's geometry (tests/references/maker_driver_F144), against his data sheet.

The steel is named 1006 without a B-H curve, the copper ring he mentions is not drawn, and how he measured is not stated: published
curves of mild steel span what is possible, nothing is tuned, and the deviation is printed.
"""

import csv
import math
import sys
from pathlib import Path

import numpy as np
import pytest

from halfroll.materials.catalogue import catalogue
from halfroll.motor.types import FieldCoil, SoftSteel
from tests.motor.bodies import body, field_of, linkage

GEOMETRY = Path(__file__).parents[1] / "references" / "maker_driver_F144" / "motor_geometry.csv"
SHEET_T = (0.95, 1.03, 1.05)
TURNS = 2600
PARTS = {
    "back plate": (0, 1, 3, 2),
    "core": (2, 4, 5, 6, 7, 8, 9, 10, 11),
    "shell": (12, 3, 14, 13, 19),
    "top plate": (18, 13, 14, 15, 16, 17),
    "field coil": (4, 12, 19, 5),
}


def parts(steel, current_a=1.0, chords=24):
    """The bodies, every arc cut into chords. An arc of 90 degrees in 24 lies 0.05 % of its radius inside."""
    rows = list(csv.DictReader(GEOMETRY.read_text().splitlines()))
    node = {int(row["a"]): (float(row["b"]), float(row["c"])) for row in rows if row["kind"] == "node"}
    arcs = {
        (int(row["a"]), int(row["b"])): math.radians(float(row["c"])) for row in rows if row["kind"] == "arc"
    }
    found = []
    for name, corners in PARTS.items():
        around = []
        for a, b in zip(corners, (*corners[1:], corners[0]), strict=True):
            around.append(node[a])
            if (a, b) in arcs:
                around += arc(node[a], node[b], arcs[a, b], chords)
        matter = (
            FieldCoil(turns=TURNS, current_a=current_a) if name == "field coil" else SoftSteel(steel=steel)
        )
        found.append(body(name, matter, *around))
    return found


def arc(start, end, angle, chords):
    """Points between the ends of an arc that runs anticlockwise."""
    (x0, y0), (x1, y1) = start, end
    off = 0.5 / math.tan(angle / 2)
    cx, cy = 0.5 * (x0 + x1) - off * (y1 - y0), 0.5 * (y0 + y1) + off * (x1 - x0)
    first, radius = math.atan2(y0 - cy, x0 - cx), math.hypot(x0 - cx, y0 - cy)
    turns = [first + angle * k / chords for k in range(1, chords)]
    return [(cx + radius * math.cos(t), cy + radius * math.sin(t)) for t in turns]


def gap_mean(field):
    """Mean radial flux density (T) over the gap, 14 mm between 30 and 32.6 mm diameter."""
    x, w = np.polynomial.legendre.leggauss(40)
    z = 1e-3 * (134.0 + 7.0 * x)
    r = 1e-3 * np.array([15.2, 15.65, 16.1])
    b = field.flux_density(r[:, None], z[None, :])[..., 0]
    return float((b @ (0.5 * w) * r).sum() / r.sum())


@pytest.mark.parametrize("key", ["steel-team13", "steel-1008", "steel-1010"])
def test_gap_flux_density_of_a_real_field_coil_motor(key, record_property, capsys):
    """Within 20 % for any mild steel; the deviation itself is shown, not tuned."""
    field = field_of(*parts(catalogue().steels[key]), refinement=2.0)
    found = gap_mean(field)
    off = 100.0 * (found / SHEET_T[1] - 1.0)
    record_property("deviation_percent", off)
    with capsys.disabled():
        sys.stdout.write(f"\n{key}: gap {found:.3f} T, {off:+.1f} % of the data sheet's typical {SHEET_T[1]} T; "
                         f"field coil {linkage(field, 4):.1f} H at rest (the sheet's 0.4 H is at 1 kHz, where eddy currents rule)\n")  # fmt: skip
    assert found == pytest.approx(SHEET_T[1], rel=0.2)


def test_the_spread_of_mild_steels_reaches_the_data_sheet():
    """The poorest published curve comes out inside the data sheet's range, the best one above it: the sheet's 1.05 T at most."""
    best, worst = (
        gap_mean(field_of(*parts(catalogue().steels[key]), refinement=2.0))
        for key in ("steel-team13", "steel-1010")
    )
    assert SHEET_T[0] < worst < SHEET_T[2] < best


def test_flux_follows_the_current_until_the_pole_is_full():
    """Twice the current gives far less than twice the flux: the pole's neck carries 2 T."""
    steel = catalogue().steels["steel-1008"]
    one, two = (gap_mean(field_of(*parts(steel, current_a=i), refinement=2.0)) for i in (1.0, 2.0))
    assert 1.02 * one < two < 1.5 * one
