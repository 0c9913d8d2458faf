"""The folder: made, found, listed, saved; nothing of anybody's is overwritten, also not by several writers."""

import subprocess
import sys
from pathlib import Path

import pytest

from halfroll.core.errors import ConflictError, InputError
from halfroll.workshop import DriverRecord, UnitRecord, VersionRecord, Workshop, overview
from tests.workshop.conftest import SETUP, WHEN, as_ordinary_user, new_audio, read_only


def test_the_folder_is_as_described(workshop: Workshop) -> None:
    """Every record lies where the house's plan says, readable without the program."""
    workshop.add_take("dunlin/v1/a", "2026-03-31-1w", SETUP, WHEN, [new_audio()])
    files = {
        path.relative_to(workshop.folder).as_posix() for path in workshop.folder.rglob("*") if path.is_file()
    }
    assert files - {".halfroll.lock"} == {
        "workshop.toml",
        "rigs/bench.toml",
        "drivers/dunlin/driver.toml",
        "drivers/dunlin/v1/version.toml",
        "drivers/dunlin/v2/version.toml",
        "drivers/dunlin/v1/units/a/unit.toml",
        "drivers/dunlin/v2/units/a/unit.toml",
        "drivers/dunlin/v1/units/a/takes/2026-03-31-1w/take.toml",
        "drivers/dunlin/v1/units/a/takes/2026-03-31-1w/take.flac",
    }


def test_lists_count_as_a_person_does(workshop: Workshop) -> None:
    """v2 comes before v10, and hidden folders are not listed."""
    workshop.create_version("dunlin", "v10", VersionRecord())
    (workshop.folder / "drivers" / ".trash").mkdir()
    assert workshop.driver_ids() == ["dunlin"]
    assert workshop.version_ids() == ["dunlin/v1", "dunlin/v2", "dunlin/v10"]
    assert workshop.unit_ids("dunlin/v1") == ["dunlin/v1/a"]
    assert workshop.rig_names() == ["bench"]


def test_takes_are_listed_below_every_level(workshop: Workshop) -> None:
    """The same take is found from the workshop, driver, version and unit."""
    workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [new_audio()])
    for id_ in (None, "dunlin", "dunlin/v1", "dunlin/v1/a"):
        assert workshop.take_ids(id_) == ["dunlin/v1/a/t1"]
    assert workshop.take_ids("dunlin/v2") == []


def test_a_workshop_is_found_from_inside(workshop: Workshop) -> None:
    """Commands work anywhere below the folder."""
    inside = workshop.folder / "drivers" / "dunlin"
    assert Workshop.find(inside).name == "Saltmarsh Workshop"


@pytest.mark.parametrize(
    "what", ["no such folder", "an empty folder", "a folder without workshop.toml", "a file"]
)
def test_where_no_workshop_is(tmp_path: Path, what: str) -> None:
    """The message says what is there instead, and how to make one."""
    place = tmp_path / "place"
    if what == "a file":
        place.write_text("x")
    elif what != "no such folder":
        place.mkdir()
        if what != "an empty folder":
            (place / "x").write_text("x")
    with pytest.raises(InputError, match=f"no workshop here; found {what}.*halfroll init"):
        Workshop.open(place)


def test_a_second_workshop_in_the_same_place_is_refused(workshop: Workshop) -> None:
    """A new workshop never touches a workshop that is there."""
    with pytest.raises(InputError, match="A workshop is here already"):
        Workshop.init(workshop.folder, "Another")
    assert workshop.name == "Saltmarsh Workshop"


@pytest.mark.parametrize(
    "name", ["", ".", "..", "../v1", "V1", "v 1", "a/b", "-a", "con", "units", "x.toml", "é", "a" * 81]
)
def test_names_that_no_folder_should_have(workshop: Workshop, name: str) -> None:
    """A name that would leave the folder, fail on another system or in an address is refused."""
    with pytest.raises(InputError, match="name of a version"):
        workshop.create_version("dunlin", name, VersionRecord())


def test_what_does_not_exist_is_named_with_what_does(workshop: Workshop) -> None:
    """An unknown id is answered with the ids there are."""
    with pytest.raises(InputError, match=r"There is no version dunlin/v3\. Allowed: dunlin/v1, dunlin/v2"):
        workshop.version("dunlin/v3")
    with pytest.raises(InputError, match=r"There is no rig shed\. Allowed: bench"):
        workshop.rig("shed")
    with pytest.raises(InputError, match=r"There is no take dunlin/v1/a/x.*no take yet"):
        workshop.take("dunlin/v1/a/x")
    with pytest.raises(InputError, match="id of a version must have 2 names"):
        workshop.version("dunlin")


def test_nothing_is_created_twice(workshop: Workshop) -> None:
    """A new record never replaces one that is there."""
    with pytest.raises(InputError, match="There is a driver dunlin already"):
        workshop.create_driver("dunlin", DriverRecord(title="Other"))
    with pytest.raises(InputError, match="There is a unit dunlin/v1/a already"):
        workshop.create_unit("dunlin/v1", "a", UnitRecord())
    assert workshop.driver("dunlin").record.title == "Dunlin"


def test_a_hand_edit_is_not_overwritten(workshop: Workshop) -> None:
    """Somebody edits the file while a page is open: saving the page says so and changes nothing."""
    loaded = workshop.version("dunlin/v1")
    by_hand = loaded.path.read_text() + 'notes = "by hand"\n'
    loaded.path.write_text(by_hand)
    with pytest.raises(ConflictError, match="version dunlin/v1 was changed by somebody else"):
        workshop.save(loaded, loaded.record.changed(summary="from the page"))
    assert loaded.path.read_text() == by_hand


def test_of_two_writers_the_second_is_told(workshop: Workshop) -> None:
    """Two pages open the same record; the second save is refused, and works after reading again."""
    first, second = workshop.driver("dunlin"), workshop.driver("dunlin")
    workshop.save(first, first.record.changed(aim="one"))
    with pytest.raises(ConflictError):
        workshop.save(second, second.record.changed(aim="two"))
    assert workshop.driver("dunlin").record.aim == "one"
    again = workshop.driver("dunlin")
    assert workshop.save(again, again.record.changed(aim="two")).record.aim == "two"


def test_a_removed_record_does_not_come_back(workshop: Workshop) -> None:
    """A record deleted meanwhile is a conflict, not silently made again."""
    loaded = workshop.unit("dunlin/v1/a")
    loaded.path.unlink()
    with pytest.raises(ConflictError):
        workshop.save(loaded, loaded.record.changed(notes="x"))
    assert not loaded.path.exists()


COUNTING = """
import sys
from pathlib import Path
from halfroll.core.errors import ConflictError
from halfroll.workshop import Workshop

workshop = Workshop.open(Path(sys.argv[1]))
conflicts = 0
for _ in range(100):
    while True:
        loaded = workshop.driver("dunlin")
        try:
            workshop.save(loaded, loaded.record.changed(own_count=loaded.record.own_count + 1))
            break
        except ConflictError:
            conflicts += 1
print(conflicts)
"""


def test_four_writers_lose_nothing(workshop: Workshop) -> None:
    """Four programs add 1 a hundred times each to one record, reading and saving: the sum is 400."""
    loaded = workshop.driver("dunlin")
    workshop.save(loaded, loaded.record.changed(own_count=0))
    command = [sys.executable, "-c", COUNTING, str(workshop.folder)]
    writers = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for _ in range(4)]
    conflicts = [int(writer.communicate(timeout=120)[0]) for writer in writers]
    assert all(writer.returncode == 0 for writer in writers)
    assert workshop.driver("dunlin").record.model_extra == {"own_count": 400}
    assert sum(conflicts) > 0  # else the writers never met and nothing was shown


def test_a_read_only_folder_is_said_and_nothing_changes(workshop: Workshop) -> None:
    """Saving, creating and importing into a read-only workshop is refused in words; reading goes on."""
    audio = new_audio()
    workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [audio])
    before = {path: path.read_bytes() for path in workshop.folder.rglob("*") if path.is_file()}
    with read_only(workshop.folder):
        loaded = workshop.driver("dunlin")
        with pytest.raises(InputError, match="read-only"):
            workshop.save(loaded, loaded.record.changed(aim="x"))
        with pytest.raises(InputError, match="read-only"):
            workshop.create_driver("knot", DriverRecord(title="Knot"))
        with pytest.raises(InputError, match="read-only"):
            workshop.add_take("dunlin/v1/a", "t2", SETUP, WHEN, [new_audio(2)])
        with pytest.raises(InputError, match="read-only"):
            Workshop.init(workshop.folder / "inner", "Inner")
    assert {path: path.read_bytes() for path in workshop.folder.rglob("*") if path.is_file()} == before


def test_what_may_not_be_read_is_said(workshop: Workshop) -> None:
    """A folder closed to this user is a fault in words, and in the overview one among what can be read."""
    closed = workshop.folder / "drivers" / "dunlin" / "v1" / "units"
    mode = closed.stat().st_mode
    try:
        closed.chmod(0)
        with as_ordinary_user(workshop.folder):
            with pytest.raises(InputError, match="may not be read by you"):
                workshop.unit_ids("dunlin/v1")
            seen = overview(workshop)
    finally:
        closed.chmod(mode)
    assert "may not be read by you" in str(seen.faults["dunlin/v1"])
    assert [version.version_id for version in seen.drivers[0].versions] == ["dunlin/v1", "dunlin/v2"]


def test_a_full_disk_is_said_and_the_file_stays(workshop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the disk fills up while a record is written, the old record is still whole."""
    loaded = workshop.driver("dunlin")
    before = loaded.path.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("halfroll.workshop.files.os.fsync", full)
    with pytest.raises(InputError, match="disk is full"):
        workshop.save(loaded, loaded.record.changed(aim="x"))
    assert loaded.path.read_bytes() == before
    assert not list(loaded.path.parent.glob(".*tmp"))
