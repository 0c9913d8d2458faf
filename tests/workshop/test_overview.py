"""Where the drivers stand: all versions in line, what is measured, what waits, what is wrong."""

import datetime as dt

from halfroll.workshop import UnitRecord, VersionRecord, Workshop, derive, overview
from tests.workshop.conftest import SETUP, WHEN, new_audio


def test_versions_in_line_with_their_takes(workshop: Workshop) -> None:
    """Units, analysed takes and takes that wait, each at its version."""
    workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [new_audio(1)])
    derive.readings(workshop)
    workshop.add_take("dunlin/v1/a", "t2", SETUP, WHEN, [new_audio(2)])
    workshop.create_unit("dunlin/v2", "b", UnitRecord())
    seen = overview(workshop)
    assert (seen.name, seen.rigs, seen.faults) == ("Saltmarsh Workshop", ("bench",), {})
    (dunlin,) = seen.drivers
    first, second = dunlin.versions
    assert [take.take_id for take in first.readings] == ["dunlin/v1/a/t1"]
    assert first.pending == ("dunlin/v1/a/t2",)
    assert second.units == ("dunlin/v2/a", "dunlin/v2/b")
    assert (first.parent, second.parent) == (None, "dunlin/v1")


def test_only_wanted_figures_are_read(workshop: Workshop) -> None:
    """Readings asked for are the same as among all; the others are left out, the take itself is not."""
    workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [new_audio(1)])
    derive.readings(workshop)
    (whole,) = overview(workshop).drivers[0].versions[0].readings
    (some,) = overview(workshop, figures=("lower_limit_hz",)).drivers[0].versions[0].readings
    assert some.readings == {"lower_limit_hz": whole.readings["lower_limit_hz"]}
    assert some.verdicts == whole.verdicts


def test_parents_stand_before_children(workshop: Workshop) -> None:
    """Whatever the names: the order is descent, then date, then counting; a circle of parents ends somewhere."""
    for name, parent, date in (
        ("alpha", "v2", None),
        ("old", None, dt.date(2020, 1, 1)),
        ("ring-a", "ring-b", None),
        ("ring-b", "ring-a", None),
        ("stray", "nowhere", None),
        ("self", "self", None),
    ):
        workshop.create_version("dunlin", name, VersionRecord(parent=parent, date=date))
    (dunlin,) = overview(workshop).drivers
    line = [version.version_id.partition("/")[2] for version in dunlin.versions]
    assert line[:4] == ["old", "self", "stray", "v1"]
    assert line.index("v2") < line.index("alpha")
    assert len(line) == len(set(line)) == 8


def test_a_faulty_record_does_not_hide_the_rest(workshop: Workshop) -> None:
    """The overview stands, and says what is wrong where."""
    path = workshop.version("dunlin/v2").path
    path.write_text(path.read_text().replace("rated_impedance_ohm", "rated_impedence_ohm"))
    seen = overview(workshop)
    assert [version.version_id for version in seen.drivers[0].versions] == ["dunlin/v1"]
    assert "Correct it to rated_impedance_ohm" in str(seen.faults["dunlin/v2"])


def test_an_empty_workshop(workshop: Workshop) -> None:
    """Nothing is there yet, and that is no fault."""
    empty = overview(Workshop.init(workshop.folder.parent / "empty", "Empty"))
    assert (empty.drivers, empty.rigs, empty.faults) == ((), (), {})
