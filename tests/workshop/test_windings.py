"""Windings of a version in a workshop, with the field of its motor."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import catalogue
from halfroll.motor.coil.windings import Target
from halfroll.motor.coil.wound import wind
from halfroll.motor.heat.coil import coil_heat
from halfroll.motor.placing.stack import assemble
from halfroll.workshop import DriverRecord, UnitRecord, VersionRecord, Workshop
from halfroll.workshop.coil_heat import heat_of_version, measured_rises
from halfroll.workshop.levels import start_power_log
from halfroll.workshop.motor_design import EXAMPLE
from halfroll.workshop.motors import load_design, load_motor, solve_version
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.parts import add_part, lookups
from halfroll.workshop.power_record import PowerRecord, PowerStepTable
from halfroll.workshop.windings import Asked, bl_of, placed, windings_for, windings_of, wires_of

ASKED = Asked(target=Target(ohm=4.0), wires=("cu-0.2",))


@pytest.fixture
def hide(tmp_path: Path) -> Workshop:
    """A workshop whose version dunlin/v1 has a motor and a coil."""
    workshop = Workshop.init(tmp_path / "hide", "Hide", durable=False)
    workshop.create_driver("dunlin", DriverRecord(title="Dunlin"))
    loaded = workshop.create_version("dunlin", "v1", VersionRecord(rated_impedance_ohm=4.0))
    loaded.path.write_text(loaded.path.read_text(encoding="utf-8") + "\n" + EXAMPLE, encoding="utf-8")
    return workshop


def test_bl_along_the_field_is_that_of_the_whole_section(hide: Workshop) -> None:
    """The field along the middle radius gives the design's own Bl within 0.5 % of the integral over its section."""
    pytest.importorskip("ngsolve")
    solved = solve_version(hide, "dunlin/v1")
    assert solved.motor is not None
    assert solved.motor.force_factor is not None
    winding = solved.assembly.winding
    assert winding is not None
    bl = bl_of(solved.assembly, solved.motor)(
        winding.r_inner, winding.r_outer, winding.z_low, winding.z_high, winding.turns
    )
    assert bl == pytest.approx(solved.motor.force_factor.at_rest, rel=5e-3)
    found = windings_for(hide, "dunlin/v1", ASKED)
    assert found.choices
    assert "field-not-solved" not in {v.code for v in found.verdicts}


def test_wires_by_key_beginning_and_metal(hide: Workshop) -> None:
    """All of copper by default; a beginning stands for all its wires; an unknown key is refused with the nearest."""
    known = catalogue()
    now = known.wires["cu-0.200-g1"]
    every = wires_of(known, (), now)
    assert {w.conductor.key for w in every} <= {"copper", "copper-winding"}
    assert all(w.core is None for w in every)
    assert {w.key for w in wires_of(known, ("cu-0.20",), now)} == {"cu-0.200-g1", "cu-0.200-g2"}
    clad = known.wires["cca15-0.200-g1"]
    assert clad.key in {w.key for w in wires_of(known, (), clad)}
    with pytest.raises(InputError, match="no wire of that key"):
        wires_of(known, ("string",), now)


def test_a_field_found_with_another_coil_keeps_its_radius(hide: Workshop) -> None:
    """1 T all along, read at the middle of the coil of 20.6 mm: a wider former since then changes turns, not the flux of a turn there."""
    before = load_motor(hide, "dunlin/v1")
    assert before.design.coil is not None
    wider = replace(before.design, coil=replace(before.design.coil, former_inner_m=20.8e-3))
    found: Any = SimpleNamespace(gap_z_m=np.array([-0.1, 0.1]), gap_b_t=np.array([1.0, 1.0]))
    answer = windings_of(wider, assemble(wider), ASKED, catalogue(), found, found_with=before.assembly)
    first = answer.choices[0]
    winding = before.assembly.winding
    assert winding is not None
    assert first.bl == pytest.approx(2 * np.pi * first.coil.turns * 0.5 * (winding.r_inner + winding.r_outer))


def test_the_whole_motor_and_its_travel_count(hide: Workshop) -> None:
    """The design asks for 4 mm: no less is offered. Its back plate lies 12 mm under the middle of the gap, so a coil with 8 mm of travel,
    20 mm high at least, meets it.
    """
    path = hide.folder / "drivers" / "dunlin" / "v1" / "version.toml"
    path.write_text(path.read_text().replace("[motor]", "[motor]\ntravel_mm = 4"))
    design = load_design(hide, "dunlin/v1")
    motor = placed(design)
    found = windings_of(design, motor, replace(ASKED, most=1000), catalogue(), None)
    assert found.choices
    assert all(choice.travel_m >= 4e-3 for choice in found.choices)
    far = windings_of(design, motor, replace(ASKED, travel_m=8e-3), catalogue(), None)
    assert not far.choices
    assert far.rejected["meets a part within the travel"] > 0


def test_a_log_of_the_saved_coil_puts_a_changed_one_right(hide: Workshop) -> None:
    """Measured was the saved coil: another one, half as high, gets the factor that log found and not its rise."""
    hide.create_unit("dunlin/v1", "01", UnitRecord())
    step = PowerStepTable(drive_v=4.0, hours=2.0, temperature_c=20.0, re_before_ohm=2.6, re_warm_ohm=3.0)
    record = PowerRecord(when=dt.datetime(2026, 7, 1, tzinfo=dt.UTC), steps=(step,))
    start_power_log(hide, "dunlin/v1/01", "endurance", record)
    motor = load_motor(hide, "dunlin/v1")
    assert motor.design.coil is not None
    factors = []
    for turns in (80, 40):
        coil = wind(replace(motor.design.coil, turns=turns))
        measured = heat_of_version(hide, "dunlin/v1", coil, motor.assembly).network
        estimated = coil_heat(coil, motor.assembly).network
        factors.append(measured.per_watt_k[0] / estimated.per_watt_k[0])
    assert factors[0] == pytest.approx(factors[1], rel=1e-9)


def test_rises_that_say_too_little_are_left_out(hide: Workshop) -> None:
    """A coil 8 K warmer says nothing; a rise has the doubt of its readings and 15 % of that of its power."""
    hide.create_unit("dunlin/v1", "01", UnitRecord())
    small = PowerStepTable(drive_v=2.0, hours=1.0, temperature_c=20.0, re_before_ohm=2.6, re_warm_ohm=2.68)
    large = PowerStepTable(drive_v=4.0, hours=1.0, temperature_c=20.0, re_before_ohm=2.6, re_warm_ohm=3.0)
    start_power_log(hide, "dunlin/v1/01", "endurance", PowerRecord(when=dt.datetime(2026, 7, 1, tzinfo=dt.UTC), steps=(small, large)))  # fmt: skip
    (rise,) = measured_rises(hide, "dunlin/v1")
    assert rise.power_w == pytest.approx(16.0 / 3.0)
    assert 0.15 < rise.u_rel < 0.3


def test_a_spool_stands_for_its_wire(hide: Workshop) -> None:
    """Of the same wire under the catalogue's key and under that of a spool one has, the spool is offered."""
    add_part(hide, "drawer", PartRecord(type="wire", catalogue="cu-0.200-g1"))
    known = lookups(hide)
    keys = [w.key for w in wires_of(known, (), known.wires["cu-0.200-g1"])]
    assert "drawer" in keys
    assert "cu-0.200-g1" not in keys
    assert "cu-0.200-g2" in keys


def test_a_coil_that_does_not_fit_leaves_the_bare_motor(hide: Workshop) -> None:
    """Eight layers do not go into the gap; the motor alone does, and what is wrong with its parts is still refused."""
    path = hide.folder / "drivers" / "dunlin" / "v1" / "version.toml"
    whole = path.read_text()
    path.write_text(whole.replace("layers = 2", "layers = 8"))
    assert placed(load_design(hide, "dunlin/v1")).winding is None
    with pytest.raises(InputError):
        load_motor(hide, "dunlin/v1")
    path.write_text(whole.replace("inner_mm = 22.4", "inner_mm = 19"))
    with pytest.raises(InputError):
        placed(load_design(hide, "dunlin/v1"))


def test_a_power_log_goes_before_the_estimate(hide: Workshop) -> None:
    """A unit's log: 4 V for two hours made 3.0 ohm of the coil's 2.6, a rise by hand of (3.0/2.6 - 1)/0.00393 + 20 K x 0 = 39.1 K at
    5.33 W. The heat of the version gives that rise after two hours, and says where it is from.
    """
    motor = load_motor(hide, "dunlin/v1")
    assert motor.design.coil is not None
    coil = wind(motor.design.coil)
    estimated = heat_of_version(hide, "dunlin/v1", coil, motor.assembly)
    assert estimated.network.source == "estimated"
    hide.create_unit("dunlin/v1", "01", UnitRecord())
    step = PowerStepTable(drive_v=4.0, hours=2.0, temperature_c=20.0, re_before_ohm=2.6, re_warm_ohm=3.0)
    brief = PowerStepTable(drive_v=8.0, hours=0.1, temperature_c=20.0, re_before_ohm=2.6, re_warm_ohm=3.6)
    cooler = PowerStepTable(drive_v=3.0, hours=1.0, temperature_c=20.0, re_before_ohm=2.6, re_warm_ohm=2.8)
    record = PowerRecord(when=dt.datetime(2026, 7, 1, tzinfo=dt.UTC), steps=(cooler, step, brief))
    start_power_log(hide, "dunlin/v1/01", "endurance", record)
    heat = heat_of_version(hide, "dunlin/v1", coil, motor.assembly)
    assert heat.network.source == "measured"
    rise = (3.0 / 2.6 - 1.0) / 0.00393
    assert heat.network.rises_k(16.0 / 3.0, np.array([7200.0]))[0, 0] == pytest.approx(rise, rel=1e-6)
    said = next(v for v in heat.verdicts if v.code == "heat-measured")
    assert said.data["run"] == "dunlin/v1/01/power/endurance"
    assert "heat-estimated" not in {v.code for v in heat.verdicts}
