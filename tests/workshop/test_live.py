"""Measuring live over a computed player: what is kept, under which name, and what never is.

The player is a circuit with a closed form: the terminal voltage is the signal times a gain, the pressure that through a
low-pass of known corner. Figures of the analysis are held elsewhere; here it is what becomes of a recording.
"""

import math

import numpy as np
import pytest
from scipy import signal as dsp

from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import CancelToken, silent
from halfroll.core.verdicts import Severity
from halfroll.measure.recording import Role
from halfroll.measure.sweep import Sweep
from halfroll.workshop import (
    DriverRecord,
    MicrophoneTable,
    RigRecord,
    SweepTable,
    TakeSetup,
    UnitRecord,
    VersionRecord,
    VoltageTable,
    Workshop,
    live,
)
from halfroll.workshop.bench import capture_setup, most_of
from halfroll.workshop.rig_record import CurrentTable, DevicesTable, LatencyTable, LimitsTable, OutputTable

UNIT = "knot/v1/01"
ROLES = (Role.VOLTAGE, Role.MICROPHONE)
SWEEP = Sweep(start_hz=50.0, duration_s=1.0, silence_before_s=0.3, silence_after_s=0.6)
RIG = RigRecord(
    microphone=MicrophoneTable(pa_per_full_scale=4.0, u_db=0.2),
    voltage=VoltageTable(v_per_full_scale=20.0, u_db=0.05),
    output=OutputTable(v_per_full_scale=30.0, u_db=0.1),
    limits=LimitsTable(v_max=5.0),
)
VERSION = VersionRecord(rated_impedance_ohm=8.0, rated_power_w=2.0)


class Circuit:
    """30 V at full scale, read by a channel of 20 V; the microphone hears a low-pass of 8 kHz."""

    rate_hz = 48_000
    channels = 2

    def __init__(self):
        self.random = np.random.default_rng(7)
        self.spoil = lambda inputs: inputs

    def play(self, signal, progress=silent):
        progress(0.5, "playing")
        low_pass = dsp.butter(1, 8000.0, fs=self.rate_hz)
        inputs = np.stack([1.5 * signal, 0.3 * dsp.lfilter(*low_pass, signal)])
        return self.spoil(inputs + 2e-6 * self.random.standard_normal(inputs.shape))


@pytest.fixture
def shop(tmp_path):
    """A workshop with one unit and the rig."""
    made = Workshop.init(tmp_path / "shop", "Saltmarsh Workshop", durable=False)
    made.create_driver("knot", DriverRecord(title="Knot"))
    made.create_version("knot", "v1", VERSION)
    made.create_unit("knot/v1", "01", UnitRecord())
    made.create_rig("bench", RIG)
    return made


def measured(shop, player, **more):
    """Three repeats at 1 W."""
    drive = live.drive_of(RIG, VERSION, watts=1.0)
    found = live.level_for(player, RIG, ROLES, drive)
    setup = TakeSetup(
        rig="bench", distance_m=1.0, space="free-field", gate_ms="none", sweep=SweepTable.of(SWEEP)
    )
    setup, _ = live.setup_at(setup, SWEEP, found)
    return live.measure(shop, player, UNIT, ROLES, setup, drive.label, repeats=3, **more)


def test_repeats_are_named_in_turn_and_hold_what_was_heard(shop):
    """Date, drive, number; a later session goes on counting. The level found is that of the circuit."""
    kept = measured(shop, Circuit())
    days = {one.heard.when.date().isoformat() for one in kept}
    assert [one.take_id.rpartition("-")[2] for one in kept] == ["1", "2", "3"]
    assert {one.take_id.rpartition("/")[2].rpartition("-1w-")[0] for one in kept} == days
    again = measured(shop, later_circuit())
    assert again[0].take_id.endswith("-1w-4")
    record = shop.take(kept[0].take_id).record
    assert record.sweep.level == pytest.approx(math.sqrt(8.0) * math.sqrt(2) / 30.0, rel=0.006)
    assert record.drive_v is None
    assert record.roles == ROLES
    stored = shop.recording(kept[0].take_id).samples
    assert np.abs(stored - kept[0].heard.samples).max() <= 2.0**-24 * 1.001  # half a step of 24 bits


class Divider:
    """30 V at full scale, 10 ohm in series with a driver of 4 ohm that has 60 ohm at 60 Hz (a parallel circuit in series with Re).
    The channel before the resistor reads 1 dB too high.
    """

    rate_hz = 48_000
    channels = 3

    def play(self, signal, progress=silent):
        progress(0.5, "playing")
        n = 2 * signal.size
        hertz = np.maximum(np.fft.rfftfreq(n, 1 / self.rate_hz), 1.0)
        load = 4.0 + 56.0 / (1.0 + 3.0j * (hertz / 60.0 - 60.0 / hertz))
        self.terminals = np.fft.irfft(np.fft.rfft(30.0 * signal, n) * load / (load + 10.0), n)[: signal.size]
        return np.stack([1.5 * 10 ** (1 / 20) * signal, self.terminals / 20.0, 0.1 * signal])


def test_behind_a_series_resistor_the_limit_holds_at_the_resonance_too():
    """At 315 Hz the driver has a third of the amplifier's voltage, at resonance six sevenths (by hand): the voltage before the
    resistor is what is set, so that no frequency of the sweep passes the limit.
    """
    rig = RIG.changed(current=CurrentTable(method="divider", resistance_ohm=10.0, gain_db=1.0), output=None)
    roles = (Role.SOURCE, Role.VOLTAGE, Role.MICROPHONE)
    player = Divider()
    found = live.level_for(player, rig, roles, live.drive_of(rig, VERSION, volts=1.0, v_max=1.0))
    assert found.level == pytest.approx(math.sqrt(2) / 30.0, rel=0.006)
    assert "before the series resistor" in live.say_found(found)
    t = np.arange(48_000) / 48_000
    player.play(found.level * np.sin(2 * np.pi * 60.0 * t))
    settled = np.abs(player.terminals[24_000:]).max() / math.sqrt(2)
    assert settled == pytest.approx(60 / 70, rel=0.01)


def later_circuit():
    """The same circuit with other noise."""
    circuit = Circuit()
    circuit.random = np.random.default_rng(8)
    return circuit


def test_drive_is_stated_where_it_is_not_recorded(shop):
    """Without a voltage channel the record states the voltage by the output's scale."""
    circuit = Circuit()
    circuit.spoil = lambda inputs: inputs[1:]
    circuit.channels = 1
    drive = live.drive_of(RIG, VERSION, volts=2.0)
    found = live.level_for(circuit, RIG, (Role.MICROPHONE,), drive)
    setup = TakeSetup(
        rig="bench", distance_m=1.0, space="free-field", gate_ms="none", sweep=SweepTable.of(SWEEP)
    )
    setup, _ = live.setup_at(setup, SWEEP, found)
    kept = live.measure(shop, circuit, UNIT, (Role.MICROPHONE,), setup, drive.label)
    assert shop.take(kept[0].take_id).record.drive_v == pytest.approx(2.0)
    assert kept[0].take_id.endswith("-2v-1")


def clip_second():
    """A circuit whose second sweep clips at the microphone."""
    circuit, count = Circuit(), [0]

    def spoil(inputs):
        if inputs.shape[1] == SWEEP.length:
            count[0] += 1
            if count[0] == 2:
                inputs[1] = np.clip(1e3 * inputs[1], -1, 1)
        return inputs

    circuit.spoil = spoil
    return circuit


@pytest.mark.parametrize(("answer", "kept"), [("again", 3), ("keep", 3), ("stop", 1)])
def test_a_bad_repeat_is_asked_about(shop, answer, kept):
    """The person says whether a clipped repeat is recorded again, kept all the same, or ends the session."""
    asked = []

    def decide(heard):
        if heard.bad:
            asked.append([verdict.code for verdict in heard.verdicts if verdict.severity is Severity.BAD])
            return answer
        return "keep"

    made = measured(shop, clip_second(), decide=decide)
    assert asked == [["clipped"]]
    assert len(made) == len(shop.take_ids()) == kept
    assert sum(one.heard.bad for one in made) == (answer == "keep")


def test_what_cannot_be_analysed_is_bad(shop):
    """A dead microphone is said as a verdict, and by itself such a repeat is not kept."""
    circuit = Circuit()

    def spoil(inputs):
        inputs[1] = 0.0
        return inputs

    circuit.spoil = spoil
    heard = []
    assert measured(shop, circuit, decide=lambda one: heard.append(one) or "stop") == []
    assert heard[0].verdicts[0].code == "not-analysed"
    assert "microphone channel is silent" in heard[0].verdicts[0].text
    assert shop.take_ids() == []


def test_stopping_keeps_whole_takes_only(shop):
    """Stopped in the second repeat: the first stays, of the second there is nothing."""
    token = CancelToken()

    def report(done, what):
        if done > 0.4:
            token.cancel()

    with pytest.raises(CancelledError):
        measured(shop, Circuit(), progress=token.wrap(report))
    assert len(shop.take_ids()) == 1
    assert not list(shop.folder.rglob(".new-*"))


@pytest.mark.parametrize(
    ("asked", "limit_v", "source"),
    [
        ({"watts": 1.0}, 4.0, "the rated power of 2\u202fW"),
        ({"watts": 1.0, "v_max": 3.0}, 3.0, "the limit that was set"),
    ],
)
def test_the_lowest_limit_counts(asked, limit_v, source):
    """2 W into 8 ohm are 4 V; the rig allows 5 V; the person 3 V."""
    drive = live.drive_of(RIG, VERSION, **asked)
    assert drive.limit_v == pytest.approx(limit_v)
    assert drive.limit_from == source


@pytest.mark.parametrize(
    ("asked", "version", "words"),
    [
        ({}, VERSION, "Either a power or a voltage must be given; found neither"),
        ({"watts": 1.0, "volts": 1.0}, VERSION, "found both"),
        ({"volts": 6.0}, VERSION, "above the rated power of 2.W; found 6.00.V. Allowed: up to 4.00.V"),
        (
            {"volts": 6.0},
            VersionRecord(),
            "above the limit that was set; found 6.00.V. Allowed: up to 5.00.V",
        ),
        ({"watts": 1.0}, VersionRecord(), "needs the version's rated impedance"),
        ({"volts": -1.0}, VERSION, "must be a number above 0; found -1 V"),
        ({"watts": math.nan}, VERSION, "must be a number above 0; found nan W"),
    ],
)
def test_a_drive_that_means_nothing_is_refused(asked, version, words):
    """What is wanted must be one number above 0."""
    with pytest.raises(InputError, match=words):
        live.drive_of(RIG, version, **asked)


def test_the_rig_says_how_the_card_is_used():
    """Devices, the delay at their rate only, and the largest sample the limit allows: 5 V * sqrt 2 / 30 V."""
    rig = RIG.changed(
        devices=DevicesTable(input="2", output="loop", rate_hz=96_000, inputs=ROLES),
        latency=LatencyTable(samples=1023.6, rate_hz=96_000),
    )
    setup = capture_setup(rig)
    assert (setup.input, setup.output, setup.rate_hz, setup.inputs) == ("2", "loop", 96_000, ROLES)
    assert setup.latency_samples == 1024
    assert setup.most == pytest.approx(5.0 * math.sqrt(2) / 30.0)
    assert capture_setup(rig, rate_hz=48_000).latency_samples is None
    assert most_of(rig, 2.0) == pytest.approx(2.0 * math.sqrt(2) / 30.0)
    assert most_of(RigRecord()) == 1.0
