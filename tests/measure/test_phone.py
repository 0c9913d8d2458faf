"""A telephone's recording of a sweep: filters known from SciPy, a driver played by the large-signal model, and everything a telephone spoils."""

import functools
from pathlib import Path

import numpy as np
import pytest
import soundfile
from scipy import signal

from halfroll.core.errors import InputError
from halfroll.driver.demo.scenario import DRIVERS
from halfroll.driver.large_signal import play
from halfroll.driver.microphone import Position, sound_pressure
from halfroll.driver.rub import at_level, scrape
from halfroll.driver.telephone import GainControl, Telephone, heard
from halfroll.measure.phone.bands import BANDS_HZ, MIDDLE_HZ, bass_cuts, cut_u_db
from halfroll.measure.phone.placing import Placing, disc_over_piston, room_u_db
from halfroll.measure.phone.reading import against, read_phone
from halfroll.measure.phone.signal import PHONE_SWEEP, phone_samples
from halfroll.measure.sweep import Sweep

RATE = PHONE_SWEEP.rate_hz
PLAYED = phone_samples()
BAFFLE = Placing(mounting="baffle", distance_m=0.03, radius_m=0.005)
"""So small a cone that near field and far field are alike: the filters' own levels must come out."""
PLAIN = Telephone(room_db=-60.0)
PAIR = Path(__file__).parents[1] / "references" / "sweep_loop"


def highpass(hz, order=2):
    """A Butterworth high-pass of SciPy."""
    return signal.butter(order, hz, "highpass", fs=RATE, output="sos")


def recorded(sos, phone=PLAIN, seed=1, played=PLAYED):
    """What a telephone makes of the builders' sweep through a filter."""
    return heard(signal.sosfilt(sos, played), RATE, phone, np.random.default_rng(seed))


def levels(*filters):
    """Mean level of filters in each band re the middle (dB), by SciPy's `sosfreqz`."""

    def mean(band):
        f = np.geomspace(*band, 400)
        return np.mean(sum(20 * np.log10(np.abs(signal.sosfreqz(sos, f, fs=RATE)[1])) for sos in filters))

    return np.array([mean(band) - mean(MIDDLE_HZ) for band in BANDS_HZ])


def codes(reading):
    """The codes of all verdicts of a reading."""
    return {verdict.code for verdict in reading.verdicts}


@pytest.mark.parametrize(
    ("rate", "ppm"), [(48_000, 0), (44_100, 200), (44_100, -200), (32_000, 120), (32_000, -120)]
)
def test_bands_of_a_known_filter_come_out_whatever_clock_and_rate(rate, ppm):
    """Driver and telephone are two filters; their levels by SciPy are met within 0.15 dB, the clock within 2 ppm."""
    phone = Telephone(rate_hz=rate, clock=1e-6 * ppm, highpass_hz=60.0, room_db=-60.0)
    found = read_phone(recorded(highpass(90.0), phone), rate, PHONE_SWEEP, BAFFLE)
    expected = levels(highpass(90.0), highpass(60.0, 1))
    assert [band.value_db for band in found.bands] == pytest.approx(expected, abs=0.15)
    assert 1e6 * found.gain_and_clock.clock == pytest.approx(ppm, abs=2.0)
    assert codes(found) == ({"phone-clock"} if ppm else set())


def test_gain_before_the_file_says_nothing():
    """Thirty decibels less in the file: the same bands."""
    loud, quiet = (
        read_phone(recorded(highpass(90.0), Telephone(peak=peak)), RATE, PHONE_SWEEP, BAFFLE)
        for peak in (0.9, 0.03)
    )
    assert [b.value_db for b in loud.bands] == pytest.approx([b.value_db for b in quiet.bands], abs=0.05)


def test_room_moves_bands_no_further_than_is_said():
    """Eight rooms with tails of the energy that the stated model gives at 3 cm from a 5 cm cone: the scatter is not above what is said."""
    place = Placing(mounting="baffle", distance_m=0.03, radius_m=0.05)
    critical = 0.057 * np.sqrt(40.0 / 0.5)
    distance = 0.05**2 / (2 * (np.hypot(0.03, 0.05) - 0.03))
    rooms = [
        read_phone(
            recorded(highpass(90.0), Telephone(room_db=20 * np.log10(distance / critical)), seed),
            RATE,
            PHONE_SWEEP,
            place,
        )
        for seed in range(8)
    ]
    room = rooms[0]
    for k, band in enumerate(BANDS_HZ):
        scatter = np.std([one.bands[k].value_db for one in rooms], ddof=1)
        assert scatter < 1.6 * room.bands[k].parts["room"] + 0.02, band
    assert room_u_db(place, 50.0, 80.0) < 0.6


def test_gain_control_is_seen_and_widens_the_bands():
    """Without one nothing is said; with one it is, and the truth stays within two standard uncertainties."""
    turned = read_phone(
        recorded(highpass(90.0), Telephone(gain_control=GainControl())), RATE, PHONE_SWEEP, BAFFLE
    )
    assert "phone-gain-control" in codes(turned)
    expected = levels(highpass(90.0), highpass(40.0, 1))
    for band, level in zip(turned.bands, expected, strict=True):
        assert abs(band.value_db - level) < 2 * band.u_db
    still = read_phone(recorded(highpass(90.0)), RATE, PHONE_SWEEP, BAFFLE)
    assert "phone-gain-control" not in codes(still)
    assert still.bands[0].u_db < turned.bands[0].u_db


def test_bass_cuts_are_butterworths():
    """The steepest and the mildest filter against SciPy's Butterworth: levels of the bands within 0.1 dB, and that of the harmonics over the
    fundamental.
    """
    cuts = bass_cuts()
    assert cuts.band_db[-1] == pytest.approx(levels(highpass(250.0)), abs=0.1)
    assert cuts.band_db[0] == pytest.approx(levels(highpass(20.0, 1)), abs=0.1)
    f = np.geomspace(50.0, 125.0, 400)
    steep = [20 * np.log10(np.abs(signal.sosfreqz(highpass(250.0), at, fs=RATE)[1])) for at in (f, 2 * f)]
    assert 8.686 * cuts.thd_log[-1] == pytest.approx(np.mean(steep[1] - steep[0]), abs=0.1)
    assert cut_u_db((50.0, 80.0)) == pytest.approx(np.sqrt(np.mean(cuts.band_db[:, 0] ** 2)))


@pytest.mark.parametrize(("hz", "order"), [(120.0, 2), (200.0, 2), (250.0, 1)])
def test_a_telephone_that_cuts_the_bass_does_so_within_what_is_said(hz, order):
    """The truth is that of the driver's filter alone, whatever the telephone's takes away: within two and a half standard uncertainties."""
    found = read_phone(
        recorded(highpass(90.0), Telephone(highpass_hz=hz, highpass_order=order, room_db=-60.0)), RATE, PHONE_SWEEP, BAFFLE
    )  # fmt: skip
    for band, level in zip(found.bands, levels(highpass(90.0)), strict=True):
        assert abs(band.value_db - level) < 2.5 * band.u_db, band


def test_without_tones_the_gain_cannot_be_told():
    """A plain sweep: said, and every band is less sure."""
    found = read_phone(recorded(highpass(90.0), played=PHONE_SWEEP.samples()), RATE, PHONE_SWEEP, BAFFLE)
    assert found.gain_and_clock.gain_change_db is None
    assert "phone-gain-unknown" in codes(found)
    assert found.usable
    assert found.bands[3].parts["gain control"] > 0


def test_a_good_unit_by_the_same_telephone_takes_the_telephone_out():
    """A telephone that cuts the bass at 200 Hz: the difference of two filters is met within 0.2 dB, and is much surer."""
    phone = Telephone(highpass_hz=200.0, highpass_order=2, room_db=-60.0)
    place = Placing(mounting="baffle", radius_m=0.05)
    good, odd = (read_phone(recorded(highpass(hz), phone), RATE, PHONE_SWEEP, place) for hz in (80.0, 120.0))
    difference = against(odd, good)
    expected = levels(highpass(120.0)) - levels(highpass(80.0))
    assert [band.value_db for band in difference.bands] == pytest.approx(expected, abs=0.2)
    for one, both in zip(odd.bands, difference.bands, strict=True):
        assert both.u_db < one.u_db
    assert difference.bands[0].u_db < 1.0 < odd.bands[0].u_db
    with pytest.raises(InputError, match="mounted alike"):
        against(odd, read_phone(recorded(highpass(80.0), phone), RATE, PHONE_SWEEP, Placing(mounting="box")))


def test_distortion_of_a_known_curve():
    """Y = x + a x²: the second harmonic is a/2 of the amplitude, here 2 % (trigonometry)."""
    bent = PLAYED + 0.08 * PLAYED**2 / (1.0)
    found = read_phone(heard(bent, RATE, Telephone(highpass_hz=5.0, room_db=-60.0), np.random.default_rng(1)), RATE, PHONE_SWEEP, BAFFLE)  # fmt: skip
    assert found.thd.value == pytest.approx(0.08 * PHONE_SWEEP.level / 2, rel=0.04)
    assert found.thd.u > 0.005
    assert not found.thd.bound


def test_disc_without_baffle():
    """At the disc 2/π of the baffled piston (Lamb, art. 108); far away the dipole of a disc of added mass 8/3 ρ a³ (Lamb, art. 108)."""
    assert disc_over_piston(0.05, 0.0) == pytest.approx(2 / np.pi)
    z, a = 5.0, 0.05
    dipole = (8 / 3) * a**3 / (4 * np.pi * z**2)  # potential per velocity, on axis
    assert disc_over_piston(a, z) * (np.hypot(z, a) - z) == pytest.approx(dipole, rel=1e-3)


@functools.cache
def avocet(stiffer=1.0, scraping=False):
    """Pressure 3 cm before a played Avocet v8 in a baffle, at 0.5 V, without its cone's break-up."""
    version = DRIVERS[0].versions[-1]
    model = version.model.with_scaled(K=stiffer)
    motion = play(model, PLAYED * (0.5 * np.sqrt(2) / PHONE_SWEEP.level), RATE, oversampling=2)
    pressure = sound_pressure(motion, model.radius, Position(distance_m=0.03))
    if scraping:
        beyond = 0.5 * motion.displacement_m.max()
        noise = scrape(motion, beyond, np.random.default_rng(4))
        held = np.flatnonzero(motion.displacement_m > beyond)
        pressure = pressure + at_level(noise, pressure, -30.0, slice(int(held[0]), int(held[-1])))
    return pressure, model


def through(phone=PLAIN, **how):
    """The played driver through a telephone, read."""
    pressure, model = avocet(**how)
    samples = heard(pressure, RATE, phone, np.random.default_rng(2))
    return read_phone(
        samples, phone.rate_hz, PHONE_SWEEP, Placing(mounting="baffle", radius_m=model.radius)
    ), model


def test_played_driver_against_its_circuit():
    """The near field is carried to half space: bands are those of the second-order high-pass of the textbook (Small, JAES 20, 1972)
    with the coil's inductance left to the treble, so the bass is compared, within 0.5 dB.
    """
    found, model = through()
    fs = np.sqrt(model.K[0] / model.Mms) / (2 * np.pi)
    q = np.sqrt(model.K[0] * model.Mms) / (model.Rms + model.Bl[0] ** 2 / model.Re)

    def mean(band):
        f = np.geomspace(*band, 400) / fs
        phone = 20 * np.log10(np.abs(signal.sosfreqz(highpass(40.0, 1), f * fs, fs=RATE)[1]))
        return np.mean(20 * np.log10(f**2 / np.abs(1 - f**2 + 1j * f / q)) + phone)

    truth = [mean(band) - mean((200.0, 315.0)) for band in BANDS_HZ[:3]]
    got = [band.value_db - found.bands[3].value_db for band in found.bands[:3]]
    assert got == pytest.approx(truth, abs=0.5)


def test_stiff_spider_is_seen_through_a_bad_telephone_by_comparison():
    """A stiffness three times as high moves the bass by several decibels: seen with a reference recording, within the doubt without."""
    phone = Telephone(highpass_hz=120.0, highpass_order=2, clock=8e-5, rate_hz=44_100)
    good, _ = through(phone)
    stiff, _ = through(phone, stiffer=3.0)
    lowest = against(stiff, good).bands[0]
    assert lowest.value_db < -4 * lowest.u_db
    assert good.bands[0].u_db > 4.0


@pytest.mark.parametrize(("hz", "q"), [(70.0, 1.6), (110.0, 2.5)])
def test_resonance_by_the_hump(hz, q):
    """A second-order high-pass with a hump (SciPy's `bilinear` of the textbook's transfer): its resonance is met within 5 %."""
    w = 2 * np.pi * hz
    b, a = signal.bilinear([1, 0, 0], [1, w / q, w * w], RATE)
    found = read_phone(
        recorded(signal.tf2sos(b, a), Telephone(highpass_hz=10.0, room_db=-60.0)), RATE, PHONE_SWEEP, BAFFLE
    )
    assert found.resonance.value == pytest.approx(hz, rel=0.05)
    assert read_phone(recorded(highpass(90.0)), RATE, PHONE_SWEEP, BAFFLE).resonance is None


def test_scraping_coil_is_heard():
    """A scrape 30 dB below the tone is told as rub and lifts the residue by 10 dB and more."""
    quiet, _ = through()
    found, _ = through(scraping=True)
    assert "rub" in codes(found)
    assert "rub" not in codes(quiet)
    assert found.residue.value > quiet.residue.value + 10.0


def test_clipping_noise_distance_and_box_are_said():
    """Each spoiled recording has its verdict; one that does not count is no reference either."""
    clipped = read_phone(recorded(highpass(90.0), Telephone(peak=1.6)), RATE, PHONE_SWEEP, BAFFLE)
    assert "clipped" in codes(clipped)
    assert not clipped.usable
    noisy = read_phone(recorded(highpass(400.0, 3), Telephone(noise_rms=0.08)), RATE, PHONE_SWEEP, BAFFLE)
    assert {"phone-noisy", "phone-bands-missing"} & codes(noisy)
    assert "phone-clock" not in codes(noisy)
    far = read_phone(
        recorded(highpass(90.0)), RATE, PHONE_SWEEP, Placing(mounting="baffle", distance_m=0.5, radius_m=0.04)
    )
    assert "phone-room" in codes(far)
    assert far.bands[0].u_db > 2.0
    boxed = read_phone(recorded(highpass(90.0)), RATE, PHONE_SWEEP, Placing(mounting="box", radius_m=0.04))
    assert "phone-in-box" in codes(boxed)
    assert boxed.bands
    with pytest.raises(InputError, match="cannot be used"):
        against(boxed, clipped)


@pytest.mark.parametrize(
    ("samples", "says"),
    [
        (np.zeros(5 * RATE), "silent"),
        (np.zeros(100), "too short"),
        (np.full(3 * RATE, np.nan), "must be a number"),
        (np.ones(200 * RATE), "too long"),
        (np.random.default_rng(1).standard_normal(8 * RATE) * 0.1, "no exponential sweep"),
        (Sweep(start_hz=20.0, stop_hz=20_000.0, duration_s=3.0).samples(), "another sweep"),
        (PLAYED[: 6 * RATE], "end of the sweep"),
    ],
)  # fmt: skip
def test_what_is_no_recording_of_the_sweep_is_refused(samples, says):
    """Each is refused in words."""
    with pytest.raises(InputError, match=says):
        read_phone(samples, RATE, PHONE_SWEEP)


def test_a_real_sweep_through_a_real_system():
    """The open pair of references/sweep_loop (README.md there, MIT): bands against the plain division of both spectra, by NumPy's transform
    and power in twelfths of an octave, within 0.15 dB. It holds no tones, no silence and ends at 5.4 kHz: each is said.
    """
    played, rate = soundfile.read(PAIR / "closed_loop_stimulus.wav")
    came, _ = soundfile.read(PAIR / "closed_loop.wav")
    played = played - played[-1]
    # Start, constant and length as test_harmonic_positions.py reads them off the phase by SciPy.
    sweep = Sweep(start_hz=20.0, stop_hz=5439.95, duration_s=4.990227, rate_hz=rate, level=1.0, fade_in_s=0.0, fade_out_s=0.0,
                  silence_before_s=0.0, silence_after_s=1.0)  # fmt: skip
    found = read_phone(np.concatenate([np.zeros(rate // 2), came, np.zeros(rate)]), rate, sweep, BAFFLE)
    n = 2**19
    power = [np.abs(np.fft.rfft(x, n)) ** 2 for x in (played, came)]
    frequency = np.fft.rfftfreq(n, 1 / rate)

    def mean(band):
        level = []
        for centre in np.geomspace(*band, 100):
            near = (frequency > centre / 2 ** (1 / 24)) & (frequency < centre * 2 ** (1 / 24))
            level.append(10 * np.log10(power[1][near].sum() / power[0][near].sum()))
        return np.mean(level)

    assert len(found.bands) == 6
    for band in found.bands:
        assert band.value_db == pytest.approx(
            mean((band.low_hz, band.high_hz)) - mean(MIDDLE_HZ), abs=0.15
        ), band.key
    assert {"phone-gain-unknown", "phone-bands-missing"} <= codes(found)
