"""Figures of one take: the trade's rules on responses whose figures are known by construction."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfroll.core.conditions import Space
from halfroll.figures.readings import read_take, take_readings
from halfroll.figures.rules import RULES
from halfroll.figures.types import FigureSettings, Reading
from halfroll.measure.analysis.response import Gate
from tests.figures.make import GRID, level_of_corners, make_response

DEFAULT = FigureSettings()
SKIRTS = [(50.0, 80.0), (80.0, 90.0), (15000.0, 90.0), (18000.0, 80.0)]


def read(response, power=None, chosen=DEFAULT) -> dict[str, Reading]:
    """All figures of a response."""
    return read_take(response, chosen, power)


def impedance(rated=4.0, resonance=95.0, peak=20.0) -> np.ndarray:
    """A damped resonance on a coil: R (1 + motional peak) + jωL."""
    q = 3.0
    motional = peak / (1 + 1j * q * (GRID / resonance - resonance / GRID))
    return rated * 0.9 + motional + 2j * np.pi * GRID * 0.1e-3


def test_every_rule_gives_a_value_or_a_reason() -> None:
    """No figure is silently absent."""
    for response in (
        make_response(),
        make_response(rated_impedance_ohm=None, calibrated=False, drive_v=None),
    ):
        found = read(response)
        assert list(found) == [rule.key for rule in RULES if rule.of == "take"]
        assert all((r.value is None) == bool(r.missing) for r in found.values())


def test_sensitivity_and_trade_voltage() -> None:
    """90 dB at 1 W into 4 ohm (2 V) is 93.01 dB at 2.83 V, said to be 2 W."""
    found = read(make_response(90.0))
    assert found["sensitivity_db"].value == pytest.approx(90.0)
    assert found["sensitivity_2v83_db"].value == pytest.approx(93.0103, abs=1e-4)
    assert "2\u202fW" in " ".join(found["sensitivity_2v83_db"].cautions)


def test_band_mean_is_a_power_mean_over_octaves() -> None:
    """Half of the band's octaves at 90 dB, half at 80 dB: 87.404 dB (IEC 60268-5 cl. 20.1.2.4), also though the upper
    half holds three quarters of the hertz.
    """
    level = np.where(np.sqrt(200.0 * 2000.0) > GRID, 90.0, 80.0)
    assert read(make_response(level))["sensitivity_db"].value == pytest.approx(87.404, abs=0.03)


@pytest.mark.parametrize(("sensitivity", "power", "level"), [(69.0, 3.0, 73.77), (75.0, 5.0, 81.99)])
def test_maximum_level(sensitivity: float, power: float, level: float) -> None:
    """69 dB at 1 W with 3 W gives 74 dB, 75 dB with 5 W gives 82 dB (common practice, no source)."""
    found = read(make_response(sensitivity), power)["max_level_db"]
    assert found.value == pytest.approx(level, abs=0.005)


def test_limits() -> None:
    """The effective range of the standard's example, with the best octave's centre beside it."""
    found = read(make_response(level_of_corners(SKIRTS)))
    assert found["lower_limit_hz"].value == pytest.approx(50.0, rel=2e-3)
    assert found["upper_limit_hz"].value == pytest.approx(18000.0, rel=2e-3)
    assert 80.0 < found["lower_limit_hz"].at_hz < 15000.0


@pytest.mark.parametrize(("rule", "expected"), [("minus_3", 69.5), ("minus_6", 60.3), ("minus_10", 50.0)])
def test_every_limit_rule_can_be_chosen(rule: str, expected: float) -> None:
    """80 Hz · (50/80)^(drop/10 dB) on the straight skirt."""
    chosen = dataclasses.replace(DEFAULT, limit_rule=rule)
    found = read(make_response(level_of_corners(SKIRTS)), chosen=chosen)
    assert found["lower_limit_hz"].value == pytest.approx(expected, rel=2e-3)


def test_limit_not_reached_is_a_bound() -> None:
    """A curve still up at the end of the sweep: the lower limit is at most, the upper at least, that frequency."""
    found = read(make_response(90.0, valid_hz=(40.0, 10000.0)))
    low, high = found["lower_limit_hz"], found["upper_limit_hz"]
    assert (low.bound, high.bound) == ("upper", "lower")
    assert low.u is None
    assert low.value == pytest.approx(40.0, rel=0.02)
    assert high.value == pytest.approx(10000.0, rel=0.02)


def test_limit_in_the_noise_is_a_bound() -> None:
    """Where the noise holds the curve up, the true lower limit is at least what was found."""
    level = level_of_corners(SKIRTS)
    noise = 20e-6 * 10 ** (78.0 / 20)
    assert read(make_response(level, noise_pa=noise))["lower_limit_hz"].bound == "lower"


def test_uncalibrated_microphone_keeps_what_is_relative() -> None:
    """Levels are missing with the reason; limits, distortion and impedance are there."""
    found = read(
        make_response(
            level_of_corners(SKIRTS), harmonics={2: 0.02}, calibrated=False, impedance_ohm=impedance()
        ),
        5.0,
    )
    for key in ("sensitivity_db", "sensitivity_2v83_db", "max_level_db"):
        assert "not calibrated" in found[key].missing
    for key in ("lower_limit_hz", "upper_limit_hz", "thd_mean_percent", "h2_percent", "resonance_hz"):
        assert found[key].value is not None


def test_near_field_without_radius_says_why() -> None:
    """The refusal becomes the reason; distortion, a ratio, is still read."""
    found = read(make_response(110.0, harmonics={2: 0.02}, space=Space.NEAR, distance_m=0.003, radius_m=None))
    assert "only with the cone's radius" in found["sensitivity_db"].missing
    assert "only with the cone's radius" in found["lower_limit_hz"].missing
    assert found["thd_mean_percent"].value == pytest.approx(2.0, rel=1e-3)


def test_half_a_band_is_a_caution_a_tenth_is_nothing() -> None:
    """A band covered in part is named; one hardly covered gives no figure."""
    most = read(make_response(90.0, valid_hz=(20.0, 1000.0)))["sensitivity_db"]
    assert most.value == pytest.approx(90.0)
    assert "Only 200 to 1000" in most.cautions[0]
    assert "Only 200 to 250" in read(make_response(90.0, valid_hz=(20.0, 250.0)))["sensitivity_db"].missing


def test_distortion_figures() -> None:
    """THD of H2 3 % and H3 4 % over the total is 4.9938 %, its orders 2.996 % and 3.995 % (IEC 60268-5 cl. 24)."""
    found = read(make_response(90.0, harmonics={2: 0.03, 3: 0.04}))
    assert found["thd_mean_percent"].value == pytest.approx(4.9938, abs=5e-5)
    assert found["thd_worst_percent"].value == pytest.approx(4.9938, abs=5e-5)
    assert found["h2_percent"].value == pytest.approx(3.0 / np.hypot(1, 0.05), abs=1e-4)
    assert found["h3_percent"].value == pytest.approx(4.0 / np.hypot(1, 0.05), abs=1e-4)
    assert found["h4_percent"].value == pytest.approx(0.0, abs=1e-9)


def test_mean_distortion_weighs_octaves() -> None:
    """2 % in the lower half of the band's octaves and 4 % in the upper half is 3 %, the worst is above the middle."""
    middle = np.sqrt(40.0 * 150.0)
    share = np.where(middle > GRID, 0.02, 0.04)
    chosen = dataclasses.replace(DEFAULT, thd_reference="fundamental")
    found = read(make_response(90.0, harmonics={3: share}), chosen=chosen)
    assert found["thd_mean_percent"].value == pytest.approx(3.0, abs=0.02)
    assert found["thd_worst_percent"].value == pytest.approx(4.0)
    assert found["thd_worst_percent"].at_hz >= middle


def test_distortion_under_the_noise_is_a_bound() -> None:
    """Never a result: mean, worst and orders are upper bounds."""
    p1 = 20e-6 * 10 ** (90 / 20)
    found = read(make_response(90.0, harmonics={2: 0.002}, noise_pa=0.002 * p1))
    for key in ("thd_mean_percent", "thd_worst_percent", "h2_percent", "h3_percent"):
        assert found[key].bound == "upper"
        assert found[key].u is None


def test_a_little_noise_in_part_of_the_band_widens_u() -> None:
    """Unresolved points that cannot move the mean by a tenth stay inside its uncertainty."""
    share = np.where(GRID > 140.0, 0.0005, 0.05)
    p1 = 20e-6 * 10 ** (90 / 20)
    found = read(make_response(90.0, harmonics={2: share}, noise_pa=0.0005 * p1))["h2_percent"]
    assert found.bound is None
    assert 0.0 < found.u_fixed <= found.u


def test_room_enters_the_uncertainty() -> None:
    """A hard floor 3.2 ms behind the direct sound at 1 m gives up to 1/(1 + 343 m/s · 3.2 ms) = 0.477 in the bass (image
    source): from 20 lg 0.523 = -5.63 dB to 20 lg 1.477 = 3.39 dB, 9.02 dB wide, u = 9.02/(2 sqrt 3) = 2.60 dB
    (rectangular, JCGM 100:2008, 4.3.7), and the limit by that over the slope.
    """
    gate = Gate(length_s=0.005, valid_from_hz=200.0, reflection_s=0.0032, reflection_db=-12.0)
    found = read(make_response(level_of_corners(SKIRTS), gate=gate))
    limit = found["lower_limit_hz"]
    u_db = 9.02 / (2 * np.sqrt(3))
    slope = 10.0 / np.log2(80 / 50)
    assert limit.u_room == pytest.approx(limit.value * np.log(2) * u_db / slope, rel=0.01)
    assert "Below 200 Hz reflections" in " ".join(limit.cautions)
    assert found["sensitivity_db"].u_room == 0.0


def test_impedance_figures() -> None:
    """Resonance where the motional part peaks, minimum just above it, and the 80 % rule of IEC 60268-5 cl. 16.1."""
    found = read(make_response(impedance_ohm=impedance()))
    assert found["resonance_hz"].value == pytest.approx(95.0, rel=2e-3)
    assert found["impedance_min_ohm"].value == pytest.approx(np.abs(impedance()).min(), rel=1e-9)
    assert not found["impedance_min_ohm"].cautions
    low = read(make_response(impedance_ohm=impedance(rated=3.0)))["impedance_min_ohm"]
    assert "lowest allowed: 3.2" in low.cautions[0]


def test_no_current_no_impedance() -> None:
    """Said, not guessed; a plain resistor has no resonance."""
    assert read(make_response())["resonance_hz"].missing == "The current was not recorded."
    flat = np.full(len(GRID), 4.0 + 0j)
    assert "no peak" in read(make_response(impedance_ohm=flat))["resonance_hz"].missing


@settings(max_examples=20)
@given(st.floats(1e-3, 1e3))
def test_gain_shifts_levels_and_nothing_else(gain: float) -> None:
    """Scaling all pressures by g shifts sensitivity and maximum level by 20 lg g, and leaves limits and THD alone."""
    level = level_of_corners(SKIRTS)
    one = read(make_response(level, harmonics={2: 0.03}), 5.0)
    two = read(make_response(level + 20 * np.log10(gain), harmonics={2: 0.03}), 5.0)
    for key in ("sensitivity_db", "sensitivity_2v83_db", "max_level_db"):
        assert two[key].value - one[key].value == pytest.approx(20 * np.log10(gain), abs=1e-9)
    for key in ("lower_limit_hz", "upper_limit_hz", "thd_mean_percent", "thd_worst_percent", "h2_percent"):
        assert two[key].value == pytest.approx(one[key].value, rel=1e-9)


def test_twice_the_voltage_for_the_same_pressure() -> None:
    """Doubling the terminal voltage lowers sensitivity by 6.02 dB."""
    one, two = (read(make_response(90.0, drive_v=u))["sensitivity_db"].value for u in (2.0, 4.0))
    assert one - two == pytest.approx(6.0206, abs=1e-4)


def test_take_readings_carry_the_conditions() -> None:
    """What a comparison needs stands beside the figures, and a reading survives being written down."""
    response = make_response(90.0, valid_hz=(30.0, 400.0), gate=Gate(length_s=0.004, valid_from_hz=250.0))
    take = take_readings(response, DEFAULT, take_id="knot/2/a/1", when="2026-01-01", rig="bench")
    assert (take.unit_id, take.valid_hz, take.gate_s, take.valid_from_hz) == (
        "knot/2/a",
        (30.0, 400.0),
        0.004,
        250.0,
    )
    assert take.usable
    for reading in take.readings.values():
        assert Reading.from_dict(reading.as_dict()) == reading
