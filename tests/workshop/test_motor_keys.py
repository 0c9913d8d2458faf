"""What a kept result of a motor depends on: everything that changes it asks for it anew, and nothing else does."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halfroll.core.progress import Progress, silent
from halfroll.motor.coil.wound import wind
from halfroll.motor.field.study import StudySettings
from halfroll.motor.results import Modulation
from halfroll.workshop import DriverRecord, VersionRecord, Workshop
from halfroll.workshop import index as index_file
from halfroll.workshop import jobs as code
from halfroll.workshop import motor_studies as doors
from halfroll.workshop.index import Index, Result
from halfroll.workshop.material_record import MagnetTable, MaterialRecord, SteelTable
from halfroll.workshop.motor_design import EXAMPLE
from halfroll.workshop.motor_studies import Case, Want
from halfroll.workshop.motors import case_of, load_motor, solve
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.parts import (
    add_material,
    add_part,
    add_steel,
    load_material,
    load_part,
    save_material,
    save_part,
)

MM = 1e-3
WANTS: tuple[Want, ...] = ("field", "inductance", "modulation", "forces")
TABLE = "h_a_m,b_t\n0,0\n200,0.4\n500,1.0\n1000,1.3\n5000,1.6\n20000,1.9\n100000,2.2\n"


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """A version whose motor is of a magnet grade, a steel and a plate of one's own."""
    workshop = Workshop.init(tmp_path / "shop", "Shop", durable=False)
    workshop.create_driver("knot", DriverRecord(title="Knot"))
    table = tmp_path / "iron.csv"
    table.write_text(TABLE, encoding="utf-8")
    add_steel(workshop, "iron", table, MaterialRecord(title="Iron", steel=SteelTable(table="iron.csv")))
    add_material(workshop, "ours", MaterialRecord(title="Ours", magnet=MagnetTable(like="y30")))
    add_part(workshop, "plate", PartRecord(
        type="other", shape="ring", outer_mm=56, inner_mm=22.4, height_mm=4, material="iron", price=5.0, currency="EUR",
        date=dt.date(2026, 6, 1),
    ))  # fmt: skip
    loaded = workshop.create_version("knot", "v1", VersionRecord(title="One"))
    own = EXAMPLE.replace('"y30"', '"ours"').replace(
        'shape = "ring"\nouter_mm = 56\ninner_mm = 22.4\nheight_mm = 4\nmaterial = "steel-1008"',
        'part = "plate"',
    )
    assert 'part = "plate"' in own
    loaded.path.write_text(loaded.path.read_text() + "\n" + own, encoding="utf-8")
    return workshop


def keys(workshop: Workshop) -> dict[Want, str]:
    """The keys of all studies of the version, for the workshop opened anew."""
    case = case_of(Workshop.open(workshop.folder), "knot/v1")
    return {want: case.key(want) for want in WANTS}


def steel_table(workshop: Workshop) -> None:
    """One point of the CSV file 0.01 T higher."""
    path = workshop.folder / "materials" / "iron.csv"
    path.write_text(TABLE.replace("1000,1.3", "1000,1.31"), encoding="utf-8")


def magnet_grade(workshop: Workshop) -> None:
    """Another remanence of one's own grade."""
    loaded = load_material(workshop, "ours")
    save_material(workshop, loaded, loaded.record.changed(magnet=MagnetTable(like="y30", br_t=0.4)))


def plate_size(workshop: Workshop) -> None:
    """The plate in the drawer is 0.1 mm lower."""
    loaded = load_part(workshop, "plate")
    save_part(workshop, loaded, loaded.record.changed(height_mm=3.9))


def temperature(workshop: Workshop) -> None:
    """The magnets are warm."""
    path = workshop.version("knot/v1").path
    path.write_text(path.read_text().replace("[motor]", "[motor]\ntemperature_c = 60"), encoding="utf-8")


@pytest.mark.parametrize("change", [steel_table, magnet_grade, plate_size, temperature])
def test_every_study_is_made_anew(shop: Workshop, change: Callable[[Workshop], None]) -> None:
    """A value of a material, the file of a steel, a part's size, a temperature: no study's result is kept."""
    before = keys(shop)
    assert keys(shop) == before
    change(shop)
    after = keys(shop)
    assert all(after[want] != before[want] for want in WANTS)


def test_a_price_changes_no_study(shop: Workshop) -> None:
    """What a part costs is not in the field."""
    before, loaded = keys(shop), load_part(shop, "plate")
    save_part(shop, loaded, loaded.record.changed(price=6.0, stock=2.0))
    assert keys(shop) == before


def test_code_and_solver_count(shop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Results of other code, or of another release of the finite-element library, are not taken for results of this."""
    before = keys(shop)
    monkeypatch.setattr(doors, "code_of", lambda *rooms: code.code_of(*rooms) + "x")
    other_code = keys(shop)
    monkeypatch.undo()
    monkeypatch.setattr(doors, "solver_release", lambda: "another")
    other_solver = keys(shop)
    assert not set(before.values()) & {*other_code.values(), *other_solver.values()}


def test_modulation_knows_the_current_it_goes_up_to(shop: Workshop) -> None:
    """Wire of aluminium as thick as that of copper fills the same rectangle, but its resistance sets another current."""
    motor = load_motor(shop, "knot/v1")
    coil = motor.design.coil
    assert coil is not None
    clad = replace(
        coil, wire=replace(coil.wire, conductor=replace(coil.wire.conductor, resistivity_ohm_m=2.8e-8))
    )
    cases = [
        Case(design=replace(motor.design, coil=c), assembly=motor.assembly, power_w=9.0) for c in (coil, clad)
    ]
    assert cases[0].key("modulation") != cases[1].key("modulation")
    assert cases[0].key("inductance") == cases[1].key("inductance")
    peaks = [doors._asked(case, "modulation")["currents_a"][1] for case in cases]
    assert peaks[0] == pytest.approx((18.0 / wind(coil).resistance_ohm) ** 0.5)
    assert cases[0].key("modulation") != replace(cases[0], power_w=10.0).key("modulation")


def made(want: Want, case: Case, progress: Progress) -> Any:
    """A study that takes no time."""
    return Modulation(current_a=np.zeros(1), x_m=np.zeros(1), bl=np.ones((1, 1)), reluctance_n=np.zeros((1, 1)), inductance_h=np.zeros((1, 1)))  # fmt: skip


def refused(want: Want, case: Case, progress: Progress) -> Any:
    """A study that must not be asked for."""
    raise AssertionError(want)


def test_other_settings_do_not_push_results_out(shop: Workshop) -> None:
    """The field with the spread of materials and the plain one are kept beside each other; another design replaces its own."""
    plain = case_of(shop, "knot/v1")
    wide = replace(plain, settings=StudySettings(material_spread=True))
    for case in (plain, wide):
        solve(shop, case, ("field",), slot="knot/v1", run=made)
    for case in (plain, wide):
        assert solve(shop, case, ("field",), slot="knot/v1", run=refused).motor is not None
    plate_size(shop)
    solve(shop, case_of(shop, "knot/v1"), ("field",), slot="knot/v1", run=made)
    with pytest.raises(AssertionError):
        solve(shop, plain, ("field",), slot="knot/v1", run=refused)


def _solve_elsewhere(folder: Path) -> str:
    """One program of several that ask for the same at once."""
    workshop = Workshop.open(folder)
    case = case_of(workshop, "knot/v1")
    for _ in range(20):
        assert solve(workshop, case, ("modulation",), silent, slot="knot/v1", run=made).modulation is not None
    return case.key("modulation")


def test_two_programs_may_solve_one_version(shop: Workshop) -> None:
    """Both get an answer under the same key, and it is kept afterwards."""
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        found = list(pool.map(_solve_elsewhere, [shop.folder] * 2))
    case = case_of(shop, "knot/v1")
    assert found == [case.key("modulation")] * 2
    assert solve(shop, case, ("modulation",), slot="knot/v1", run=refused).modulation is not None


def test_an_index_that_another_program_is_making_is_not_thrown_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between reading whose file it is and of what layout, another program may have made it: the two look unlike, and are read again."""
    index = Index(tmp_path)
    index.put_results([Result(take="a", response_key="k", response=b"kept")])
    torn, read = [(0, index_file.LAYOUT)], index_file._marks
    monkeypatch.setattr(index_file, "_marks", lambda db: torn.pop() if torn else read(db))
    assert Index(tmp_path).response("k") == b"kept"
    assert not torn
