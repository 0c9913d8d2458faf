"""Stepped tones through the large-signal driver against steady states that two other solvers worked out.

tests/references/driver_model/steady_tones.json: SciPy's Radau (rtol 1e-9) and ngspice, agreeing within 4e-6 of the
fundamental; see the README beside it. The tones play through `driver.large_signal` as through a sound card.
"""

import functools
import json
import math
from pathlib import Path

import numpy as np
import pytest

from halfroll.core.conditions import Conditions, Space
from halfroll.driver.lumped import DriverModel
from halfroll.measure.recording import Recording
from halfroll.measure.stepped.tone_analysis import analyse_tones
from halfroll.measure.stepped.tone_run import measure_tones
from halfroll.measure.stepped.tones import TonePlan, ToneSettings
from tests.measure.tone_players import RATE, ROLES, SCALES, V_PER_FULL_SCALE, DriverPlayer

REFERENCES = Path(__file__).parents[1] / "references" / "driver_model"
CONDITIONS = Conditions(drive_v=None, distance_m=1.0, space=Space.HALF, rated_impedance_ohm=4.0)


def reference_driver():
    """The small wide-range driver of the references."""
    raw = json.loads((REFERENCES / "params.json").read_text())
    low, high = raw["valid_x_mm"]
    return DriverModel(
        Re=raw["Re"], Mms=raw["Mms"], Rms=raw["Rms"], Sd=raw["Sd"], L2=raw["L2"], R2=raw["R2"],
        Bl=tuple(raw["bl"]), K=tuple(raw["k"]), Le=tuple(raw["le"]), x_range=(low * 1e-3, high * 1e-3),
    )  # fmt: skip


TRUTH = {
    (case["f_Hz"], case["U_rms_V"]): case["scipy_radau"]
    for case in json.loads((REFERENCES / "steady_tones.json").read_text())
}


@functools.cache
def measured():
    """All twenty reference tones, 1 W and 3 W into 4 ohm."""
    plan = TonePlan(
        frequency_hz=tuple(sorted({float(f) for f, _ in TRUTH})), level_v=tuple(sorted({u for _, u in TRUTH})),
        rate_hz=RATE, v_per_full_scale=V_PER_FULL_SCALE, limit_v=4.0,
        settings=ToneSettings(stop_thd=3.0, silence_s=0.1),
    )  # fmt: skip
    run = measure_tones(DriverPlayer(reference_driver()), plan, ROLES, SCALES)
    recording = Recording(samples=run.samples, rate_hz=RATE, roles=ROLES, scales=SCALES)
    return analyse_tones(recording, run.schedule, CONDITIONS)


@pytest.mark.parametrize("key", sorted(TRUTH), ids=str)
def test_tones_are_those_of_the_steady_state(key):
    """H1 within 0.05 dB, H2 and H3 within 0.1 dB above -70 dB, THD within 0.1 points or 2 %; impedance within 0.1 %."""
    results, expected = measured(), TRUTH[key]
    at = next(i for i, t in enumerate(results.tones) if not t.closing and (t.nominal_hz, t.level_v) == key)
    player = DriverPlayer(reference_driver())
    peaks = player.per_acceleration * np.array(expected["acc_m_s2"]["amp"])
    found = np.abs(results.pressure[:5, at]) * math.sqrt(2.0)
    assert results.settled[at]
    assert 20 * math.log10(found[0] / peaks[0]) == pytest.approx(0.0, abs=0.05)
    for order in (2, 3):
        if peaks[order - 1] > 10 ** (-70 / 20) * peaks[0]:
            assert 20 * math.log10(found[order - 1] / peaks[order - 1]) == pytest.approx(0.0, abs=0.1)
    # the stored THD holds the orders 2 to 5 over the fundamental
    orders = results.distortion("fundamental").order_ratio[:4, at]
    thd = 100 * math.sqrt(np.sum(orders**2))
    assert thd == pytest.approx(expected["thd_pct"], abs=max(0.1, 0.02 * expected["thd_pct"]))
    impedance = math.sqrt(2.0) * key[1] / expected["current_A"]["amp"][0]
    assert abs(results.impedance_ohm[at]) == pytest.approx(impedance, rel=1e-3)


@pytest.mark.parametrize("key", sorted(TRUTH), ids=str)
def test_phases_follow_the_one_convention(key):
    """Phase of order n in the sense sin(n phi + theta) of a voltage sin(phi), within 0.3 degrees above -40 dB."""
    results, expected = measured(), TRUTH[key]["acc_m_s2"]
    at = next(i for i, t in enumerate(results.tones) if not t.closing and (t.nominal_hz, t.level_v) == key)
    for n in range(1, 6):
        if expected["amp"][n - 1] > 0.01 * expected["amp"][0]:
            theta = np.radians(expected["phase_deg"][n - 1]) - (n - 1) * np.pi / 2
            turned = results.pressure[n - 1, at] * np.exp(-1j * theta)
            assert abs(np.degrees(np.angle(turned))) < 0.3


def test_levels_ascend_and_stay_below_the_limit():
    """What is played never gets louder than the limit, and never quieter but for the closing tone."""
    results = measured()
    assert [t.level_v for t in results.tones[:-1]] == sorted(t.level_v for t in results.tones[:-1])
    assert results.tones[-1].closing
