"""Numbers that stand in the pages as advice, checked against their formulas and published tables."""

import math
import re

import numpy as np
import pytest
from scipy.signal import butter, lfilter
from scipy.stats import t as student

from halfroll.core.conditions import Conditions, Space
from halfroll.core.levels import FloatArray
from halfroll.measure.analysis.analyse import analyse
from halfroll.measure.analysis.response import Response
from halfroll.measure.recording import Recording, Role, Scale
from halfroll.measure.sweep import Sweep
from tests.docs.pages import DOCS


def rows(page: str, head: str) -> list[list[float]]:
    """Numbers of the rows of the table with that first cell, units taken off."""
    text = (DOCS / "how-to" / page).read_text(encoding="utf-8")
    table = text[text.index(f"| {head} |") :].split("\n\n")[0].split("\n")[2:]
    return [[float(re.sub(r"[^0-9.]", "", cell)) for cell in row.strip("| ").split(" | ")] for row in table]


def test_when_the_floor_answers() -> None:
    """Image source: the way by the floor is 2 sqrt((d/2)² + h²), sound travels 343 m/s, and 1/T is the limit."""
    found = rows("reflections-and-gates.md", "height h")
    assert len(found) == 4
    for height, distance, farther, later_ms, from_hz in found:
        way = 2.0 * math.hypot(distance / 2.0, height) - distance
        assert farther == pytest.approx(way, abs=0.006)
        assert later_ms == pytest.approx(1e3 * way / 343.0, abs=0.06)
        assert from_hz == pytest.approx(343.0 / way, abs=1.0)


def test_voltage_for_a_power() -> None:
    """U = sqrt(R P), IEC 60268-5 cl. 20.3.2 (secondary transcription)."""
    for ohm, at_1w, at_3w in rows("record-a-take.md", "rated impedance"):
        assert at_1w == pytest.approx(math.sqrt(ohm), abs=0.006)
        assert at_3w == pytest.approx(math.sqrt(3.0 * ohm), abs=0.006)


def test_how_wide_an_interval_is() -> None:
    """Student's t as SciPy gives it; the same numbers stand in JCGM 100:2008, Table G.2."""
    for units, factor in rows("compare-fairly.md", "units"):
        assert factor == pytest.approx(float(student.ppf(0.975, units - 1)), abs=0.006)


def test_how_long_ears_bear_it() -> None:
    """8 h / 2^((L - 85)/3), NIOSH's recommendation, for the three levels the page names."""
    text = (DOCS / "how-to" / "record-a-take.md").read_text(encoding="utf-8")
    assert "94 dB one hour, 100 dB a quarter of an hour, 110 dB one and a half minutes" in text
    minutes = [480.0 / 2.0 ** ((level - 85.0) / 3.0) for level in (94, 100, 110)]
    assert minutes == pytest.approx([60.0, 15.0, 1.5], abs=0.02)


def heard(excitation: FloatArray, *, with_voltage: bool) -> Response:
    """A distorting system's answer, analysed as if halfroll's own sweep had been played."""
    sweep = Sweep(duration_s=3.0)
    b, a = butter(2, [80.0, 9000.0], "bandpass", fs=sweep.rate_hz)
    answer = lfilter(b, a, excitation + 0.05 * excitation**2 + 0.03 * excitation**3)
    channels = {Role.MICROPHONE: np.concatenate([np.zeros(48), answer[:-48]]), Role.VOLTAGE: excitation}
    roles = tuple(channels) if with_voltage else (Role.MICROPHONE,)
    recording = Recording(
        samples=np.array([channels[role] for role in roles]),
        rate_hz=sweep.rate_hz,
        roles=roles,
        scales={role: Scale(per_full_scale=2.0) for role in roles},
    )
    return analyse(recording, sweep, Conditions(drive_v=0.7, distance_m=0.343, space=Space.HALF))


def test_a_classic_sweep_is_read_as_well() -> None:
    """Farina's form has another start phase: levels are the same, phases only when the voltage was recorded."""
    own = Sweep(duration_s=3.0)
    t, rate = np.arange(own.sweep_length) / own.rate_hz, own.rate_constant_s
    classic = np.zeros(own.length)
    tone = np.sin(2.0 * np.pi * own.start_hz * rate * np.expm1(t / rate)) * own.envelope()
    classic[own.start_sample : own.start_sample + own.sweep_length] = own.level * tone
    for with_voltage in (True, False):
        ours, theirs = (heard(x, with_voltage=with_voltage) for x in (own.samples(), classic))
        band = (ours.frequency_hz > 100.0) & (ours.frequency_hz < 3000.0)
        turns = [theirs.pressure_full_pa[band] / ours.pressure_full_pa[band]]
        turns += [theirs.harmonics_pa[n][band] / ours.harmonics_pa[n][band] for n in (0, 1)]
        assert all(np.max(np.abs(20.0 * np.log10(np.abs(turn)))) < 0.01 for turn in turns)
        off = max(float(np.max(np.abs(np.angle(turn, deg=True)))) for turn in turns)
        assert off < 0.1 if with_voltage else off > 10.0
