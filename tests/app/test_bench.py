"""The bench page without sound: what is missing is said with a way on, and what is typed is checked before anything plays.

What it does with a sound card is in tests/sound.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from nicegui.testing import User

from halfroll.app.bench_typed import roles_typed, wanted_of
from halfroll.app.field import Control
from halfroll.app.meters import level_rows
from halfroll.core.errors import InputError
from halfroll.measure.capture import CaptureSetup, Device, Levels
from halfroll.measure.recording import Role
from halfroll.workshop import CurrentTable, MicrophoneTable, RigRecord, VoltageTable, Workshop, load_draft
from tests.app.conftest import PATIENT, until, visiting

INTERFACE = Device(number=3, name="Interface", system="ALSA", inputs=4, outputs=2, rate_hz=48e3, default_input=True,
                   default_output=True)  # fmt: skip
TYPED = {
    "unit": "godwit/v1/01", "rig": "bench", "distance_m": "1", "space": "half-space", "drive": "1", "drive_unit": "W",
    "repeats": "3", "rate_hz": "48000", "output_channel": "1", "tone_hz": "315", "channels": "2", "role_1": "microphone",
    "role_2": "voltage", "start_hz": "20", "stop_hz": "20000", "duration_s": "6",
}  # fmt: skip


@pytest.fixture
def devices(monkeypatch: pytest.MonkeyPatch) -> Callable[[object], None]:
    """Says which devices there are, or why none can be listed."""

    def there_are(answer: object) -> None:
        def listed() -> object:
            if isinstance(answer, InputError):
                raise answer
            return answer

        monkeypatch.setattr("halfroll.app.pages.bench._devices", listed)

    return there_are


async def test_empty_workshop_shows_the_way(newcomer: User) -> None:
    """Without a unit and a rig there is nothing to measure: where to make them."""
    await newcomer.open("/bench")
    await newcomer.should_see("First a unit and a rig")
    await newcomer.should_see("/rigs")


async def test_without_portaudio_the_page_says_what_is_missing(
    visitor: User, devices: Callable[[object], None]
) -> None:
    """The message of the sound room, and the way to measure without a sound card."""
    devices(
        InputError(
            "PortAudio is not installed", remedy="On Debian and Ubuntu: sudo apt-get install libportaudio2"
        )
    )
    await visitor.open("/bench")
    await visitor.should_see("No sound card here", retries=PATIENT)
    await visitor.should_see("sudo apt-get install libportaudio2")
    await visitor.should_see("add the recording as a take")
    await visitor.should_not_see("How loud")


async def test_what_is_typed_is_checked_and_kept(small: Workshop, devices: Callable[[object], None]) -> None:
    """A missing space, a wrong number: each under its field, and nothing plays. The draft survives a reload."""
    devices((INTERFACE,))
    async with visiting(small) as user:
        await user.open("/bench?unit=godwit/v1/01&rig=bench")
        await user.should_see("How loud", retries=PATIENT)
        await user.should_see("Escape key")
        await user.should_see("Input 4 holds")
        type_into(user, "drive", "loud")
        user.find(marker="measure").click()
        await user.should_see("This is needed.")
        await user.should_see("A number is wanted; found 'loud'.")
        assert (load_draft(small, "bench") or {})["typed"]["drive"] == "loud"
        await user.open("/bench")
        await until(lambda: shown(user, "drive") == "loud")


async def test_caution_comes_before_the_sound(small: Workshop, devices: Callable[[object], None]) -> None:
    """How loud it will be and what the limit is; "Not yet" leaves all as it is."""
    devices((INTERFACE,))
    before = len(small.take_ids("godwit/v1/01"))
    async with visiting(small) as user:
        await user.open("/bench?unit=godwit/v1/01&rig=bench")
        await user.should_see("How loud", retries=PATIENT)
        for key, value in {"space": "half-space", "drive": "1.5", "drive_unit": "V", "v_max": "2"}.items():
            type_into(user, key, value)
        user.find(marker="measure").click()
        await user.should_see(
            "Up to 1.50\u202fV will be at the terminals; the limit is 2.00\u202fV, the limit that was set."
        )
        user.find(marker="not-yet").click()
        await user.should_not_see("will be at the terminals")
        assert len(small.take_ids("godwit/v1/01")) == before


async def test_devices_and_limit_go_into_the_rig(small: Workshop, devices: Callable[[object], None]) -> None:
    """What was chosen is written to the rig's record, where the command line finds it."""
    devices((INTERFACE,))
    async with visiting(small) as user:
        await user.open("/bench?unit=godwit/v1/01&rig=bench")
        await user.should_see("How loud", retries=PATIENT)
        for key, value in {"role_2": "voltage", "input": INTERFACE.label, "v_max": "4,5"}.items():
            type_into(user, key, value)
        user.find(marker="keep-rig").click()
        await user.should_see("The rig bench holds the sound card and the limit now.")
        rig = small.rig("bench").record
        assert rig.devices is not None
        assert rig.devices.input == "Interface (ALSA)"
        assert rig.devices.inputs == (Role.MICROPHONE, Role.VOLTAGE)
        assert rig.limits is not None
        assert rig.limits.v_max == 4.5


def type_into(user: User, key: str, value: str) -> None:
    """Have a person type into a field."""
    user.find(marker=key).trigger("entered", value)


def shown(user: User, key: str) -> str:
    """What stands in a field, empty while it is not there."""
    try:
        (control,) = user.find(marker=key).elements
    except AssertionError:
        return ""
    assert isinstance(control, Control)
    return control.value


@pytest.mark.parametrize(
    ("change", "key", "words"),
    [
        ({"unit": ""}, "unit", "Choose the unit"),
        ({"rig": ""}, "rig", "Choose the rig"),
        ({"role_1": "-", "role_2": "-"}, "role_1", "One channel must be recorded."),
        ({"role_1": "current"}, "role_1", "One channel must be the microphone."),
        ({"role_2": "microphone"}, "role_1", "each role but unused at most once"),
        ({"distance_m": "far"}, "distance_m", "found 'far'"),
        ({"v_max": "0"}, "v_max", "above 0"),
        ({"v_max": "1", "drive_unit": "V", "drive": "2"}, "drive", "above the limit that was set; found 2.00\u202fV. Allowed: up to 1.00\u202fV"),
        ({"drive": "-1"}, "drive", "must be a number above 0"),
        ({"repeats": "2.5"}, "repeats", "A whole number from 1 to 100"),
        ({"stop_hz": "30000"}, "stop_hz", "half the sample rate"),
        ({"tone_hz": "5"}, "tone_hz", "20 to 20000 Hz"),
        ({"rate_hz": "fast"}, "rate_hz", "found 'fast'"),
    ],
)  # fmt: skip
def test_each_fault_is_said_under_its_field(
    small: Workshop, change: dict[str, str], key: str, words: str
) -> None:
    """Nothing is measured while something typed is wrong."""
    errors: dict[str, str] = {}
    assert wanted_of(small, {**TYPED, **change}, errors) is None
    assert words in errors[key]


def test_all_right_is_all_wanted(small: Workshop) -> None:
    """What was typed arrives as it was meant."""
    errors: dict[str, str] = {}
    wanted = wanted_of(small, {**TYPED, "temperature_c": "21,5", "drive": "2", "drive_unit": "V"}, errors)
    assert errors == {}
    assert wanted is not None
    assert wanted.roles == (Role.MICROPHONE, Role.VOLTAGE)
    assert wanted.setup.temperature_c == 21.5
    assert wanted.setup.sweep.duration_s == 6.0
    assert (wanted.repeats, wanted.drive.target_v, wanted.ramp.frequency_hz) == (3, 2.0, 315.0)


def test_channels_behind_the_last_role_are_not_recorded() -> None:
    """A gap in between is recorded as unused."""
    typed = {"channels": "4", "role_1": "-", "role_2": "microphone", "role_3": "-", "role_4": "-"}
    assert roles_typed(typed) == ("unused", "microphone")


def test_meters_speak_in_pascals_volts_and_amperes() -> None:
    """A full sine has r.m.s. 0.7071: of 4 Pa that is 103.0 dB re 20 uPa, of 20 V 14.1 V, of 10 A 7.07 A."""
    rig = RigRecord(
        microphone=MicrophoneTable(pa_per_full_scale=4.0),
        voltage=VoltageTable(v_per_full_scale=20.0),
        current=CurrentTable(a_per_full_scale=10.0),
    )
    roles = (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT, Role.UNUSED)
    levels = Levels(peak=(1.0,) * 4, rms=(2**-0.5,) * 4, over=(1, 0, 0, 0))
    rows = level_rows(levels, CaptureSetup(inputs=roles), rig)
    assert [row[4] for row in rows] == [
        "103.0\u202fdB sound pressure level",
        "14.1\u202fV",
        "7.07\u202fA",
        "",
    ]
    assert rows[0][:1] == ("1 microphone",)
    assert level_rows(None, None, rig) == []


def test_another_window_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """One card, one window: the second is told who has it."""
    import asyncio

    from halfroll.app import sounding

    monkeypatch.setattr(sounding, "WAIT_STEPS", 2)
    assert sounding._in_use.acquire(blocking=False)
    try:
        with pytest.raises(InputError, match="in use by another window of halfroll"):
            asyncio.run(sounding.Sounding().open(CaptureSetup()))
    finally:
        sounding._in_use.release()
