"""The bills of the demonstration: priced whole, and the steps between its versions are what a builder of them would expect."""

from __future__ import annotations

import datetime as dt

import pytest

from halfroll.builds.bill import bill_of, carry_over
from halfroll.workshop import Workshop
from halfroll.workshop.demo_bill import add_bills, bills
from halfroll.workshop.demo_materials import add_calibrations
from halfroll.workshop.demo_motors import add_motors
from halfroll.workshop.demo_moving import add_moving
from halfroll.workshop.parts import own_parts
from tests.workshop.saltmarsh import bare_saltmarsh

TODAY = dt.date(2026, 10, 1)


@pytest.fixture(scope="module")
def saltmarsh(tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    """The versions of the demonstration with designs and bills, without takes."""
    workshop = bare_saltmarsh(tmp_path_factory.mktemp("demo") / "w")
    for add in (add_motors, add_moving, add_calibrations, add_bills):
        add(workshop)
    return workshop


def test_every_line_has_a_price_and_every_print_its_hours(saltmarsh: Workshop) -> None:
    """No fault, no verdict; the spread by supplier lies around the usual cost."""
    assert own_parts(saltmarsh).faults == []
    there = [version for version in bills() if version in saltmarsh.version_ids()]
    assert len(there) >= 3
    for version in there:
        found = bill_of(saltmarsh, version, today=TODAY, buy=False)
        assert (version, found.missing, found.verdicts) == (version, (), ())
        assert found.material.low <= found.material.usual <= found.material.high
        assert 50.0 < found.total.usual < 120.0


def test_the_motor_is_kept_from_v7_to_v8_and_screws_by_their_old_name(saltmarsh: Workshop) -> None:
    """v8 has another roll, cone, coil and frame on the same motor; its screws were named otherwise when v7 was drawn."""
    found = carry_over(saltmarsh, "avocet/v7", "avocet/v8", today=TODAY)
    stays, new = ({one.line.key for one in found.of(fate)} for fate in ("stays", "new"))  # type: ignore[arg-type]
    assert {
        "back plate",
        "magnet",
        "second magnet",
        "top plate",
        "pole",
        "copper cap",
        "frame screws",
        "terminals",
    } <= stays
    assert {"surround", "cone", "coil wire", "former", "frame, 100 mm"} <= new


def test_the_short_pole_is_turned_from_the_long_one(saltmarsh: Workshop) -> None:
    """Back from two rings to one."""
    found = carry_over(saltmarsh, "avocet/v4", "avocet/v3", today=TODAY, apart="all")
    assert [(one.line.key, one.cost) for one in found.of("reworked")] == [("pole", 1.5)]
    assert "second magnet" in {one.line.key for one in found.of("left over")}
