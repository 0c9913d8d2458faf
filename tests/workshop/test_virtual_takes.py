"""Computed takes of versions: computed once, kept until the design changes, shown where nothing was measured."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from halfroll.compare.recipe import against_measured, compare_versions
from halfroll.core.conditions import Space
from halfroll.core.errors import CancelledError, InputError
from halfroll.figures.types import FigureSettings
from halfroll.workshop import VersionRecord, Workshop, derive, overview
from halfroll.workshop.demo_next import add_next
from halfroll.workshop.virtual_takes import (
    cabinet_of,
    foreseen,
    is_predicted,
    kept_take,
    predicted_take,
    rated_impedance,
    take_id,
)
from tests.workshop.predictions import MODEL, Counted, design, stand_in, thicken
from tests.workshop.saltmarsh import bare_saltmarsh

V8, V9 = "avocet/v8", "avocet/v9"


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Counted:
    """What the studies were asked for."""
    return stand_in(monkeypatch)


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """Saltmarsh with a design in version 8 of Avocet and nothing measured."""
    made = bare_saltmarsh(tmp_path / "shop")
    loaded = made.version(V8)
    made.save(
        loaded, loaded.record.changed(rated_impedance_ohm=8.0, rated_power_w=10.0, effective_area_cm2=54.0)
    )
    design(made, V8)
    return made


def test_computed_once_kept_until_the_design_changes(shop: Workshop, asked: Counted) -> None:
    """A second time from the index; not after the surround became thicker."""
    assert kept_take(shop, V8) is None
    first = predicted_take(shop, V8)
    assert asked.asked == [V8]
    again = kept_take(shop, V8)
    assert again is not None
    assert again.readings == first.readings
    assert again.runs == first.runs
    predicted_take(shop, V8)
    assert asked.asked == [V8]
    thicken(shop, V8)
    assert kept_take(shop, V8) is None
    stiffer = predicted_take(shop, V8)
    assert len(asked.asked) == 2
    assert (stiffer.readings.readings["resonance_hz"].value or 0) > 1.1 * (
        first.readings.readings["resonance_hz"].value or 0
    )


def test_conditions_and_ids(shop: Workshop, asked: Counted) -> None:
    """In a baffle at 1 m and 20 °C, at the level of the settings into the rated impedance."""
    take = predicted_take(shop, V8, settings=replace(shop.settings, level_w=3.0))
    conditions = take.readings.conditions
    assert (conditions.space, conditions.distance_m, conditions.temperature_c) == (Space.HALF, 1.0, 20.0)
    assert conditions.drive_w == pytest.approx(
        3.0, rel=0.03
    )  # on the mean; the shunt gives the resonance a little more
    assert take.readings.take_id == take_id(V8, 3.0) == "avocet/v8/predicted/3w"
    assert take.readings.source == "predicted"
    assert [run.mounting for run in take.runs] == ["free-air", "baffle"]
    assert is_predicted(take.readings.take_id)
    assert cabinet_of(take_id(V8, 1.0, "reed-bed")) == "reed-bed"
    assert cabinet_of(take.readings.take_id) is None


def test_other_settings_do_not_push_out_the_usual_ones(shop: Workshop, asked: Counted) -> None:
    """What the overview shows stays kept while somebody looks at another band or level."""
    predicted_take(shop, V8)
    predicted_take(shop, V8, settings=replace(shop.settings, distortion_band_hz=(60.0, 200.0)))
    predicted_take(shop, V8, settings=replace(shop.settings, level_w=0.5))
    assert kept_take(shop, V8) is not None


def test_readings_carry_what_makes_them_uncertain(shop: Workshop, asked: Counted) -> None:
    """A shared assumption by its key, an own one with the version's name before it."""
    keys = dict(predicted_take(shop, V8).readings.readings["resonance_hz"].shares)
    assert set(keys) == {"avocet/v8 cone.grams", "filament.tpu-grey.modulus"}
    assert keys["avocet/v8 cone.grams"] < 0 < keys["filament.tpu-grey.modulus"]


def test_a_drive_beyond_the_travel_is_said(shop: Workshop, asked: Counted) -> None:
    """The figures that are not touched come all the same."""
    take = predicted_take(shop, V8, settings=replace(shop.settings, level_w=60.0))
    assert "beyond-travel" in {v.code for v in take.readings.verdicts}
    assert take.readings.readings["sensitivity_db"].value is not None
    assert take.readings.usable
    assert take.computed.response.valid_hz[0] > 40.0


def test_rated_impedance_is_taken_from_re() -> None:
    """IEC 60268-5 cl. 16.1: the lowest modulus is at least 80 % of the rated impedance."""
    for re_ohm, wanted in (
        (3.2, 4.0),
        (3.19, 3.0),
        (6.4, 8.0),
        (6.3, 6.0),
        (5.6, 6.0),
        (1.0, 2.0),
        (40.0, 32.0),
    ):
        rated, said = rated_impedance(VersionRecord(), replace(MODEL, Re=re_ohm))
        assert rated == wanted
        assert said is not None
        assert said.code == "rated-impedance-taken"
    assert rated_impedance(VersionRecord(rated_impedance_ohm=5.0), MODEL) == (5.0, None)


def test_without_a_design(shop: Workshop, asked: Counted) -> None:
    """Nothing to predict from: said with the ways, and nothing is asked."""
    shop.create_version("avocet", "v99", VersionRecord(title="An idea"))
    assert not foreseen(shop.version("avocet/v99").record)
    with pytest.raises(InputError, match="nothing to predict from"):
        predicted_take(shop, "avocet/v99")
    assert kept_take(shop, "avocet/v99") is None
    assert not asked.asked


def test_stopped_leaves_nothing(shop: Workshop, asked: Counted) -> None:
    """Whoever stops the work has nothing half-done."""

    def stop(done: float, what: str) -> None:
        if done > 0.7:
            raise CancelledError(what)

    with pytest.raises(CancelledError):
        predicted_take(shop, V8, stop)
    assert kept_take(shop, V8) is None


def test_overview_shows_what_is_kept_and_computes_nothing(shop: Workshop, asked: Counted) -> None:
    """Only the kept prediction; after it was computed, marked as such."""

    def line() -> object:
        return next(v for d in overview(shop).drivers for v in d.versions if v.version_id == V8)

    assert line().predicted == ()  # type: ignore[attr-defined]
    assert not asked.asked
    take = predicted_take(shop, V8)
    assert line().predicted == take.all  # type: ignore[attr-defined]


def test_a_version_without_takes_is_predicted_in_a_comparison(shop: Workshop, asked: Counted) -> None:
    """Figures and curves with bands; the column is marked."""
    found = compare_versions(shop, [V8])
    column = found.columns[0]
    assert column.source == "predicted"
    assert column.figures["sensitivity_db"].spread == "assumptions"
    assert column.figures["bl_n_per_a"].value == pytest.approx(4.3)
    level = column.curves["level"]
    assert level.low is not None
    assert level.high is not None
    assert (level.high > level.low).all()
    assert asked.asked == [V8]
    asked.fault = InputError("The design has no coil")
    thicken(shop, V8)
    (told,) = compare_versions(shop, [V8]).columns[0].cautions
    assert "could not be predicted" in told.text
    with pytest.raises(InputError, match="no coil"):
        compare_versions(shop, [f"{V8}@predicted"])


def test_v9_of_the_demonstration_is_a_step_from_v8(shop: Workshop, asked: Counted) -> None:
    """As drawn: designed, with parent and changes, and nothing built."""
    add_next(shop)
    record = shop.version(V9).record
    assert record.parent == "v8"
    assert foreseen(record)
    assert shop.unit_ids(V9) == []
    found = compare_versions(shop, [f"{V8}@predicted", f"{V9}@predicted"], base="parent")
    assert found.difference("fs_hz", f"{V9}@predicted") is not None
    assert [c.what for c in found.changes[f"{V9}@predicted"]] == [
        "surround filament",
        "surround",
        "spider",
        "coil",
    ]
    mixed = compare_versions(shop, [f"{V8}@predicted", V9], base="parent", with_curves=False)
    assert mixed.difference("fs_hz", V9) is not None
    # Both rest on the grey spool's modulus: it drops out, only the cones are left.
    told = found.difference("fs_hz", f"{V9}@predicted")
    figure = found.column(f"{V9}@predicted").figures["fs_hz"]
    assert told is not None
    assert told.u is not None
    assert told.u < 100.0 * (figure.u or 0.0) / (figure.value or 1.0)


def test_against_measured(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An ordinary comparison with the version's own takes; alone where there are none."""
    from tests.app.samples import small_workshop

    asked = stand_in(monkeypatch)
    shop = small_workshop(tmp_path / "small")
    derive.readings(shop, workers=1)
    design(shop, "godwit/v2")
    found = against_measured(shop, "godwit/v2", settings=FigureSettings())
    assert [c.version.version_id for c in found.columns] == ["godwit/v2", "godwit/v2@predicted"]
    assert [c.source for c in found.columns] == ["measured", "predicted"]
    difference = found.difference("sensitivity_db", "godwit/v2@predicted")
    assert difference is not None
    assert difference.u is not None
    plain = compare_versions(shop, ["godwit/v2"], with_curves=False)
    assert plain.columns[0].source == "measured"
    assert asked.asked == ["godwit/v2"]
    same = compare_versions(shop, ["godwit/v2", "godwit/v2@predicted"], base="parent")
    assert same.difference("sensitivity_db", "godwit/v2@predicted") == difference


@pytest.mark.slow
def test_a_real_design_all_the_way(shop: Workshop) -> None:
    """Motor, suspension and cone solved, played and read: the figures lie where the demonstration's invented units are, within its doubt."""
    take = predicted_take(shop, V8)
    readings, parameters = take.readings.readings, take.runs[1].readings
    assert readings["sensitivity_db"].value == pytest.approx(82.0, abs=1.5)
    assert 0.1 < (readings["sensitivity_db"].u or 0.0) < 1.5
    assert parameters["bl_n_per_a"].value == pytest.approx(4.3, rel=0.12)
    assert parameters["mms_g"].value == pytest.approx(7.9, rel=0.15)
    assert any(key.startswith("filament.") for key, _ in parameters["fs_hz"].shares)
