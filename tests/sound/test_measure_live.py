"""``halfroll measure`` from end to end on a real sound stack: level, sweep, verdict, take; and what must not leave one."""

import json
import os
import signal
import subprocess
import time
from pathlib import Path

import pytest

from halfroll.workshop import (
    DriverRecord,
    RigRecord,
    UnitRecord,
    VersionRecord,
    Workshop,
    derive,
)
from halfroll.workshop.toml_read import read_record
from tests.docs.test_machine_interface import described
from tests.sound.server import HERE, QUANTUM

pytestmark = pytest.mark.sound

UNIT = "knot/v1/01"
RIG = """format = 1
title = "Loop through a known filter"

[microphone]
pa_per_full_scale = 4.0
u_db = 0.2

[voltage]
v_per_full_scale = 20.0
u_db = 0.05

[output]
v_per_full_scale = 20.0
u_db = 0.1

[devices]
input = "loop"
output = "bench"
inputs = ["voltage", "microphone"]

[limits]
v_max = 4.0
"""


def bench_workshop(folder: Path) -> Workshop:
    """A workshop with one unit and the rig of the test's sound server."""
    shop = Workshop.init(folder, "Saltmarsh Workshop", durable=False)
    shop.create_driver("knot", DriverRecord(title="Knot"))
    shop.create_version("knot", "v1", VersionRecord(rated_impedance_ohm=8.0, rated_power_w=2.0))
    shop.create_unit("knot/v1", "01", UnitRecord())
    shop.create_version("knot", "v2", VersionRecord(rated_impedance_ohm=8.0, rated_power_w=20.0))
    shop.create_unit("knot/v2", "01", UnitRecord())
    path = folder / "rig.toml"
    for name, text in (("loop", RIG), ("loud", RIG.replace("v_max = 4.0", "v_max = 10.0"))):
        path.write_text(text, encoding="utf-8")
        shop.create_rig(name, read_record(path, RigRecord, name).record)
    path.unlink()
    return shop


@pytest.fixture
def shop(tmp_path):
    """A bench to measure at."""
    return bench_workshop(tmp_path / "shop")


def words(shop, *more):
    """The command line."""
    return (
        "-W", "error", "-m", "halfroll", "--workshop", shop.folder, "measure", UNIT, "--rig", "loop", "--distance", "1",
        "--space", "free-field", *more,
    )  # fmt: skip


def test_devices_are_listed(server, shop):
    """As a table for people, as JSON for machines."""
    shown = server.run("-m", "halfroll", "devices")
    assert shown.returncode == 0
    assert "JACK Audio Connection Kit" in shown.stdout
    found = json.loads(server.run("-m", "halfroll", "devices", "--json").stdout)
    assert found.keys() == described("halfroll devices")
    listed = found["devices"]
    assert {device["name"] for device in listed} == {"loop", "bench"}


@pytest.mark.slow
def test_a_bad_recording_is_tried_once_more_and_not_kept(server, shop):
    """7 V are 0.5 of full scale, and the filter's 9 dB at 1 kHz clip the microphone: twice recorded, not kept, exit code 2."""
    done = server.run(
        "-m", "halfroll", "--workshop", shop.folder, "measure", "knot/v2/01", "--rig", "loud", "--distance", "1", "--space",
        "free-field", "--volts", "7", "--repeats", "1", "--duration", "1", "--yes", "--json",
    )  # fmt: skip
    assert done.returncode == 2, done.stderr
    result = json.loads(done.stdout)
    assert result["takes"] == []
    assert len(result["thrown_away"]) == 2
    assert {verdict["code"] for verdict in result["thrown_away"][0]["verdicts"]} >= {"clipped"}
    assert "0 of 1 takes were kept." in done.stderr
    assert shop.take_ids() == []


def left_over(shop):
    """Everything in the unit's folder but its record."""
    return [
        path.name
        for path in (shop.folder / "drivers/knot/v1/units/01").rglob("*")
        if path.name != "unit.toml"
    ]


@pytest.mark.slow
def test_two_takes_are_measured_judged_and_kept(server, shop):
    """1 W into 8 ohm are 2.83 V, at 0.2 of full scale where 20 V are one; both takes count, and hold that voltage."""
    noise = server.popen(HERE / "noise.py", "5")
    try:
        assert noise.stdout.readline() == "noise\n"
        done = server.run(
            *words(shop, "--watts", "1", "--repeats", "2", "--duration", "1.5", "--yes", "--json")
        )
    finally:
        noise.kill()
        noise.communicate()
    assert done.returncode == 0, done.stderr
    result = json.loads(done.stdout)
    assert result.keys() == described("halfroll measure")
    assert result["level"]["level"] == pytest.approx(0.2, rel=0.006)  # 0.05 dB
    assert result["level"]["voltage_v"] == pytest.approx(2.8284, rel=0.006)
    assert result["level"]["measured"]
    assert max(step["voltage_v"] for step in result["level"]["steps"]) <= 4.0
    assert [one["take"][:13] for one in result["takes"]] == ["knot/v1/01/20"] * 2
    assert [one["take"].rpartition("-")[2] for one in result["takes"]] == ["1", "2"]
    assert "Protect your ears" in done.stderr
    readings = derive.readings(shop, workers=1)
    assert all(reading.usable for reading in readings.values())
    for take in shop.take_ids():
        response = derive.response(shop, take)
        assert response.conditions.drive_v == pytest.approx(2.8284, rel=0.01)
        assert response.voltage_recorded
        assert shop.take(take).record.drive_v is None


def test_the_limit_holds_whatever_is_asked(server, shop):
    """Above the rig's limit, or above the rated power, nothing is played."""
    for more, why in (
        (("--volts", "4.5"), "above the limit that was set; found 4.50\u202fV. Allowed: up to 4.00\u202fV"),
        (("--watts", "1", "--max-volts", "2"), "Allowed: up to 2.00\u202fV"),
    ):
        done = server.run(*words(shop, "--yes", *more))
        assert done.returncode == 2
        assert why in done.stderr
    assert left_over(shop) == []


def test_nobody_asked_nothing_played(server, shop):
    """Without a person to confirm the cautions it does not begin."""
    done = server.run(*words(shop, "--watts", "1"))
    assert done.returncode == 2
    assert "Add --yes once you have read the cautions" in done.stderr


def start_long(server, shop):
    """A measurement in the middle of its sweep."""
    running = subprocess.Popen(
        server.words(*words(shop, "--watts", "1", "--duration", "30", "--yes")),
        env=server.env, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        start_new_session=True,
    )  # fmt: skip
    said = ""
    for line in running.stderr:
        said += line
        if "at the terminals" in line:
            time.sleep(1.5)
            return running
    pytest.fail(said)


@pytest.mark.slow
def test_a_server_killed_in_mid_take_leaves_nothing(own_server, shop):
    """It is said within seconds, with exit code 2; no take, no half of one."""
    running = start_long(own_server, shop)
    own_server.kill()
    killed = time.monotonic()
    _, said = running.communicate(timeout=60)
    assert time.monotonic() - killed < 10
    assert running.returncode == 2
    assert "The sound device was lost" in said
    assert left_over(shop) == []


@pytest.mark.slow
def test_ctrl_c_stops_the_sound_and_leaves_nothing(server, shop):
    """The keyboard's interrupt, as a terminal sends it to all processes of the command."""
    running = start_long(server, shop)
    os.killpg(running.pid, signal.SIGINT)
    asked = time.monotonic()
    _, said = running.communicate(timeout=60)
    assert time.monotonic() - asked < 5
    assert running.returncode == 130
    assert "Stopped. Nothing half-done was left." in said
    assert left_over(shop) == []


@pytest.mark.slow
def test_the_delay_is_measured_on_the_spot(server, shop):
    """The delay of the loop is one block of the server, to a hundredth of a sample; the rig holds it."""
    done = server.run(
        "-m", "halfroll", "--workshop", shop.folder, "rig", "latency", "loop", "--now", "--json"
    )
    assert done.returncode == 0, done.stderr
    assert "Mind your ears" in done.stderr
    assert shop.rig("loop").record.latency.samples == pytest.approx(QUANTUM, abs=0.01)
