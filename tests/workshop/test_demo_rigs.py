"""What the rigs of the demonstration state: the recording of the calibrator says what the record says."""

import datetime as dt
from pathlib import Path

import pytest

from halfroll.driver.demo.scenario import RIGS, SEED
from halfroll.measure.recording import Role
from halfroll.measure.rig.calibrator import Calibrator
from halfroll.workshop import Workshop, demo
from halfroll.workshop.calibrate_sound import propose_calibrator
from halfroll.workshop.correction_file import correction_of
from halfroll.workshop.demo_rigs import dress_rigs
from halfroll.workshop.rig_state import states
from halfroll.workshop.rig_time import rig_at


@pytest.fixture
def dressed(tmp_path: Path) -> Workshop:
    """The rigs alone."""
    shop = Workshop.init(tmp_path / "rigs-only", "Saltmarsh Workshop", durable=False)
    for rig in RIGS:
        shop.create_rig(rig.name, demo._rig_record(rig))
    dress_rigs(shop, SEED)
    return shop


def test_values_are_those_of_the_scenario(dressed: Workshop) -> None:
    """Nothing that a take uses was changed."""
    for rig in RIGS:
        record = dressed.rig(rig.name).record
        assert record.microphone is not None
        assert record.voltage is not None
        assert (record.microphone.pa_per_full_scale, record.microphone.u_db) == (
            rig.microphone_pa,
            rig.microphone_u_db,
        )
        assert (record.voltage.v_per_full_scale, record.voltage.u_db) == (rig.voltage_v, rig.voltage_u_db)
        if record.current is not None:
            assert (record.current.a_per_full_scale, record.current.u_db) == (rig.current_a, rig.current_u_db)


def test_the_recording_says_what_the_record_says(dressed: Workshop) -> None:
    """The calibrator's tone gives 4 Pa at full scale within 0.01 %, and with its certificate the 0.2 dB that are stated."""
    table = dressed.rig("second").record.microphone
    assert table is not None
    assert table.recording is not None
    path = dressed.folder / "rigs" / table.recording
    made = propose_calibrator(dressed, "second", path, Calibrator(certificate_u_db=0.19))
    assert made.verdicts == ()
    assert made.facts["pa_per_full_scale"] == pytest.approx(4.0, rel=1e-4)
    assert made.facts["u_db"] == pytest.approx(0.2, abs=0.002)


def test_one_has_a_past_and_one_is_out_of_date(dressed: Workshop) -> None:
    """A take of February would use January's sensitivity; the spare microphone's calibration has run out."""
    at = rig_at(dressed.rig("second").record, dt.datetime(2026, 2, 1), (Role.MICROPHONE,)).record.microphone
    assert at is not None
    assert at.pa_per_full_scale == 4.2
    spare = dressed.rig("spare-microphone").record
    assert {s.state for s in states(spare, dt.date(2026, 3, 1)) if s.value} == {"out of date"}
    curve = correction_of(dressed.folder, spare)
    assert curve is not None
    assert float(curve.level_at(curve.frequency_hz[:1] * 0 + 1000.0)[0]) == pytest.approx(0.0, abs=1e-6)
