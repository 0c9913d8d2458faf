"""The figure of what lies above the harmonics, read from takes with a fault of known level."""

import dataclasses

import numpy as np
import pytest

from halfroll.figures.readings import read_take
from halfroll.figures.types import FigureSettings
from halfroll.measure.analysis.analyse import analyse
from tests.figures.make import make_response
from tests.measure.rubbing import CONDITIONS, RATE, SWEEP, bench, leak, quiet

SETTINGS = FigureSettings()


def reading(response):
    """The figure of a response."""
    return read_take(response, SETTINGS)["residue_db"]


def test_a_noise_of_known_level():
    """White noise while the sweep plays, as strong above order 12 everywhere: worst where the driver is weakest, at 40 Hz."""
    fault = np.zeros(bench().pressure.size)
    first = round(SWEEP.silence_before_s * RATE)
    rms = 4e-3
    fault[first : first + SWEEP.sweep_length] = rms * np.random.default_rng(1).standard_normal(
        SWEEP.sweep_length
    )
    found = reading(analyse(bench().recording(quiet(1) + fault), SWEEP, CONDITIONS))
    at = found.at_hz
    fundamental = np.interp(at, bench().response.frequency_hz, np.abs(bench().response.pressure_full_pa))
    share = (
        20_000 - 11.25 * at
    ) / 24_000  # of white noise to 24 kHz, from order 11.25 (half of the slope) to 20 kHz
    assert found.bound is None
    assert at == pytest.approx(40.0, rel=0.1)
    assert found.value == pytest.approx(20 * np.log10(rms / fundamental) + 10 * np.log10(share), abs=0.3)
    assert 0.0 < found.u < 0.5


def test_under_the_noise_it_is_a_bound():
    """A good driver: at most what the noise hides, and it says so."""
    found = reading(analyse(bench().recording(quiet(2)), SWEEP, CONDITIONS))
    assert found.bound == "upper"
    assert found.value < -45.0
    assert "noise" in found.cautions[0]


def test_the_bound_holds():
    """A leak of -50 dB is not below the bound that was given without it, or is read as a value."""
    fault = bench().at_level(leak(3), -50.0, 30.0, 90.0)
    found = reading(analyse(bench().recording(quiet(3) + fault), SWEEP, CONDITIONS))
    assert found.value is not None
    assert found.value > -52.0


def test_what_was_not_recorded_is_missing():
    """Without a residue, or with one that does not reach the band, there is no value."""
    assert "not recorded" in reading(make_response()).missing
    response = bench().response
    narrow = dataclasses.replace(
        response.residue,
        **{
            f.name: getattr(response.residue, f.name)[30:]
            for f in dataclasses.fields(response.residue)
            if f.name != "moment"
        },
    )
    assert reading(dataclasses.replace(response, residue=narrow)).value is None
