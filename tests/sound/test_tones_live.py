"""``halfroll tones measure`` from end to end on a real sound stack, through a filter known in closed form."""

import json
import os
import signal
import subprocess
import time

import numpy as np
import pytest

from halfroll.workshop.rig_record import LatencyTable
from halfroll.workshop.runs import run_ids
from tests.sound.server import QUANTUM, RATE
from tests.sound.test_measure_live import UNIT, bench_workshop, left_over
from tests.sound.test_sound_card import peaking_biquad

pytestmark = pytest.mark.sound


@pytest.fixture
def shop(tmp_path):
    """A bench whose latency is known: one block of the server."""
    workshop = bench_workshop(tmp_path / "shop")
    loaded = workshop.rig("loop")
    workshop.save(loaded, loaded.record.changed(latency=LatencyTable(samples=float(QUANTUM), rate_hz=RATE)))
    return workshop


def words(shop, *more):
    """The command line."""
    return (
        "-W", "error", "-m", "halfroll", "--workshop", shop.folder, "tones", "measure", UNIT, "--rig", "loop", "--distance",
        "1", "--space", "free-field", "--yes", *more,
    )  # fmt: skip


@pytest.mark.slow
def test_tones_come_back_as_the_filter_makes_them(server, shop):
    """Two levels of three octaves: wanted volts within 0.01 dB, the filter's gain within 0.02 dB, no distortion of its own."""
    band = (
        "--from",
        "0.1",
        "--to",
        "1",
        "--levels",
        "2",
        "--low",
        "250",
        "--high",
        "1000",
        "--per-octave",
        "1",
    )
    done = server.run(*words(shop, *band, "--name", "loop", "--json"))
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    tones = found["tones"]
    assert [(round(t["frequency_hz"]), t["closing"]) for t in tones] == [
        (250, False), (500, False), (1000, False), (250, False), (500, False), (1000, False), (1000, True),
    ]  # fmt: skip
    for tone in tones:
        assert tone["settled"]
        assert 20 * np.log10(tone["voltage_v"] / tone["level_v"]) == pytest.approx(0.0, abs=0.01)
        gain = abs(peaking_biquad(np.array([tone["frequency_hz"]]), 1000.0, 2.0, 9.0)[0])
        heard = 20e-6 * 10 ** (tone["spl_db"] / 20)
        assert 20 * np.log10(heard / 4.0 / (tone["voltage_v"] / 20.0) / gain) == pytest.approx(0.0, abs=0.02)
        assert tone["thd_percent"] < 0.01
    assert max(t["voltage_v"] for t in tones) < 4.0
    assert run_ids(shop, UNIT, "tones") == [f"{UNIT}/tones/loop"]


@pytest.mark.slow
def test_ctrl_c_stops_the_tones_and_leaves_nothing(server, shop):
    """Interrupted between its tones: the sound ends within seconds and there is no run."""
    running = subprocess.Popen(
        server.words(*words(shop, "--to", "1", "--levels", "20")), env=server.env, stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip
    for line in running.stderr:
        if "will be played" in line:
            break
    time.sleep(4)
    os.killpg(running.pid, signal.SIGINT)
    asked = time.monotonic()
    _, said = running.communicate(timeout=60)
    assert time.monotonic() - asked < 5
    assert running.returncode == 130, said
    assert left_over(shop) == []
