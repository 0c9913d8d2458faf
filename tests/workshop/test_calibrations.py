"""Calibrations in the records of materials: recomputed from their readings, saved whole or not at all, used by whoever names them."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from halfroll.core.errors import ConflictError, InputError
from halfroll.materials.calibrate.strip import deflections
from halfroll.materials.calibrate.types import Strip
from halfroll.materials.catalogue import catalogue
from halfroll.workshop import Workshop, paths
from halfroll.workshop.calibration_readings import measured_resonance
from halfroll.workshop.calibration_record import CalibrationTable
from halfroll.workshop.calibrations import (
    add_calibration,
    filament_of,
    try_calibration,
    use_calibration,
    versions_using,
)
from halfroll.workshop.material_record import FilamentTable, MaterialRecord
from halfroll.workshop.motor_record import CoilTable
from halfroll.workshop.parts import add_material, load_material, lookups, material_ids
from halfroll.workshop.records import DriverRecord, VersionRecord
from halfroll.workshop.toml_read import read_record

DAY = dt.date(2026, 3, 31)


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """An empty workshop."""
    return Workshop.init(tmp_path / "shop", "Test")


def bent(modulus_mpa: float, **more: object) -> CalibrationTable:
    """A strip of 60 x 12 x 1.2 mm as a plastic of that modulus bends it, 1220 kg/m³."""
    strip = Strip(
        setup="fixed-free",
        length_m=60e-3,
        width_m=12e-3,
        thickness_m=1.2e-3,
        density_kg_m3=1220,
        poisson=0.47,
    )
    loads = [2.0, 4.0, 6.0]
    sinks = deflections(strip, [1e-3 * one for one in loads], 1e6 * modulus_mpa)
    inside = {
        "setup": "fixed-free",
        "length_mm": 60.0,
        "width_mm": 12.0,
        "thickness_mm": 1.2,
        "loads_g": loads,
        "deflections_mm": [1e3 * one for one in sinks],
    }
    return CalibrationTable.model_validate({"date": DAY, "lines": "crossed", "strip": inside, **more})


def test_a_filament_of_the_catalogue_becomes_ones_own_under_its_key(shop: Workshop) -> None:
    """So every version that names it follows; the readings stand in the file and are worked out again when it is read."""
    add_calibration(shop, "tpu-95a", bent(60.0))
    assert lookups(shop).filaments["tpu-95a"].modulus_pa == pytest.approx(60e6, rel=1e-4)
    assert lookups(shop).filaments["tpu-95a"].calibrated == "strip"
    loaded = load_material(shop, "tpu-95a")
    text = loaded.path.read_text()
    assert "deflections_mm" in text
    assert "modulus" not in text
    again = read_record(loaded.path, MaterialRecord, "tpu-95a").record
    assert again.filament is not None
    assert again.filament.calibrations[0].date == DAY
    # Half the weight for the same deflection is half the modulus.
    loaded.path.write_text(text.replace("loads_g = [2.0, 4.0, 6.0]", "loads_g = [1.0, 2.0, 3.0]"))
    assert lookups(shop).filaments["tpu-95a"].modulus_pa < 35e6


def test_a_new_material_starts_from_what_it_is_like(shop: Workshop) -> None:
    """Density, Poisson's ratio and all else are those of the other; without one it is refused, with the nearest keys."""
    with pytest.raises(InputError, match="There is no filament of that key"):
        add_calibration(shop, "grey-tpu", bent(80.0))
    assert material_ids(shop) == []
    own = add_calibration(shop, "grey-tpu", bent(80.0), like="tpu-95a", title="Grey TPU")
    assert own.filament.title == "Grey TPU"
    assert own.filament.poisson == catalogue().filaments["tpu-95a"].poisson
    with pytest.raises(InputError, match="grey-tpu"):
        filament_of(shop, "gray-tpu")


def test_a_trial_saves_nothing_and_impossible_readings_save_nothing(shop: Workshop) -> None:
    """What it would change is said."""
    trial = try_calibration(shop, "tpu-95a", bent(60.0))
    assert trial.after.filament.modulus_pa < 0.6 * trial.before.filament.modulus_pa
    assert material_ids(shop) == []
    table = bent(60.0)
    assert table.strip is not None
    wrong = table.changed(strip=table.strip.changed(deflections_mm=(9.0, 19.0, 90.0)))
    with pytest.raises(InputError, match="Reading 3 sinks farther"):
        add_calibration(shop, "tpu-95a", wrong)
    assert material_ids(shop) == []


def test_a_fault_in_a_record_is_told_with_its_line(shop: Workshop) -> None:
    """And the catalogue of everything else stays."""
    own = add_calibration(shop, "tpu-95a", bent(60.0))
    assert own.loaded is not None
    path = own.loaded.path
    path.write_text(path.read_text().replace("thickness_mm = 1.2", "thickness_mm = 0.01"))
    line = path.read_text().split("\n").index("thickness_mm = 0.01") + 1
    with pytest.raises(InputError) as caught:
        lookups(shop).material("tpu-95a")
    assert (caught.value.place.line, caught.value.place.key) == (
        line,
        "filament.calibrations[1].strip.thickness_mm",
    )
    assert "petg" in lookups(shop).filaments


def test_somebody_elses_change_is_not_overwritten(shop: Workshop) -> None:
    """A form that was opened before it."""
    opened = add_calibration(shop, "tpu-95a", bent(60.0)).loaded
    assert opened is not None
    opened.path.write_text(opened.path.read_text() + "\n# a remark\n")
    with pytest.raises(ConflictError):
        add_calibration(shop, "tpu-95a", bent(61.0), loaded=opened)
    assert opened.path.read_text().endswith("# a remark\n")
    assert len(add_calibration(shop, "tpu-95a", bent(61.0)).calibrated.tables) == 2
    assert "# a remark" in opened.path.read_text()


def test_a_calibration_can_be_left_out_and_counts_again(shop: Workshop) -> None:
    """Its readings stay."""
    add_calibration(shop, "tpu-95a", bent(45.0))
    own = add_calibration(shop, "tpu-95a", bent(52.0))
    assert own.loaded is not None
    without = use_calibration(shop, own.loaded, 1, used=False)
    assert without.filament.modulus_pa == pytest.approx(52e6, rel=1e-3)
    assert without.calibrated.weights == (None, pytest.approx(1.0, abs=0.02))
    assert without.loaded is not None
    again = use_calibration(shop, without.loaded, 1, used=True)
    assert again.filament.modulus_pa == pytest.approx(own.filament.modulus_pa)
    with pytest.raises(InputError, match="no calibration of that number"):
        use_calibration(shop, again.loaded, 3, used=True)  # type: ignore[arg-type]


def test_a_resonance_and_creep_in_a_record(shop: Workshop) -> None:
    """Stiffness predicted 1 N/mm at 100 MPa, measured (2 pi 48.42931)² 12 g = 1.1111 N/mm; creep changes creep alone."""
    resonance = {
        "resonance_hz": 48.42931,
        "moving_mass_g": 12.0,
        "qms": 3.651484,
        "predicted_n_mm": 1.0,
        "reference_mpa": 100.0,
    }
    table = CalibrationTable.model_validate({"date": DAY, "lines": "crossed", "resonance": resonance})
    trial = try_calibration(shop, "tpu-95a", table)
    assert trial.result.modulus_pa == pytest.approx(111.11e6, rel=1e-4)  # type: ignore[union-attr]
    assert trial.after.filament.loss_factor == pytest.approx(1 / 3.651484)
    creep = {"times_s": [1.0, 10.0, 100.0], "deflections_mm": [10.0, 10.5, 11.0]}
    crept = try_calibration(
        shop, "tpu-95a", CalibrationTable.model_validate({"date": DAY, "creep": creep})
    ).after.filament
    assert crept.creep_per_decade == pytest.approx(0.05)
    assert crept.modulus_pa == catalogue().filaments["tpu-95a"].modulus_pa


def test_one_table_of_readings_is_needed(shop: Workshop) -> None:
    """None, or two, are refused with the names there are."""
    for inside in ({}, {"strip": bent(60.0).strip, "creep": {"times_s": [1.0], "deflections_mm": [1.0]}}):
        with pytest.raises(ValueError, match="the only table of readings"):
            CalibrationTable.model_validate({"date": DAY, **inside})


def test_an_own_filament_by_its_keys(shop: Workshop) -> None:
    """MPa become Pa, what is not said is that of the filament it is like, or usual for a soft plastic."""
    add_material(
        shop,
        "soft",
        MaterialRecord(
            filament=FilamentTable(like="tpu-85a", modulus_mpa=30.0, strength_mpa=12.0, across_factor=0.7)
        ),
    )
    own = lookups(shop).filaments["soft"]
    assert (own.modulus_pa, own.modulus_u_pa, own.strength_pa) == pytest.approx((30e6, 3e6, 12e6))
    assert (own.across_factor, own.density_kg_m3) == (0.7, catalogue().filaments["tpu-85a"].density_kg_m3)
    alone = FilamentTable(density_kg_m3=1100.0, modulus_mpa=20.0, glass_c=-40.0, continuous_c=60.0)
    add_material(shop, "alone", MaterialRecord(filament=alone))
    assert lookups(shop).filaments["alone"].poisson == 0.47
    with pytest.raises(InputError, match="no filament"):
        add_material(shop, "odd", MaterialRecord(filament=FilamentTable(like="tpu-95")))


def test_versions_that_name_a_material_or_a_spool_of_it(shop: Workshop) -> None:
    """Wherever a record says so."""
    shop.create_driver("avocet", DriverRecord(title="Avocet"))
    coil = CoilTable(
        wire="cu-0.200-g1",
        layers=2,
        turns=40,
        former_inner_mm=25.0,
        former_wall_mm=0.2,
        former_material="petg",
        former_height_mm=12.0,
    )
    shop.create_version("avocet", "v1", VersionRecord(coil=coil))
    shop.create_version("avocet", "v2", VersionRecord())
    assert versions_using(shop) == {"petg": ("avocet/v1",)}


def test_a_unit_without_a_moving_mass_cannot_calibrate(shop: Workshop) -> None:
    """What lacks is said."""
    shop.create_driver("avocet", DriverRecord(title="Avocet"))
    shop.create_version("avocet", "v1", VersionRecord())
    from halfroll.workshop import UnitRecord

    shop.create_unit("avocet/v1", "01", UnitRecord())
    with pytest.raises(InputError, match="moving mass of avocet/v1/01 is not known"):
        measured_resonance(shop, "avocet/v1/01")
    assert paths.version_of("avocet/v1/01") == "avocet/v1"
