"""Rigs in time: which calibration a take uses, what is said of it, and how calibrations are kept."""

import datetime as dt
from pathlib import Path

import numpy as np
import pytest
import soundfile

from halfroll.core.errors import ConflictError, InputError
from halfroll.measure.recording import Role
from halfroll.measure.rig.calibrator import Calibrator
from halfroll.measure.rig.meter import MeterReading
from halfroll.workshop import RigRecord, Workshop
from halfroll.workshop.calibrate import keep
from halfroll.workshop.calibrate_electric import (
    propose_current,
    propose_latency,
    propose_output,
    propose_voltage,
)
from halfroll.workshop.calibrate_sound import propose_calibrator, propose_correction, propose_sensitivity
from halfroll.workshop.correction_file import read_correction
from halfroll.workshop.rig_state import earlier_states, states
from halfroll.workshop.rig_time import rig_at
from tests.measure.test_calibrator import RATE, tone
from tests.measure.test_current import SWEEP, divider_bench, late, resistor_bench, shunt_bench

BOTH = (Role.MICROPHONE, Role.VOLTAGE)


def day(text: str) -> dt.datetime:
    """Noon of a day."""
    return dt.datetime.fromisoformat(f"{text}T12:00:00")


def rig(**more: object) -> RigRecord:
    """A rig calibrated in March, and before that in January with a microphone 1 dB off."""
    return RigRecord.model_validate({
        "microphone": {"pa_per_full_scale": 4.0, "u_db": 0.2, "date": dt.date(2026, 3, 20)},
        "voltage": {"v_per_full_scale": 20.0, "u_db": 0.05, "date": dt.date(2026, 1, 10)},
        "history": [{"replaced": dt.date(2026, 3, 20), "microphone": {
            "pa_per_full_scale": 4.49, "u_db": 0.2, "date": dt.date(2026, 1, 10)}}],
        **more,
    })  # fmt: skip


@pytest.mark.parametrize(("when", "pascals", "codes"), [
    ("2026-02-01", 4.49, ["rig-changed-after"]),  # its own calibration; that the later one says something else is a note
    ("2026-03-20", 4.0, []), ("2026-06-01", 4.0, []),
    ("2026-01-01", 4.49, ["rig-changed-after", "rig-changed-after"]),  # before all: the earliest, with a caution
    ("2027-02-01", 4.0, ["rig-out-of-date"]),  # voltage of January 2026 is older than 365 days
])  # fmt: skip
def test_a_take_uses_the_calibration_of_its_time(when: str, pascals: float, codes: list[str]) -> None:
    """The latest not later than the take; else the earliest, and that is said; what is too old is said."""
    found = rig_at(rig(), day(when), BOTH)
    assert found.record.microphone is not None
    assert found.record.microphone.pa_per_full_scale == pascals
    assert [v.code for v in found.verdicts] == codes
    assert found.record.history == ()


def test_only_what_the_take_holds_is_spoken_of() -> None:
    """A take with the microphone alone does not care that the voltage is out of date."""
    assert rig_at(rig(), day("2027-02-01"), (Role.MICROPHONE,)).verdicts == ()


def test_old_rig_files_work_as_they_did() -> None:
    """One date at the top stands for all; none at all is a note; the values are those of the file."""
    old = RigRecord.model_validate({"date": dt.date(2026, 1, 10), "microphone": {"pa_per_full_scale": 4.0},
                                    "voltage": {"v_per_full_scale": 20.0}})  # fmt: skip
    found = rig_at(old, day("2026-02-01"), BOTH)
    assert found.dates == ("2026-01-10", "2026-01-10", "")
    assert found.verdicts == ()
    undated = RigRecord.model_validate({"microphone": {"pa_per_full_scale": 4.0}})
    assert [v.code for v in rig_at(undated, day("2026-02-01"), BOTH).verdicts] == ["rig-undated"]


def test_the_key_changes_with_what_counts_and_only_then() -> None:
    """A title does not matter to a take, nor does a calibration of another time; a correction curve does."""
    early = day("2026-02-15")
    base = rig_at(rig(), early, BOTH).key
    assert rig_at(rig(title="Bench"), early, BOTH).key == base
    moved = rig().changed(microphone=rig().microphone.changed(pa_per_full_scale=4.01))  # type: ignore[union-attr]
    assert "4.49" in rig_at(moved, early, BOTH).key
    voltage = rig().changed(voltage=rig().voltage.changed(v_per_full_scale=19.0))  # type: ignore[union-attr]
    assert rig_at(voltage, early, BOTH).key != base


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """A workshop with an empty rig."""
    made = Workshop.init(tmp_path / "hide", "Hide", durable=False)
    made.create_rig("bench", RigRecord(title="Bench"))
    return made


def wav(path: Path, *channels: np.ndarray) -> Path:
    """Channels as a file of 24 bits."""
    soundfile.write(path, np.array(channels).T, RATE, subtype="PCM_24")
    return path


def reading(volts: float = 2.83) -> MeterReading:
    """A meter of 1 % and 3 digits at 100 Hz."""
    return MeterReading(volts=volts, frequency_hz=100.0, percent=1.0, digits=3.0, resolution_v=0.01)


def test_a_year_of_a_bench(shop: Workshop, tmp_path: Path) -> None:
    """Calibrated, calibrated anew, and by mistake with the other level: history and record are what they should be."""
    first = propose_calibrator(
        shop, "bench", wav(tmp_path / "a.wav", tone(0.1)), Calibrator(grade="1"), date=dt.date(2026, 1, 10)
    )
    keep(shop, first)
    second = propose_calibrator(
        shop, "bench", wav(tmp_path / "b.wav", tone(0.102)), Calibrator(grade="1"), date=dt.date(2026, 3, 20)
    )
    loaded = keep(shop, second, note="new cable")
    record = loaded.record
    assert record.microphone is not None
    assert (record.microphone.date, record.microphone.calibrator_db, record.microphone.calibrator_hz) == (
        dt.date(2026, 3, 20),
        94.0,
        1000.0,
    )
    (old,) = record.history
    assert (old.replaced, old.note) == (dt.date(2026, 3, 20), "new cable")
    assert old.microphone is not None
    assert old.microphone.pa_per_full_scale == pytest.approx(1.0023745 * np.sqrt(2) / 0.1, rel=1e-4)
    assert record.microphone.recording is not None
    assert (loaded.path.parent / record.microphone.recording).read_bytes() == (
        tmp_path / "b.wav"
    ).read_bytes()
    wrong = propose_calibrator(shop, "bench", wav(tmp_path / "c.wav", tone(0.99)), Calibrator(grade="1"))
    assert [v.code for v in wrong.verdicts] == ["calibrator-other-level"]
    before = loaded.path.read_bytes()
    with pytest.raises(InputError, match=r"not kept.*other level"):
        keep(shop, wrong)
    assert loaded.path.read_bytes() == before
    assert keep(shop, wrong, anyway=True).record.microphone != record.microphone


def test_one_entered_afterwards_goes_to_the_history(shop: Workshop) -> None:
    """A calibration of last year, typed in today, does not become the present one."""
    keep(shop, propose_sensitivity(shop, "bench", 4.0, 0.2, date=dt.date(2026, 3, 20)))
    record = keep(shop, propose_sensitivity(shop, "bench", 4.5, 0.5, date=dt.date(2025, 3, 20))).record
    assert record.microphone is not None
    assert record.microphone.pa_per_full_scale == 4.0
    at = rig_at(record, day("2025-06-01"), BOTH).record.microphone
    assert at is not None
    assert at.pa_per_full_scale == 4.5


def test_comments_of_the_file_stay_and_a_change_meanwhile_is_refused(shop: Workshop) -> None:
    """What a person wrote into the rig's file survives; an edit while the form was open is not overwritten."""
    path = shop.rig("bench").path
    path.write_text(path.read_text() + "# gain at 12 o'clock\n", encoding="utf-8")
    keep(shop, propose_sensitivity(shop, "bench", 4.0, 0.2))
    assert "12 o'clock" in path.read_text(encoding="utf-8")
    loaded = shop.rig("bench")
    path.write_text(path.read_text() + "# and another\n", encoding="utf-8")
    with pytest.raises(ConflictError):
        shop.save(loaded, loaded.record.changed(title="x"))


def test_voltage_output_and_latency(shop: Workshop, tmp_path: Path) -> None:
    """By hand: 2.83 V at a peak of 0.2 gives 20.01 V at full scale, at a digital 0.5 8.004 V; a loop of 480 samples is 10 ms."""
    keep(shop, propose_voltage(shop, "bench", wav(tmp_path / "t.wav", tone(0.2, 100.0)), reading()))
    keep(shop, propose_output(shop, "bench", reading(), 0.5))
    sweep = SWEEP.samples()
    loops = [wav(tmp_path / f"l{n}.wav", np.concatenate([np.zeros(480 + n), sweep])) for n in (0, 0, 0)]
    made = propose_latency(shop, "bench", wav(tmp_path / "p.wav", sweep), loops)
    record = keep(shop, made).record
    assert record.voltage is not None
    assert record.output is not None
    assert record.latency is not None
    assert record.voltage.v_per_full_scale == pytest.approx(20.011, abs=1e-3)
    assert record.output.v_per_full_scale == pytest.approx(8.0044, abs=1e-3)
    assert record.latency.samples == pytest.approx(480.0, abs=1e-3)
    assert made.facts["delay_ms"] == pytest.approx(10.0, abs=1e-4)


def test_current_by_divider_with_both_checks(shop: Workshop, tmp_path: Path) -> None:
    """Open check and known resistor: 10 ohm stated, 10.3 true, the source channel 0.2 dB high and 2 µs late; all is found."""
    keep(shop, propose_voltage(shop, "bench", wav(tmp_path / "t.wav", tone(0.2, 100.0)), reading()))
    sweep, gain = SWEEP.samples(), 10 ** (0.2 / 20)
    opened = wav(tmp_path / "open.wav", gain * late(sweep, 2e-6), sweep)
    bench = resistor_bench(8.0, 10.3)
    check = wav(
        tmp_path / "check.wav", gain * late(bench.channel(Role.SOURCE), 2e-6), bench.channel(Role.VOLTAGE)
    )
    made = propose_current(shop, "bench", "divider", 10.0, open_path=opened, check_path=check, known_ohm=8.0)
    table = keep(shop, made).record.current
    assert table is not None
    assert table.resistance_ohm == pytest.approx(10.3, rel=2e-3)
    assert table.gain_db == pytest.approx(0.2, abs=1e-3)
    assert table.delay_us == pytest.approx(2.0, abs=0.01)
    assert table.shares_voltage
    assert made.contributions[0].name == "known resistor"


def test_current_by_shunt(shop: Workshop, tmp_path: Path) -> None:
    """0.1 ohm on an input of 1 V full scale is 10 A; with a typed input scale its uncertainty counts, with the voltage's not."""
    keep(shop, propose_voltage(shop, "bench", wav(tmp_path / "t.wav", tone(0.2, 100.0)), reading()))
    own = propose_current(shop, "bench", "shunt", 0.1, input_v=1.0, input_u_db=0.1).values
    assert own.a_per_full_scale == pytest.approx(10.0)  # type: ignore[attr-defined]
    assert not own.shares_voltage  # type: ignore[attr-defined]
    same = propose_current(shop, "bench", "shunt", 0.1).values
    assert same.a_per_full_scale == pytest.approx(200.11, abs=0.01)  # type: ignore[attr-defined]
    assert same.shares_voltage  # type: ignore[attr-defined]
    assert own.u_db > same.u_db  # type: ignore[attr-defined]
    wrong = wav(
        tmp_path / "check.wav",
        resistor_bench(8.0).channel(Role.VOLTAGE),
        0.01 * resistor_bench(8.0).channel(Role.VOLTAGE),
    )
    made = propose_current(shop, "bench", "shunt", 0.8, check_path=wrong, known_ohm=8.0)
    assert [v.code for v in made.verdicts] == ["shunt-tenfold"]
    with pytest.raises(InputError, match="ten times too large"):
        keep(shop, made)


def test_current_needs_a_voltage_scale(shop: Workshop) -> None:
    """And says so."""
    with pytest.raises(InputError, match="no voltage scale yet"):
        propose_current(shop, "bench", "shunt", 0.1)


# Correction curves.


@pytest.mark.parametrize("text", [
    "frequency_hz,level_db\n20,1.5\n1000,0\n20000,-2\n",
    "Frequency (Hz)\tLevel (dB)\n20\t1.5\n1000\t0\n20000\t-2\n",
    "* made by hand\n20 1.5\n1000 0.0\n20000 -2\n",
    "Hz;dB\n20;1,5\n1000;0,0\n20000;-2,0\n",
])  # fmt: skip
def test_curves_as_they_come(tmp_path: Path, text: str) -> None:
    """Named or not, with points or commas."""
    path = tmp_path / "mic.txt"
    path.write_text(text)
    curve = read_correction(path)
    assert curve.frequency_hz.tolist() == [20, 1000, 20000]
    assert curve.level_db.tolist() == [1.5, 0, -2]
    assert read_correction(path, turned=True).level_db.tolist() == [-1.5, 0, 2]


@pytest.mark.parametrize(("text", "words"), [
    ("frequency_hz,level_db\n20,1\n10,2\n30,1\n", r"mic.txt:3.*ascending"),
    ("frequency_hz,level_db\n20,94\n100,95\n300,94\n", "deviations of a microphone"),
    ("nothing here", "no table of numbers"),
    ("frequency_hz,level_db\n20,1\n30,x\n40,2\n50,2\n60,1\n", "must be a number"),
])  # fmt: skip
def test_curves_that_are_none(tmp_path: Path, text: str, words: str) -> None:
    """File, line and what is wrong."""
    path = tmp_path / "mic.txt"
    path.write_text(text)
    with pytest.raises(InputError, match=words):
        read_correction(path)


def test_a_curve_joins_the_calibration(shop: Workshop, tmp_path: Path) -> None:
    """It stands beside the record, nothing goes to the history, the next calibration keeps it, and a changed file is noticed."""
    path = tmp_path / "mic.csv"
    path.write_text("frequency_hz,level_db\n1000,0\n5000,1\n20000,3\n")
    with pytest.raises(InputError, match="no microphone yet"):
        propose_correction(shop, "bench", path)
    keep(shop, propose_sensitivity(shop, "bench", 4.0, 0.2, date=dt.date(2026, 1, 10)))
    made = propose_correction(shop, "bench", path, u_db=0.2)
    assert [v.code for v in made.verdicts] == ["correction-range"]
    record = keep(shop, made).record
    assert record.history == ()
    assert record.microphone is not None
    kept = shop.folder / "rigs" / (record.microphone.correction or "")
    assert kept.read_text().startswith("# level_db is what the microphone reads too high")
    later = keep(shop, propose_sensitivity(shop, "bench", 4.1, 0.2, date=dt.date(2026, 2, 10))).record
    assert later.microphone is not None
    assert later.microphone.correction == record.microphone.correction


# States.


def test_states_on_a_day() -> None:
    """Valid, due soon, out of date, not dated, not calibrated."""
    record = rig(
        voltage={"v_per_full_scale": 20.0}, output={"v_per_full_scale": 8.0, "date": dt.date(2025, 1, 1)}
    )
    found = {s.table: s.state for s in states(record, dt.date(2026, 4, 1))}
    assert found == {"microphone": "valid", "output": "out of date", "voltage": "not dated", "current": "not calibrated",
                     "latency": "not calibrated"}  # fmt: skip
    soon = {s.table: s.state for s in states(record, dt.date(2027, 3, 10))}
    assert soon["microphone"] == "due soon"
    ((state, replaced, _),) = earlier_states(record)
    assert (state.table, replaced) == ("microphone", dt.date(2026, 3, 20))
    assert state.value.startswith("4.49\u202fPa at full scale")


@pytest.mark.parametrize("values", [
    {"current": {"method": "divider"}}, {"current": {"method": "shunt"}},
    {"current": {"a_per_full_scale": 1.0, "voltage_includes_shunt": True}},
    {"microphone": {"pa_per_full_scale": 1.0, "correction": "x.csv"}},
])  # fmt: skip
def test_half_a_table_is_refused(values: dict[str, object]) -> None:
    """A divider without its resistor, a shunt without its scale, a curve without its hash."""
    with pytest.raises(ValueError, match=r"resistance_ohm|a_per_full_scale|must|missing|hash"):
        RigRecord.model_validate(values)


# All the way through.


def test_a_take_by_divider_gives_impedance_and_its_uncertainty(shop: Workshop, tmp_path: Path) -> None:
    """Imported with the role source, the take has the reference driver's impedance and knows the resistor's uncertainty."""
    from halfroll.figures.combine import version_figures
    from halfroll.figures.types import FigureSettings
    from halfroll.workshop import (
        DriverRecord,
        NewAudio,
        SweepTable,
        TakeSetup,
        UnitRecord,
        VersionRecord,
        derive,
    )
    from tests.measure.test_current import TABLE

    keep(shop, propose_sensitivity(shop, "bench", 1.0, 0.2, date=dt.date(2026, 1, 10)))
    loaded = shop.rig("bench")
    shop.save(
        loaded,
        loaded.record.changed(voltage={"v_per_full_scale": 20.0, "u_db": 1.0, "date": dt.date(2026, 1, 10)}),
    )
    keep(
        shop,
        propose_current(shop, "bench", "divider", 10.0, tolerance_percent=2.0, date=dt.date(2026, 1, 10)),
    )
    shop.create_driver("dunlin", DriverRecord(title="Dunlin"))
    shop.create_version("dunlin", "v1", VersionRecord(rated_impedance_ohm=4.0))
    shop.create_unit("dunlin/v1", "01", UnitRecord())
    bench = divider_bench()
    audio = NewAudio.from_samples("take.flac", bench.samples, RATE, bench.roles)
    setup = TakeSetup.model_validate({"rig": "bench", "distance_m": 0.3, "space": "half-space", "gate_ms": "none",
                                      "sweep": SweepTable.of(SWEEP)})  # fmt: skip
    take = shop.add_take("dunlin/v1/01", "a", setup, day("2026-02-01"), [audio]).id
    reading = derive.readings(shop, [take], workers=1)[take]
    assert reading.calibration_dates == ("2026-01-10", "2026-01-10", "2026-01-10")
    found = reading.readings["impedance_min_ohm"].value
    assert found is not None
    band = (TABLE[:, 0] > 100) & (TABLE[:, 0] < 2000)
    assert found == pytest.approx(np.abs(TABLE[band, 1] + 1j * TABLE[band, 2]).min(), rel=3e-3)
    figure = version_figures([reading], FigureSettings())["impedance_min_ohm"].figure
    expected = (
        found * 0.02 / np.sqrt(3)
    )  # the resistor's tolerance alone: the voltage's 1 dB is the current's too
    assert figure.u_calibration == pytest.approx(expected, rel=0.02)
    assert derive.response(shop, take).current_shares_voltage


def test_shunt_roles_are_looked_at(shop: Workshop, tmp_path: Path) -> None:
    """A recording with another number of channels than roles is refused by name."""
    loaded = shop.rig("bench")
    shop.save(loaded, loaded.record.changed(voltage={"v_per_full_scale": 20.0}))
    with pytest.raises(InputError, match="3 channels, 2 roles"):
        propose_current(
            shop, "bench", "shunt", 0.1, open_path=wav(tmp_path / "o.wav", *shunt_bench().samples)
        )


def test_a_typed_sensitivity_is_held_against_the_one_before(shop: Workshop) -> None:
    """400 Pa typed where 4 Pa stood, and a first 9000 Pa, are told before they are kept; a fair value is not."""
    assert [v.code for v in propose_sensitivity(shop, "bench", 9000.0, 0.2).verdicts] == [
        "calibration-unlikely"
    ]
    keep(shop, propose_sensitivity(shop, "bench", 4.0, 0.2))
    (said,) = propose_sensitivity(shop, "bench", 400.0, 0.2).verdicts
    assert said.code == "calibration-moved"
    assert said.data["step_db"] == pytest.approx(40.0)
    assert propose_sensitivity(shop, "bench", 4.1, 0.2).verdicts == ()
