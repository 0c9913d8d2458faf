"""What a marked number is today: unchanged, other takes, takes gone, another number; and marks as data without any path."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from halfroll.compare.recipe import compare_versions
from halfroll.core.errors import InputError
from halfroll.publish.marks import marks_json, marks_of, read_mark, same_now
from halfroll.workshop import Workshop
from halfroll.workshop.parameters_record import ParametersTable
from tests.app.samples import analysed_workshop


@pytest.fixture(scope="module")
def analysed(shared: Path) -> Path:
    """The small workshop with every take analysed."""
    return analysed_workshop(shared)


@pytest.fixture
def shop(analysed: Path, tmp_path: Path) -> Workshop:
    """A copy of it."""
    return Workshop.open(Path(shutil.copytree(analysed, tmp_path / "shop")))


def _mark(shop: Workshop, key: str = "sensitivity_db") -> str:
    return marks_of(shop, compare_versions(shop, ["godwit/v1"], with_curves=False))["godwit/v1", key]


def test_unchanged_is_said(shop: Workshop) -> None:
    """Nothing happened since."""
    now = same_now(shop, _mark(shop))
    assert now.standing == "unchanged"
    assert now.sentences[0].startswith("It is the same today, ")


def test_the_number_of_a_wider_comparison_is_found_again(shop: Workshop) -> None:
    """With one spread for all the uncertainty depends on the versions beside it; read alone it would differ."""
    found = compare_versions(
        shop, ["godwit/v1", "godwit/v2", "godwit/v3"], with_curves=False, spread="pooled"
    )
    mark = marks_of(shop, found)["godwit/v2", "lower_limit_hz"]
    assert same_now(shop, mark).standing == "unchanged"


def test_a_take_left_out_since_then_is_told(shop: Workshop) -> None:
    """Its record is another."""
    mark = _mark(shop)
    take = read_mark(shop, mark).takes[0].id
    loaded = shop.take(take)
    shop.save(loaded, loaded.record.changed(leave_out="The hide door was open."))
    now = same_now(shop, mark)
    assert now.standing == "takes changed"
    assert now.changed == (take,)
    assert take in " ".join(now.sentences)


def test_a_take_that_is_gone_is_told(shop: Workshop) -> None:
    """First one take, then the version."""
    mark = _mark(shop)
    take = read_mark(shop, mark).takes[0].id
    shutil.rmtree(shop.folder / "drivers/godwit/v1/units/01/takes" / take.rpartition("/")[2])
    now = same_now(shop, mark)
    assert now.standing == "takes gone"
    assert now.gone == (take,)
    shutil.rmtree(shop.folder / "drivers/godwit/v1")
    assert same_now(shop, mark).standing == "takes gone"


def test_a_recording_that_was_replaced_is_told(shop: Workshop) -> None:
    """Another recording under the same name."""
    mark = _mark(shop)
    take = read_mark(shop, mark).takes[0].id
    folder = shop.folder / "drivers/godwit/v1/units/01/takes"
    other = next(one for one in folder.iterdir() if one.name != take.rpartition("/")[2])
    shutil.copy(other / "take.flac", folder / take.rpartition("/")[2] / "take.flac")
    now = same_now(shop, mark)
    assert now.standing == "takes changed"
    assert now.changed == (take,)


def test_a_rig_calibrated_otherwise_makes_another_number(shop: Workshop) -> None:
    """Twice the pascals are 20 lg 2 = 6.02 dB."""
    mark = _mark(shop)
    rig = shop.rig("bench")
    assert rig.record.microphone is not None
    louder = rig.record.microphone.changed(pa_per_full_scale=8.0)
    shop.save(rig, rig.record.changed(microphone=louder))
    now = same_now(shop, mark)
    assert now.standing == "figure differs"
    assert now.figure is not None
    assert now.figure.value == pytest.approx(read_mark(shop, mark).value + 6.0206, abs=0.01)  # 20 lg 2
    assert " and is " in now.sentences[0]


def test_a_prediction_keeps_its_design_and_assumptions(shop: Workshop) -> None:
    """Entered parameters: another force factor is another number."""
    loaded = shop.version("sandpiper/v1")
    known = ParametersTable(
        re_ohm=6.0, bl_n_per_a=4.1, mms_g=6.5, fs_hz=75.0, qms=4.0, le_mh=0.3, travel_mm=4.0
    )
    loaded = shop.save(
        loaded, loaded.record.changed(published=None, parameters=known, effective_area_cm2=54.0)
    )
    marks = marks_of(shop, compare_versions(shop, ["sandpiper/v1"], with_curves=False))
    record = read_mark(shop, marks["sandpiper/v1", "sensitivity_db"])
    assert (record.source, record.figure["spread"]) == ("predicted", "assumptions")
    assert len(record.basis["design_sha256"]) == 64
    assert record.basis["assumptions"]
    assert same_now(shop, record).standing == "unchanged"
    shop.save(loaded, loaded.record.changed(parameters=known.changed(bl_n_per_a=4.6)))
    assert same_now(shop, record).standing == "figure differs"


def test_a_prediction_stays_one_after_the_measurement(shop: Workshop) -> None:
    """Predicted first, measured later: the mark is held against the prediction of today."""
    known = ParametersTable(
        re_ohm=6.0, bl_n_per_a=4.1, mms_g=6.5, fs_hz=75.0, qms=4.0, le_mh=0.3, travel_mm=4.0
    )
    loaded = shop.version("godwit/v1")
    shop.save(loaded, loaded.record.changed(parameters=known, effective_area_cm2=54.0))
    units = shop.folder / "drivers/godwit/v1/units"
    away = units.rename(shop.folder / "away")
    marks = marks_of(shop, compare_versions(shop, ["godwit/v1"], with_curves=False))
    mark = marks["godwit/v1", "sensitivity_db"]
    away.rename(units)
    assert compare_versions(shop, ["godwit/v1"], with_curves=False).columns[0].source == "measured"
    assert same_now(shop, mark).standing == "unchanged"


def test_marks_as_data_have_no_path(shop: Workshop) -> None:
    """Ids and hashes only."""
    record = read_mark(shop, _mark(shop))
    data = marks_json([record])
    assert str(shop.folder).encode() not in data
    told = json.loads(data)["marks"][record.mark]
    assert told["figure"]["value"] == record.value
    assert told["label"] == "Sensitivity"
    assert "noted" not in told
    with pytest.raises(InputError, match="No number in this workshop"):
        same_now(shop, "2222222")
