"""The sound of a scraping coil that the demonstration has: where it sounds, how loud, and that chance repeats it."""

import numpy as np
import pytest

from halfroll.driver.rub import SCRAPE_BAND_HZ, at_level, scrape
from tests.measure.rubbing import RATE, bench

BEYOND_M = 0.4e-3


def made(seed=1):
    """A scrape of the test driver."""
    return scrape(bench().motion, BEYOND_M, np.random.default_rng(seed))


def test_it_sounds_only_while_the_coil_is_out():
    """Nothing on the other side of the gap, and nothing where the cone hardly moves."""
    noise, x = made(), bench().motion.displacement_m
    assert np.all(noise[x < BEYOND_M] == 0.0)
    assert np.any(noise[x > 1.2 * BEYOND_M] != 0.0)


def test_its_level_is_the_one_asked_for():
    """R.m.s. over the stretch, re the driver's sound there."""
    pressure, held = bench().pressure, slice(RATE // 2, RATE)
    scaled = at_level(made(), pressure, -47.0, held)
    ratio = np.sqrt(np.mean(scaled[held] ** 2) / np.mean(pressure[held] ** 2))
    assert 20 * np.log10(ratio) == pytest.approx(-47.0, abs=1e-9)


def test_its_spectrum_is_that_of_a_small_hard_part():
    """Most of its energy lies in the band, above the driver's bass."""
    power = np.abs(np.fft.rfft(made())) ** 2
    frequency = np.fft.rfftfreq(made().size, 1 / RATE)
    inside = (frequency > SCRAPE_BAND_HZ[0] / 2) & (frequency < SCRAPE_BAND_HZ[1] * 1.5)
    assert power[inside].sum() > 0.9 * power.sum()


def test_a_seed_repeats_it():
    """The same generator gives the same samples, another gives others."""
    assert np.array_equal(made(3), made(3))
    assert not np.array_equal(made(3), made(4))
