"""The import page: files in, every field checked at its place, drafts kept, nothing half-done."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from nicegui.testing import User

from halfroll.app.taking import check_typed
from halfroll.core.conditions import Space
from halfroll.workshop import Workshop, load_draft, write_sweep
from tests.app.conftest import PATIENT, until, visiting
from tests.app.samples import SWEEP, audio_file

TYPED = {
    "driver": "+", "driver_title": "Knot", "version": "+", "version_name": "v1", "version_rated_impedance_ohm": "8",
    "version_rated_power_w": "10", "unit": "+", "unit_name": "01", "unit_re_ohm": "6,8", "rig": "+", "rig_title": "Bench",
    "rig_microphone": "4", "rig_microphone_u_db": "0.3", "rig_voltage": "20", "drive_v": "", "distance_m": "1",
    "space": "half-space", **{f"sweep_{k}": str(getattr(SWEEP, k)) for k in ("start_hz", "stop_hz", "duration_s", "rate_hz",
    "level", "fade_in_s", "fade_out_s", "silence_before_s", "silence_after_s")},
}  # fmt: skip


async def _send(user: User, path: Path, name: str | None = None) -> dict[str, Any]:
    """What the page's script does with a dropped file."""
    with path.open("rb") as file:
        response = await user.http_client.post("/import/file", files={"file": (name or path.name, file)})
    assert response.status_code == 200
    answer: dict[str, Any] = response.json()
    return answer


async def _drop(user: User, path: Path) -> None:
    answer = await _send(user, path)
    user.find(marker="drop").trigger("refused" if "refused" in answer else "kept", answer)


async def _type(user: User, typed: dict[str, str]) -> None:
    for key, value in typed.items():
        await user.should_see(marker=key)
        user.find(marker=key).trigger("entered", value)
        await user.should_see(marker="add")


async def test_first_take_of_an_empty_workshop(newcomer: User, empty: Workshop, tmp_path: Path) -> None:
    """A recording and what is known of it become driver, version, unit, rig and take, and the take's page opens."""
    await newcomer.open("/import")
    await _drop(newcomer, audio_file(tmp_path / "first run.wav"))
    await newcomer.should_see("first run.wav")
    await newcomer.should_see("2 channels, 24000 samples a second")
    await _type(newcomer, TYPED)
    newcomer.find(marker="add").click()
    await until(lambda: empty.take_ids())
    await newcomer.should_see("Counts in the figures.", retries=PATIENT)
    (take,) = empty.take_ids()
    assert take.startswith("knot/v1/01/")
    assert take.endswith("first-run")
    assert empty.unit("knot/v1/01").record.re_ohm == 6.8
    assert empty.rig("bench").record.microphone.pa_per_full_scale == 4.0  # type: ignore[union-attr]
    record = empty.take(take).record
    assert (record.distance_m, record.space, record.sweep.duration_s) == (1.0, Space.HALF, SWEEP.duration_s)
    assert [str(role) for role in record.roles] == ["microphone", "voltage"]
    draft = load_draft(empty, "import")
    assert draft is not None
    assert draft["files"] == []
    assert draft["typed"]["driver"] == "knot"  # stays for the next take
    assert not (empty.folder / "drafts/import").exists()


async def test_errors_stand_at_their_fields_and_nothing_is_made(
    newcomer: User, empty: Workshop, tmp_path: Path
) -> None:
    """All that is wrong is said at once, each under its field; the workshop stays empty."""
    await newcomer.open("/import")
    await _drop(newcomer, audio_file(tmp_path / "run.wav"))
    await _type(newcomer, TYPED | {"driver_title": "", "version_rated_impedance_ohm": "eight", "distance_m": "0",
                                   "space": "", "sweep_stop_hz": "10", "rig_microphone": "-4"})  # fmt: skip
    newcomer.find(marker="add").click()
    await newcomer.should_see("Nothing was added: 6 fields above need a look.")
    for key, words in (
        ("driver_title", "The new driver needs a name."),
        ("version_rated_impedance_ohm", "Must be a number; found 'eight'."),
        ("distance_m", "Must be above 0; found 0.0."),
        ("space", "This is needed."),
        ("sweep_start_hz", "Must be above 0 Hz and below stop_hz; found 20."),
        ("rig_microphone", "Must be above 0; found -4.0."),
    ):
        error = next(iter(newcomer.find(marker=f"{key}-error").elements))
        assert words in error.text  # type: ignore[attr-defined]
    assert empty.driver_ids() == []
    assert empty.rig_names() == []


async def test_draft_survives_a_restart(empty: Workshop, tmp_path: Path) -> None:
    """What was typed and dropped is there again when the server was stopped in between."""
    async with visiting(empty) as user:
        await user.open("/import")
        await _drop(user, audio_file(tmp_path / "run.wav"))
        await _type(user, {"driver_title": "Turnstone", "distance_m": "0,5"})
    async with visiting(empty) as user:
        await user.open("/import")
        await user.should_see("Turnstone")
        await user.should_see("0,5")
        await user.should_see("run.wav")
    (empty.folder / "drafts/import").rename(tmp_path / "elsewhere")
    async with visiting(empty) as user:
        await user.open("/import")
        await user.should_see("Turnstone")
        await user.should_not_see("run.wav")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "The audio file is empty"),
        (b"level,frequency\n1,2\n", "The file must be a WAV or FLAC recording"),
        (b"RIFF\x24\x00\x00\x00WAVEfmt ", "The file must be a WAV or FLAC recording"),
    ],
)
async def test_wrong_file_is_refused_in_words(newcomer: User, empty: Workshop, tmp_path: Path, content: bytes,
                                              words: str) -> None:  # fmt: skip
    """A file that is no recording is named with what is wrong; no path of the draft's copy, and no copy stays."""
    path = tmp_path / "text.wav"
    path.write_bytes(content)
    await newcomer.open("/import")
    await _drop(newcomer, path)
    await newcomer.should_see(f"text.wav: {words}")
    await newcomer.should_not_see(str(empty.folder))
    assert not list((empty.folder / "drafts/import").glob("*"))


async def test_sweep_file_fills_the_fields(newcomer: User, empty: Workshop, tmp_path: Path) -> None:
    """The .toml file that was written beside the sweep fills in its parameters; another .toml is refused."""
    write_sweep(tmp_path / "sweep.wav", SWEEP)
    await newcomer.open("/import")
    await _drop(newcomer, tmp_path / "sweep.toml")
    await newcomer.should_see("The sweep was read from sweep.toml.")
    draft = load_draft(empty, "import")
    assert draft is not None
    assert float(draft["typed"]["sweep_duration_s"]) == SWEEP.duration_s
    other = tmp_path / "other.toml"
    other.write_text("colour = 'grey'\n")
    await _drop(newcomer, other)
    await newcomer.should_see("other.toml is not the file of a sweep")


async def test_known_version_is_offered(visitor: User, small: Workshop, tmp_path: Path) -> None:
    """Coming from a version's page the form asks only for what is new; the same recording twice is refused."""
    await visitor.open("/import?version=godwit/v2")
    await visitor.should_not_see(marker="version_name")
    await _drop(visitor, audio_file(tmp_path / "run.wav", seed=77))
    typed = {key: value for key, value in TYPED.items() if key.startswith(("sweep", "distance", "space"))}
    await _type(visitor, {**typed, "unit": "01", "rig": "bench", "drive_v": "2.83"})
    visitor.find(marker="add").click()
    await until(lambda: len(small.take_ids("godwit/v2/01")) == 4)
    await visitor.should_see("Counts in the figures.", retries=PATIENT)
    await visitor.open("/import?version=godwit/v2")
    await _drop(visitor, tmp_path / "run.wav")
    await visitor.should_see("run.wav")
    await _type(visitor, {"unit": "01", "rig": "bench"})
    visitor.find(marker="add").click()
    await visitor.should_see("This recording is in the workshop already", retries=PATIENT)
    assert len(small.take_ids("godwit/v2/01")) == 4


async def test_channels_need_one_microphone(newcomer: User, empty: Workshop, tmp_path: Path) -> None:
    """A take without a microphone, or with two, is refused under its file."""
    await newcomer.open("/import")
    await _drop(newcomer, audio_file(tmp_path / "run.wav"))
    await newcomer.should_see(marker="role_0")
    newcomer.find(marker="role_0").trigger("entered", "voltage")
    await until(
        lambda: (load_draft(empty, "import") or {"files": []})["files"][0]["roles"] == ["voltage", "voltage"]
    )
    newcomer.find(marker="add").click()
    await newcomer.should_see("One channel must be the microphone.")


async def test_several_files_one_take_each(visitor: User, small: Workshop, tmp_path: Path) -> None:
    """Two recordings of the same unit become two takes, and the version's page opens."""
    await visitor.open("/import?version=godwit/v3")
    for n in (1, 2):
        await _drop(visitor, audio_file(tmp_path / f"run {n}.wav", seed=80 + n))
    typed = {key: value for key, value in TYPED.items() if key.startswith(("sweep", "distance", "space"))}
    await _type(
        visitor, {**typed, "together": "each", "unit": "02", "rig": "bench", "when": "2026-04-01T10:30"}
    )
    visitor.find(marker="add").click()
    await until(lambda: len(small.take_ids("godwit/v3/02")) == 5)
    added = [take.rpartition("/")[2] for take in small.take_ids("godwit/v3/02")][-2:]
    assert added == ["2026-04-01-run-1", "2026-04-01-run-2"]
    assert small.take(f"godwit/v3/02/{added[0]}").record.when.isoformat() == "2026-04-01T10:30:00"
    await visitor.should_see("Godwit v3", retries=PATIENT)


async def test_removed_file_is_gone(newcomer: User, empty: Workshop, tmp_path: Path) -> None:
    """A file taken off the list is deleted from the draft."""
    await newcomer.open("/import")
    await _drop(newcomer, audio_file(tmp_path / "run.wav"))
    await newcomer.should_see("run.wav")
    newcomer.find("Remove").click()
    await newcomer.should_not_see("run.wav")
    assert not list((empty.folder / "drafts/import").glob("*"))
    newcomer.find(marker="add").click()
    await newcomer.should_see("A recording is needed")


def test_second_attempt_finds_what_the_first_made(empty: Workshop) -> None:
    """A name that is taken is said, so that nothing is made twice under another name."""
    from halfroll.workshop import DriverRecord

    empty.create_driver("knot", DriverRecord(title="Knot"))
    errors = check_typed(empty, TYPED, []).errors
    assert errors["driver_title"].startswith("There is a driver knot already")
    assert errors["files"].startswith("A recording is needed")
    assert "version_name" not in errors


async def test_sweep_page(visitor: User, small: Workshop) -> None:
    """The sweep's page gives the very samples of the sweep as WAV, checks each parameter, and remembers them."""
    import io

    import numpy as np
    import soundfile

    await visitor.open("/sweep")
    await visitor.should_see("Mind your ears")
    visitor.find(marker="duration_s").trigger("entered", "2,5")
    await until(lambda: load_draft(small, "sweep") is not None)
    link = next(iter(visitor.find(marker="download").elements)).props["href"]
    assert "duration_s=2.5" in link
    response = await visitor.http_client.get(link)
    samples, rate = soundfile.read(io.BytesIO(response.content))
    from dataclasses import replace

    from halfroll.measure.sweep import Sweep

    expected = replace(Sweep(), duration_s=2.5)
    assert rate == expected.rate_hz
    assert np.abs(samples - expected.samples()).max() < 2.0**-22  # one step of 24 bits is 2^-23
    visitor.find(marker="stop_hz").trigger("entered", "30000")
    await visitor.should_see("at most half the sample rate, 24000 Hz")
    assert "href" not in next(iter(visitor.find(marker="download").elements)).props
    await visitor.open("/import")
    assert json.loads((small.folder / "drafts/sweep.json").read_text())["typed"]["duration_s"] == "2,5"
    await visitor.should_see("2,5")


@pytest.mark.parametrize("query", ["stop_hz=x", "level=2", "duration_s=1e9"])
async def test_wrong_sweep_address(visitor: User, query: str) -> None:
    """A wrong parameter in the address of the file is an answer in words, not a fault."""
    response = await visitor.http_client.get(f"/sweep.wav?{query}")
    assert response.status_code == 422
    assert "of the sweep" in response.text
