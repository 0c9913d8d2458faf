"""Builders' checks on disk: typed readings, recordings of telephones, records that are whole or not there, counts."""

import datetime as dt
import shutil
from dataclasses import replace

import numpy as np
import pytest
import soundfile

from halfroll.builds.checks import (
    check_unit,
    evidence_of,
    expected_bands,
    known_of,
    mounted_of,
    unit_evidence,
)
from halfroll.builds.faults.reference import reference_of
from halfroll.core.errors import InputError
from halfroll.driver.demo.scenario import DRIVERS
from halfroll.driver.linear import linear_response
from halfroll.driver.telephone import Telephone
from halfroll.measure.phone.bands import BANDS_HZ
from halfroll.measure.phone.signal import PHONE_SWEEP
from halfroll.publish.builders_rows import answer_text
from halfroll.workshop import Workshop
from halfroll.workshop.audio import write_audio
from halfroll.workshop.builder_readings import READINGS, typed_reading
from halfroll.workshop.builders import (
    NewRecording,
    add_check,
    check_ids,
    checked_record,
    free_name,
    kept_recordings,
    load_check,
    read_new,
    save_check,
    standing,
)
from halfroll.workshop.demo_builders import BUILDERS, add_builders
from halfroll.workshop.phone_audio import read_phone_audio
from tests.workshop.builders_shop import FS_HZ, VERSION, builders_shop, recorded
from tests.workshop.saltmarsh import bare_saltmarsh

TODAY = dt.date(2026, 5, 9)


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """Recordings of a good unit and of a stiff one, made once."""
    folder = tmp_path_factory.mktemp("phone")
    return {
        "good": recorded(folder / "good.flac"),
        "stiff": recorded(folder / "stiff.flac", fs_hz=1.6 * FS_HZ, q=1.28),
        "m4a": recorded(folder / "good.m4a"),
        "folder": folder,
    }


@pytest.fixture
def shop(tmp_path):
    """A workshop of its own."""
    return builders_shop(tmp_path / "shop")


def record(shop, read=(("re_ohm", 6.4),), **more):
    """A record of some readings."""
    values = {
        "date": TODAY,
        "version": VERSION,
        "readings": [{"what": w, "value": v} for w, v in read],
        "mounting": "baffle",
    }
    return checked_record(shop, {**values, **more})


def new(path, **more):
    """A recording on its way in."""
    return NewRecording(audio=read_phone_audio(path), sweep=PHONE_SWEEP, **more)


@pytest.mark.parametrize(
    ("key", "text", "value", "u"),
    [
        ("re_ohm", "6.4", 6.4, None),
        ("re_ohm", "6,4 Ω", 6.4, None),
        ("re_ohm", "0.0064 kohm", 6.4, None),
        ("moving_mass_g", "5.1 g ± 0.1", 5.1, 0.1),
        ("moving_mass_g", "0.0051 kg +- 0.0001", 5.1, 0.1),
        ("rest_height_mm", "−1.5 mm", -1.5, None),
        ("stiffness_n_per_mm", "900 N/m", 0.9, None),
        ("polarity", "Reversed", -1.0, None),
        ("rub", "some", 0.5, None),
    ],
)
def test_readings_as_people_type_them(key, text, value, u):
    """Comma or point, unit or none, an uncertainty behind it; words of what is only seen."""
    found, found_u = typed_reading(key, text)
    assert found == pytest.approx(value)
    assert found_u == (None if u is None else pytest.approx(u))


@pytest.mark.parametrize(
    ("key", "text", "says"),
    [
        ("re_ohm", "0.0064", "If it was read in kohm, write 6.4 ohm"),
        ("moving_mass_g", "0.0051", "If it was read in kg, write 5.1 g"),
        ("re_ohm", "6.4 kg", "has another unit"),
        ("fs_hz", "low", "must be a number"),
        ("fs_hz", "1e999", "out of range"),
        ("polarity", "6", "one of these words"),
        ("qts", "", "must be a number"),
    ],
)
def test_slips_are_answered(key, text, says):
    """The message says what was found, what is allowed, and which unit was probably meant."""
    with pytest.raises(InputError, match=says) as told:
        typed_reading(key, text, name="--it")
    assert told.value.place.key == "--it"


def test_round_trip_of_a_check(shop, files):
    """What is kept comes back: readings, recording with its hash, the sweep; a number of what was found counts."""
    asked = record(shop, [("re_ohm", 6.4), ("polarity", 1.0)], builder="tern", complaint="sounds thin")
    loaded = add_check(
        shop,
        "tern",
        asked,
        {"recording": new(files["stiff"], distance_cm=4.0), "reference": new(files["good"])},
    )
    assert check_ids(shop) == ["tern"]
    again = load_check(Workshop.open(shop.folder), "tern")
    assert again.record == loaded.record
    assert again.record.recording.sweep.sweep() == PHONE_SWEEP
    assert again.record.recording.distance_cm == 4.0
    assert kept_recordings(again)["recording"].audio.data == files["stiff"].read_bytes()
    assert free_name(shop, "Tern") == "tern-2"
    mended = again.record.changed(
        status="mended", found_fault="stiff-print", answer="Print the spider again."
    )
    save_check(shop, again, mended)
    add_check(shop, "knot", record(shop))
    found = standing(shop)
    assert found.by_status == {"mended": 1, "open": 1}
    assert found.by_fault == {"stiff-print": 1}


def test_nothing_half_is_left(shop, files, monkeypatch):
    """A save that breaks off leaves no folder; a name is not taken twice."""
    from halfroll.workshop import builders

    monkeypatch.setattr(builders, "render", lambda *_: (_ for _ in ()).throw(OSError("gone")))
    with pytest.raises(OSError, match="gone"):
        add_check(shop, "tern", record(shop), {"recording": new(files["good"])})
    monkeypatch.undo()
    assert check_ids(shop) == []
    add_check(shop, "tern", record(shop))
    with pytest.raises(InputError, match="There is a check tern already"):
        add_check(shop, "tern", record(shop))


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"version": "knot/v9"}, "There is no version"),
        ({"from_unit": "knot/v1/77"}, "There is no unit"),
        ({"readings": [{"what": "colour", "value": 1.0}]}, "no such reading"),
        ({"readings": [{"what": "re_ohm", "value": 0.0064}]}, "kohm"),
        ({"readings": [{"what": "re_ohm", "value": "six"}]}, "must be a number"),
        ({"readings": [{"what": "re_ohm", "value": 6.4}] * 2}, "each reading once"),
        ({"found_fault": "leak"}, "answered or mended"),
        ({"status": "gone"}, "one of the allowed words"),
        ({"box_l": -1.0}, "0.05 to 2000"),
    ],
)
def test_wrong_records_are_refused_with_their_key(shop, values, says):
    """Each names the key that is wrong."""
    with pytest.raises(InputError, match=says) as told:
        record(shop, **values)
    assert told.value.place.key


def test_a_file_edited_by_hand_is_answered_with_its_line(shop):
    """The slip has its line; the list of all checks goes on without it."""
    loaded = add_check(shop, "tern", record(shop))
    text = loaded.path.read_text().replace("value = 6.4", "value = 0.0064")
    loaded.path.write_text(text)
    with pytest.raises(InputError, match=r"write 6\.4 ohm") as told:
        load_check(shop, "tern")
    assert told.value.place.line
    assert len(standing(shop).faults) == 1


def test_compressed_recordings_give_the_same_bands(shop, files):
    """AAC at 128 kbit/s beside the lossless file: the bands are within 0.5 dB."""
    asked = record(shop)
    plain, packed = (read_new(shop, asked, {"recording": new(files[kind])}) for kind in ("good", "m4a"))
    assert [b.value_db for b in packed.bands] == pytest.approx([b.value_db for b in plain.bands], abs=0.5)
    assert len(plain.bands) == len(BANDS_HZ)


def test_files_that_are_no_recordings(shop, files, tmp_path):
    """Text, nothing, a picture's name, a damaged file, two hours: each refused in words."""
    rate = 8000
    long = tmp_path / "long.flac"
    write_audio(long, np.zeros(130 * rate), rate, durable=False)
    hours = tmp_path / "hours.flac"  # two hours, told by its header before anything is read
    soundfile.write(hours, np.zeros(7200 * rate, dtype=np.int16), rate)
    broken = tmp_path / "broken.m4a"
    broken.write_bytes(files["m4a"].read_bytes()[:300])
    for name, data, says in (
        ("empty.wav", b"", "empty"),
        ("letter.wav", b"Dear all, " * 20, "WAV or FLAC"),
        ("letter.m4a", b"Dear all, " * 20, "cannot be read"),
        ("look.jpg", b"\xff\xd8\xff", "no recording that can be read"),
    ):
        path = tmp_path / name
        path.write_bytes(data)
        with pytest.raises(InputError, match=says):
            read_phone_audio(path)
    for path in (long, hours):
        with pytest.raises(InputError, match="too long"):
            read_phone_audio(path)
    many = (
        tmp_path / "many.flac"
    )  # eight silent channels at a rate no sound needs: 55 million samples in some kilobytes
    soundfile.write(many, np.zeros((60 * 115_000, 8), dtype=np.int16), 115_000)
    with pytest.raises(InputError, match="too many samples"):
        read_phone_audio(many)
    with pytest.raises(InputError, match="cannot be read"):
        read_phone_audio(broken)


def kept(shop, loaded):
    """What the recordings of a kept check tell."""
    return read_new(shop, loaded.record, kept_recordings(loaded))


def test_a_recording_that_changed_is_refused(shop, files):
    """Its content hash is not the one in the record."""
    loaded = add_check(shop, "tern", record(shop), {"recording": new(files["good"])})
    shutil.copyfile(files["stiff"], loaded.path.parent / loaded.record.recording.file)
    with pytest.raises(InputError, match="content hash differs"):
        kept_recordings(loaded)


def test_wrong_sweep_is_said_with_the_file(shop, files):
    """The recording is not of the sweep that is said."""
    other = replace(PHONE_SWEEP, duration_s=4.0)
    asked = NewRecording(audio=read_phone_audio(files["good"]), sweep=other)
    with pytest.raises(InputError, match="another sweep") as told:
        read_new(shop, record(shop), {"recording": asked})
    assert told.value.place.file == "good.flac"


def test_stiff_unit_is_found_with_a_telephone_and_a_good_unit(shop, files):
    """A resonance 1.6 times as high is a suspension 2.6 times as stiff: first suspect with the good unit beside it; and a good unit is not
    called bad.
    """
    readings = [("re_ohm", 6.4), ("polarity", 1.0), ("rub", 0.0), ("moving_mass_g", 5.5)]
    both = {"recording": new(files["stiff"]), "reference": new(files["good"])}
    found = check_unit(shop, record(shop, readings, builder="tern"), both)
    assert found.diagnosis.outcome == "fault"
    assert found.diagnosis.suspects[0].fault in ("stiff-print", "glued-spider")
    good = check_unit(shop, record(shop, readings), {"recording": new(files["good"])})
    assert good.diagnosis.outcome in ("no fault", "too little")
    text = answer_text(found)
    assert text.startswith("Hello tern,")
    assert found.diagnosis.suspects[0].label in text


@pytest.mark.parametrize(("hz", "order"), [(20.0, 1), (90.0, 2), (200.0, 2), (250.0, 2)])
def test_a_telephone_without_bass_does_not_make_a_good_unit_faulty(shop, files, hz, order):
    """Telephones that cut the bass away, up to 20 dB and more at 50 Hz: without a good unit to compare with nothing is claimed."""
    phone = Telephone(highpass_hz=hz, highpass_order=order, room_db=-40.0)
    recording = recorded(files["folder"] / f"cut-{hz:g}-{order}.flac", phone=phone)
    found = check_unit(
        shop, record(shop, [("re_ohm", 6.4), ("polarity", 1.0), ("rub", 0.0)]), {"recording": new(recording)}
    )
    assert found.diagnosis.outcome in ("no fault", "too little")


def test_a_spoiled_recording_does_not_count(shop, files):
    """Clipped: said, and only the readings are weighed; with nothing else it is refused with the reason."""
    loud = recorded(files["folder"] / "loud.flac", phone=Telephone(peak=2.0))
    asked = record(shop)
    phone = read_new(shop, asked, {"recording": new(loud)})
    assert not phone.usable
    assert {one.key for one in evidence_of(asked, phone, {})} == {"re_ohm"}
    with pytest.raises(InputError, match="clipped"):
        check_unit(shop, record(shop, ()), {"recording": new(loud)})


def test_evidence_of_box_unit_and_drive(shop, files):
    """A box of unknown volume tells no bass; distortion counts only with its drive; a unit's record stands in for readings."""
    recording = {"recording": new(files["good"])}
    expected = expected_bands(reference_of(shop, VERSION))
    boxed = record(shop, mounting="box")
    keys = {one.key for one in evidence_of(boxed, read_new(shop, boxed, recording), expected)}
    assert "band_200_315_db" in keys
    assert "band_50_80_db" not in keys
    known = record(shop, mounting="box", box_l=4.0, drive_v=1.0)
    keys = {one.key for one in evidence_of(known, read_new(shop, known, recording), expected)}
    assert {"band_50_80_db", "thd_bass_percent"} <= keys
    assert {one.key for one in unit_evidence(shop, f"{VERSION}/01")} == {"re_ohm", "moving_mass_g"}
    found = check_unit(shop, record(shop, (), from_unit=f"{VERSION}/01"))
    assert {one.evidence.key for one in found.diagnosis.checks} == {"re_ohm", "moving_mass_g"}


def test_a_telephone_held_close_hears_the_cone_alone(shop, files):
    """At 3 cm, as builders are asked, neither leak nor port is heard; at half a metre both are, by a recording kept or on its way in. What a
    telephone heard is told as such; beside a good unit by the same one its bands are not.
    """
    asked = record(shop, mounting="box", box_l=4.0, drive_v=1.0)
    assert mounted_of(asked).near
    assert not mounted_of(asked, 50.0).near
    recording = {"recording": new(files["good"])}
    assert known_of(shop, asked, distance_cm=50.0).reference.mounted == mounted_of(asked, 50.0)
    expected = expected_bands(reference_of(shop, VERSION))
    alone = {one.key: one.cut for one in evidence_of(asked, read_new(shop, asked, recording), expected)}
    assert alone["band_50_80_db"]
    assert alone["thd_bass_percent"]
    assert not alone["re_ohm"]
    both = {**recording, "reference": new(files["good"])}
    beside = {one.key: one.cut for one in evidence_of(asked, read_new(shop, asked, both), expected)}
    assert not beside["band_50_80_db"]
    assert beside["thd_bass_percent"]


def test_expected_bands_are_those_of_the_textbook(shop):
    """A good unit's bass bands against the second-order high-pass of the entered fs and Qts (Small, JAES 20, 1972), within 0.6 dB: the
    inductance, which only tilts the middle, is all that differs.
    """
    expected = expected_bands(reference_of(shop, VERSION))
    mms, re, bl = 6.0e-3, 6.4, 4.4
    w = 2 * np.pi * FS_HZ
    q = 1 / (1 / 4.0 + bl**2 / (re * w * mms))

    def mean(band):
        f = np.geomspace(*band, 300) / FS_HZ
        return np.mean(20 * np.log10(f**2 / np.abs(1 - f**2 + 1j * f / q)))

    for band in BANDS_HZ[:3]:
        truth = mean(band) - mean(BANDS_HZ[3])
        got = expected[f"band_{band[0]:g}_{band[1]:g}_db"] - expected["band_200_315_db"]
        assert got == pytest.approx(truth, abs=0.6), band


def test_every_reading_has_a_way_to_be_taken():
    """Instrument, hint and uncertainty."""
    for kind in READINGS.values():
        assert kind.hint
        assert kind.usual
        assert kind.usual_u(max(kind.low, 1.0)) > 0.0


def test_the_demonstrations_builders(tmp_path):
    """Three checks: the good unit's recording is unspoiled and near its version's level, the glued one lacks bass beside the good one by the
    linear model's step within 1 dB, the third has no recording. The files are small.
    """
    shop = bare_saltmarsh(tmp_path / "shop")
    add_builders(shop)
    assert check_ids(shop) == ["marram", "samphire", "sedge"]
    assert standing(shop).by_fault == {"glued-spider": 1, "none": 1}
    assert sum(path.stat().st_size for path in (shop.folder / "builders").rglob("*.flac")) < 1e6
    glued = kept(shop, load_check(shop, "marram"))
    assert glued.usable
    assert kept(shop, load_check(shop, "sedge")).usable
    model = DRIVERS[0].versions[-1].model
    f = np.geomspace(50.0, 80.0, 200)
    middle = np.geomspace(315.0, 1250.0, 200)

    def level(driver, at):
        return np.mean(20 * np.log10(np.abs(linear_response(driver, at).pressure_pa_per_v)))

    stiffer = model.with_scaled(K=BUILDERS[1].glue)
    step = level(stiffer, f) - level(stiffer, middle) - level(model, f) + level(model, middle)
    assert glued.bands[0].value_db == pytest.approx(step, abs=1.0)
    assert kept(shop, load_check(shop, "samphire")) is None
