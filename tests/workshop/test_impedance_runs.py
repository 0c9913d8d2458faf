"""Impedance runs of a unit: brought in from tables, recordings and takes, fitted once, and what they tell together."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import bilinear, lfilter

from halfroll.compare.gather import curves_of
from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.measure.recording import Role
from halfroll.measure.sweep import Sweep
from halfroll.workshop import (
    CurrentTable,
    DriverRecord,
    MicrophoneTable,
    NewAudio,
    RigRecord,
    SweepTable,
    TakeSetup,
    UnitRecord,
    VersionRecord,
    VoltageTable,
    Workshop,
    read_contents,
)
from halfroll.workshop.derive_runs import run_readings
from halfroll.workshop.impedance_import import import_impedance
from halfroll.workshop.parameters import unit_parameters
from halfroll.workshop.runs import load_run, run_ids

UNIT = "godwit/v1/01"
RE, BL, MMS, CMS, RMS, LE, AREA = 6.0, 5.0, 0.010, 0.8e-3, 1.2, 0.4e-3, 0.0125
"""A driver by hand: fs = 1/(2π√(Mms·Cms)) = 56.27 Hz, Qms = 2π·fs·Mms/Rms = 2.946, Qes = 2π·fs·Mms·Re/Bl² = 0.8485."""

FS, QMS, QES = 56.2698, 2.94628, 0.848528
WHEN = dt.datetime(2026, 4, 1, 10, 0, tzinfo=dt.UTC)
SWEEP = Sweep(start_hz=10.0, duration_s=2.5, silence_before_s=0.3, silence_after_s=0.8)


def impedance(frequency_hz: FloatArray, added_kg: float = 0.0) -> np.ndarray:
    """Re + sLe + Bl²/(Rms + sM + 1/(sC)), the textbook's lumped driver."""
    s = 2j * np.pi * frequency_hz
    return RE + s * LE + BL**2 / (RMS + s * (MMS + added_kg) + 1.0 / (s * CMS))


def table(path: Path, added_kg: float = 0.0, seed: int = 1) -> Path:
    """A table with 0.1 % of noise."""
    f = np.geomspace(10.0, 20000.0, 240)
    rng = np.random.default_rng(seed)
    z = impedance(f, added_kg) * (
        1.0 + 1e-3 * (rng.standard_normal(f.size) + 1j * rng.standard_normal(f.size))
    )
    rows = [f"{a:.4f},{abs(b):.5f},{np.degrees(np.angle(b)):.4f}" for a, b in zip(f, z, strict=True)]
    path.write_text("frequency (Hz),modulus (ohm),phase (deg)\n" + "\n".join(rows) + "\n", encoding="utf-8")
    os.utime(path, (WHEN.timestamp(), WHEN.timestamp()))
    return path


def electrical() -> FloatArray:
    """Voltage (10 V full scale) and current (1 A) of a sweep at 0.3 V, the admittance as SciPy's digital filter."""
    volts = SWEEP.samples() * (0.3 * np.sqrt(2.0) / SWEEP.level)
    mechanical = np.array([MMS, RMS, 1.0 / CMS])  # over s
    denominator = np.polyadd(np.polymul([LE, RE], mechanical), [BL**2, 0.0])
    b, a = bilinear(mechanical, denominator, SWEEP.rate_hz)
    amps = lfilter(b, a, volts)
    noise = np.random.default_rng(2).normal(0.0, 1e-6, (2, volts.size))
    return np.stack([volts / 10.0, amps]) + noise


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """A version with its area, a unit, a rig with current."""
    made = Workshop.init(tmp_path / "shop", "Saltmarsh Workshop", durable=False)
    made.create_rig("bench", RigRecord(
        microphone=MicrophoneTable(pa_per_full_scale=4.0), voltage=VoltageTable(v_per_full_scale=10.0, u_db=0.03),
        current=CurrentTable(a_per_full_scale=1.0, u_db=0.04)))  # fmt: skip
    made.create_driver("godwit", DriverRecord(title="Godwit"))
    made.create_version("godwit", "v1", VersionRecord(rated_impedance_ohm=6.0, effective_area_cm2=1e4 * AREA))
    made.create_unit("godwit/v1", "01", UnitRecord())
    return made


def recorded(path: Path, samples: FloatArray | None = None) -> Path:
    """A FLAC file of voltage and current, with the sweep's parameters beside it."""
    from halfroll.workshop.audio import write_audio

    write_audio(path, electrical() if samples is None else samples, SWEEP.rate_hz)
    values = "\n".join(f"{k} = {v}" for k, v in SweepTable.of(SWEEP).model_dump().items())
    path.with_name("sweep.toml").write_text(f"format = 1\n{values}\n", encoding="utf-8")
    return path


def test_table_and_added_mass_give_the_driver_back(shop: Workshop, tmp_path: Path) -> None:
    """fs, Qms, Qes and the absolute parameters of the textbook's driver, within what the noise leaves; the tables are kept as
    they came, the run is named by what hung on the cone.
    """
    alone = import_impedance(shop, UNIT, table(tmp_path / "a.csv"), {"mounting": "baffle"})
    import_impedance(
        shop,
        UNIT,
        table(tmp_path / "b.csv", 0.005, 2),
        {"mounting": "baffle", "added_mass_g": 5.0, "added_mass_u_g": 0.01},
    )
    assert alone.run_id == f"{UNIT}/impedance/2026-04-01-alone"
    assert run_ids(shop, UNIT, "impedance") == [f"{UNIT}/impedance/2026-04-01-5-g", alone.run_id]
    kept = shop.folder / "drivers/godwit/v1/units/01/impedance/2026-04-01-alone"
    assert (kept / "a.csv").read_bytes() == (tmp_path / "a.csv").read_bytes()
    found = unit_parameters(shop, UNIT)
    assert found.free is not None
    assert found.parameters is not None
    values = found.parameters.estimates
    for name, truth, within in (("re_ohm", RE, 0.003), ("fs_hz", FS, 0.001), ("qms", QMS, 0.003), ("qes", QES, 0.003), ("mms_kg", MMS, 0.01),
                                ("bl_n_per_a", BL, 0.01), ("cms_m_per_n", CMS, 0.01), ("rms_ns_per_m", RMS, 0.01)):  # fmt: skip
        assert values.value(name) == pytest.approx(truth, rel=within), name
        assert abs(values.value(name) - truth) < 3.0 * values.u(name), name


def test_recording_without_a_microphone(shop: Workshop, tmp_path: Path) -> None:
    """Voltage and current alone; the sweep is found beside the file; the same driver comes out."""
    made = import_impedance(shop, UNIT, recorded(tmp_path / "vi.flac"), {"rig": "bench"})
    assert made.record.method == "recording"
    assert made.record.sweep == SweepTable.of(SWEEP)
    assert made.record.roles == (Role.VOLTAGE, Role.CURRENT)
    run = unit_parameters(shop, UNIT).runs[0]
    assert run.fit is not None
    assert run.curve is not None
    assert run.curve.scale_u == pytest.approx(0.05 * np.log(10) / 20)
    for name, truth in (("re_ohm", RE), ("fs_hz", FS), ("qms", QMS), ("qes", QES)):
        assert run.fit.estimates.value(name) == pytest.approx(truth, rel=0.003), name


def test_divider_recording(shop: Workshop, tmp_path: Path) -> None:
    """Voltage before a known 10 ohm resistor and at the terminals: Z = R·U/(Us - U)."""
    loaded = shop.rig("bench")
    shop.save(loaded, loaded.record.changed(current=CurrentTable(method="divider", resistance_ohm=10.0)))
    volts, amps = electrical()
    samples = np.stack([volts + amps * 10.0 / 10.0, volts])
    import_impedance(shop, UNIT, recorded(tmp_path / "us.flac", 0.9 * samples / np.abs(samples).max()), {"rig": "bench"},
                     roles=[Role.SOURCE, Role.VOLTAGE])  # fmt: skip
    run = unit_parameters(shop, UNIT).runs[0]
    assert run.fit is not None, run.fault
    for name, truth in (("re_ohm", RE), ("fs_hz", FS), ("qms", QMS), ("qes", QES)):
        assert run.fit.estimates.value(name) == pytest.approx(truth, rel=0.005), name


def test_impedance_of_a_take(shop: Workshop) -> None:
    """A take with voltage and current gives a run that points at it and copies nothing."""
    volts, amps = electrical()
    audio = NewAudio.from_samples("take.flac", np.stack([0.1 * volts, volts, amps]), SWEEP.rate_hz,
                                  (Role.MICROPHONE, Role.VOLTAGE, Role.CURRENT))  # fmt: skip
    setup = TakeSetup(rig="bench", distance_m=0.01, space="half-space", sweep=SweepTable.of(SWEEP))
    shop.add_take(UNIT, "take", setup, WHEN, [audio])
    made = import_impedance(shop, UNIT, None, {"take": "take", "mounting": "baffle"})
    assert made.record.when == WHEN
    assert not made.record.audio
    run = unit_parameters(shop, UNIT).runs[0]
    assert run.fit is not None, run.fault
    assert run.fit.estimates.value("fs_hz") == pytest.approx(FS, rel=0.003)


def test_figures_of_the_runs(shop: Workshop, tmp_path: Path) -> None:
    """Repeats are readings of fs; the moving mass stands at the newest; a run left out has its reason and counts no more."""
    for n, name in enumerate(("first", "second")):
        path = table(tmp_path / f"{name}.csv", seed=n)
        os.utime(path, (WHEN.timestamp() + 60 * n,) * 2)
        import_impedance(shop, UNIT, path, {}, name=name)
    import_impedance(shop, UNIT, table(tmp_path / "m.csv", 0.005, 5), {"added_mass_g": 5.0}, name="mass")
    readings = {r.take_id.rpartition("/")[2]: r for r in run_readings(shop, "godwit/v1")}
    assert set(readings) == {"first", "second"}
    assert readings["first"].kind == "impedance"
    assert readings["first"].mounting == "free-air"
    assert readings["first"].unit_id == UNIT
    assert "mms_g" not in readings["first"].readings
    assert readings["second"].readings["mms_g"].value == pytest.approx(10.0, rel=0.01)
    loaded = load_run(shop, f"{UNIT}/impedance/second")
    shop.save(loaded, loaded.record.changed(leave_out="The putty was still on."))
    readings = {r.take_id.rpartition("/")[2]: r for r in run_readings(shop, UNIT)}
    assert readings["second"].excluded == "The putty was still on."
    assert not readings["second"].usable
    assert readings["first"].readings["mms_g"].value == pytest.approx(10.0, rel=0.01)


def test_fits_are_kept_and_made_anew(shop: Workshop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second look fits nothing; another meter's value, or another rated impedance, makes it fit again."""
    import halfroll.workshop.parameters as room

    import_impedance(shop, UNIT, table(tmp_path / "a.csv"), {})
    first = unit_parameters(shop, UNIT)
    fit, calls = room._fit, []
    monkeypatch.setattr(room, "_fit", lambda *given: calls.append(1) or fit(*given))
    again = unit_parameters(shop, UNIT)
    assert not calls
    assert again.runs[0].fit is not None
    assert first.runs[0].fit is not None
    np.testing.assert_array_equal(again.runs[0].fit.estimates.values, first.runs[0].fit.estimates.values)
    assert again.runs[0].verdicts == first.runs[0].verdicts
    loaded = shop.unit(UNIT)
    shop.save(loaded, loaded.record.changed(re_ohm=6.02))
    unit_parameters(shop, UNIT)
    assert len(calls) == 1


def test_what_is_missing_is_said_with_the_next_step(shop: Workshop, tmp_path: Path) -> None:
    """No run, no area, no mass, no curve alone: each says what to do."""
    assert "Import a table" in unit_parameters(shop, UNIT).missing
    import_impedance(shop, UNIT, table(tmp_path / "m.csv", 0.005), {"added_mass_g": 5.0})
    assert "driver alone" in unit_parameters(shop, UNIT).missing
    import_impedance(shop, UNIT, table(tmp_path / "a.csv"), {"mounting": "baffle"})
    assert "known mass" in unit_parameters(shop, UNIT).missing  # the mass run was mounted otherwise
    loaded = shop.version("godwit/v1")
    shop.save(loaded, loaded.record.changed(effective_area_cm2=None))
    assert "effective area" in unit_parameters(shop, UNIT).missing


def test_wrong_input_leaves_nothing_behind(shop: Workshop, tmp_path: Path) -> None:
    """Kilograms, a box without volume, no rig, an unknown unit, a descending table, swapped files: a message, and no run."""
    good, audio = table(tmp_path / "a.csv"), recorded(tmp_path / "vi.flac")
    descending = tmp_path / "d.csv"
    lines = good.read_text(encoding="utf-8").strip().split("\n")
    descending.write_text("\n".join([lines[0], *reversed(lines[1:])]), encoding="utf-8")
    for source, stated, words in (
        (good, {"added_mass_g": 0.005}, "if 0.005 is in kilograms, write 5"),
        (good, {"mounting": "closed-box"}, "must be given for a closed box"),
        (good, {"volume_l": 0.012, "mounting": "closed-box"}, "cubic metres"),
        (audio, {}, "rig of the impedance must be named"),
        (audio, {"rig": "other"}, "There is no rig other"),
        (descending, {}, "ascend"),
        (None, {"take": "none"}, "There is no take"),
        (None, {}, "a file or a take"),
        (tmp_path / "missing.csv", {}, "missing.csv"),
    ):
        with pytest.raises(InputError, match=words):
            import_impedance(shop, UNIT, source, stated)
    with pytest.raises(InputError, match="There is no unit"):
        import_impedance(shop, "godwit/v1/09", good, {})
    assert run_ids(shop, UNIT, "impedance") == []


def test_a_file_that_was_changed_is_noticed(shop: Workshop, tmp_path: Path) -> None:
    """A table edited after it was brought in is a fault beside its run, not a crash; the other runs stand."""
    made = import_impedance(shop, UNIT, table(tmp_path / "a.csv"), {})
    import_impedance(shop, UNIT, table(tmp_path / "b.csv", seed=3), {}, name="b")
    unit_parameters(shop, UNIT)
    file = shop.folder / "drivers/godwit/v1/units/01/impedance" / made.run_id.rpartition("/")[2] / "a.csv"
    file.write_text(file.read_text(encoding="utf-8").replace("10.0000", "10.0001"), encoding="utf-8")
    found = unit_parameters(shop, UNIT)
    run = found.run(made.run_id)
    assert run is not None
    assert run.fault is not None
    assert "content hash" in str(run.fault)
    assert [v.code for v in run.verdicts] == ["not-fitted"]
    assert found.free is not None
    assert found.free.name == "b"


def test_a_damaged_record_stands_beside_the_others(shop: Workshop, tmp_path: Path) -> None:
    """A record with a fault is named; nothing falls over."""
    made = import_impedance(shop, UNIT, table(tmp_path / "a.csv"), {})
    path = (
        shop.folder
        / "drivers/godwit/v1/units/01/impedance"
        / made.run_id.rpartition("/")[2]
        / "impedance.toml"
    )
    path.write_text(
        path.read_text(encoding="utf-8").replace('method = "table"', 'method = "guess"'), encoding="utf-8"
    )
    found = unit_parameters(shop, UNIT)
    assert found.runs[0].fault is not None
    assert "method of the impedance" in str(found.runs[0].fault)
    assert made.run_id in read_contents(shop.folder, shop.index).faults
    assert run_readings(shop, UNIT) == []


def test_a_comparison_draws_the_impedance_of_runs(shop: Workshop, tmp_path: Path) -> None:
    """A version without a take that holds current has its runs' impedance, the one without mass, within the noise of the table."""
    assert "impedance" not in curves_of(shop)("godwit/v1", ())
    import_impedance(shop, UNIT, table(tmp_path / "a.csv"), {"mounting": "baffle"}, name="alone")
    import_impedance(
        shop,
        UNIT,
        table(tmp_path / "m.csv", 0.005, 2),
        {"mounting": "baffle", "added_mass_g": 5.0},
        name="putty",
    )
    found = curves_of(shop)("godwit/v1", ())["impedance"]
    inside = (found.frequency_hz > 12.0) & (found.frequency_hz < 15_000.0)
    assert found.value[inside] == pytest.approx(np.abs(impedance(found.frequency_hz[inside])), rel=0.01)
