"""The demonstration workshop on disk: whole or not at all, the same from the same seed."""

from pathlib import Path

import pytest

from halfroll.core.errors import CancelledError, InputError
from halfroll.driver.demo.others import DUNLIN
from halfroll.measure.analysis.analyse import analyse
from halfroll.workshop import Workshop, demo


@pytest.fixture(autouse=True)
def only_dunlin(monkeypatch: pytest.MonkeyPatch) -> None:
    """One small driver stands for all: the records are the same, and the test is short."""
    monkeypatch.setattr(demo, "DRIVERS", (DUNLIN,))


def contents(folder: Path) -> dict[str, bytes]:
    """Every file of a folder by its path."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_build(tmp_path: Path) -> None:
    """Records and recordings are there, a take can be analysed, and progress ran from 0 to 1."""
    seen: list[tuple[float, str]] = []
    workshop = demo.build_demo(tmp_path / "deep" / "saltmarsh", progress=lambda *step: seen.append(step))
    assert workshop.name == "Saltmarsh Workshop"
    assert workshop.version_ids() == ["drawer-four/as-sold", "dunlin/v1", "dunlin/v2", "godwit/v1"]
    assert len(workshop.take_ids()) == 4 * 6 + 3
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
    assert (seen[0][0], seen[-1][0]) == (0.0, 1.0)
    take = workshop.take_ids("dunlin/v2/01")[0]
    response = analyse(workshop.recording(take), workshop.sweep(take), workshop.conditions(take))
    assert response.usable
    assert response.conditions.drive_w == pytest.approx(1.0, rel=0.05)
    sheet = workshop.version("drawer-four/as-sold")
    assert sheet.record.published is not None
    assert (
        sheet.path.with_name(sheet.record.published.curve or "")
        .read_text()
        .startswith("frequency_hz,spl_db\n40,")
    )
    assert [p.name for p in (tmp_path / "deep").iterdir()] == ["saltmarsh"]


def test_same_seed_same_bytes(tmp_path: Path) -> None:
    """Two builds from one seed are equal file for file; into an empty folder is as good as into none."""
    (tmp_path / "b").mkdir()
    one, two = (contents(demo.build_demo(tmp_path / name).folder) for name in ("a", "b"))
    assert one == two
    assert sum(name.endswith("take.flac") for name in one) == 24 + 3


@pytest.mark.parametrize("folder_exists", [False, True])
def test_stopped(tmp_path: Path, folder_exists: bool) -> None:
    """Stopped half way, nothing is left, and an empty folder is still there."""
    if folder_exists:
        (tmp_path / "demo").mkdir()

    def stop(done: float, what: str) -> None:
        if done > 0.1:
            raise CancelledError

    with pytest.raises(CancelledError):
        demo.build_demo(tmp_path / "demo", progress=stop)
    assert [p.name for p in tmp_path.iterdir()] == (["demo"] if folder_exists else [])


def test_never_over_something(tmp_path: Path) -> None:
    """A folder with anything in it, or a file, is refused and left alone."""
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "note.txt").write_text("keep")
    (tmp_path / "file").write_text("keep")
    for name in ("mine", "file"):
        with pytest.raises(InputError, match="must be new or empty"):
            demo.build_demo(tmp_path / name)
    assert (tmp_path / "mine" / "note.txt").read_text() == "keep"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["file", "mine"]


def test_opens_like_any_workshop(tmp_path: Path) -> None:
    """Every record reads without a note about unknown keys."""
    workshop = Workshop.open(demo.build_demo(tmp_path / "demo").folder)
    loaded = [workshop.driver(i) for i in workshop.driver_ids()]
    loaded += [workshop.version(i) for i in workshop.version_ids()]
    loaded += [workshop.unit(i) for v in workshop.version_ids() for i in workshop.unit_ids(v)]
    loaded += [workshop.take(i) for i in workshop.take_ids()]
    loaded += [workshop.rig(name) for name in workshop.rig_names()]
    assert len(loaded) == 3 + 4 + 5 + 27 + 3
    assert all(not one.notes for one in loaded)
