"""Cabinets in the workshop's folder: read, built with their driver, saved; what is wrong is named with file, key and line."""

from pathlib import Path

import pytest

from halfroll.acoustics.cabinet.network import load_of
from halfroll.acoustics.cabinet.types import Box, Cylinder, Gap
from halfroll.core.errors import ConflictError, InputError, RefusedError
from halfroll.workshop import DriverRecord, VersionRecord, Workshop
from halfroll.workshop.cabinets import (
    all_cabinets,
    built_cabinet,
    cabinet_ids,
    cabinet_record,
    checked_record,
    load_cabinet,
    new_cabinet,
    save_cabinet,
)
from halfroll.workshop.faults import FaultsError

VENTED = """format = 1
type = "vented"  # for the reed beds
title = "Reed box"

[inside]
width_mm = 130
height_mm = 190
depth_mm = 140

[port]
diameter_mm = 32
tuning_hz = 65

[walls]
thickness_mm = 4
material = "petg"

[losses]
ql = 7
"""


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """An empty workshop with one vented cabinet."""
    workshop = Workshop.init(tmp_path / "shop", "Saltmarsh Workshop", durable=False)
    (workshop.folder / "enclosures").mkdir()
    (workshop.folder / "enclosures" / "reed-box.toml").write_text(VENTED, encoding="utf-8")
    return workshop


def _write(shop: Workshop, text: str) -> None:
    (shop.folder / "enclosures" / "reed-box.toml").write_text(text, encoding="utf-8")


def test_built(shop: Workshop) -> None:
    """The tuning asked for is had with the port's own volume taken off; sizes and walls come through."""
    cabinet = load_cabinet(shop, "reed-box")
    assert cabinet.inside == Box(width_m=0.13, height_m=0.19, depth_m=0.14)
    assert cabinet.port is not None
    assert cabinet.net_m3 == pytest.approx(0.13 * 0.19 * 0.14 - cabinet.port.volume_m3)
    assert cabinet.tuning_hz() == pytest.approx(65.0, rel=1e-6)
    assert cabinet.losses.leak_q == 7.0
    assert cabinet.front is not None
    assert cabinet.front.width_m == pytest.approx(0.138)
    assert cabinet.walls is not None
    assert cabinet.walls.modulus_pa > 1e9
    assert load_of(cabinet).outlets == ("port", "leak")


def test_other_kinds(shop: Workshop) -> None:
    """Cylinder, slit, stuffing, passive radiator; a length instead of a tuning."""
    record = checked_record({
        "type": "passive-radiator", "inside": {"diameter_mm": 150.0, "depth_mm": 200.0}, "leak": {"slit_mm": 0.1, "slit_length_mm": 40.0},
        "radiator": {"mass_g": 20.0, "cms_mm_per_n": 1.0, "rms_ns_per_m": 0.5, "area_cm2": 54.0}, "stuffing": {"packing_g_l": 8.0}, "bracing_l": 0.2,
    })  # fmt: skip
    new_cabinet(shop, "round", record)
    cabinet = load_cabinet(shop, "round")
    assert cabinet.inside == Cylinder(diameter_m=0.15, depth_m=0.2)
    assert cabinet.leak == Gap(long_m=0.04, open_m=1e-4, through_m=3e-3)
    assert cabinet.taken_m3 == pytest.approx(2e-4)
    assert load_of(cabinet).moving == ("passive radiator",)
    assert cabinet_ids(shop) == ["reed-box", "round"]


def test_saved_with_comments(shop: Workshop) -> None:
    """A change keeps comments; a file that was changed meanwhile is not overwritten."""
    loaded = cabinet_record(shop, "reed-box")
    port = loaded.record.port
    assert port is not None
    save_cabinet(shop, loaded, loaded.record.changed(port=port.changed(tuning_hz=70.0)))
    text = loaded.path.read_text(encoding="utf-8")
    assert "# for the reed beds" in text
    assert load_cabinet(shop, "reed-box").tuning_hz() == pytest.approx(70.0, rel=1e-6)
    with pytest.raises(ConflictError):
        save_cabinet(shop, loaded, loaded.record)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("tuning_hz = 65", "tuning_hz = -65", r"reed-box.toml:12, port.tuning_hz: .*at least 5; found -65"),
        ('type = "vented"', 'type = "closed"', r"port: port of the cabinet has no place in a closed cabinet"),
        ("[port]\ndiameter_mm = 32\ntuning_hz = 65\n", "", r"port of the cabinet must be stated as a table: a vented cabinet has one"),
        ("tuning_hz = 65", "", r"port.length_mm of the cabinet must be stated, or tuning_hz"),
        ("diameter_mm = 32", "width_mm = 32", r"port.diameter_mm of the cabinet must be stated, or width_mm and height_mm"),
        ("thickness_mm = 4", "thicknes_mm = 4", r"reed-box.toml:15, walls.thicknes_mm.*is not a key of the cabinet"),
        ('material = "petg"', 'material = "petgg"', r"reed-box.toml:16, walls.material: There is no filament of that key; found petgg"),
        ("tuning_hz = 65", "tuning_hz = 400", r"port.tuning_hz: A port of this width cannot be short enough"),
        ("tuning_hz = 65", "length_mm = 300", r"reed-box.toml:12, port.length_mm: The port is longer than the inside.*300 mm in 190 mm"),
        ("tuning_hz = 65", "tuning_hz = 8", r"reed-box.toml:12, port.tuning_hz: The port this tuning needs would fill the cabinet"),
        ("title =", 'driver = "owl/v1"\ntitle =', r"reed-box.toml:3, driver: There is no driver owl"),
        ("height_mm = 190\n", "", r"inside.width_mm of the cabinet must be stated with height_mm"),
    ],
)  # fmt: skip
def test_faults(shop: Workshop, old: str, new: str, said: str) -> None:
    """Each fault is said with file, key and line."""
    _write(shop, VENTED.replace(old, new))
    with pytest.raises(InputError, match=said):
        load_cabinet(shop, "reed-box")
    known, faults = all_cabinets(shop)
    assert not known
    assert len(faults) == 1


def test_nothing_half_made(shop: Workshop) -> None:
    """What cannot be built is not saved; several faults are said at once; no cabinet of that name names those there are."""
    with pytest.raises(RefusedError, match="longer than the inside"):
        new_cabinet(shop, "long", checked_record({
            "type": "vented", "inside": {"width_mm": 100.0, "height_mm": 100.0, "depth_mm": 100.0}, "port": {"diameter_mm": 20.0, "length_mm": 150.0}}))  # fmt: skip
    assert cabinet_ids(shop) == ["reed-box"]
    with pytest.raises(FaultsError) as several:
        checked_record({"type": "closed", "volume_l": -1.0, "bracing_l": -1.0})
    assert {fault.place.key for fault in several.value.faults} == {"volume_l", "bracing_l"}
    with pytest.raises(InputError, match=r"no such cabinet; found 'nope'. Allowed: reed-box"):
        built_cabinet(shop, "nope")


def test_driver_named(shop: Workshop) -> None:
    """A version that is not there is said; one without a design takes no room."""
    shop.create_driver("dunlin", DriverRecord(title="Dunlin"))
    shop.create_version("dunlin", "v1", VersionRecord())
    assert built_cabinet(shop, "reed-box", "dunlin/v1").body is None
    with pytest.raises(InputError, match="dunlin"):
        load_cabinet(shop, "reed-box", "dunlin/v9")


def test_crossovers_are_no_cabinets(shop: Workshop) -> None:
    """Other records in the same folder are left alone."""
    (shop.folder / "enclosures" / "pair.crossover.toml").write_text("format = 1\n", encoding="utf-8")
    assert cabinet_ids(shop) == ["reed-box"]


def test_record_round_trip(shop: Workshop) -> None:
    """What is stored is read back the same."""
    record = checked_record(
        {"type": "closed", "volume_l": 2.0, "title": "Hide box", "losses": {"ql": 12.0, "at_hz": 90.0}}
    )
    new_cabinet(shop, "hide-box", record)
    assert cabinet_record(shop, "hide-box").record == record
