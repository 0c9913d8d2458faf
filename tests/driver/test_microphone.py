"""What the microphone hears: cone modes, floor, noise."""

import math

import numpy as np
import pytest

from halfroll.acoustics.air import Air
from halfroll.acoustics.nearfield import near_to_far_db
from halfroll.acoustics.radiation import directivity, piston_pressure
from halfroll.acoustics.weighting import a_weighting
from halfroll.core.levels import db, spl
from halfroll.driver.cone import ConeMode, cone_transfer
from halfroll.driver.large_signal import Motion
from halfroll.driver.microphone import Floor, Position, pressure_transfer, sound_pressure
from halfroll.driver.noise import room_noise, white_noise

AIR = Air(1.2, 343.0)
RATE = 48_000.0


def pulse(size: int = 24_000) -> Motion:
    """A cone that is accelerated for one smooth instant."""
    a = np.zeros(size)
    a[1000:1064] = np.hanning(64)
    zero = np.zeros(size)
    return Motion(
        sample_rate_hz=RATE,
        voltage_v=zero,
        current_a=zero,
        velocity_m_s=zero,
        displacement_m=zero,
        acceleration_m_s2=a,
    )


def test_far_field_pulse() -> None:
    """At 2 m the pulse arrives r/c later with the height of p = ρ Sd a/(2πr) (Rayleigh)."""
    radius = 0.02
    p = sound_pressure(pulse(), radius, Position(distance_m=2.0, air=AIR))
    arrival = (
        np.sum(np.arange(p.size) * p) / np.sum(p) - np.sum(np.arange(1000, 1064) * np.hanning(64)) / 31.5
    )
    assert arrival / RATE == pytest.approx(2.0 / 343.0, abs=2e-6)
    assert np.sum(p) == pytest.approx(
        31.5 * float(piston_pressure(1.0, math.pi * radius**2, 2.0, AIR)), rel=1e-3
    )


def test_near_field() -> None:
    """3 mm before the cone the low-frequency level is Keele's 20 lg(2r/a) above that at 1 m, less the 3 mm."""
    f = np.array([50.0])
    near = pressure_transfer(f, 0.04, Position(distance_m=0.003, air=AIR))
    far = pressure_transfer(f, 0.04, Position(distance_m=1.0, air=AIR))
    assert float(db(far / near)[0]) == pytest.approx(near_to_far_db(0.04, 1.0, 0.003), abs=0.02)


def test_floor_reflection() -> None:
    """1.2 m above the floor, 1 m apart: 1.600 m more way, 4.665 ms late; the pattern's lobe and the way lower it."""
    floor = Floor(height_m=1.2, gain=0.7)
    assert floor.path_m(1.0) - 1.0 == pytest.approx(1.600, abs=5e-4)
    assert (floor.path_m(1.0) - 1.0) / 343.0 == pytest.approx(4.665e-3, abs=1e-6)
    clean = sound_pressure(pulse(), 0.04, Position(distance_m=1.0, air=AIR))
    both = sound_pressure(pulse(), 0.04, Position(distance_m=1.0, air=AIR, floor=floor))
    late = both - clean
    delay = (
        np.sum(np.arange(late.size) * late) / np.sum(late)
        - np.sum(np.arange(late.size) * clean) / clean.sum()
    ) / RATE
    assert delay == pytest.approx(4.665e-3, abs=5e-6)
    assert np.sum(late) / np.sum(clean) == pytest.approx(0.7 / 2.6, rel=2e-3)
    f = np.array([6000.0])
    ratio = pressure_transfer(f, 0.04, Position(distance_m=1.0, air=AIR, floor=floor)) / pressure_transfer(
        f, 0.04, Position(distance_m=1.0, air=AIR)
    )
    ka = 2 * math.pi * 6000.0 * 0.04 / 343.0
    assert float(np.abs(ratio[0] - 1)) == pytest.approx(
        0.7 / 2.6 * abs(float(directivity(ka, math.atan(2.4)))), rel=2e-3
    )


def test_cone_mode() -> None:
    """A mode leaves low frequencies alone, gives 1 - jφQ at its frequency and 1 - φ far above (base excitation)."""
    mode = ConeMode(frequency_hz=3000.0, q=8.0, share=0.3)
    low, at, high = cone_transfer(np.array([30.0, 3000.0, 3e5]), [mode])
    assert low == pytest.approx(1.0, abs=1e-4)
    assert at == pytest.approx(1 - 1j * 0.3 * 8.0, rel=1e-9)
    assert high == pytest.approx(0.7, abs=1e-3)


def test_cone_mode_in_time() -> None:
    """The mode is causal and rings down: nothing before the pulse arrives, nothing left at the end."""
    modes = [ConeMode(frequency_hz=1000.0, q=5.0, share=0.4)]
    p = sound_pressure(pulse(), 0.02, Position(distance_m=0.5, air=AIR), modes)
    assert np.abs(p[:1000]).max() < 1e-6 * np.abs(p).max()
    assert np.abs(p[-5000:]).max() < 1e-6 * np.abs(p).max()


def a_level(p: np.ndarray) -> float:
    """A-weighted level of a stretch of pressure, through its spectrum (IEC 61672-1 weighting)."""
    power = 2 * np.abs(np.fft.rfft(p) / p.size) ** 2
    return float(spl(math.sqrt(np.sum(power * a_weighting(np.fft.rfftfreq(p.size, 1 / RATE)) ** 2))))


@pytest.mark.parametrize("level", [20.0, 34.0])
def test_room_noise_level(level: float) -> None:
    """Noise asked for at a level has that A-weighted level; ten seconds leave a scatter well under 0.1 dB."""
    assert a_level(room_noise(480_000, RATE, level, np.random.default_rng(5))) == pytest.approx(
        level, abs=0.1
    )


def test_room_noise_slope_and_seed() -> None:
    """Third octaves at 100 Hz and 8 kHz differ as 1/f + 1/1000 Hz says; the same seed gives the same noise."""
    p = room_noise(480_000, RATE, 30.0, np.random.default_rng(6))
    power, f = np.abs(np.fft.rfft(p)) ** 2, np.fft.rfftfreq(p.size, 1 / RATE)
    density = [power[(f > c / 1.12) & (f < c * 1.12)].mean() for c in (100.0, 8000.0)]
    assert 10 * math.log10(density[0] / density[1]) == pytest.approx(10 * math.log10(11.0 / 1.125), abs=0.5)
    assert np.array_equal(p, room_noise(480_000, RATE, 30.0, np.random.default_rng(6)))


def test_white_noise() -> None:
    """R.m.s. as asked for."""
    assert np.std(white_noise(100_000, 3e-5, np.random.default_rng(1))) == pytest.approx(3e-5, rel=0.01)
