"""The command `residue`: a unit that rubs is told from good ones, in words, numbers and a picture."""

import datetime as dt
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from halfroll.core.conditions import Space
from halfroll.workshop import (
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
)
from tests.measure.rubbing import RATE, ROLES, SWEEP, bench, both_ends, door, quiet

ILL, GOOD = "knot/v1/02", "knot/v1/01"


@pytest.fixture(scope="module")
def rubbing(tmp_path_factory):
    """Three units of a version, two takes each; the coil of the second rubs at -45 dB, and a door slams in one take of the third."""
    shop = Workshop.init(tmp_path_factory.mktemp("rub") / "shop", "Saltmarsh Workshop", durable=False)
    shop.create_rig("bench", RigRecord(
        microphone=MicrophoneTable(pa_per_full_scale=4.0), voltage=VoltageTable(v_per_full_scale=20.0)))  # fmt: skip
    shop.create_driver("knot", DriverRecord(title="Knot"))
    version = shop.create_version("knot", "v1", VersionRecord(rated_impedance_ohm=8.0))
    for u in (1, 2, 3):
        unit = shop.create_unit(version.id, f"0{u}", UnitRecord())
        for k in (1, 2):
            extra = quiet(10 * u + k)
            if u == 2:
                extra = extra + bench().at_level(both_ends(k), -45.0, 30.0, 70.0)
            if (u, k) == (3, 2):
                extra = extra + door(4, at_s=0.9)
            audio = NewAudio.from_samples("take.flac", bench().recording(extra).samples, RATE, ROLES)
            setup = TakeSetup(
                rig="bench", distance_m=1.0, space=Space.HALF, drive_v=2.828, sweep=SweepTable.of(SWEEP)
            )
            shop.add_take(unit.id, f"1w-{k}", setup, dt.datetime(2026, 4, u, 10, 5 * k), [audio])
    return shop.folder


def codes(take):
    """Codes of a take's verdicts."""
    return {verdict["code"] for verdict in take["verdicts"]}


def test_the_ill_unit_is_told_from_the_good_ones(rubbing, ask):
    """Both of its takes rub, stand apart from the other units, and the noise returns."""
    takes = ask("--workshop", rubbing, "residue", ILL)["takes"]
    assert [take["take"] for take in takes] == [f"{ILL}/1w-1", f"{ILL}/1w-2"]
    for take in takes:
        assert codes(take) == {"rub", "rub-apart", "rub-returns"}
        assert (take["repeats"], take["returns"]) == (1, 1)
        assert {name.split("/")[2] for name in take["others"]} == {"01", "03"}
        (event,) = take["events"]
        assert event["kind"] == "in step"
        assert 25 < event["worst_hz"] < 75


def test_a_good_unit_has_nothing(rubbing, ask):
    """Its takes are compared with the other good unit alone; keys carry units."""
    for take in ask("--workshop", rubbing, "residue", GOOD)["takes"]:
        assert codes(take) == set()
        assert {name.split("/")[2] for name in take["others"]} == {"03"}
        assert {"frequency_hz", "level_db", "floor_db"} <= set(take["residue"])
        assert take["silence"]["level_dba"] == pytest.approx(30.0, abs=0.5)


def test_a_door_in_one_take_is_no_rub(rubbing, ask):
    """One take, named directly."""
    (take,) = ask("--workshop", rubbing, "residue", "knot/v1/03/1w-2")["takes"]
    assert codes(take) <= {"noise-rose", "single-event", "rub-apart"}
    assert "rub" not in codes(take)


def test_words_and_pictures(rubbing, say, tmp_path):
    """A table, one sentence for each thing, and both charts as pictures."""
    code, out, _ = say("--workshop", rubbing, "residue", ILL, "--svg", tmp_path / "r.svg")
    assert code == 0
    assert "(2 of 2 takes)" in out
    assert "something scrapes, knocks or leaks" in out.replace("\n", " ")
    assert "other units" in "".join(ET.parse(tmp_path / "r.svg").getroot().itertext())
    code, _, _ = say("--workshop", rubbing, "residue", ILL, "--chart", "moment", "--svg", tmp_path / "m.svg")
    assert code == 0
    assert "Where it stands out most" in "".join(ET.parse(tmp_path / "m.svg").getroot().itertext())


@pytest.mark.parametrize("wanted", ["knot/v1/09", "knot/v1", "knot/v1/01/none"])
def test_what_does_not_exist(rubbing, say, wanted):
    """A version is no unit; names that are not there are said with what there is."""
    code, _, err = say("--workshop", rubbing, "residue", wanted)
    assert code == 2
    assert "Traceback" not in err
    assert err.strip()


def test_analyse_says_that_a_take_stands_apart(rubbing, ask, tmp_path):
    """A take with another rig than its siblings is told on the take itself: 6.3 Pa over 4 Pa is 3.9 dB."""
    import shutil

    folder = tmp_path / "shop"
    shutil.copytree(rubbing, folder)
    shop = Workshop.open(folder)
    shop.create_rig("spare", RigRecord(
        microphone=MicrophoneTable(pa_per_full_scale=6.3), voltage=VoltageTable(v_per_full_scale=20.0)))  # fmt: skip
    loaded = shop.take(f"{GOOD}/1w-2")
    shop.save(loaded, loaded.record.changed(rig="spare"))
    for unit in ("01", "03"):
        ask("--workshop", folder, "analyse", f"knot/v1/{unit}/1w-1")
    ask("--workshop", folder, "figures", "knot/v1")
    (caution,) = ask("--workshop", folder, "analyse", f"{GOOD}/1w-2")["cautions"]
    assert caution["code"] == "outlier-take"
    assert caution["data"]["offset_db"] == pytest.approx(20 * np.log10(6.3 / 4.0), abs=0.1)
    assert ask("--workshop", folder, "analyse", "knot/v1/03/1w-1")["cautions"] == []
