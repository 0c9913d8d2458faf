"""The pages of rigs: how they stand, what one states, and calibrating it from the page."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
import soundfile
from nicegui.testing import User

from halfroll.app.signal_path import signal_path
from halfroll.workshop import RigRecord, Workshop
from halfroll.workshop.calibrate import keep
from halfroll.workshop.calibrate_sound import propose_sensitivity
from halfroll.workshop.rig_state import states
from tests.app.conftest import until, visiting
from tests.measure.test_calibrator import RATE, tone


async def _drop(user: User, path: Path, place: str) -> None:
    """What the page's script does with a dropped file."""
    with path.open("rb") as file:
        response = await user.http_client.post("/rigs/file", files={"file": (path.name, file)})
    answer: dict[str, Any] = response.json()
    user.find(marker=place).trigger("kept", answer)


async def test_list_says_how_every_rig_stands(small: Workshop) -> None:
    """Names, states and the number of takes; one that is out of date says so."""
    small.create_rig(
        "old",
        RigRecord.model_validate({"microphone": {"pa_per_full_scale": 4.0, "date": dt.date(2020, 1, 1)}}),
    )
    async with visiting(small) as user:
        await user.open("/rigs")
        for words in ("bench", "Bench microphone", "not dated", "old", "out of date", "A new rig"):
            await user.should_see(words)
        await user.open("/rigs/old")
        await user.should_see("Out of date: microphone. Takes made now will say so.")


async def test_a_rig_from_nothing(newcomer: User, empty: Workshop) -> None:
    """An empty workshop: a rig is made, its page says what to begin with, a typed calibration is kept with its day."""
    await newcomer.open("/rigs")
    await newcomer.should_see("There is no rig yet")
    newcomer.find(marker="make-rig").click()
    await newcomer.should_see("The new rig needs a name.")
    newcomer.find(marker="name").trigger("entered", "Bench")
    newcomer.find(marker="make-rig").click()
    await until(lambda: empty.rig_names() == ["bench"])
    await newcomer.should_see("Nothing is calibrated yet")
    await newcomer.should_see("not calibrated")
    newcomer.find(marker="work-sensitivity").click()
    await newcomer.should_see("Full scale must be a number; found nothing.")
    newcomer.find(marker="sensitivity-pa_per_full_scale").trigger("entered", "6,3")
    newcomer.find(marker="work-sensitivity").click()
    await newcomer.should_see("Keep this calibration")
    newcomer.find(marker="keep-sensitivity").click()
    await until(lambda: empty.rig("bench").record.microphone is not None)
    microphone = empty.rig("bench").record.microphone
    assert microphone is not None
    assert (microphone.pa_per_full_scale, microphone.u_db, microphone.date) == (6.3, 0.5, dt.date.today())


async def test_calibrator_dropped_on_the_page(small: Workshop, tmp_path: Path) -> None:
    """The recording gives the sensitivity with its budget; the other level is held back and can only be kept knowingly."""
    soundfile.write(tmp_path / "cal.wav", tone(0.1), RATE, subtype="PCM_24")
    soundfile.write(tmp_path / "loud.wav", tone(0.99), RATE, subtype="PCM_24")
    keep(small, propose_sensitivity(small, "bench", 14.2, 0.3, date=dt.date(2026, 1, 10)))
    async with visiting(small) as user:
        await user.open("/rigs/bench")
        await user.should_see("Microphone, with a sound calibrator")
        user.find(marker="work-microphone").click()
        await user.should_see("The recording of the calibrator is needed: drop it above.")
        await _drop(user, tmp_path / "cal.wav", "microphone-recording")
        await user.should_see("cal.wav")
        user.find(marker="work-microphone").click()
        for words in ("Uncertainty budget", "without a class", "14.18", "Keep this calibration"):
            await user.should_see(words, retries=50)
        await _drop(user, tmp_path / "loud.wav", "microphone-recording")
        user.find(marker="work-microphone").click()
        await user.should_see("Keep it anyway", retries=50)
        await user.should_see("the calibrator was set to the other level")
    microphone = small.rig("bench").record.microphone
    assert microphone is not None
    assert microphone.pa_per_full_scale == 14.2


async def test_what_is_wrong_stands_at_its_field(visitor: User) -> None:
    """A meter's reading with its unit, a missing resistor, a level no calibrator has."""
    await visitor.open("/rigs/bench")
    visitor.find(marker="output-reading").trigger("entered", "2.83 V")
    visitor.find(marker="work-output").click()
    await visitor.should_see("The reading must be typed as the meter shows it")
    visitor.find(marker="work-current").click()
    await visitor.should_see("The resistor must be a number; found nothing.")
    visitor.find(marker="microphone-level_db").trigger("entered", "104")
    visitor.find(marker="work-microphone").click()
    await visitor.should_see("94 or 114 dB")


async def test_no_such_rig(visitor: User) -> None:
    """Status 404, with the rigs there are."""
    response = await visitor.http_client.get("/rigs/nobody")
    assert response.status_code == 404
    assert "There is no rig nobody" in response.text
    assert "bench" in response.text


@pytest.mark.parametrize(("current", "words"), [
    (None, ()), ({"method": "divider", "resistance_ohm": 10.0}, ("Series resistor 10",)),
    ({"method": "shunt", "a_per_full_scale": 10.0, "resistance_ohm": 0.1, "voltage_includes_shunt": True}, ("Shunt 0.1",)),
])  # fmt: skip
def test_drawing(current: dict[str, object] | None, words: tuple[str, ...]) -> None:
    """Each way of measuring current has its drawing, with values beside the parts and an alternative in words."""
    values = {
        "microphone": {"pa_per_full_scale": 4.0, "date": dt.date(2020, 1, 1)},
        **({"current": current} if current else {}),
    }
    rig = RigRecord.model_validate(values)
    svg = signal_path(rig, states(rig, dt.date(2026, 1, 1)), "bench <b>")
    for word in (*words, "4\u202fPa", "out of date", "not calibrated", "bench &lt;b&gt;"):
        assert word in svg
    assert svg.count("<svg") == 2
