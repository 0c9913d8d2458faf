"""The page of a version, and the page of a take."""

from __future__ import annotations

from nicegui.testing import User

from halfroll.workshop import Workshop
from tests.app.conftest import PATIENT, until, visiting

TAKE = "godwit/v2/01/2026-03-02-1w-1"


async def _open_take(user: User) -> None:
    await user.open(f"/takes/{TAKE}")
    await user.should_see(marker="gate", retries=PATIENT)


async def test_version_answers_what_it_is(visitor: User) -> None:
    """What changed and why, figures with what they rest on, units, takes with verdicts, files, the way to its parent."""
    await visitor.open("/drivers/godwit/v2")
    await visitor.should_see("Files", retries=PATIENT)
    for words in (
        "Godwit v2", "Trial 2", "Softer surround.", "What changed from", "1.2 mm", "Deeper bass.", "8\u202fΩ", "50\u202fcm²",
        "2 units, 4 takes", "between units", "Power mean on a logarithmic frequency grid over 200 to 2000",
        "Saltmarsh Workshop", f"/takes/{TAKE}", "Nothing speaks against it.", "drivers/godwit/v2/version.toml",
        "/compare?v=godwit/v1&amp;v=godwit/v2&amp;base=parent",
    ):  # fmt: skip
        await visitor.should_see(words)


async def test_first_version_has_no_parent(visitor: User) -> None:
    """The first of a line says so, and offers no comparison with a parent."""
    await visitor.open("/drivers/godwit/v1")
    await visitor.should_see("First of its line")
    await visitor.should_not_see("Compare with")


async def test_published_version(visitor: User) -> None:
    """A version known from a table says where its numbers come from, and has no takes."""
    await visitor.open("/drivers/sandpiper/v1")
    await visitor.should_see("printed table")
    await visitor.should_see("No take yet.")
    await visitor.should_see("No unit is recorded.")


async def test_what_does_not_exist(visitor: User) -> None:
    """An address of nothing is said with what there is instead, status 404, and no traceback."""
    for address, words in (
        ("/drivers/godwit/v9", "There is no version godwit/v9"),
        ("/takes/godwit/v1/01/none", "There is no take"),
        ("/takes/godwit", "The id of a take must have 4 names"),
        ("/nowhere", "There is no page with this address"),
    ):
        response = await visitor.http_client.get(address)
        assert response.status_code == 404
        assert words in response.text
        assert "Traceback" not in response.text


async def test_damaged_version_is_said_with_file_and_line(small: Workshop) -> None:
    """The page of a version whose record has a slip of the pen names file, line and the right key."""
    record = small.folder / "drivers/godwit/v2/version.toml"
    record.write_text(record.read_text().replace("rated_power_w", "rated_powr_w"))
    async with visiting(small) as user:
        response = await user.http_client.get("/drivers/godwit/v2")
        assert response.status_code == 422
        assert "rated_powr_w is not a key of the version" in response.text
        assert "version.toml:" in response.text


async def test_take_shows_verdicts_first_then_curves(visitor: User) -> None:
    """A take says whether it counts, what speaks against it, and shows its curves with their text alternative."""
    await _open_take(visitor)
    await visitor.should_see("Counts in the figures.", retries=PATIENT)
    for chart in ("level", "thd", "harmonics", "impulse", "group_delay"):
        await visitor.should_see(marker=f"chart-{chart}")
    await visitor.should_see("highest")  # the summary of a curve's numbers
    for words in ("half space", "Bench microphone (bench)", "channel 1 microphone, channel 2 voltage"):
        await visitor.should_see(words)


async def test_chart_is_drawn_for_the_width_and_look_of_the_page(visitor: User) -> None:
    """The chart answers a phone in the dark with a narrow dark specification."""
    await _open_take(visitor)
    chart = visitor.find(marker="chart-level").trigger("measure", {"width": 350, "dark": True})
    spec = next(iter(chart.elements)).spec  # type: ignore[attr-defined]
    pad = spec["padding"]
    assert abs(spec["width"] + pad["left"] + pad["right"] - 350) <= 1
    assert spec["config"]["background"] == "#1c2428"
    assert spec["datasets"]["hover"]


async def test_gate_is_saved(visitor: User, small: Workshop) -> None:
    """A length typed into the gate is saved in the take's record; one that is no length is refused beside the field."""
    await _open_take(visitor)
    visitor.find(marker="gate").trigger("entered", "ms")
    await visitor.should_see(marker="gate_ms")
    visitor.find(marker="gate_ms").trigger("entered", "long")
    visitor.find(marker="set-gate").click()
    await visitor.should_see("A number of milliseconds is wanted")
    assert small.take(TAKE).record.gate_ms == "auto"
    visitor.find(marker="gate_ms").trigger("entered", "4,5")
    visitor.find(marker="set-gate").click()
    await until(lambda: small.take(TAKE).record.gate_ms == 4.5)


async def test_leaving_out_needs_a_reason_and_can_be_undone(visitor: User, small: Workshop) -> None:
    """A take is left out with its reason, and taken in again."""
    await _open_take(visitor)
    visitor.find(marker="leave-out").click()
    await visitor.should_see("Say why, in a few words.")
    visitor.find(marker="reason").trigger("entered", "A gull sat on the baffle")
    visitor.find(marker="leave-out").click()
    await until(lambda: small.take(TAKE).record.leave_out == "A gull sat on the baffle")
    await _open_take(visitor)
    await visitor.should_see("Left out of the figures: A gull sat on the baffle")
    visitor.find(marker="take-in").click()
    await until(lambda: small.take(TAKE).record.leave_out == "")


async def test_change_by_somebody_else_is_not_overwritten(visitor: User, small: Workshop) -> None:
    """The record changed since the page was opened: the save is refused, said on the page, and nothing is lost."""
    await _open_take(visitor)
    loaded = small.take(TAKE)
    small.save(loaded, loaded.record.changed(note="Edited by hand."))
    visitor.find(marker="reason").trigger("entered", "Wind")
    visitor.find(marker="leave-out").click()
    await visitor.should_see("was changed by somebody else")
    assert small.take(TAKE).record.note == "Edited by hand."
    assert small.take(TAKE).record.leave_out == ""


async def test_take_without_its_recording(small: Workshop) -> None:
    """The audio file is gone: the page says so and shows the rest."""
    (small.folder / f"drivers/godwit/v2/units/01/takes/{TAKE.rsplit('/', 1)[1]}/take.flac").unlink()
    async with visiting(small) as user:
        await user.open(f"/takes/{TAKE}")
        await user.should_see("Does not count in the figures", retries=PATIENT)
        await user.should_see("The file is missing")
        await user.should_not_see(marker="chart-level")
