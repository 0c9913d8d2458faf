"""The pages of releases: made, looked at, built, downloaded; a bundle of somebody else sent, refused or brought in."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from nicegui.testing import User

from halfroll.workshop import Workshop
from halfroll.workshop.bundle import check_bundle
from halfroll.workshop.releases import load_release, release_ids
from tests.app.conftest import until, visiting
from tests.publish.release_shop import RELEASE, add_release, analysed
from tests.workshop.bundles import bundle, release_files

PATIENT = 100
"""Looks, a tenth of a second apart, for what the page does in its own time."""


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two versions of one driver, measured and analysed; no release."""
    return analysed(tmp_path_factory.getbasetemp())


@pytest.fixture
def shop(home: Path, tmp_path: Path) -> Workshop:
    """A copy of it."""
    return Workshop.open(Path(shutil.copytree(home, tmp_path / "shop")))


@pytest.fixture
async def visitor(shop: Workshop) -> AsyncIterator[User]:
    """Somebody at its pages."""
    async with visiting(shop) as user:
        yield user


async def test_an_empty_workshop_shows_the_way(newcomer: User) -> None:
    """Nothing to publish; a release of somebody else can come in."""
    await newcomer.open("/releases")
    for words in ("There is no version to publish yet", "A release of somebody else"):
        await newcomer.should_see(words)


async def test_from_nothing(visitor: User, shop: Workshop) -> None:
    """Faults stand under their fields; then it is made, built, downloaded, and what is downloaded is sound."""
    await visitor.open("/releases?version=godwit/v2")
    await visitor.should_see("Nothing is published yet")
    visitor.find(marker="audiences").trigger("entered", "supporters")
    visitor.find(marker="keep-release").click()
    await visitor.should_see("An audience must be name; date")
    visitor.find(marker="audiences").trigger(
        "entered", "supporters; 2026-01-05\neveryone; 2099-09-01; figures, changes"
    )
    visitor.find(marker="keep-release").click()
    await visitor.should_see("This is needed.")
    visitor.find(marker="title").trigger("entered", "Godwit v2")
    visitor.find(marker="date").trigger("entered", "2026-01-05")
    visitor.find(marker="leave_out").trigger(
        "entered", "sheet, guide, bill, models, comparison, charts, sweep"
    )
    visitor.find(marker="notes").trigger("entered", "It is deeper than v1.")
    visitor.find(marker="keep-release").click()
    await until(lambda: release_ids(shop) == ["godwit-v2"])
    assert load_release(shop, "godwit-v2").record.audiences[1].gets == ("figures", "changes")
    for words in (
        "Out for supporters.",
        "everyone from 2099-09-01 on",
        "left out by the maker",
        "surround: 1.2 mm",
        "octaves deeper",
    ):
        await visitor.should_see(words, retries=PATIENT)
    visitor.find(marker="build").click()
    await visitor.should_see("Download the bundle", retries=PATIENT)
    answer = await visitor.http_client.get("/releases/godwit-v2/bundle/godwit-v2-supporters.zip")
    assert answer.status_code == 200
    got = shop.folder / "got.zip"
    got.write_bytes(answer.content)
    assert check_bundle(got).sound
    visitor.find(marker="audience").trigger("entered", "everyone")
    await visitor.should_see("not for this audience", retries=PATIENT)
    visitor.find(marker="build").click()
    await visitor.should_see("is for everyone from 2099-09-01 on", retries=PATIENT)
    assert (await visitor.http_client.get("/releases/godwit-v2/bundle/release.toml")).status_code == 404
    assert (await visitor.http_client.get("/releases/nothing/bundle/a.zip")).status_code == 404


async def test_what_is_out_and_what_comes_next_stands_in_a_line(visitor: User, shop: Workshop) -> None:
    """Each turn with its day, today among them."""
    add_release(shop)
    await visitor.open("/releases")
    for words in (
        "Who may have what, from when on",
        "Today",
        "for supporters",
        "for everyone",
        "CERN-OHL-S-2.0",
    ):
        await visitor.should_see(words)
    await visitor.open(f"/releases/{RELEASE}")
    await visitor.should_see("asks that its text goes along", retries=PATIENT)
    missing = await visitor.http_client.get("/releases/none")
    assert missing.status_code == 404
    assert "There is no release none" in missing.text


async def test_a_bundle_is_sent_checked_and_brought_in(visitor: User, shop: Workshop) -> None:
    """Its report stands on the page, a name that is taken at its field, and afterwards the way to the version."""
    await send(visitor, bundle(release_files()))
    await visitor.open("/releases")
    for words in ("This bundle is sound", "Knot v2", "1 version"):
        await visitor.should_see(words, retries=PATIENT)
    visitor.find(marker="as").trigger("entered", "Not Plain")
    visitor.find(marker="bring-in").click()
    await visitor.should_see("The name of a driver must be plain", retries=PATIENT)
    visitor.find(marker="as").trigger("entered", "ruff")
    visitor.find(marker="bring-in").click()
    await visitor.should_see("1 version came in", retries=PATIENT)
    assert shop.version("ruff/v2").record.origin is not None
    assert not list((shop.folder / "drafts").glob("releases/*"))
    await visitor.open("/drivers/ruff/v2")
    await visitor.should_see("Brought in", retries=PATIENT)


async def test_a_tampered_bundle_is_refused_on_the_page(visitor: User, shop: Workshop) -> None:
    """The file that was changed is named; it cannot be brought in, and it can be forgotten."""
    await send(visitor, bundle(release_files(), changed={"README.txt": b"Reed me\n"}))
    await visitor.open("/releases")
    await visitor.should_see("This bundle is refused", retries=PATIENT)
    await visitor.should_see("README.txt was changed since the bundle was made")
    before = shop.version_ids()
    visitor.find(marker="bring-in").click()
    await visitor.should_see("README.txt was changed")
    assert shop.version_ids() == before
    visitor.find(marker="forget-bundle").click()
    await until(lambda: not list((shop.folder / "drafts").glob("releases/*")))


async def test_what_is_too_long_or_does_not_say_its_length_is_not_taken(
    visitor: User, shop: Workshop
) -> None:
    """Refused by its head, before the body is read."""
    said = await visitor.http_client.post(
        "/releases/file", headers={"content-length": "999999999999"}, content=b""
    )
    assert "MB at most" in said.json()["refused"]

    async def pieces() -> AsyncIterator[bytes]:
        yield b"x"

    said = await visitor.http_client.post("/releases/file", content=pieces())
    assert "how long the file is" in said.json()["refused"]
    assert not (shop.folder / "drafts").exists()


async def send(visitor: User, data: bytes) -> None:
    """Send a bundle as the page's drop field does."""
    said = await visitor.http_client.post(
        "/releases/file", files={"file": ("theirs.zip", data, "application/zip")}
    )
    assert "file" in said.json(), said.text
