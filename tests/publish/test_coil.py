"""Tables and charts of a coil say what the library found."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace

import numpy as np
import pytest

from halfroll.core.text import THIN
from halfroll.motor.coil.clearance import clearance
from halfroll.motor.coil.gap_field import in_gap_only
from halfroll.motor.coil.windings import Room, Target, windings_that_fit
from halfroll.motor.coil.wound import wind
from halfroll.motor.heat.coil import coil_heat
from halfroll.motor.placing.stack import assemble
from halfroll.publish.coil_heat import bearable_chart, warming_chart
from halfroll.publish.coil_json import clearance_dict, coil_dict, heat_dict, windings_dict
from halfroll.publish.coil_rows import (
    clearance_rows,
    coil_rows,
    heat_rows,
    limit_rows,
    path_rows,
    winding_rows,
)
from halfroll.publish.theme import theme
from tests.motor.designs import WIRE, a2_with_coil, coil
from tests.publish.language import assert_valid

DESIGN = a2_with_coil()
MOTOR = assemble(DESIGN)
COIL = wind(coil(20.5))
HEAT = coil_heat(COIL, MOTOR)
ROOM = clearance(COIL, MOTOR.gap, coil_c=60.0, motor_c=45.0)
FITTING = windings_that_fit(coil(20.5), Room(gap=MOTOR.gap), [WIRE], Target(ohm=1.2), in_gap_only(MOTOR.gap), field_solved=False)  # fmt: skip


def test_coil_rows_carry_the_numbers() -> None:
    """The masses of the row add up to the mass of the coil."""
    rows = dict(coil_rows(COIL).rows)
    assert rows["Turns"] == "40 in 2 layers (20, 20), stacked"
    assert rows["DC resistance at 20\u202f°C, with leads"].startswith("0.98")
    assert rows["Wire in the winding and to buy"] == f"2.70{THIN}m, buy 4{THIN}m"
    masses = [float(x) for x in re.findall(r"\d\.\d\d", rows["of it metal, enamel, glue, former"])]
    assert sum(masses) == pytest.approx(1e3 * COIL.mass_kg, abs=0.02)


def test_clearance_rows_name_both_parts() -> None:
    """Each side by its two parts, in millimetres."""
    rows = clearance_rows(ROOM)
    assert [row[0] for row in rows.rows] == ["former and pole plate", "winding and cup wall"]
    assert rows.rows[0][1] == f"0.25{THIN}mm"
    assert "runout ±0.10" in rows.notes[0]


def test_heat_rows_name_what_gives_way() -> None:
    """Times, and the part with the temperature that counts for that time."""
    rows = heat_rows(HEAT)
    assert [row[0] for row in rows.rows] == [f"for 1{THIN}s", f"for 10{THIN}s", f"for 1{THIN}min", "for ever"]
    assert rows.rows[-1][3] == f"former of PETG at 60{THIN}°C"
    assert rows.rows[0][3] == f"former of PETG at 80{THIN}°C"
    assert limit_rows(HEAT).rows[0][0] == "former of PETG"
    assert any("outwards" in row[0] for row in path_rows(HEAT).rows)
    assert path_rows(replace(HEAT, paths=None)).rows == ()


def test_winding_rows_say_why() -> None:
    """Each row ends with its reason; without a field Bl is per tesla."""
    rows = winding_rows(FITTING)
    assert rows.head[-1] == "Why here"
    assert "Bl, per tesla" in rows.head
    assert all(row[-1].endswith(".") for row in rows.rows)
    assert any(note.startswith("Left out: ") for note in rows.notes)


def test_json_keys_carry_units_and_are_plain() -> None:
    """Everything goes through JSON unchanged, and no length or power is without its unit."""
    for made in (coil_dict(COIL), clearance_dict(ROOM), heat_dict(HEAT), windings_dict(FITTING)):
        assert json.loads(json.dumps(made)) == made
    assert heat_dict(HEAT)["continuous"]["seconds"] is None
    assert heat_dict(HEAT)["continuous"]["power_w"]["value"] == HEAT.continuous.power_w
    assert (
        heat_dict(replace(HEAT, network=replace(HEAT.network, coil_to_air_k_w=math.inf)))["network"][
            "coil_to_air_k_w"
        ]
        is None
    )
    assert coil_dict(COIL)["winding_height_mm"] == pytest.approx(6.0)


@pytest.mark.parametrize("width", [360.0, 900.0])
@pytest.mark.parametrize("look", ["light", "dark", "print"])
def test_charts_hold_what_was_computed(width: float, look: str) -> None:
    """The drawn coil ends where the network's steady rise says, within a chart's last hour; the limit is a line of its own."""
    spec = warming_chart(HEAT, HEAT.continuous.power_w, theme=theme(look), width_px=width)
    assert_valid(spec)
    text = json.dumps(spec, ensure_ascii=False)
    assert f"former of PETG 60{THIN}°C" in text
    assert "Time in s" in text
    curves = next(rows for name, rows in spec["datasets"].items() if name == "curves")
    ends = [row["y"] for row in curves if row["s"] == 0 and row.get("y") is not None]
    assert max(ends) == pytest.approx(60.0, abs=1.0)
    assert min(ends) == pytest.approx(20.0, abs=0.5)
    borne = bearable_chart(HEAT, theme=theme(look), width_px=width)
    assert_valid(borne)
    assert "the step at 60" in json.dumps(borne)


def test_the_step_is_only_said_where_it_is() -> None:
    """With an aluminium former nothing has a brief limit, so there is no step."""
    from halfroll.materials.catalogue import catalogue

    metal = coil_heat(wind(replace(coil(20.5), former=catalogue().conductors["aluminium"])), MOTOR)
    assert "the step at 60" not in json.dumps(bearable_chart(metal, theme=theme("light"), width_px=600.0))
    seen = metal.warming(1.0, np.array([1e5]))
    assert seen.celsius[0, 0] == pytest.approx(20.0 + metal.network.per_watt_k[0], rel=1e-3)
