"""The page of all drivers."""

from __future__ import annotations

import re
import shutil

from nicegui.testing import User

from halfroll.workshop import Workshop, overview
from tests.app.conftest import until, visiting


async def test_every_version_stands_in_line(visitor: User) -> None:
    """Each driver is a line of versions with figures, what they rest on, and a way to compare them."""
    await visitor.open("/")
    await visitor.should_see("2 drivers, 4 versions, 6 units, 18 takes")
    for words in (
        "Godwit",
        "by the water.",
        "Trial 1",
        "Trial 3",
        "measured: 2 units, 4 of 6 takes at 1\u202fW",
    ):
        await visitor.should_see(words)
    await visitor.should_see("/compare?v=godwit/v1&amp;v=godwit/v2&amp;v=godwit/v3&amp;base=parent")


async def test_headline_figures_carry_uncertainty(visitor: User) -> None:
    """Four figures a version; those of two units have an interval; what a printed table lacks is not invented."""
    await visitor.open("/")
    lines = next(iter(visitor.find("Trial 1").elements))
    stations = lines.content.split('<li class="station">')[1:]  # type: ignore[attr-defined]
    assert len(stations) == 4
    for station in stations[:3]:
        assert station.count('<span class="u">±') >= 3
        assert "Sensitivity" in station
        assert "Maximum level" in station
    assert "from a printed table: Printed table" in stations[3]
    assert "<b>84</b>" in stations[3]  # u 0.5 dB: half the 95 % interval is 1 dB
    assert '<span class="none">–</span>' in stations[3]


async def test_empty_workshop_shows_the_way(newcomer: User) -> None:
    """Without a driver the page says what to do first, and leads there."""
    await newcomer.open("/")
    await newcomer.should_see("No driver yet")
    await newcomer.should_see("the design of a motor")
    await newcomer.should_see('href="/import"')
    await newcomer.should_see('href="/sweep"')


async def test_waiting_takes_can_be_analysed(small: Workshop) -> None:
    """Takes that are not in the index are counted, and one press analyses them."""
    shutil.rmtree(small.folder / ".halfroll")
    async with visiting(small) as user:
        await user.open("/")
        await user.should_see("18 takes wait to be analysed.")
        user.find(marker="analyse").click()
        await until(lambda: not any(version.pending for version in overview(small).drivers[0].versions))
        await user.open("/")
        await user.should_not_see("wait to be analysed")


async def test_damaged_record_is_said_and_hides_nothing_else(small: Workshop) -> None:
    """A slip of the pen in one file is named with its file and line; the other versions are shown."""
    record = small.folder / "drivers/godwit/v2/version.toml"
    record.write_text(record.read_text().replace("rated_power_w", "rated_powr_w"))
    async with visiting(small) as user:
        await user.open("/")
        await user.should_see("Records that could not be read")
        await user.should_see("rated_powr_w")
        await user.should_see("Trial 3")


async def test_names_are_shown_as_typed(small: Workshop) -> None:
    """Markup in a title is text, not markup."""
    loaded = small.driver("godwit")
    small.save(loaded, loaded.record.changed(title="<b>God</b> & wit"))
    async with visiting(small) as user:
        await user.open("/")
        await user.should_see("&lt;b&gt;God&lt;/b&gt; &amp; wit")
        response = await user.http_client.get("/")
        assert not re.search(r"<b>God</b>", response.text)


async def test_a_workshops_record_that_cannot_be_read_is_said_on_every_page(empty: Workshop) -> None:
    """With file, key and line; not as a fault of ours."""
    path = empty.folder / "workshop.toml"
    path.write_text(path.read_text(encoding="utf-8") + '\n[costs]\ncurrency = "euro"\n', encoding="utf-8")
    async with visiting(empty) as user:
        for address in ("/", "/kits", "/stock"):
            answer = await user.http_client.get(address)
            assert (answer.status_code, "costs.currency" in answer.text) == (422, True)
        assert (await user.http_client.get("/nowhere")).status_code == 404
