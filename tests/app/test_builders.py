"""The pages of builders: the empty one, typing with an answer, recordings, keeping, and what it was in the end."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from nicegui.testing import User

from halfroll.app.pages.builders_intake import PAGE
from halfroll.measure.phone.signal import PHONE_SWEEP
from halfroll.workshop import VersionRecord, Workshop, draft_file, load_draft
from halfroll.workshop.builders import (
    NewRecording,
    add_check,
    check_ids,
    checked_record,
    load_check,
    standing,
)
from halfroll.workshop.phone_audio import read_phone_audio
from tests.app.conftest import until, visiting
from tests.workshop.builders_shop import FS_HZ, VERSION, builders_shop, recorded

PATIENT = 300


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workshop and a recording of a stiff unit; copy the workshop, do not write to it."""
    home = tmp_path_factory.mktemp("builders")
    builders_shop(home / "shop")
    recorded(home / "stiff.flac", fs_hz=1.6 * FS_HZ, q=1.28)
    return home


@pytest.fixture
def shop(made: Path, tmp_path: Path) -> Workshop:
    """A copy of the workshop."""
    return Workshop.open(Path(shutil.copytree(made / "shop", tmp_path / "shop")))


@pytest.fixture
async def visitor(shop: Workshop) -> AsyncIterator[User]:
    """Somebody at its pages."""
    async with visiting(shop) as user:
        yield user


def kept(shop: Workshop, made: Path) -> None:
    """One check with a recording."""
    record = checked_record(shop, {
        "date": dt.date(2026, 5, 9), "version": VERSION, "builder": "tern", "complaint": "sounds thin", "mounting": "baffle",
        "readings": [{"what": "re_ohm", "value": 6.4, "note": "warm room"}, {"what": "rub", "value": 0.0}],
    })  # fmt: skip
    new = NewRecording(audio=read_phone_audio(made / "stiff.flac"), sweep=PHONE_SWEEP)
    add_check(shop, "tern", record, {"recording": new})


async def test_an_empty_workshop_says_what_is_needed(newcomer: User) -> None:
    """No version, no check: what a builder needs is shown, and where to begin."""
    await newcomer.open("/builders")
    for words in ("there is no version yet", "What a builder needs", "Mind your ears"):
        await newcomer.should_see(words)
    await newcomer.open("/builders/new")
    await newcomer.should_see("no version yet to compare with")
    answer = await newcomer.http_client.get("/builders/nobody")
    assert answer.status_code == 404


async def test_from_a_reading_to_a_kept_check(visitor: User, shop: Workshop) -> None:
    """A slip stands under its field; a reading is answered while it is typed; the draft outlives the page; the check is kept."""
    await visitor.open(f"/builders/new?version={VERSION}")
    visitor.find(marker="re_ohm").trigger("entered", "0.0064")
    await visitor.should_see("write 6.4 ohm", retries=PATIENT)
    visitor.find(marker="re_ohm").trigger("entered", "4,1 ohm")
    await visitor.should_see("What it may be", retries=PATIENT)
    await visitor.should_see("Read next")
    visitor.find(marker="builder").trigger("entered", "Sandpiper")
    visitor.find(marker="from_unit").trigger("entered", "knot/v1/77")
    await visitor.should_see("There is no unit", retries=PATIENT)
    visitor.find(marker="from_unit").trigger("entered", "")
    assert (load_draft(shop, PAGE) or {})["typed"]["re_ohm"] == "4,1 ohm"
    visitor.find(marker="keep-check").click()
    await until(lambda: check_ids(shop) == ["sandpiper"])
    assert load_check(shop, "sandpiper").record.reading("re_ohm").value == 4.1  # type: ignore[union-attr]
    assert load_draft(shop, PAGE) is None


async def test_nothing_read_is_not_kept(visitor: User, shop: Workshop) -> None:
    """An empty form says so and keeps nothing."""
    await visitor.open("/builders/new")
    visitor.find(marker="keep-check").click()
    await visitor.should_see("Nothing was kept", retries=PATIENT)
    assert check_ids(shop) == []


async def test_of_several_versions_one_must_be_chosen(shop: Workshop) -> None:
    """None is taken for the builder's by guessing; a reading without one is not answered, and not lost."""
    shop.create_version("knot", "v2", VersionRecord())
    async with visiting(shop) as visitor:
        await visitor.open("/builders/new")
        visitor.find(marker="re_ohm").trigger("entered", "6.4")
        await visitor.should_see("Say which version was built", retries=PATIENT)
        await visitor.should_not_see("What it may be")
        visitor.find(marker="keep-check").click()
        await visitor.should_see("Nothing was kept", retries=PATIENT)
        assert (load_draft(shop, PAGE) or {})["typed"]["re_ohm"] == "6.4"


async def test_recordings_come_in_by_the_page(visitor: User, shop: Workshop, made: Path) -> None:
    """What is no recording is refused in words and not kept; a recording waits in the draft; the sweep can be downloaded."""
    answer = await visitor.http_client.post(
        "/builders/file", files={"file": ("letter.m4a", b"Dear all, " * 30)}
    )
    assert "cannot be read" in answer.json()["refused"]
    answer = await visitor.http_client.post("/builders/file", files={"file": ("empty.wav", b"")})
    assert "empty" in answer.json()["refused"]
    data = (made / "stiff.flac").read_bytes()
    answer = await visitor.http_client.post("/builders/file", files={"file": ("Stiff one.flac", data)})
    assert answer.json()["file"]["rate_hz"] == 44_100
    assert draft_file(shop, PAGE, answer.json()["file"]["token"]).exists()
    sweep = await visitor.http_client.get("/builders/sweep.wav")
    assert sweep.content[:4] == b"RIFF"


async def test_a_kept_check_is_answered_and_closed(shop: Workshop, made: Path) -> None:
    """Curves, suspects and a text to send; the next reading is added; what it was is counted on the list."""
    kept(shop, made)
    async with visiting(shop) as visitor:
        await visitor.open("/builders")
        for words in ("sounds thin", "1 open."):
            await visitor.should_see(words)
        await visitor.open("/builders/tern")
        await visitor.should_see("To send to the builder", retries=PATIENT)
        await visitor.should_see("The recording and a good unit")
        visitor.find(marker="fs_hz").trigger("entered", "128 Hz")
        visitor.find(marker="save-readings").click()
        await until(lambda: load_check(shop, "tern").record.reading("fs_hz") is not None)
        record = load_check(shop, "tern").record
        assert record.reading("re_ohm").note == "warm room"  # type: ignore[union-attr]
        assert record.recording is not None
        await visitor.open("/builders/tern")
        await visitor.should_see("To send to the builder", retries=PATIENT)
        visitor.find(marker="found_fault").trigger("entered", "stiff-print")
        visitor.find(marker="save-check").click()
        await visitor.should_see("answered or mended")
        visitor.find(marker="status").trigger("entered", "mended")
        visitor.find(marker="save-check").click()
        await until(lambda: standing(shop).by_fault == {"stiff-print": 1})
        await visitor.open("/builders")
        await visitor.should_see("Found in the end: surround or spider printed too stiff 1.")


async def test_a_lost_recording_and_a_broken_record_are_said(shop: Workshop, made: Path) -> None:
    """The page of a check whose file is gone says so; one whose record is wrong stands below the list."""
    kept(shop, made)
    (shop.folder / "builders" / "tern" / "recording.flac").unlink()
    broken = shop.folder / "builders" / "knot" / "check.toml"
    broken.parent.mkdir()
    broken.write_text('format = 1\ndate = 2026-05-09\nversion = "knot/v1"\nstatus = "lost"\n')
    async with visiting(shop) as visitor:
        await visitor.open("/builders/tern")
        await visitor.should_see("missing", retries=PATIENT)
        await visitor.open("/builders")
        await visitor.should_see("Records that could not be read")
