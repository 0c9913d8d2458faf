"""Lines and level of the silence: known tones and a noise of known A-weighted level come back."""

from dataclasses import replace

import numpy as np
import pytest

from halfroll.measure.analysis.analyse import analyse
from halfroll.measure.analysis.distortion import harmonic_distortion
from halfroll.measure.analysis.response import ORDERS
from tests.measure.rubbing import CONDITIONS, RATE, SWEEP, bench, quiet


def hummed(seed, levels, base_hz=50.0, dba=30.0):
    """Noise and tones at multiples of a base: levels in dB re 20 µPa by multiple."""
    t = np.arange(bench().pressure.size) / RATE
    tones = [
        np.sqrt(2) * 20e-6 * 10 ** (level / 20) * np.sin(2 * np.pi * n * base_hz * t + n)
        for n, level in levels.items()
    ]
    return quiet(seed, dba) + np.sum(tones, axis=0)


def taken(extra):
    """The response of a recording with another sound in it."""
    return analyse(bench().recording(extra), SWEEP, CONDITIONS)


@pytest.mark.parametrize("dba", [25.0, 30.0, 45.0])
def test_level_of_the_silence(dba):
    """`room_noise` is scaled to its A-weighted level by the sum over its spectrum (IEC 61672-1 weighting)."""
    assert np.mean([taken(quiet(s, dba)).hum.level_dba for s in range(4)]) == pytest.approx(dba, abs=0.3)


@pytest.mark.parametrize("rated", [50.0, 60.0])
@pytest.mark.parametrize("off", [0.996, 1.003])
def test_mains_is_found_with_its_levels(rated, off):
    """Three multiples within the limits of a public network, each within 1 dB, and nothing beside them."""
    levels = {1: 42.0, 2: 36.0, 3: 33.0}
    for seed in range(5):
        hum = taken(hummed(seed, levels, rated * off)).hum
        assert hum.mains_hz == pytest.approx(rated * off, rel=0.006)
        assert list(hum.multiple) == [1, 2, 3]
        assert 20 * np.log10(hum.line_pa / 20e-6) == pytest.approx(list(levels.values()), abs=1.5)


def test_a_quiet_room_has_no_lines():
    """In noise alone hardly ever a line is found: at most one take in forty."""
    assert sum(len(taken(quiet(seed)).hum.line_hz) > 0 for seed in range(40)) <= 1


def test_another_tone_is_no_mains():
    """A fan at 437 Hz is a line of its own."""
    hum = taken(hummed(1, {1: 35.0}, 437.0)).hum
    assert hum.mains_hz is None
    assert hum.line_hz == pytest.approx([437.0], abs=3.5)
    assert list(hum.multiple) == [0]


def test_what_a_line_adds_is_what_is_measured():
    """The percentage is that by which a harmonic moves when the same take has the line and has it not, within 30 %."""
    with_line, without = taken(hummed(1, {2: 50.0})), taken(hummed(1, {2: -60.0}))
    hum = with_line.hum
    (line,) = np.flatnonzero(hum.multiple == 2)
    order, at = int(hum.added_order[line]), float(hum.added_at_hz[line])
    row = ORDERS.index(order)

    inside = np.abs(np.log2(with_line.frequency_hz / at)) < 1 / 6
    added = np.abs(with_line.harmonics_pa[row] - without.harmonics_pa[row])[inside]
    highest = 100 * np.max(added / np.abs(without.pressure_full_pa[inside]))
    assert hum.added_percent[line] == pytest.approx(highest, rel=0.3)


def test_the_verdict_names_mains_and_what_is_spoilt():
    """A loud hum gives a caution; the driver's own distortion is then not believed unseen."""
    response = taken(hummed(3, {1: 45.0, 2: 48.0, 3: 40.0}))
    (verdict,) = (v for v in response.verdicts if v.code == "hum-lines")
    assert verdict.text.startswith("Mains hum in the silence: lines at 50, 100 and 150")
    assert verdict.data["mains_hz"] == pytest.approx(50.0, rel=0.01)
    assert response.usable
    assert np.isfinite(harmonic_distortion(response).thd).any()


def test_without_silence_nothing_is_claimed():
    """A recording without silence has no level and no lines."""
    whole = bench().recording(hummed(1, {1: 50.0}))
    first, last = round(0.29 * RATE), round((0.3 + SWEEP.duration_s + 0.01) * RATE)
    hum = analyse(replace(whole, samples=whole.samples[:, first:last]), SWEEP, CONDITIONS).hum
    assert np.isnan(hum.level_a_pa)
    assert len(hum.line_hz) == 0
