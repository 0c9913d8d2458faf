"""Rub, buzz and leaks are told from noise, from doors, and from the regular distortion of a driver.

Known answers: signals made for it (`rubbing`), whose level and shape are known, and the recordings of an independent
simulation (tests/references/nonlinear_driver) that hold strong regular distortion, noise, a reflection, and no fault.
"""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from halfroll.measure.analysis.analyse import analyse
from halfroll.measure.residues.rub import against_others, find_events, rub_verdicts
from tests.measure.rubbing import (
    CONDITIONS,
    FAULTS,
    RATE,
    SWEEP,
    bench,
    both_ends,
    door,
    knocks,
    quiet,
)

LEVEL_DB = -50.0


def phase():
    """Phase (rad) of the sweep at every sample; its frequency follows from its definition (Novak et al., 2015)."""
    t = np.arange(bench().pressure.size) / RATE - SWEEP.silence_before_s
    return 2 * np.pi * SWEEP.start_hz * SWEEP.rate_constant_s * np.exp(t / SWEEP.rate_constant_s)


def played():
    """1 while the sweep plays, 0 else."""
    t = np.arange(bench().pressure.size) / RATE - SWEEP.silence_before_s
    return ((t > 0) & (t < SWEEP.duration_s)).astype(float)


def near(residue, frequency_hz):
    """Index of the point next to a frequency."""
    return int(np.argmin(np.abs(residue.frequency_hz - frequency_hz)))


def kinds(residue):
    """Which kinds of events a residue holds."""
    return {event.kind for event in find_events(residue)}


@pytest.mark.parametrize("order", [13, 20, 40])
def test_a_high_order_keeps_its_level(order):
    """A tone of a high order of known r.m.s. comes back with that r.m.s. in pascals."""
    rms = 3e-3
    tone = np.sqrt(2) * rms * np.sin(order * phase()) * played() * (order * phase() < 3e5)
    residue = bench().residue(np.where(np.gradient(order * phase()) * RATE / 2 / np.pi < 18_000, tone, 0.0))
    for frequency in (60.0, 110.0, 200.0):
        at = near(residue, frequency)
        fundamental = np.interp(
            residue.frequency_hz[at], bench().response.frequency_hz, np.abs(bench().response.pressure_full_pa)
        )
        assert residue.level_db[at] == pytest.approx(20 * np.log10(rms / fundamental), abs=0.3)


@pytest.mark.parametrize("order", [2, 5, 9])
def test_a_low_order_is_gone(order):
    """A harmonic of a tenth of the fundamental leaves nothing, at least 60 dB below itself."""
    tone = 1e-2 * np.sin(order * phase()) * played()
    left = bench().residue(tone)
    fundamental = np.interp(
        left.frequency_hz, bench().response.frequency_hz, np.abs(bench().response.pressure_full_pa)
    )
    inside = (left.frequency_hz > 40) & (left.frequency_hz < 800)
    itself = 20 * np.log10(1e-2 / np.sqrt(2) / fundamental)
    assert np.all(left.level_db[inside] < itself[inside] - 60.0)


def test_the_share_in_step_of_a_noise_that_goes_with_velocity_squared():
    """Noise times |sin phi| has the power sin² phi = (1 - cos 2 phi)/2: half of it swells, twice a cycle."""
    grain = 0.02 * np.random.default_rng(4).standard_normal(phase().size)
    heard = np.roll(grain * np.abs(np.sin(phase())) * played(), round(RATE / 343))
    residue = bench().residue(heard + quiet(1))
    inside = (residue.frequency_hz > 80) & (residue.frequency_hz < 500)
    assert np.mean(residue.in_step[inside]) == pytest.approx(0.5, abs=0.05)


def test_expected_noise_is_what_is_there():
    """Without a fault the power above the harmonics is that of the noise in the silence, within its own scatter."""
    for seed in range(5):
        residue = bench().residue(quiet(seed))
        assert np.median(residue.excess) == pytest.approx(1.0, abs=0.04)
        assert np.mean(np.abs(residue.excess - 1.0) / residue.deviation < 3.0) > 0.93


@pytest.mark.parametrize("name", FAULTS)
def test_a_rub_at_minus_50_db_is_told(name):
    """Ten of ten, at the noise of the demonstration."""
    fault, low, high = FAULTS[name]
    for seed in range(100, 110):
        extra = quiet(seed) + bench().at_level(fault(seed), LEVEL_DB, low, high)
        events = [e for e in find_events(bench().residue(extra)) if e.kind == "in step"]
        assert events
        assert any(e.from_hz < high and e.to_hz > low for e in events)


def test_the_score_is_a_probability_whatever_the_noise():
    """-ln p under noise alone exceeds 3 in e^-3 of independent looks: a take has some 30, so the highest is seldom above 8.

    In a room that rumbles (power falling as 1/f³ below 1.5 kHz) samples are alike, and the score must know it.
    """
    frequency = np.fft.rfftfreq(bench().pressure.size, 1 / RATE)
    rumble = 1 + 1500 / np.maximum(frequency, 50)
    for shape in (np.ones(frequency.size), rumble):
        extra = [np.fft.irfft(np.fft.rfft(quiet(s)) * shape, bench().pressure.size) for s in range(500, 530)]
        residues = [bench().residue(sound) for sound in extra]
        scores = np.array([residue.score for residue in residues])
        assert np.mean(scores > 3.0) < 2 * np.exp(-3.0)
        assert scores.max() < 8.0
        assert not any(kinds(residue) for residue in residues)


@pytest.mark.slow
def test_detection_and_false_alarms():
    """At -50 dB at least 99 % of rubs are told, of each kind 98 %; without rub there is less than 1 % of alarms.

    None of 400 leaves a rate of false alarms below 0.75 % (95 % confidence, (1 - p)^400 = 0.05).
    """
    alarms = sum(bool(kinds(bench().residue(quiet(seed)))) for seed in range(2000, 2400))
    told = Counter()
    for name, (fault, low, high) in FAULTS.items():
        for seed in range(3000, 3110):
            extra = quiet(seed) + bench().at_level(fault(seed), LEVEL_DB, low, high)
            told[name] += "in step" in kinds(bench().residue(extra))
    assert alarms == 0
    assert sum(told.values()) >= 0.99 * 110 * len(FAULTS)
    assert min(told.values()) >= 0.98 * 110, told


@pytest.mark.parametrize(
    "name",
    [
        "main_noise.flac",
        "main_clean.flac",
        "main_reflection.flac",
        *(f"repeat_{n}.flac" for n in range(1, 6)),
    ],
)
def test_regular_distortion_is_no_rub(name, response):
    """Strong regular distortion (THD to 10 % in the bass), noise or a reflection give no verdict of rub."""
    codes = {verdict.code for verdict in response(name).verdicts}
    assert not codes & {"rub", "single-event", "noise-rose", "drive-not-clean"}


@pytest.mark.parametrize("drive_w", [3.0, 10.0])
def test_a_driver_at_its_limits_is_no_rub(drive_w):
    """A driver driven until its suspension goes hard has high orders, but they fall."""
    residue = bench(drive_w).residue(quiet(7))
    assert residue.regular_db.max() > -60.0
    assert not kinds(residue)


def test_a_door_is_no_rub():
    """Of sixty doors at any moment at most two are taken for a rub, and most are named."""
    found = [kinds(bench().residue(quiet(s) + door(s, at_s=0.4 + 0.025 * s))) for s in range(60)]
    assert sum("in step" in kind for kind in found) <= 2
    assert sum(bool(kind) for kind in found) >= 45


def test_one_tick_is_one_event():
    """A single tick is said to be one event, with its time."""
    tick = np.zeros(bench().pressure.size)
    tick[round(0.9 * RATE)] = 0.03
    events = find_events(bench().residue(quiet(3) + tick))
    assert [event.kind for event in events] == ["single"]
    assert events[0].time_s == pytest.approx(0.9, abs=0.1)
    (verdict,) = rub_verdicts(bench().residue(quiet(3) + tick))
    assert verdict.code == "single-event"


def test_the_whole_analysis_says_it():
    """The verdict stands among those of the take, with where and how strong; the level is that of the fault."""
    fault = bench().at_level(both_ends(1), -40.0, 30.0, 70.0)
    response = analyse(bench().recording(quiet(1) + fault), SWEEP, CONDITIONS)
    (verdict,) = (v for v in response.verdicts if v.code == "rub")
    assert "in step with the tone between" in verdict.text
    assert verdict.data["worst_hz"] < 80
    assert response.usable
    residue = response.residue
    inside = (residue.frequency_hz > 35) & (residue.frequency_hz < 60)
    assert np.median(residue.level_db[inside]) == pytest.approx(-40.0, abs=5.0)
    assert residue.moment is not None
    assert residue.moment.pressure.dtype == np.float32


def test_hard_knocks_are_a_rub_and_not_only_a_click():
    """Knocks so loud that a single one looks like a click of the recorder are in step all the same."""
    fault = bench().at_level(knocks(1, 28.0, 80.0, tone_hz=9000.0), -25.0, 28.0, 80.0)
    response = analyse(bench().recording(quiet(1) + fault), SWEEP, CONDITIONS)
    codes = [verdict.code for verdict in response.verdicts]
    assert "rub" in codes
    assert "single-event" not in codes
    assert "click" in codes


def test_without_silence_a_rub_is_still_told():
    """The step needs no floor: with an unknown noise the share in step decides."""
    fault = quiet(2) + bench().at_level(both_ends(2), -40.0, 30.0, 70.0)
    whole = bench().recording(fault)
    first, last = round(0.29 * RATE), round((0.3 + SWEEP.duration_s + 0.01) * RATE)
    response = analyse(replace(whole, samples=whole.samples[:, first:last]), SWEEP, CONDITIONS)
    codes = {verdict.code for verdict in response.verdicts}
    assert "rub" in codes
    assert np.isnan(response.residue.floor_db).all()


def test_a_clipping_amplifier_is_named_instead():
    """Hard distortion that stands in the terminal voltage too is the amplifier's."""
    b = bench()
    whole = b.recording(quiet(5))
    voltage = whole.samples[1]
    top = 0.93 * np.abs(voltage).max()
    lost = np.clip(voltage, -top, top) - voltage
    spectrum = np.fft.rfft(lost) * np.interp(
        np.fft.rfftfreq(lost.size, 1 / RATE),
        b.response.frequency_hz,
        np.abs(b.response.pressure_full_pa) / b.response.voltage_v * 20.0 / 4.0,
    )
    heard = whole.samples[0] + np.fft.irfft(spectrum, lost.size)
    response = analyse(replace(whole, samples=np.stack([heard, voltage + lost])), SWEEP, CONDITIONS)
    codes = {verdict.code for verdict in response.verdicts}
    assert "rub" not in codes
    assert codes & {"drive-not-clean", "flat-topped"}


def test_against_the_versions_other_units():
    """A unit with a rub stands apart from good ones; a good one does not; a rub that all have is the design's."""
    b = bench()
    good = [b.residue(quiet(seed)) for seed in range(20, 24)]
    ill = [
        b.residue(quiet(s) + b.at_level(knocks(s, 28.0, 80.0, tone_hz=2400.0), LEVEL_DB, 28.0, 80.0))
        for s in range(30, 34)
    ]
    apart = against_others(ill[0], good)
    assert apart is not None
    assert apart.verdict is not None
    assert apart.verdict.code == "rub-apart"
    assert apart.verdict.data["worst_hz"] < 90
    fair = against_others(good[0], good[1:])
    assert fair is not None
    assert fair.verdict is None
    alike = against_others(ill[0], ill[1:])
    assert alike is not None
    assert alike.verdict is not None
    assert alike.verdict.code == "rub-alike"
    assert against_others(good[0], []) is None
