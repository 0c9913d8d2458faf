"""Bundles of strangers: what is refused, with which words, and that nothing is written meanwhile."""

from __future__ import annotations

import json
import struct
import time
import tracemalloc
import zlib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from halfroll.core.errors import InputError
from halfroll.workshop.bring_in import bring_in
from halfroll.workshop.bundle import check_bundle
from halfroll.workshop.store import Workshop
from halfroll.workshop.zip_read import open_zip
from tests.workshop.bundles import Raw, bundle, deflated, manifest_of, raw_zip, recording, release_files


@pytest.fixture
def kept(tmp_path):
    """Writes a bundle and gives its path."""

    def keep(data: bytes) -> Path:
        path = tmp_path / "a.zip"
        path.write_bytes(data)
        return path

    return keep


def said(path: Path) -> str:
    """What is wrong with a bundle, all of it."""
    report = check_bundle(path)
    assert not report.sound
    return "\n".join(str(problem) for problem in report.problems)


def test_a_bundle_made_by_hand_is_sound(kept):
    """A bundle made by hand is sound."""
    report = check_bundle(kept(bundle(release_files())))
    assert report.sound, report.problems
    assert report.records.counts == {
        "drivers": 1, "versions": 1, "guides": 0, "units": 1, "takes": 1, "runs": 0, "parts": 0, "materials": 0, "rigs": 1,
    }  # fmt: skip
    assert report.as_dict()["manifest"]["release"] == "knot-v2"


# Names.


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("../evil.toml", "outside"), ("records/../../evil", "outside"), ("/etc/passwd", "outside"), ("C:/evil", "outside"),
        ("records\\..\\evil", "outside"), ("records/con", "device"), ("AUX.txt", "device"), ("records//a", "not plain"),
        ("records/./a", "not plain"), ("a.", "not plain"), ("a ", "not plain"), ("a/", "not plain"), ("a\x01b", "cannot be seen"),
        ("a\u202egpj.exe", "cannot be seen"), ("a\u200bb", "cannot be seen"), (".halfroll.lock", "hidden"), ("a/.git/config", "hidden"),
        ("what?", "not every disk"), ("x" * 300, "too long"), ("/".join("abcdefghijklmnop"), "not plain"),
    ],
)  # fmt: skip
def test_a_name_that_is_not_to_be_written_is_refused(kept, name, word):
    """A name that is not to be written is refused."""
    text = said(kept(raw_zip([Raw(name=name.encode(), flags=0x800)])))
    assert word in text


@pytest.mark.parametrize(
    ("first", "second", "word"),
    [
        ("a/Read.txt", "a/read.TXT", "cannot be told"),
        ("caf\u00e9", "cafe\u0301", "cannot be told"),  # composed and decomposed: one file on some disks
        ("same", "same", "twice"),
        ("a", "a/b", "a folder that is a file"),
    ],
)
def test_names_that_meet_on_a_disk_are_refused(kept, first, second, word):
    """Names that meet on a disk are refused."""
    entries = [Raw(name=name.encode(), flags=0x800) for name in (first, second)]
    assert word in said(kept(raw_zip(entries)))


def test_a_name_in_no_known_writing_is_refused(kept):
    """A name in no known writing is refused."""
    assert "cannot be read" in said(kept(raw_zip([Raw(name=b"caf\xe9")])))


# The layout.


@pytest.mark.parametrize(
    ("entry", "word"),
    [
        (Raw(name=b"a", attributes=0o120777 << 16), "not a plain file"),  # a symbolic link
        (Raw(name=b"a", attributes=0o040755 << 16), "not a plain file"),
        (Raw(name=b"a", flags=0x1), "encrypted"),
        (Raw(name=b"a", flags=0x8), "packed in a way"),
        (Raw(name=b"a", method=12), "method"),
        (Raw(name=b"a", method=99), "method"),
        (Raw(name=b"a", local_name=b"b"), "something else in its own head"),
        (Raw(name=b"a", local_size=5), "something else in its own head"),
        (Raw(name=b"a", local_flags=0x2), "something else in its own head"),
        (Raw(name=b"a", extra=struct.pack("<2H", 0x5455, 0)), "extra field"),
        (Raw(name=b"a", size=7), "two sizes"),
        (Raw(name=b"a", packed=9000, size=9000), "reaches into"),
        (Raw(name=b"a", crc=1), "manifest.json"),
    ],
)
def test_an_entry_that_lies_is_refused(kept, entry, word):
    """An entry that lies is refused."""
    assert word in said(kept(raw_zip([entry])))


@pytest.mark.parametrize(
    ("how", "word"),
    [
        ({"before": b"MZ"}, "not begin"), ({"before": b"PK\x03\x04"}, "overlaps"), ({"between": b"hidden"}, "between"),
        ({"behind": b"more"}, "behind its end"), ({"comment": b"hello"}, "behind its end"), ({"count": 2}, "cut off"), ({"count": 0}, "nothing"),
    ],
)  # fmt: skip
def test_what_lies_beside_the_files_is_refused(kept, how, word):
    """What lies beside the files is refused."""
    assert word in said(kept(raw_zip([Raw(name=b"a")], **how)))


def test_entries_that_overlap_are_refused(kept):
    """Many names for one piece of data is how a small file becomes endless."""
    text = said(
        kept(
            raw_zip(
                [Raw(name=b"a", data=b"y" * 100), Raw(name=b"b", data=b"y" * 100, offset=0, local_name=b"a")]
            )
        )
    )
    assert "overlaps" in text


def test_no_zip_is_refused(kept):
    """No zip is refused."""
    for data in (b"", b"hello", b"PK\x03\x04", b"\x00" * 100, json.dumps({}).encode()):
        assert "ZIP" in said(kept(data))


def test_a_bundle_cut_off_anywhere_is_refused(kept):
    """A bundle cut off anywhere is refused."""
    whole = bundle(release_files())
    for end in range(0, len(whole), 37):
        assert not check_bundle(kept(whole[:end])).sound


# Sizes.


def test_ten_gigabytes_in_a_small_file_are_refused_by_their_claim(kept):
    """Ten gigabytes in a small file are refused by their claim."""
    size = 10_000_000_000
    extra = struct.pack("<2HQQ", 1, 16, size, 20)  # the extended field with which a ZIP says more than 4 GB
    entry = Raw(
        name=b"a", data=deflated(b"0" * 1000), method=8, size=0xFFFFFFFF, packed=0xFFFFFFFF, extra=extra
    )
    assert "claims more than a bundle can hold" in said(kept(raw_zip([entry])))


@pytest.mark.parametrize("size", [4_000_000_000, 600_000_000])
def test_a_claim_above_the_limit_is_refused_without_unpacking(kept, size):
    """A claim above the limit is refused without unpacking."""
    assert "claims to be bigger" in said(
        kept(raw_zip([Raw(name=b"a", data=b"0" * 900, method=8, size=size)]))
    )


def test_a_claim_of_too_much_for_its_packed_size_is_refused(kept):
    """A claim of too much for its packed size is refused."""
    assert "times longer" in said(
        kept(raw_zip([Raw(name=b"a", data=deflated(b"0" * 10_000_000), method=8, size=10_000_000)]))
    )


def test_a_bomb_whose_claim_is_low_is_stopped_by_counting(kept):
    """300 MB behind a claim of 20 kB: no more than some megabytes are ever made, and at once."""
    zeros = zlib.compressobj(9, zlib.DEFLATED, -15)
    data = b"".join(zeros.compress(bytes(1_000_000)) for _ in range(300)) + zeros.flush()
    path = kept(raw_zip([Raw(name=b"manifest.json", data=data, method=8, size=20_000, crc=0)]))
    tracemalloc.start()
    began = time.perf_counter()
    text = said(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert "becomes longer than it says" in text
    assert peak < 10_000_000
    assert time.perf_counter() - began < 5.0


def test_many_files_that_are_too_much_together_are_refused(kept):
    """Many files that are too much together are refused."""
    entries = [Raw(name=f"f{n}".encode(), data=b"0" * 5_000, method=8, size=450_000) for n in range(3)]
    big = [Raw(name=f"g{n}".encode(), data=b"0" * 4_500_000, method=8, size=449_000_000) for n in range(9)]
    assert "times longer" not in said(kept(raw_zip(entries)))
    assert "claims to hold too much" in said(kept(raw_zip(big)))


def test_too_many_files_are_refused(kept):
    """Too many files are refused."""
    entries = [Raw(name=f"{n}".encode()) for n in range(20_001)]
    assert "too many files" in said(kept(raw_zip(entries)))


def test_deflated_files_are_read(kept):
    """Deflated files are read."""
    data = b"a text that is packed " * 50
    with open_zip(kept(raw_zip([Raw(name=b"a", data=deflated(data), method=8, content=data)]))) as archive:
        assert archive.read("a", most=10_000) == data


@pytest.mark.parametrize(
    "wrong", [b"", b"\xff\xff\xff", deflated(b"x" * 100)[:-3], deflated(b"x" * 100) + b"more"]
)
def test_deflated_data_that_are_damaged_are_refused(kept, wrong):
    """Deflated data that are damaged are refused."""
    with (
        open_zip(
            kept(
                raw_zip(
                    [
                        Raw(
                            name=b"a",
                            data=wrong,
                            method=8,
                            size=100 if wrong else 1,
                            crc=zlib.crc32(b"x" * 100),
                        )
                    ]
                )
            )
        ) as archive,
        pytest.raises(InputError),
    ):
        archive.read("a", most=1000)


# The manifest.


def test_a_changed_file_is_named(kept):
    """A changed file is named."""
    take = "records/drivers/knot/v2/units/01/takes/one/take.wav"
    text = said(kept(bundle(release_files(), changed={take: recording(seed=2)})))
    assert f"{take} was changed" in text
    assert "README" not in text


def test_every_changed_file_is_named(kept):
    """Every changed file is named."""
    text = said(
        kept(bundle(release_files(), changed={"README.txt": b"read ME\n", "LICENSE.txt": b"other\n"}))
    )
    assert "README.txt" in text
    assert "LICENSE.txt" in text


@pytest.mark.parametrize(
    ("changed", "word"),
    [
        ({"extra.txt": b"x"}, "does not name"), ({"README.txt": b"-"}, "is missing"), ({"checksums.txt": b"-"}, "checksums.txt is missing"),
        ({"checksums.txt": b"0  README.txt\n"}, "does not say what the manifest says"), ({"manifest.json": b"-"}, "no manifest.json"),
    ],
)  # fmt: skip
def test_files_and_manifest_must_agree(kept, changed, word):
    """Files and manifest must agree."""
    assert word in said(kept(bundle(release_files(), changed=changed)))


@pytest.mark.parametrize(
    ("manifest", "word"),
    [
        (b"", "not valid JSON"), (b"[1, 2]", "not that of a release"), (b'{"bundle": "other"}', "not that of a release"),
        (b'{"bundle": "halfroll release", "format": 2}', "newer halfroll"), (b'{"bundle": "halfroll release", "format": "1"}', "its format"),
        (b'{"bundle": "halfroll release", "format": true}', "its format"), (b"[" * 100_000, "not valid JSON"),
        (b'{"bundle": "halfroll release", "bundle": "x"}', "twice"), (b"\xff\xfe", "not valid JSON"), (b"9" * 10_000, "not valid JSON"),
        (b'{"bundle": "halfroll release", "format": NaN}', "no number"), (b'{"bundle": "halfroll release", "format": 1}', "is missing"),
        (json.dumps({"bundle": "halfroll release", "format": 1, "title": "a\x1b[2Jb"}).encode(), "cannot be seen"),
        (b'{"bundle": "halfroll release", "format": 1, "title": "\\ud800"}', "cannot be seen"),
    ],
)  # fmt: skip
def test_a_manifest_that_is_none_is_refused(kept, manifest, word):
    """A manifest that is none is refused."""
    assert word in said(kept(bundle(release_files(), manifest=manifest)))


def test_a_manifest_with_a_name_outside_is_refused(kept):
    """The manifest may name only what is there, and what is there has a plain name."""
    files = release_files()
    raw = manifest_of(files)
    raw["files"].append({**raw["files"][0], "path": "../../evil"})
    assert "is missing" in said(kept(bundle(files, manifest=json.dumps(raw).encode())))


def test_the_hash_its_maker_told_is_held_against_the_file(kept):
    """The hash its maker told is held against the file."""
    path = kept(bundle(release_files()))
    sha256 = check_bundle(path).sha256
    assert check_bundle(path, expected=sha256.upper()).sound
    assert "not the file its maker told" in str(check_bundle(path, expected="0" * 64).problems[0])


# Records.


@pytest.mark.parametrize(
    ("version", "word"),
    [
        (b"format = 1\ntitle = 3\n", "version.toml:2"), (b"format = 9\n", "newer halfroll"), (b"title =\n", "not valid TOML"),
        (b"format = 1\nx = " + b"[" * 20_000, "cannot be read"), (b"format = 1\nown_x = " + b"9" * 6000 + b"\n", "cannot be read"),
        (b'format = 1\ntitle = "a\\u001b[31m"\n', "cannot be seen"), (b"\xff", "UTF-8"),
    ],
)  # fmt: skip
def test_a_record_that_cannot_be_read_is_refused(kept, version, word):
    """A record that cannot be read is refused."""
    assert word in said(kept(bundle(release_files(version))))


@pytest.mark.parametrize(
    ("path", "data", "word"),
    [
        ("records/drivers/knot/v2/notes.txt", b"x", "named by none"), ("records/workshop.toml", b"format = 1\n", "named by none"),
        ("records/drivers/Ruff/v2/version.toml", b"format = 1\n", "plain"), ("records/parts/Ring.toml", b"format = 1\n", "plain"),
        ("records/drivers/knot/v3/version.toml", b"format = 1\n", "does not name"), ("records/drivers/ruff/driver.toml", b'format = 1\ntitle = "R"\n', "without a version"),
        ("records/drivers/knot/v2/units/01/takes/two/take.toml", release_files()["records/drivers/knot/v2/units/01/takes/one/take.toml"], "not in the bundle"),
        ("records/drivers/knot/v2/units/02/takes/two/take.toml", release_files()["records/drivers/knot/v2/units/01/takes/one/take.toml"], "the unit knot/v2/02"),
    ],
)  # fmt: skip
def test_records_must_hang_together(kept, path, data, word):
    """Records must hang together."""
    files = release_files()
    assert word in said(kept(bundle({**files, path: data})))


def test_a_recording_that_is_not_the_one_of_its_record_is_refused(kept):
    """The manifest may be forged as a whole; the take's record still states the hash of its recording."""
    files = release_files()
    files["records/drivers/knot/v2/units/01/takes/one/take.wav"] = recording(seed=5)
    assert "content hash differs" in said(kept(bundle(files)))


# Whatever comes.


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_a_flipped_byte_is_refused_or_changes_nothing(tmp_path_factory, data):
    """Never a traceback; where the bundle is taken, every file in it is what it was (a byte of a date may be another)."""
    whole = _WHOLE
    at = data.draw(st.integers(0, len(whole) - 1))
    value = data.draw(st.integers(0, 255))
    path = tmp_path_factory.getbasetemp() / "flipped.zip"
    path.write_bytes(whole[:at] + bytes([value]) + whole[at + 1 :])
    report = check_bundle(path)
    if report.sound:
        with open_zip(path) as archive:
            assert {name: archive.read(name, most=10**6) for name in archive.entries} == _CONTENT


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.binary(max_size=400),
    st.sampled_from(["manifest.json", "records/drivers/knot/v2/version.toml", "records/rigs/bench.toml"]),
)
def test_rubbish_in_a_file_is_refused_in_words(tmp_path_factory, rubbish, place):
    """Rubbish in a file is refused in words."""
    path = tmp_path_factory.getbasetemp() / "rubbish.zip"
    files = release_files()
    made = bundle(files, manifest=rubbish) if place == "manifest.json" else bundle({**files, place: rubbish})
    path.write_bytes(made)
    assert isinstance(check_bundle(path).sound, bool)


_WHOLE = bundle(release_files(audio=recording(0.02)))


def _content() -> dict[str, bytes]:
    import io
    import zipfile

    with zipfile.ZipFile(io.BytesIO(_WHOLE)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


_CONTENT = _content()


# Bringing in.


@pytest.fixture
def shop(tmp_path):
    """An empty workshop."""
    return Workshop.init(tmp_path / "shop", "Other Workshop", durable=False)


def everything(folder: Path) -> dict[str, bytes]:
    """All files of a workshop but its lock and index."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and ".halfroll" not in str(path.relative_to(folder))
    }


def test_a_refused_bundle_leaves_the_workshop_as_it_was(kept, shop):
    """A refused bundle leaves the workshop as it was."""
    before = everything(shop.folder)
    for data in (
        bundle(release_files(), changed={"README.txt": b"other"}),
        raw_zip([Raw(name=b"../evil")]),
        b"no",
    ):
        with pytest.raises(InputError):
            bring_in(shop, kept(data))
        assert everything(shop.folder) == before
    assert not (shop.folder.parent / "evil").exists()


def test_a_version_comes_in_with_all_it_stands_on(kept, shop):
    """A version comes in with all it stands on."""
    path = kept(bundle(release_files()))
    found = bring_in(shop, path)
    assert found.versions == ("knot/v2",)
    version = shop.version("knot/v2").record
    assert version.origin is not None
    assert version.origin.sha256 == check_bundle(path).sha256
    assert version.origin.parent == "knot/v1"
    assert version.parent is None
    assert shop.take("knot/v2/01/one").record.rig == "bench"
    assert shop.recording("knot/v2/01/one").rate_hz == 8000
    assert shop.rig_names() == ["bench"]
    assert not list(shop.folder.glob(".bring-in*"))


def test_a_driver_of_that_name_is_never_overwritten(kept, shop):
    """A driver of that name is never overwritten."""
    path = kept(bundle(release_files()))
    bring_in(shop, path)
    before = everything(shop.folder)
    with pytest.raises(InputError, match=r"driver knot already.*knot-2"):
        bring_in(shop, path)
    with pytest.raises(InputError, match="version knot/v2 already"):
        bring_in(shop, path, as_name="knot")
    with pytest.raises(InputError, match="in the workshop already"):
        bring_in(shop, path, as_name="ruff")
    assert everything(shop.folder) == before
    other = kept(bundle(release_files(audio=recording(seed=9))))
    assert bring_in(shop, other, as_name="ruff").versions == ("ruff/v2",)
    assert shop.version("knot/v2").record.title == "Second"


GRADE = b'format = 1\ntitle = "Grade"\n\n[magnet]\nlike = "n35"\nbr_t = 1.18\n'
PART = b'format = 1\ntype = "magnet"\nshape = "disc"\nouter_mm = 30.0\nheight_mm = 5.0\nmaterial = "fine-grade"\n'
WITH_PART = b'format = 1\n\n[motor]\ngap = ["a", "b"]\n\n[[motor.parts]]\nname = "a"\npart = "plate"\n'


def test_parts_that_are_alike_are_shared_and_others_kept_apart(kept, shop):
    """Parts that are alike are shared and others kept apart."""
    files = release_files(WITH_PART) | {
        "records/parts/plate.toml": PART,
        "records/materials/fine-grade.toml": GRADE,
    }
    (shop.folder / "parts").mkdir()
    (shop.folder / "materials").mkdir()
    (shop.folder / "parts/plate.toml").write_bytes(PART + b"stock = 3.0\n")
    (shop.folder / "materials/fine-grade.toml").write_bytes(GRADE)
    found = bring_in(shop, kept(bundle(files)))
    assert sorted(found.shared) == ["materials/fine-grade", "parts/plate"]
    assert not found.renamed

    own = GRADE.replace(b"1.18", b"1.17")  # the same part of another grade is another part
    (shop.folder / "materials/fine-grade.toml").write_bytes(own)
    files = release_files(WITH_PART, audio=recording(seed=3)) | {
        "records/parts/plate.toml": PART,
        "records/materials/fine-grade.toml": GRADE,
    }
    found = bring_in(shop, kept(bundle(files)), as_name="ruff")
    assert found.renamed == {"parts/plate": "plate-knot-v2", "materials/fine-grade": "fine-grade-knot-v2"}
    assert shop.version("ruff/v2").record.motor.parts[0].part == "plate-knot-v2"
    assert b"fine-grade-knot-v2" in (shop.folder / "parts/plate-knot-v2.toml").read_bytes()
    assert (shop.folder / "materials/fine-grade.toml").read_bytes() == own
    assert any(verdict.code == "brought-in-renamed" for verdict in found.verdicts)


def test_a_rig_of_that_name_that_is_another_is_kept_apart(kept, shop):
    """A rig of that name that is another is kept apart."""
    (shop.folder / "rigs").mkdir()
    own = b"format = 1\n\n[microphone]\npa_per_full_scale = 5.0\n"
    (shop.folder / "rigs/bench.toml").write_bytes(own)
    found = bring_in(shop, kept(bundle(release_files())))
    assert found.renamed == {"rigs/bench": "bench-knot-v2"}
    assert shop.take("knot/v2/01/one").record.rig == "bench-knot-v2"
    assert (shop.folder / "rigs/bench.toml").read_bytes() == own


def test_a_key_of_the_catalogue_does_not_come_to_mean_something_else(kept, shop):
    """An own record would go before the catalogue for every version of the workshop."""
    version = WITH_PART.replace(
        b'part = "plate"', b'shape = "disc"\nouter_mm = 30.0\nheight_mm = 3.0\nmaterial = "n42"'
    )
    grade = b'format = 1\n\n[magnet]\nlike = "n35"\nbr_t = 1.1\n'
    found = bring_in(shop, kept(bundle(release_files(version) | {"records/materials/n42.toml": grade})))
    assert found.renamed == {"materials/n42": "n42-knot-v2"}
    assert shop.version("knot/v2").record.motor.parts[0].material == "n42-knot-v2"


def test_what_cannot_be_moved_is_taken_back(kept, shop, monkeypatch):
    """What cannot be moved is taken back."""
    path = kept(bundle(release_files()))
    before = everything(shop.folder)
    rename, calls = Path.rename, []

    def failing(self, target):
        calls.append(target)
        if Path(target).name == "knot":
            raise PermissionError(13, "denied")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", failing)
    with pytest.raises(InputError):
        bring_in(shop, path)
    monkeypatch.undo()
    assert len(calls) >= 2
    assert everything(shop.folder) == before


def test_stopping_leaves_nothing(kept, shop):
    """Stopping leaves nothing."""
    from halfroll.core.errors import CancelledError

    def stop(done: float, what: str) -> None:
        if done > 0.5:
            raise CancelledError("Bringing in")

    before = everything(shop.folder)
    with pytest.raises(CancelledError):
        bring_in(shop, kept(bundle(release_files())), progress=stop)
    assert everything(shop.folder) == before
    assert not list(shop.folder.glob(".bring-in*"))


def test_a_recording_that_is_none_is_refused(kept, shop):
    """A recording that is none is refused."""
    with pytest.raises(InputError, match="WAV or FLAC"):
        bring_in(shop, kept(bundle(release_files(audio=b"not a recording at all" * 10))))
    assert shop.driver_ids() == []


def test_a_version_made_from_one_that_was_brought_in_is_ones_own(kept, shop):
    """Its takes are measured here; the parent's stay measured elsewhere."""
    bring_in(shop, kept(bundle(release_files())))
    parent = shop.version("knot/v2").record
    child = shop.create_version("knot", "v3", parent.changed(parent="v2"))
    assert child.record.origin is None
    assert shop.version("knot/v2").record.origin is not None
