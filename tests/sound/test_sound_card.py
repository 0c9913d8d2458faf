"""The sound card, on a real sound stack: PipeWire's null sink through PortAudio, without hardware.

The sink plays into its own monitor, so what is recorded must be what was played, to the bit and one block later. Before
the sink stands a filter: one way straight through and one way through a peaking biquad, whose response is known from
R. Bristow-Johnson, "Audio EQ Cookbook" (W3C Working Group Note, 2021), worked out here by SciPy.
"""

import json
import math
import time

import numpy as np
import pytest
from scipy import signal as dsp

from halfroll.core.conditions import Conditions, Space
from halfroll.core.levels import db
from halfroll.measure.analysis.analyse import AnalysisSettings, analyse
from halfroll.measure.recording import Recording, Role, Scale
from halfroll.measure.sweep import Sweep
from tests.sound.server import HERE, QUANTUM, RATE

pytestmark = pytest.mark.sound

PLAY = HERE / "play.py"
SWEEP = Sweep(duration_s=3.0, level=0.25)
SHORT = Sweep(duration_s=0.5, level=0.25, silence_before_s=0.1, silence_after_s=0.2)
LOOP = {"input": "loop", "output": "loop", "inputs": ["microphone", "voltage"], "latency_samples": QUANTUM}
BENCH = {"input": "loop", "output": "bench", "inputs": ["voltage", "microphone"], "latency_samples": QUANTUM}


def ask(server, folder, **wanted):
    """Have a process play; give its answer."""
    np.save(folder / "signal.npy", wanted.pop("sweep", SHORT).samples())
    done = server.run(PLAY, json.dumps({"signal": str(folder / "signal.npy"), **wanted}))
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def test_devices_are_those_of_the_server(server):
    """The sink and the filter are found by name, with their channels and their rate."""
    answer = json.loads(server.run(PLAY, "{}").stdout)
    found = {device["name"]: device for device in answer["devices"]}
    assert found["loop"]["inputs"] == found["loop"]["outputs"] == 2
    assert found["bench"]["outputs"] == 1
    assert found["loop"]["rate_hz"] == RATE


def test_a_sweep_comes_back_bit_exact(server, tmp_path):
    """Twice over, each sample is the one that was played (in 32-bit floating point), after exactly one block."""
    played = SHORT.samples().astype(np.float32)
    for _ in range(3):  # a busy machine may lose a block; it never gives the same bits by chance
        answer = ask(server, tmp_path, setup=LOOP, times=2)
        assert "fault" not in answer, answer
        heard = [np.load(tmp_path / f"heard-{number}.npy") for number in (0, 1)]
        assert {one.shape for one in heard} == {(2, SHORT.length)}
        if all(np.array_equal(one[0], played) for one in heard):
            break
    else:
        pytest.fail("The sweep came back changed three times")
    assert answer["peak"] == [0.0, 0.0]


def test_unknown_delay_is_left_in(server, tmp_path):
    """Without a latency in the rig the recording comes one block later; the analysis finds the sweep."""
    ask(server, tmp_path, setup={**LOOP, "latency_samples": None})
    heard = np.load(tmp_path / "heard-0.npy")
    assert np.array_equal(heard[0, QUANTUM:], SHORT.samples()[:-QUANTUM].astype(np.float32))


def test_a_known_filter_in_the_path_is_recovered(server, tmp_path):
    """Analysed as a take, microphone over voltage is the biquad's response: within 0.03 dB and 0.3 degrees over four octaves
    about its peak, and its peak is +9 dB within 0.01 dB.
    """
    response = undisturbed(server, tmp_path)
    found = response.pressure_full_pa / response.voltage_v
    inside = (response.frequency_hz > 250) & (response.frequency_hz < 4000)
    exact = peaking_biquad(response.frequency_hz[inside], 1000.0, 2.0, 9.0)
    assert np.abs(db(found[inside] / exact)).max() < 0.03
    assert np.abs(np.degrees(np.angle(found[inside] / exact))).max() < 0.3
    assert float(db(np.abs(found[inside]).max())) == pytest.approx(9.0, abs=0.01)


def undisturbed(server, folder):
    """The response of a take whose verdicts find nothing cut off: played again, as its remedy says, when the sound server's
    filter missed a block on a busy machine.
    """
    for _ in range(4):
        ask(server, folder, setup=BENCH, sweep=SWEEP)
        recording = Recording(
            samples=np.load(folder / "heard-0.npy"),
            rate_hz=RATE,
            roles=(Role.VOLTAGE, Role.MICROPHONE),
            scales={Role.VOLTAGE: Scale(per_full_scale=1.0), Role.MICROPHONE: Scale(per_full_scale=1.0)},
        )
        conditions = Conditions(drive_v=None, distance_m=1.0, space=Space.FREE)
        response = analyse(recording, SWEEP, conditions, AnalysisSettings(gate="none"))
        if not {"dropout", "samples-lost", "click"} & {verdict.code for verdict in response.verdicts}:
            return response
    return pytest.fail("Blocks were lost in four takes in a row")


def peaking_biquad(frequency_hz, centre_hz, q, gain_db):
    """Response of the cookbook's peaking filter."""
    amplitude = 10 ** (gain_db / 40)
    w = 2 * math.pi * centre_hz / RATE
    alpha = math.sin(w) / (2 * q)
    b = [1 + alpha * amplitude, -2 * math.cos(w), 1 - alpha * amplitude]
    a = [1 + alpha / amplitude, -2 * math.cos(w), 1 - alpha / amplitude]
    return dsp.freqz(b, a, worN=frequency_hz, fs=RATE)[1]


def test_the_stop_key_stops_the_sound(server, tmp_path):
    """Stopped at a third, it ends before the sweep would have, and says that nothing was changed."""
    answer = ask(server, tmp_path, setup=LOOP, sweep=SWEEP, stop_at=0.3)
    assert answer["fault"] == "CancelledError"
    assert not (tmp_path / "heard-0.npy").exists()


def test_dropped_samples_are_refused(server, tmp_path):
    """A stall of 0.7 s in the middle: PipeWire says nothing of it, the clock does, and nothing is handed on."""
    answer = ask(server, tmp_path, setup=LOOP, sweep=SWEEP, stall_s=0.7)
    assert answer["fault"] == "InputError"
    assert (
        "The sound card dropped samples, so the recording was thrown away; found a gap at" in answer["text"]
    )
    assert not (tmp_path / "heard-0.npy").exists()


def test_a_louder_signal_than_the_limit_is_not_played(server, tmp_path):
    """The card itself holds the limit, whoever asks."""
    answer = ask(server, tmp_path, setup={**LOOP, "most": 0.2})
    assert answer["fault"] == "InputError"
    assert "louder than the limit that was set, so nothing was played; found 0.2500" in answer["text"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"input": "avocet"}, "The input device must be one that is there; found avocet"),
        ({"rate_hz": 44_100}, "does not run at this sample rate; found 44100 Hz. Allowed: 48000 Hz"),
        (
            {"inputs": ["microphone", "voltage", "current"]},
            "The input device has too few channels; found loop",
        ),
        ({"output_channel": 5}, "The output device has too few channels; found loop"),
    ],
)
def test_what_a_device_does_not_do_is_said(server, tmp_path, change, words):
    """A wrong name, rate or channel: what was found and what is allowed."""
    answer = ask(server, tmp_path, setup={**LOOP, **change})
    assert words in answer["text"]


def test_a_server_killed_while_it_plays_is_said_at_once(own_server, tmp_path):
    """The sound server dies in the middle: within seconds the person is told, and nothing was recorded."""
    long = Sweep(duration_s=30.0, level=0.25)
    np.save(tmp_path / "signal.npy", long.samples())
    player = own_server.popen(PLAY, json.dumps({"signal": str(tmp_path / "signal.npy"), "setup": LOOP}))
    for line in player.stdout:
        if float(line) > 0.02:
            break
    own_server.kill()
    killed = time.monotonic()
    rest, _ = player.communicate(timeout=60)
    assert time.monotonic() - killed < 10.0
    answer = json.loads(rest.splitlines()[-1])
    assert answer["fault"] == "InputError"
    assert "The sound device was lost" in answer["text"]
    assert "nothing was saved" in answer["text"]
    assert not list(tmp_path.glob("heard*"))


def test_without_a_server_there_is_no_device(own_server, tmp_path):
    """Nothing to play through: said, with the way to go on without."""
    own_server.kill()
    answer = ask(own_server, tmp_path, setup=LOOP)
    assert "There is no sound device" in answer["text"]
    assert "recordings made elsewhere can be imported" in answer["text"]
