"""The page on which near and far field are joined."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest
from nicegui.testing import User

from halfroll.app.chart import Chart
from halfroll.app.field import Control
from halfroll.app.front import front_drawing
from halfroll.workshop import Workshop, joined
from halfroll.workshop.demo_joined import FRONT, UNIT
from halfroll.workshop.runs import load_run, run_ids
from tests.app.conftest import PATIENT, until, visiting
from tests.workshop.joined_shop import vented_workshop


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Analysed once; copy it, do not write to it."""
    workshop = vented_workshop(tmp_path_factory.mktemp("vented") / "shop")
    joined.joined(workshop, f"{UNIT}/joined/vented")
    return workshop.folder


@pytest.fixture
def vented(made: Path, tmp_path: Path) -> Workshop:
    """A copy of it."""
    return Workshop.open(Path(shutil.copytree(made, tmp_path / "shop")))


def control(user: User, marker: str) -> Control:
    """A form control by its marker."""
    (found,) = user.find(marker=marker, kind=Control).elements
    return found


def enter(user: User, marker: str, value: str) -> None:
    """Type into a field."""
    control(user, marker).set(value)
    user.find(marker=marker, kind=Control).trigger("entered", value)


async def test_saved_recipe_is_shown_with_curves_and_figures(vented: Workshop) -> None:
    """Verdict, recipe in words, three curves, the front to scale, figures, and the list of what is saved."""
    async with visiting(vented) as user:
        await user.open(f"/join/{UNIT}?run=vented")
        await user.should_see("Near and far field can be joined.", retries=PATIENT)
        for words in ("Saved as vented.", "weighed by radius", "microphone almost touches", "Figures of the joined response",
                      "Counts in the figures.", "Front 24 by 36 cm"):  # fmt: skip
            await user.should_see(words, retries=PATIENT)
        for chart in ("join", "mismatch", "baffle"):
            await user.should_see(marker=f"chart-{chart}")


async def test_what_is_changed_is_seen_at_once_and_saved(vented: Workshop) -> None:
    """An overlap in the room does not count; another one does, in the same place on the page, and is saved as a run."""
    async with visiting(vented) as user:
        await user.open(f"/join/{UNIT}?run=vented")
        await user.should_see(marker="chart-join", retries=PATIENT)
        (chart,) = user.find(marker="chart-join", kind=Chart).elements
        enter(user, "overlap", "100-300")
        await user.should_see("This join does not count", retries=PATIENT)
        await user.should_see("where the far field holds the room")
        enter(user, "overlap", "three hundred")
        await user.should_see("Two frequencies are wanted", retries=PATIENT)
        enter(user, "overlap", "400-1000")
        await user.should_see("Near and far field can be joined.", retries=PATIENT)
        assert user.find(marker="chart-join", kind=Chart).elements == {chart}
        enter(user, "name", "wider")
        user.find(marker="save-join").click()
        await until(lambda: f"{UNIT}/joined/wider" in run_ids(vented, UNIT, "joined"))
        assert load_run(vented, f"{UNIT}/joined/wider").record.overlap_hz == (400.0, 1000.0)


async def test_faults_stand_beside_their_fields(vented: Workshop) -> None:
    """Three sides of four, a driver over the edge, no baffle in a cabinet: said where it was typed, nothing is joined."""
    async with visiting(vented) as user:
        await user.open(f"/join/{UNIT}?run=vented")
        await user.should_see(marker="chart-join", retries=PATIENT)
        enter(user, "height_cm", "")
        await user.should_see("All four are wanted", retries=PATIENT)
        enter(user, "height_cm", "36")
        enter(user, "x_cm", "2")
        await user.should_see("The cone must lie within the baffle", retries=PATIENT)
        await user.should_see("What is marked above keeps near and far field from being joined.")
        enter(user, "x_cm", "30")
        await user.should_see("Must be less than the width, 24 cm. Found 30.", retries=PATIENT)
        for side in ("width_cm", "height_cm", "x_cm", "y_cm"):
            enter(user, side, "")
        await user.should_see("One thing is still wanted: the front of the cabinet.", retries=PATIENT)


async def test_the_newest_saved_response_is_in_view(vented: Workshop) -> None:
    """Without a name in the address the newest that counts is shown; one that is left out only when there is no other."""
    record = load_run(vented, f"{UNIT}/joined/vented").record
    later = record.changed(when=record.when + dt.timedelta(days=1), overlap_hz=(400.0, 1000.0))
    joined.save(vented, UNIT, "later", later)
    joined.save(
        vented, UNIT, "latest", later.changed(when=later.when + dt.timedelta(days=1), leave_out="wind")
    )
    async with visiting(vented) as user:
        await user.open(f"/join/{UNIT}")
        await user.should_see("Saved as later.", retries=PATIENT)
        await user.should_see("Near and far field can be joined.", retries=PATIENT)
        assert control(user, "overlap").value == "400-1000"


async def test_unit_without_near_field_takes(small: Workshop) -> None:
    """Says which takes are wanted and how to make them."""
    async with visiting(small) as user:
        await user.open("/join/godwit/v2/01")
        await user.should_see("a near-field take is missing", retries=PATIENT)
        await user.should_see("in the mouth of the port")


async def test_what_does_not_exist(vented: Workshop) -> None:
    """No such unit, no such run: 404 and what there is."""
    async with visiting(vented) as user:
        for path, words in (
            ("/join/godwit/v1/99", "There is no unit"),
            (f"/join/{UNIT}?run=none", "no joined response none"),
        ):
            response = await user.http_client.get(path)
            assert response.status_code == 404
            assert words in response.text


async def test_leaving_out_can_be_undone(vented: Workshop) -> None:
    """Left out by a button, taken in again by the next."""
    run = f"{UNIT}/joined/vented"
    async with visiting(vented) as user:
        await user.open(f"/join/{UNIT}")
        await user.should_see(marker="leave-out-vented", retries=PATIENT)
        user.find(marker="leave-out-vented").click()
        await until(lambda: load_run(vented, run).record.leave_out)


def test_front_is_drawn_to_scale() -> None:
    """A circle of 5.5 cm radius in a front of 36 cm on 200 units is 30.5 units wide in radius, 12 and 14 cm from the corner."""
    drawn = front_drawing(FRONT.baffle(), 0.055)
    assert 'r="30.6"' in drawn
    assert f'cx="{200 / 36 * 12:.1f}" cy="{200 / 36 * 14:.1f}"' in drawn
    assert "cone over the edge" not in drawn
    assert "cone over the edge" in front_drawing(FRONT.baffle(), 0.13)
