"""The sound card without one: which device is meant, what a block does, what a setup may say.

The real thing is in tests/sound; here is what needs no sound server.
"""

import sys
from types import SimpleNamespace

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.measure.capture import CaptureSetup, Device, choose_device
from halfroll.measure.capture import devices as devices_now
from halfroll.measure.capture.child import Take, _Meter, _trouble, gaps, list_devices

DEVICES = (
    Device(number=0, name="Built-in", system="ALSA", inputs=2, outputs=2, rate_hz=48e3, default_output=True),
    Device(
        number=1, name="Interface 2x2", system="ALSA", inputs=2, outputs=2, rate_hz=48e3, default_input=True
    ),
    Device(number=2, name="Interface 2x2", system="JACK", inputs=2, outputs=2, rate_hz=48e3),
    Device(number=3, name="Microphone", system="ALSA", inputs=1, outputs=0, rate_hz=48e3),
)


@pytest.mark.parametrize(
    ("wanted", "output", "number"),
    [
        ("", False, 1),
        ("", True, 0),
        ("3", False, 3),
        ("micro", False, 3),
        ("built-in", True, 0),
        ("Interface 2x2 (JACK)", True, 2),
        ("jack", False, 2),
    ],
)
def test_device_meant(wanted, output, number):
    """By nothing (the default), number, name, or a part only one has."""
    assert choose_device(DEVICES, wanted, output=output).number == number


@pytest.mark.parametrize(
    ("wanted", "output", "words"),
    [
        (
            "interface",
            False,
            "Several input devices fit; found interface. Allowed: 1 Interface 2x2 \\(ALSA\\); 2 Interface",
        ),
        ("Interface 2x2", True, "Several output devices fit"),
        ("microphone", True, "The output device must be one that is there; found microphone"),
        ("9", False, "must be one that is there; found 9"),
    ],
)
def test_device_not_meant_clearly(wanted, output, words):
    """Several fit or none does: all that fit are named, or all there are."""
    with pytest.raises(InputError, match=words):
        choose_device(DEVICES, wanted, output=output)


def test_no_device_at_all():
    """The way to go on without one is named."""
    with pytest.raises(
        InputError, match=r"no sound device with an input; found no sound device at all.*can be imported"
    ):
        choose_device((), "", output=False)


@pytest.mark.parametrize(
    ("key", "value"),
    [("rate_hz", 4000), ("output_channel", 0), ("block", -1), ("latency_samples", 10**6), ("most", 1.5), ("most", 0.0),
     ("inputs", ())],
)  # fmt: skip
def test_setup_out_of_range_names_its_key(key, value):
    """Each key says what is allowed."""
    with pytest.raises(InputError) as found:
        CaptureSetup(**{key: value})
    assert found.value.place.key == key
    assert found.value.allowed


def run_blocks(take, signal, *, delay, block=64, stop_after=None):
    """Loop a take's output back to its input after a delay, block by block; what was played."""
    line = np.zeros(delay, np.float32)
    played = []
    count = 0
    while not take.over:
        incoming, line = line[:block], line[block:]
        incoming = np.concatenate([incoming, np.zeros(block - len(incoming), np.float32)])
        outgoing = np.zeros(block, np.float32)
        take.step(np.stack([incoming, -incoming], axis=1), outgoing, "")
        line = np.concatenate([line, outgoing])
        played.append(outgoing)
        count += 1
        if count == stop_after:
            take.stop()
    return np.concatenate(played)


def test_take_is_lined_up_whatever_the_block():
    """With the delay known, what comes back stands where it was played, in every channel; the block size does not matter."""
    signal = np.random.default_rng(0).uniform(-1, 1, 1000).astype(np.float32)
    for block in (64, 100, 128):
        take = Take(signal, 2, 48_000, delay=128)
        played = run_blocks(take, signal, delay=128, block=block)
        assert np.array_equal(played[:1000], signal)
        assert np.array_equal(take.recorded(), np.stack([signal, -signal]))


def test_stop_fades_within_10_ms():
    """From the stop on the sound goes down in a straight line of 480 samples at 48 kHz, and then there is silence."""
    take = Take(np.ones(48_000, np.float32), 2, 48_000, delay=0)
    played = run_blocks(take, None, delay=64, stop_after=10)
    assert (played[:640] == 1).all()
    assert np.abs(np.diff(played[640:])).max() <= 1 / 480 + 1e-6
    assert len(played) <= 640 + 480 + 64
    assert played[640 + 480 :].sum() == 0


def test_flags_are_kept_with_their_place():
    """What the sound system says of a block stands with the block's first sample."""
    take = Take(np.zeros(256, np.float32), 1, 48_000, delay=0)
    for trouble in ("", "input overflow", "", ""):
        take.step(np.zeros((64, 1), np.float32), np.zeros(64, np.float32), trouble)
    assert take.flags == [(64, "input overflow")]
    status = SimpleNamespace(
        input_overflow=True, input_underflow=False, output_overflow=False, output_underflow=True
    )
    assert _trouble(status) == "input overflow and output underflow"


def clock_of(frames, seconds, late):
    """Callbacks of so many frames at 48 kHz, on time but for what `late(n)` says (s)."""
    count = int(seconds * 48_000 / frames)
    return [(n * frames / 48_000 + late(n), n * frames) for n in range(count)]


def test_late_callbacks_that_catch_up_are_no_gap():
    """A callback may be 100 ms late, and blocks may come in bursts of eight; nothing was lost."""
    random = np.random.default_rng(3)
    jitter = random.uniform(0, 0.015, 1000)
    assert gaps(clock_of(1024, 5.0, lambda n: jitter[n]), 48_000) == []
    assert gaps(clock_of(1024, 5.0, lambda n: 0.1 * (n % 90 == 40)), 48_000) == []
    burst = 8 * 1024 / 48_000
    assert gaps([(n // 8 * burst, n * 1024) for n in range(230)], 48_000) == []
    assert (
        gaps([(n * 1024 / 48_000 * (1 + 300e-6), n * 1024) for n in range(5000)], 48_000) == []
    )  # two clocks


@pytest.mark.parametrize(("frames", "lost_s"), [(1024, 0.025), (1024, 0.3), (256, 0.025), (8192, 0.1)])
def test_skipped_time_is_a_gap(frames, lost_s):
    """From the middle on everything is late for ever: the gap stands within a block of there, once."""
    middle = int(2.5 * 48_000 / frames)
    found = gaps(clock_of(frames, 5.0, lambda n: lost_s * (n >= middle)), 48_000)
    assert len(found) == 1
    assert abs(found[0] - middle * frames) <= frames


def test_meter_reads_a_sine():
    """A full sine has peak 1 and r.m.s. 0.7071; half of it half; samples at full scale are counted."""
    meter = _Meter(2)
    sine = np.sin(2 * np.pi * 1000 * np.arange(4800) / 48_000)
    for piece in np.split(np.stack([sine, 0.5 * sine], axis=1).astype(np.float32), 10):
        meter.step(piece)
    read = meter.read()
    assert read["peak"] == pytest.approx((1.0, 0.5), rel=1e-6)
    assert read["rms"] == pytest.approx((2**-0.5, 0.5 * 2**-0.5), rel=1e-6)
    assert read["over"] == (200, 0)  # the two peaks of each of 100 periods


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (ModuleNotFoundError("No module named 'sounddevice'"), ("missing", "sounddevice")),
        (OSError("PortAudio library not found"), ("missing", "portaudio", "PortAudio library not found")),
    ],
)
def test_what_is_missing_is_told_apart(monkeypatch, fault, said):
    """Without the library, and without the system's PortAudio under it."""

    class Finder:
        @staticmethod
        def find_spec(name, path=None, target=None):
            if name == "sounddevice":
                raise fault

    monkeypatch.setattr("halfroll.measure.capture.child._be_quiet", lambda: None)
    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Finder, *sys.meta_path])
    told = []
    list_devices(SimpleNamespace(send=told.append, close=lambda: None))
    assert told == [said]


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (
            ("missing", "sounddevice"),
            r'library sounddevice.*pip install "halfroll\[capture\]".*can be imported',
        ),
        (
            ("missing", "portaudio", "gone"),
            r"PortAudio library.*apt-get install libportaudio2.*can be imported",
        ),
    ],
)
def test_missing_parts_are_named_with_the_remedy(monkeypatch, said, words):
    """What is not installed, how to get it, and how to go on without."""
    process = SimpleNamespace(join=lambda wait=None: None, is_alive=lambda: False)
    pipe = SimpleNamespace(poll=lambda wait: True, recv=lambda: said)
    monkeypatch.setattr("halfroll.measure.capture.listing.start", lambda task: (process, pipe))
    with pytest.raises(InputError, match=words):
        devices_now()
