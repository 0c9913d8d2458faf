"""The power-handling log: what the rules say of a step."""

import pytest

from halfroll.core.errors import InputError
from halfroll.measure.heat.power_log import HeatLimits, PowerStep, judge

LIMITS = HeatLimits(glue_c=120.0, filament_c=85.0, enamel_c=155.0)


def codes(step, limits=LIMITS):
    """Codes of the verdicts on one step."""
    return [v.code for v in judge([step], limits).steps[0].verdicts]


def test_the_part_that_gives_way_first_counts():
    """A filament of 85 °C lies below glue and enamel; at 1.3 times the resistance copper has 96 °C."""
    step = PowerStep(drive_v=4.0, hours=1.0, temperature_c=20.0, re_before_ohm=6.0, re_warm_ohm=7.8)
    result = judge([step], LIMITS).steps[0]
    assert result.coil.temperature_c == pytest.approx(20.0 + 0.3 / 0.00393)
    assert [v.code for v in result.verdicts] == ["coil-too-hot"]
    assert "filament bears 85 °C" in result.verdicts[0].text


def test_near_the_limit_is_a_caution():
    """78 °C under 85 °C is near; 60 °C is not."""
    assert codes(PowerStep(drive_v=3, hours=1, temperature_c=20, re_before_ohm=6, re_warm_ohm=6 * 1.228)) == [
        "coil-near-limit"
    ]
    assert (
        codes(PowerStep(drive_v=3, hours=1, temperature_c=20, re_before_ohm=6, re_warm_ohm=6 * 1.157)) == []
    )


@pytest.mark.parametrize(
    ("readings", "code"),
    [
        ({"re_before_ohm": 6.0, "re_after_ohm": 5.7}, "resistance-changed"),
        ({"fs_before_hz": 80.0, "fs_after_hz": 60.0}, "resonance-moved"),
        ({"level_change_db": -1.5}, "level-changed"),
        ({"judged": "failed", "note": "smoke"}, "step-failed"),
    ],
)
def test_lasting_changes_are_said(readings, code):
    """Each reading that moved too far gives its verdict, and alone."""
    assert codes(PowerStep(drive_v=3.0, hours=1.0, **readings)) == [code]


def test_small_changes_are_not():
    """1 % of resistance, 5 % of resonance and 0.5 dB are within what a warm day does."""
    step = PowerStep(
        drive_v=3,
        hours=1,
        re_before_ohm=6,
        re_after_ohm=6.06,
        fs_before_hz=80,
        fs_after_hz=76,
        level_change_db=-0.5,
    )
    assert codes(step) == []


def test_the_highest_drive_that_was_borne():
    """The failed step does not count; hours add up over all."""
    steps = [
        PowerStep(drive_v=2.0, hours=8.0, judged="passed"),
        PowerStep(drive_v=4.0, hours=8.0, judged="changed"),
        PowerStep(drive_v=8.0, hours=0.5, judged="failed"),
    ]
    result = judge(steps, LIMITS)
    assert (result.hours, result.borne_v) == (16.5, 4.0)
    assert judge([], LIMITS).borne_v is None


def test_a_slip_of_the_pen_is_refused():
    """62 ohm for 6.2 ohm is no warm coil."""
    with pytest.raises(InputError, match="cannot be those of one coil"):
        judge([PowerStep(drive_v=3.0, hours=1.0, re_before_ohm=6.0, re_warm_ohm=62.0)], LIMITS)
