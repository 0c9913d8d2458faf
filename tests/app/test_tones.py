"""The pages of tones, levels and power."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from nicegui.testing import User

from halfroll.workshop import Workshop
from halfroll.workshop.runs import load_run, run_ids
from tests.app.conftest import PATIENT, until, visiting
from tests.tones_shop import UNIT, shop, with_series


@pytest.fixture
def lawn(tmp_path: Path) -> Workshop:
    """A workshop with one series of tones."""
    return with_series(tmp_path / "shop")  # type: ignore[no-any-return]


@pytest.fixture
async def at_lawn(lawn: Workshop) -> AsyncIterator[User]:
    """A person at its pages."""
    async with visiting(lawn) as user:
        yield user


async def test_tones_page(at_lawn: User) -> None:
    """Range, verdict, curves, table, conditions, and the way to the levels."""
    await at_lawn.open(f"/tones/{UNIT}/lawn")
    await at_lawn.should_see(marker="chart-thd", retries=PATIENT)
    for words in ("Tones lawn", "Nothing speaks against this series.", "THD by frequency and level", "tones.flac",
                  f"/levels/{UNIT}", "half space"):  # fmt: skip
        await at_lawn.should_see(words)
    await at_lawn.should_see(marker="chart-harmonics")


async def test_a_series_is_left_out_and_taken_in(lawn: Workshop, at_lawn: User) -> None:
    """The reason stands in the record."""
    await at_lawn.open(f"/tones/{UNIT}/lawn")
    await at_lawn.should_see(marker="leave-out", retries=PATIENT)
    at_lawn.find(marker="reason").trigger("entered", "rain")
    at_lawn.find(marker="leave-out").click()
    await until(lambda: load_run(lawn, f"{UNIT}/tones/lawn").record.leave_out == "rain")


async def test_levels_page(at_lawn: User) -> None:
    """The highest levels as numbers, charts, the table, and the form to play more."""
    await at_lawn.open(f"/levels/{UNIT}")
    await at_lawn.should_see(marker="chart-band", retries=PATIENT)
    for words in (
        "Distortion against level",
        "Highest level by frequency, the tones lawn",
        "Protect your ears",
        "Play a series of tones",
    ):
        await at_lawn.should_see(words)


async def test_levels_of_an_empty_unit_show_the_way(tmp_path: Path) -> None:
    """Nothing measured: what to do stands there; what was typed wrongly is said at its field."""
    async with visiting(shop(tmp_path / "shop")) as user:
        await user.open(f"/levels/{UNIT}")
        await user.should_see("Nothing of this unit says yet", retries=PATIENT)
        user.find(marker="play-tones").click()
        await user.should_see("A number is wanted.")
        user.find(marker="high_w").trigger("entered", "50")
        user.find(marker="play-tones").click()
        await user.should_see("above the rated power", retries=PATIENT)


async def test_power_page_begins_a_log(tmp_path: Path) -> None:
    """An address with a new name begins a log with its first step; a slip is said at its field and begins nothing."""
    workshop = shop(tmp_path / "shop")
    async with visiting(workshop) as user:
        await user.open(f"/power/{UNIT}/heat")
        await user.should_see("This log is not begun yet")
        await user.should_see("Never leave this test alone.")
        for key, value in (
            ("drive_v", "4"),
            ("hours", "2"),
            ("re_before_ohm", "6"),
            ("re_warm_ohm", "70"),
            ("filament_c", "60"),
        ):
            user.find(marker=key).trigger("entered", value)
        user.find(marker="add-step").click()
        await user.should_see("cannot be those of one coil")
        assert run_ids(workshop, UNIT, "power") == []
        user.find(marker="re_warm_ohm").trigger("entered", "7,2")
        user.find(marker="add-step").click()
        await until(
            lambda: (
                run_ids(workshop, UNIT, "power")
                and len(load_run(workshop, f"{UNIT}/power/heat").record.steps) == 1
            )
        )
        await user.open(f"/power/{UNIT}/heat")
        await user.should_see("The coil reached 71")
        await user.should_see("71\u202f±\u202f7\u202f°C, −1.6\u202fdB")  # 20 lg 1.2


async def test_what_does_not_exist(at_lawn: User) -> None:
    """A run or a source that is not there is said with what there is instead, status 404."""
    for address, words in (
        (f"/tones/{UNIT}/none", "There is no run"),
        ("/levels/plover/v1/09", "There is no unit"),
        ("/power/plover/v1/09/heat", "There is no unit"),
    ):
        response = await at_lawn.http_client.get(address)
        assert response.status_code == 404
        assert words in response.text
        assert "Traceback" not in response.text
