"""Joined responses in the workshop: true, kept, counted in place of their takes, and refused with a reason."""

import shutil
from pathlib import Path

import numpy as np
import pytest

from halfroll.acoustics.air import Air
from halfroll.acoustics.baffle import Listener, baffle_transfer
from halfroll.acoustics.nearfield import axial_transfer
from halfroll.compare.recipe import compare_versions
from halfroll.core.errors import InputError
from halfroll.core.frequency import in_band
from halfroll.driver.cone import cone_transfer
from halfroll.workshop import Workshop, joined, overview, read_contents
from halfroll.workshop.demo_joined import DRIVER, FRONT, MODES, TEMPERATURE_C, UNIT, in_the_box
from halfroll.workshop.faults import check
from halfroll.workshop.joined_record import JoinedRecord, MouthTable
from halfroll.workshop.runs import load_run
from tests.workshop.joined_shop import vented_workshop

RUN = f"{UNIT}/joined/vented"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Analysed once; copy it, do not write to it."""
    workshop = vented_workshop(tmp_path_factory.mktemp("vented") / "shop")
    joined.joined(workshop, RUN)
    return workshop.folder


@pytest.fixture
def shop(made: Path, tmp_path: Path) -> Workshop:
    """A copy of it."""
    return Workshop.open(Path(shutil.copytree(made, tmp_path / "shop")))


def readings(workshop: Workshop) -> list:
    """Readings of the unit's joined responses."""
    contents = read_contents(workshop.folder, workshop.index)
    return joined.run_readings(workshop, contents, UNIT, workshop.settings)


def test_vented_box_comes_back(shop: Workshop) -> None:
    """From sweeps of cone, port and far field over a floor to the closed form of the box: 0.3 dB from 30 Hz to 5 kHz.

    Below, cone and port nearly cancel and the sweep begins; there the stated uncertainty covers it.
    """
    found = joined.joined(shop, RUN)
    frequency, air = found.report.frequency_hz, Air.at(TEMPERATURE_C)
    moved = in_the_box(frequency, air)
    cone = moved.acceleration_m_s2_per_v * cone_transfer(frequency, MODES)
    both = cone + moved.flow_slope_m3_s2_per_v("port") / DRIVER.Sd
    half_space = both * axial_transfer(frequency, DRIVER.radius, 1.0, air)
    front = baffle_transfer(frequency, FRONT.baffle(), DRIVER.radius, Listener(distance_m=1.0), air=air)
    true_db = 20.0 * np.log10(np.abs(half_space * front) / 20e-6)
    error = np.abs(found.report.joined_db - true_db)
    assert error[in_band(frequency, (30.0, 5000.0))].max() < 0.3
    low = frequency < 300.0
    assert (error[low] < 2.0 * found.report.u_db[low]).all()
    assert found.response.usable
    assert found.response.impedance_ohm is not None


def test_record_round_trip(shop: Workshop) -> None:
    """The recipe on disk is the recipe read, and it holds no audio."""
    record: JoinedRecord = load_run(shop, RUN).record
    assert record.takes == ("far", "cone", "port")
    assert record.near[1] == MouthTable(take="port", what="port", area_cm2=12.6)
    assert record.baffle == FRONT
    assert record.audio == ()
    assert record.files == ()
    assert JoinedRecord.model_validate_json(record.model_dump_json()) == record


def test_figures_come_from_the_joined_response(shop: Workshop) -> None:
    """It counts in place of its takes; left out, the far take counts again with its room below the gate."""
    found = compare_versions(shop, ["godwit/v1"], with_curves=True)
    lower = found.columns[0].figures["lower_limit_hz"]
    assert lower.from_takes == (RUN,)
    assert 45.0 < (lower.value or 0.0) < 65.0
    level = found.columns[0].curves["level"]
    assert level.valid_from_hz < 30.0
    line = overview(shop).drivers[0].versions[0]
    assert RUN in [take.take_id for take in line.readings]
    loaded = load_run(shop, RUN)
    shop.save(loaded, loaded.record.changed(leave_out="port area doubtful"))
    without = compare_versions(shop, ["godwit/v1"], with_curves=False)
    assert without.columns[0].figures["lower_limit_hz"].from_takes == (f"{UNIT}/far",)
    assert dict(without.columns[0].takes_left_out)[RUN] == "port area doubtful"


def test_uncertainty_of_the_join_is_its_own(shop: Workshop) -> None:
    """Two versions in one place share their room, but not the errors of their joins."""
    reading = readings(shop)[0].readings["lower_limit_hz"]
    assert reading.u_room == 0.0
    assert reading.u_fixed > 0.0


def test_readings_are_kept(shop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Worked out once; again when a take or the recipe changes."""
    first = readings(shop)
    monkeypatch.setattr(joined, "compute", lambda *_: pytest.fail("it was worked out again"))
    assert readings(shop) == first
    take = shop.take(f"{UNIT}/far")
    shop.save(take, take.record.changed(gate_ms=4.0))
    with pytest.raises(pytest.fail.Exception, match="worked out again"):
        readings(shop)


def test_saved_only_when_it_can_be_joined(shop: Workshop) -> None:
    """A recipe of a take that is not there is refused and leaves nothing; a good one is a run."""
    record: JoinedRecord = load_run(shop, RUN).record
    with pytest.raises(InputError, match="There is no take nowhere"):
        joined.save(shop, UNIT, "wrong", record.changed(far="nowhere"))
    assert not (shop.folder / "drivers/godwit/v1/units/01/joined/wrong").exists()
    saved = joined.save(shop, UNIT, "narrow", record.changed(overlap_hz=(400.0, 800.0)))
    assert saved.id == f"{UNIT}/joined/narrow"
    assert [run.take_id for run in readings(shop)] == [f"{UNIT}/joined/narrow", RUN]


def test_take_that_is_gone_is_said(shop: Workshop) -> None:
    """A joined response whose take was deleted has no figures and says why; the rest of the workshop is as it was."""
    shutil.rmtree(shop.folder / "drivers/godwit/v1/units/01/takes/port")
    found = readings(shop)[0]
    assert not found.usable
    assert found.verdicts[0].code == "not-joined"
    assert "port" in found.verdicts[0].text


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"near": ({"take": "cone"}, {"take": "port", "what": "port"})}, "must be given for a port"),
        ({"near": ({"take": "port", "what": "port", "area_cm2": 12.6},)}, "one cone"),
        ({"near": ({"take": "far"},)}, "name every take once"),
        ({"overlap_hz": (900.0, 300.0)}, "ascending"),
        (
            {"baffle": {"width_cm": 24.0, "height_cm": 36.0, "x_cm": 30.0, "y_cm": 10.0}},
            "must be less than the width, 24 cm",
        ),
        ({"baffle": {"width_cm": 0.24, "height_cm": 0.36, "x_cm": 0.12, "y_cm": 0.2}}, "must be at least 2"),
    ],
)
def test_wrong_recipes(change: dict, words: str) -> None:
    """A port without area, no cone, one take twice, a band upside down, a driver outside, metres for centimetres."""
    good = {
        "when": "2026-06-14T10:40:00",
        "far": "far",
        "near": ({"take": "cone"},),
        "overlap_hz": (300.0, 900.0),
    }
    with pytest.raises(InputError, match=words):
        check(JoinedRecord, good | change, file="joined.toml")
