"""Marks: every number of a column leads to its takes with their hashes; slips find the nearest; what was changed is noticed."""

from __future__ import annotations

import hashlib
import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from halfroll.compare.recipe import compare_versions
from halfroll.core.errors import InputError
from halfroll.figures.marks import ALPHABET, SHORTEST, canonical, mark_of, nearest, normal
from halfroll.workshop import DriverRecord, UnitRecord, VersionRecord, Workshop
from halfroll.workshop.impedance_import import import_impedance
from halfroll.workshop.mark_record import MarkRecord
from halfroll.workshop.marks import keep_marks, marks_in, read_mark, records_of
from tests.app.samples import analysed_workshop
from tests.workshop.test_impedance_runs import AREA, table


@pytest.fixture(scope="module")
def analysed(shared: Path) -> Path:
    """The small workshop with every take analysed."""
    return analysed_workshop(shared)


@pytest.fixture
def shop(analysed: Path, tmp_path: Path) -> Workshop:
    """A copy of it."""
    return Workshop.open(Path(shutil.copytree(analysed, tmp_path / "shop")))


def _found(shop: Workshop, *ids: str):
    return compare_versions(shop, ids or ["godwit", "sandpiper"], with_curves=False)


def test_the_mark_is_the_digits_of_sha_256() -> None:
    """FIPS 180-4: the digest of the canonical JSON, as a number to the base of the alphabet, the lowest digit first."""
    content = {"b": [1.5, None], "a": "é", "c": 0.1 + 0.2}
    text = '{"a":"é","b":[1.5,null],"c":0.30000000000000004}'
    assert canonical(content) == text.encode()
    number = int(hashlib.sha256(text.encode()).hexdigest(), 16)
    mark = mark_of(content, 54)
    assert sum(ALPHABET.index(letter) * 26**n for n, letter in enumerate(mark)) == number % 26**54
    assert mark_of(content) == mark[:SHORTEST]
    assert len(set(ALPHABET)) == 26
    assert not set(ALPHABET) & set("01ilobszgu")


def test_what_is_typed_finds_its_way() -> None:
    """Large letters, spaces, hyphens, look-alikes."""
    assert normal(" K7M-2X9 q\n") == "k7m2x9q"
    assert normal("B5S2GZ3") == "8552623"
    assert nearest("k7m2x9p", ["k7m2x9q", "aaaaaaa"]) == ["k7m2x9q"]


def test_every_figure_with_a_value_has_a_mark_that_leads_to_its_takes(shop: Workshop) -> None:
    """Hashes are those that `hashlib` gives for the files."""
    found = _found(shop)
    marks = keep_marks(shop, found.columns, found.settings)
    told = {
        (c.version.version_id, k) for c in found.columns for k, f in c.figures.items() if f.value is not None
    }
    assert set(marks) == told
    assert len(set(marks.values())) == len(marks)
    assert set(marks_in(shop)) == set(marks.values())
    record = read_mark(shop, marks["godwit/v3", "sensitivity_db"].upper())
    figure = found.column("godwit/v3").figures["sensitivity_db"]
    assert (record.value, record.u, record.expanded) == (figure.value, figure.u, figure.expanded)
    assert record.figure_settings == found.settings
    assert [take.id for take in record.takes] == list(figure.from_takes)
    take = record.takes[0]
    folder = shop.folder / "drivers/godwit/v3/units/01/takes" / take.id.rpartition("/")[2]
    assert take.record_sha256 == hashlib.sha256((folder / "take.toml").read_bytes()).hexdigest()
    assert dict(take.audio)["take.flac"] == hashlib.sha256((folder / "take.flac").read_bytes()).hexdigest()
    assert take.rig == "bench"
    assert take.calibration
    printed = read_mark(shop, marks["sandpiper/v1", "sensitivity_db"])
    assert (printed.source, printed.takes, printed.basis) == ("published", (), {"published": "Printed table"})


def test_nothing_is_written_twice_and_no_path_is_told(shop: Workshop) -> None:
    """The same workshop elsewhere has the same marks."""
    found = _found(shop, "godwit/v1")
    marks = keep_marks(shop, found.columns, found.settings)
    files = sorted((shop.folder / "releases/marks").iterdir())
    before = [(f.name, f.read_bytes(), f.stat().st_mtime_ns) for f in files]
    assert keep_marks(shop, found.columns, found.settings) == marks
    assert [(f.name, f.read_bytes(), f.stat().st_mtime_ns) for f in files] == before
    assert not any(str(shop.folder).encode() in data for _, data, _ in before)
    other = Workshop.open(Path(shutil.copytree(shop.folder, shop.folder.parent / "elsewhere")))
    assert keep_marks(other, _found(other, "godwit/v1").columns) == marks


def test_what_decides_a_number_changes_its_mark(shop: Workshop) -> None:
    """One thing changed at a time; the program is only noted."""
    found = _found(shop, "godwit/v1")
    (one,) = (r for r in records_of(shop, found.columns, found.settings) if r.key == "sensitivity_db")
    others = [
        replace(one, version_id="godwit/v2"),
        replace(one, figure={**one.figure, "value": one.value * (1 + 2**-52)}),
        replace(one, figure={**one.figure, "u": 0.4}),
        replace(one, figure={**one.figure, "rule": "Another rule"}),
        replace(one, settings={**one.settings, "level_w": 2.0}),
        replace(one, takes=(replace(one.takes[0], record_sha256="0"), *one.takes[1:])),
        replace(one, takes=(replace(one.takes[0], audio=(("take.flac", "0"),)), *one.takes[1:])),
        replace(one, takes=(replace(one.takes[0], calibration="0"), *one.takes[1:])),
    ]
    assert len({mark_of(r.content) for r in (one, *others)}) == len(others) + 1
    assert mark_of(replace(one, noted={"program": "9"}).content) == one.mark


def test_two_contents_with_one_mark_are_noticed(shop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    """With marks of which the first seven characters agree every second number gets a longer one."""
    found = _found(shop, "godwit/v1")
    monkeypatch.setattr("halfroll.workshop.marks.mark_of", _agreeing)
    monkeypatch.setattr("halfroll.workshop.mark_record.mark_of", _agreeing)
    marks = keep_marks(shop, found.columns, found.settings)
    assert len(set(marks.values())) == len(marks) > 3
    assert {len(mark) for mark in marks.values()} >= {SHORTEST, SHORTEST + 1}
    for (version_id, key), mark in marks.items():
        assert (read_mark(shop, mark).version_id, read_mark(shop, mark).key) == (version_id, key)


def _agreeing(content, length=SHORTEST):
    return "a" * SHORTEST + mark_of(content, length)[: length - SHORTEST]


def test_slips_and_changed_files_are_told(shop: Workshop) -> None:
    """Each fault in words, and what helps."""
    with pytest.raises(InputError, match="there is none yet"):
        read_mark(shop, "k7m2x9q")
    found = _found(shop, "godwit/v1")
    mark = keep_marks(shop, found.columns, found.settings)["godwit/v1", "sensitivity_db"]
    slip = mark[:-1] + ("x" if mark[-1] != "x" else "y")
    with pytest.raises(InputError, match=f"No number.*{mark.upper()}"):
        read_mark(shop, slip)
    with pytest.raises(InputError, match="No number"):
        read_mark(shop, "../../workshop")
    path = shop.folder / "releases/marks" / f"{mark}.json"
    whole = path.read_bytes()
    raw = json.loads(whole)
    raw["figure"]["value"] += 3.0
    path.write_text(json.dumps(raw))
    with pytest.raises(InputError, match="this one was changed"):
        read_mark(shop, mark)
    path.write_bytes(whole[:100])
    with pytest.raises(InputError, match="must be a record of halfroll"):
        read_mark(shop, mark)
    keep_marks(shop, found.columns, found.settings)  # what it must hold is known
    assert path.read_bytes() == whole
    assert MarkRecord.from_json(whole, "x").as_json() == whole


def test_a_mass_rests_on_the_run_with_the_added_mass_and_what_was_typed(tmp_path: Path) -> None:
    """The textbook's driver of the impedance tests: Mms needs both runs and the area; fs the one run; a joined or left-out run does not count."""
    shop = Workshop.init(tmp_path / "shop", "Saltmarsh Workshop", durable=False)
    shop.create_driver("godwit", DriverRecord(title="Godwit"))
    shop.create_version("godwit", "v1", VersionRecord(rated_impedance_ohm=6.0, effective_area_cm2=1e4 * AREA))
    unit = shop.create_unit("godwit/v1", "01", UnitRecord(re_ohm=5.2)).id
    import_impedance(shop, unit, table(tmp_path / "a.csv"), {}, name="alone")
    import_impedance(shop, unit, table(tmp_path / "m.csv", 0.005, 5), {"added_mass_g": 5.0}, name="mass")
    found = compare_versions(shop, ["godwit/v1"], with_curves=False)
    marks = keep_marks(shop, found.columns)
    mass, resonance = (read_mark(shop, marks["godwit/v1", key]) for key in ("mms_g", "fs_hz"))
    assert [take.id for take in mass.takes] == [f"{unit}/impedance/alone", f"{unit}/impedance/mass"]
    assert [take.id for take in resonance.takes] == [f"{unit}/impedance/alone"]
    assert mass.takes[1].audio == (("m.csv", hashlib.sha256((tmp_path / "m.csv").read_bytes()).hexdigest()),)
    assert mass.basis["units"][unit]["re_ohm"] == 5.2
    assert mass.basis["effective_area_cm2"][0] == pytest.approx(1e4 * AREA)
