"""Results: worked out once, kept, and worked out again when and only when something they depend on has changed."""

import dataclasses
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import CancelToken, silent
from halfroll.core.verdicts import Severity
from halfroll.figures.types import FigureSettings
from halfroll.measure.analysis.analyse import analyse
from halfroll.measure.analysis.response import Response
from halfroll.workshop import Workshop, derive, jobs, read_contents
from halfroll.workshop.packing import pack, unpack
from halfroll.workshop.stored import readings_from_json, readings_to_json
from tests.workshop.conftest import SETUP, WHEN, new_audio, read_only

TAKE = "dunlin/v1/a/t1"


@pytest.fixture
def with_take(workshop: Workshop) -> Workshop:
    """The workshop with one take."""
    workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [new_audio()])
    return workshop


@pytest.fixture
def analyses(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The takes that were really analysed, one entry each time."""
    done: list[str] = []
    honest = jobs.analyse_take

    def counted(folder: Path, job: jobs.Job, *rest: object) -> Response:
        done.append(job.take_id)
        return honest(folder, job, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(jobs, "analyse_take", counted)
    monkeypatch.setattr(derive, "analyse_take", counted)
    return done


def same(one: Response, other: Response) -> bool:
    """Whether two responses are equal to the last bit."""
    return pack(one) == pack(other)


def check_same(mine: object, theirs: object, name: str) -> None:
    """Two values, and all that they hold, are equal to the last bit and of one type."""
    assert type(mine) is type(theirs), name
    if isinstance(theirs, np.ndarray):
        assert isinstance(mine, np.ndarray)
        assert np.array_equal(mine, theirs, equal_nan=True), name
        assert mine.dtype == theirs.dtype, name
    elif dataclasses.is_dataclass(theirs):
        for field in dataclasses.fields(theirs):
            check_same(getattr(mine, field.name), getattr(theirs, field.name), f"{name}.{field.name}")
    else:
        assert mine == theirs, name


def test_a_kept_response_is_the_response(with_take: Workshop, analyses: list[str]) -> None:
    """From the index comes exactly what analysis of the recording gives."""
    fresh = analyse(with_take.recording(TAKE), with_take.sweep(TAKE), with_take.conditions(TAKE))
    first, second = derive.response(with_take, TAKE), derive.response(with_take, TAKE)
    assert analyses == [TAKE]
    for kept in (first, second):
        check_same(kept, fresh, "response")


def test_damaged_bytes_are_no_response(with_take: Workshop) -> None:
    """Any cut and any flipped byte of a packed response gives the response or nothing, never an exception."""
    packed = pack(derive.response(with_take, TAKE))
    for length in (0, 1, 10, len(packed) // 2, len(packed) - 1):
        assert unpack(packed[:length]) is None
    for at in range(0, len(packed), len(packed) // 50):
        damaged = unpack(packed[:at] + bytes([packed[at] ^ 0xFF]) + packed[at + 1 :])
        assert damaged is None or same(damaged, unpack(packed) or damaged)


def test_readings_come_back_from_json(with_take: Workshop) -> None:
    """What the overview reads is what the figures room said."""
    readings = derive.readings(with_take)[TAKE]
    assert readings.readings["sensitivity_db"].value is not None
    identity = {"take_id": TAKE, "when": readings.when, "rig": "bench", "excluded": ""}
    assert readings_from_json(readings_to_json(readings), identity) == readings  # type: ignore[arg-type]
    assert readings_from_json('{"readings": 3}', identity) is None  # type: ignore[arg-type]


def test_nothing_is_analysed_twice(with_take: Workshop, analyses: list[str]) -> None:
    """Readings under other settings use the kept response."""
    one = derive.readings(with_take)
    assert derive.readings(with_take) == one
    band = FigureSettings(sensitivity_band_hz=(500.0, 1000.0))
    assert derive.readings(with_take, settings=band)[TAKE].readings != one[TAKE].readings
    assert derive.readings(Workshop.open(with_take.folder)) == one
    assert analyses == [TAKE]


def retitle(workshop: Workshop) -> None:
    """A note, and the take left out."""
    loaded = workshop.take(TAKE)
    workshop.save(loaded, loaded.record.changed(note="a gull called", leave_out="the gull"))


def move(workshop: Workshop) -> None:
    """Another distance."""
    loaded = workshop.take(TAKE)
    workshop.save(loaded, loaded.record.changed(distance_m=0.5))


def gate(workshop: Workshop) -> None:
    """Another gate."""
    loaded = workshop.take(TAKE)
    workshop.save(loaded, loaded.record.changed(gate_ms=4.0))


def recalibrate(workshop: Workshop) -> None:
    """Another calibration of the microphone."""
    loaded = workshop.rig("bench")
    assert loaded.record.microphone is not None
    microphone = loaded.record.microphone.changed(pa_per_full_scale=8.0)
    workshop.save(loaded, loaded.record.changed(microphone=microphone))


def rerate(workshop: Workshop) -> None:
    """Another rated impedance."""
    loaded = workshop.version("dunlin/v1")
    workshop.save(loaded, loaded.record.changed(rated_impedance_ohm=8.0))


def rename_version(workshop: Workshop) -> None:
    """Another title."""
    loaded = workshop.version("dunlin/v1")
    workshop.save(loaded, loaded.record.changed(title="Another", summary="x"))


@pytest.mark.parametrize(
    ("change", "again"),
    [
        (retitle, False),
        (rename_version, False),
        (move, True),
        (gate, True),
        (recalibrate, True),
        (rerate, True),
    ],
)
def test_what_matters_is_analysed_again(
    with_take: Workshop, analyses: list[str], change: Callable[[Workshop], None], again: bool
) -> None:
    """A change of recording, rig, conditions or gate counts; a note does not."""
    before = derive.readings(with_take)[TAKE]
    change(with_take)
    after = derive.readings(with_take)[TAKE]
    assert analyses == [TAKE] * (1 + again)
    assert (after.readings == before.readings) == (not again)
    assert after.excluded == ("the gull" if change is retitle else "")


def test_other_code_gives_other_results(
    with_take: Workshop, analyses: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """After an upgrade that touches analysis nothing old is shown."""
    derive.readings(with_take)
    monkeypatch.setattr(jobs, "code_of", lambda *rooms: f"new {rooms}")
    derive.readings(with_take)
    assert analyses == [TAKE, TAKE]


def test_results_of_older_recordings_do_not_pile_up(with_take: Workshop) -> None:
    """The index holds one response a take."""
    for distance_m in (0.4, 0.5, 0.6):
        loaded = with_take.take(TAKE)
        with_take.save(loaded, loaded.record.changed(distance_m=distance_m))
        derive.readings(with_take)
    with sqlite3.connect(with_take.folder / ".halfroll" / "index.sqlite") as db:
        assert db.execute(
            "SELECT (SELECT count(*) FROM responses), (SELECT count(*) FROM readings)"
        ).fetchone() == (1, 1)
    db.close()


def delete(index: Path) -> None:
    """The folder of the index is deleted."""
    shutil.rmtree(index.parent)


def damage(index: Path) -> None:
    """All pages but the first are overwritten."""
    data = bytearray(index.read_bytes())
    data[4096:] = b"\xa5" * (len(data) - 4096)
    index.write_bytes(data)


def cut(index: Path) -> None:
    """The file is cut off."""
    index.write_bytes(index.read_bytes()[:5000])


def replace_by_text(index: Path) -> None:
    """A text stands in its place."""
    index.write_text("this is no database\n" * 100)


def replace_by_other_database(index: Path) -> None:
    """Another program's database stands in its place."""
    index.unlink()
    with sqlite3.connect(index) as db:
        db.execute("CREATE TABLE records (x)")
    db.close()


def replace_by_folder(index: Path) -> None:
    """A folder stands in the file's place."""
    shutil.rmtree(index.parent)
    index.mkdir(parents=True)


def replace_folder_by_file(index: Path) -> None:
    """A file stands in the folder's place."""
    shutil.rmtree(index.parent)
    index.parent.write_text("x")


@pytest.mark.parametrize(
    "harm",
    [
        delete,
        damage,
        cut,
        replace_by_text,
        replace_by_other_database,
        replace_by_folder,
        replace_folder_by_file,
    ],
)
def test_the_index_may_be_lost_or_damaged(
    with_take: Workshop, analyses: list[str], harm: Callable[[Path], None]
) -> None:
    """Whatever happens to it, results are found again, the same, and nobody is asked."""
    before = derive.readings(with_take)
    harm(with_take.folder / ".halfroll" / "index.sqlite")
    fresh = Workshop.open(with_take.folder)
    assert derive.readings(fresh) == before
    assert derive.readings(fresh) == before
    assert analyses == [TAKE, TAKE]


def test_a_read_only_workshop_works_without_an_index(with_take: Workshop, analyses: list[str]) -> None:
    """Nothing can be kept on the disk, so it is kept in memory, and nothing is written."""
    with read_only(with_take.folder):
        first = derive.readings(with_take)
        assert derive.readings(with_take) == first
        assert same(derive.response(with_take, TAKE), derive.response(with_take, TAKE))
    assert first[TAKE].usable
    assert analyses == [TAKE]
    assert not (with_take.folder / ".halfroll").exists()


def test_a_read_only_workshop_uses_the_index_it_has(with_take: Workshop, analyses: list[str]) -> None:
    """An index that was made before is read although it cannot be written."""
    before = derive.readings(with_take)
    with read_only(with_take.folder):
        assert derive.readings(Workshop.open(with_take.folder)) == before
    assert analyses == [TAKE]


def test_an_edit_by_hand_is_seen_at_once(with_take: Workshop) -> None:
    """Also one of the same length a moment after the record was indexed."""
    path = with_take.take(TAKE).path
    for distance_m in ("1.0", "2.0", "3.0"):
        text = path.read_text()
        path.write_text(text.replace(text.split("distance_m = ")[1].split("\n")[0], distance_m))
        contents = read_contents(with_take.folder, with_take.index)
        assert contents.takes[TAKE].distance_m == float(distance_m)


def test_a_take_that_cannot_be_analysed_says_why(with_take: Workshop, analyses: list[str]) -> None:
    """It stays in the list, counts in no figure, and is not tried again and again; the response itself is refused."""
    loaded = with_take.take(TAKE)
    sweep = loaded.record.sweep.changed(start_hz=50.0, stop_hz=400.0, duration_s=3.0, fade_in_s=0.0)
    with_take.save(loaded, loaded.record.changed(sweep=sweep))
    for _ in range(2):
        readings = derive.readings(with_take)[TAKE]
        assert not readings.usable
        (verdict,) = readings.verdicts
        assert (verdict.code, verdict.severity) == ("not-analysed", Severity.BAD)
        assert "could not be analysed" in verdict.text
    assert analyses == [TAKE]
    with pytest.raises(InputError):
        derive.response(with_take, TAKE)


def test_lost_audio_is_said_although_a_result_is_kept(with_take: Workshop) -> None:
    """A result whose recording is gone or was replaced is not shown as if nothing had happened."""
    derive.readings(with_take)
    path = with_take.take(TAKE).path.with_name("take.flac")
    data = path.read_bytes()
    path.write_bytes(new_audio(2).data)
    assert "content hash differs" in derive.readings(with_take)[TAKE].verdicts[0].text
    path.unlink()
    assert "The file is missing" in derive.readings(with_take)[TAKE].verdicts[0].text
    with pytest.raises(InputError, match="missing"):
        derive.response(with_take, TAKE)
    path.write_bytes(data)
    assert derive.readings(with_take)[TAKE].usable


def test_a_take_without_its_rig(with_take: Workshop) -> None:
    """The rig's record was deleted or has a fault: the take says so and does not count."""
    path = with_take.rig("bench").path
    text = path.read_text()
    path.write_text(text.replace("pa_per_full_scale = 4.0", "pa_per_full_scale = -4.0"))
    assert "pa_per_full_scale of the rig must be above 0" in derive.readings(with_take)[TAKE].verdicts[0].text
    path.unlink()
    assert "There is no rig bench" in derive.readings(with_take)[TAKE].verdicts[0].text
    path.write_text(text)
    assert derive.readings(with_take)[TAKE].usable


def test_an_unknown_take_is_said(with_take: Workshop) -> None:
    """Asked for by a wrong id, or with a fault in its record."""
    with pytest.raises(InputError, match="There is no take dunlin/v1/a/t9"):
        derive.readings(with_take, ["dunlin/v1/a/t9"])
    path = with_take.take(TAKE).path
    path.write_text(path.read_text().replace("distance_m", "distanse_m"))
    with pytest.raises(InputError, match="Correct it to distance_m"):
        derive.readings(with_take, [TAKE])


def many(workshop: Workshop, count: int) -> None:
    """Add many takes."""
    for number in range(count):
        workshop.add_take("dunlin/v1/a", f"t{number}", SETUP, WHEN, [new_audio(number)])


def test_many_takes_are_shared_out(workshop: Workshop, analyses: list[str]) -> None:
    """In two other processes, with the same results as here."""
    many(workshop, derive.FEWEST_FOR_POOL)
    steps: list[float] = []
    shared = derive.readings(workshop, workers=2, progress=lambda done, what: steps.append(done))
    assert analyses == []
    assert steps == sorted(steps)
    shutil.rmtree(workshop.folder / ".halfroll")
    assert derive.readings(workshop, workers=1) == shared
    assert len(analyses) == derive.FEWEST_FOR_POOL


def test_shared_work_can_be_stopped(workshop: Workshop, analyses: list[str]) -> None:
    """What is done is kept; the rest is done another time."""
    many(workshop, derive.FEWEST_FOR_POOL + 2)
    token = CancelToken()

    def stop_after_one(done: float, what: str) -> None:
        if "1 of" in what:
            token.cancel()
        token.wrap(silent)(done, what)

    with pytest.raises(CancelledError):
        derive.readings(workshop, workers=2, progress=stop_after_one)
    known = derive.standing(workshop, read_contents(workshop.folder, workshop.index))
    assert 1 <= len(known.readings) <= 5
    assert len(derive.readings(workshop, workers=1)) == derive.FEWEST_FOR_POOL + 2
    assert len(analyses) == len(known.pending)


def test_where_no_process_can_start_it_goes_on_here(
    workshop: Workshop, analyses: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A broken pool costs time, not results."""
    many(workshop, derive.FEWEST_FOR_POOL)

    def broken(*_: object, **__: object) -> None:
        raise derive.BrokenProcessPool

    monkeypatch.setattr(derive.ProcessPoolExecutor, "submit", broken)
    assert len(derive.readings(workshop, workers=2)) == derive.FEWEST_FOR_POOL
    assert len(analyses) == derive.FEWEST_FOR_POOL
