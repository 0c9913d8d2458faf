"""Releases as bundles: the same bytes every time, for whom and when, what goes along, and that all of it comes in elsewhere."""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import io
import json
import os
import shutil
import subprocess
import sys
import zipfile

import pytest
from pypdf import PdfReader

from halfroll.compare.recipe import compare_versions
from halfroll.core.errors import CancelledError, InputError, RefusedError
from halfroll.publish.release import build_release, preview_release
from halfroll.publish.release.papers import csv_table
from halfroll.workshop.bring_in import bring_in
from halfroll.workshop.bundle import check_bundle
from halfroll.workshop.releases import load_release, save_release
from halfroll.workshop.store import Workshop
from tests.app.samples import empty_workshop
from tests.publish.release_shop import QUICK, RELEASE, add_release, analysed

JULY, AUGUST, OCTOBER = dt.date(2026, 7, 1), dt.date(2026, 8, 1), dt.date(2026, 10, 1)


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """The workshop with its release; its takes are analysed."""
    folder = tmp_path_factory.mktemp("releases") / "hide"
    add_release(Workshop.open(shutil.copytree(analysed(tmp_path_factory.getbasetemp()), folder)))
    return folder


@pytest.fixture
def shop(home, tmp_path):
    """A copy of it."""
    return Workshop.open(shutil.copytree(home, tmp_path / "copy"))


@pytest.fixture(scope="module")
def built(home, tmp_path_factory):
    """The bundle for supporters."""
    return build_release(
        Workshop.open(home), RELEASE, audience="supporters", today=JULY, target=tmp_path_factory.mktemp("out")
    )


def files_in(path):
    """All files of a ZIP by the standard library's own reader."""
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def change(shop, **changes):
    """The release with other keys."""
    loaded = load_release(shop, RELEASE)
    save_release(shop, loaded, loaded.record.changed(**changes))


def test_the_bundle_is_what_its_manifest_and_check_sums_say(built):
    """Held against hashlib and the standard library's ZIP reader."""
    files = files_in(built.path)
    manifest = json.loads(files["manifest.json"])
    for line in manifest["files"]:
        data = files[line["path"]]
        assert (line["size"], line["sha256"]) == (len(data), hashlib.sha256(data).hexdigest())
    assert {line["path"] for line in manifest["files"]} == set(files) - {"manifest.json", "checksums.txt"}
    assert [line["path"] for line in manifest["files"]] == sorted(line["path"] for line in manifest["files"])
    for row in files["checksums.txt"].decode().splitlines():
        sha256, path = row.split("  ")
        assert hashlib.sha256(files[path]).hexdigest() == sha256
    assert built.sha256 == hashlib.sha256(built.path.read_bytes()).hexdigest()
    assert manifest["licence"]["id"] == "CERN-OHL-S-2.0"
    assert manifest["audience"] == "supporters"
    assert not manifest["early"]


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="there is no sha256sum here")
def test_sha256sum_finds_all_files_right(built, tmp_path):
    """The check needs nothing of ours."""
    with zipfile.ZipFile(built.path) as archive:
        archive.extractall(tmp_path)
    done = subprocess.run(
        ["sha256sum", "-c", "--strict", "checksums.txt"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_every_entry_is_plain(built):
    """No machine can be told by it: one date, one mode, one system, nothing deflated, no extra fields."""
    with zipfile.ZipFile(built.path) as archive:
        entries = archive.infolist()
        assert {entry.date_time for entry in entries} == {(2026, 7, 1, 0, 0, 0)}
        assert {
            (entry.external_attr, entry.create_system, entry.compress_type, entry.extra, entry.comment)
            for entry in entries
        } == {(0o100644 << 16, 3, zipfile.ZIP_STORED, b"", b"")}
        assert [entry.filename for entry in entries] == sorted(entry.filename for entry in entries)
        assert archive.comment == b""


ELSEWHERE = """
import datetime, locale, os, sys
from pathlib import Path
from halfroll.publish.release import build_release
from halfroll.workshop.store import Workshop
os.umask(0o077)
print(build_release(Workshop.open(Path(sys.argv[1])), sys.argv[2], audience="supporters", today=datetime.date(2031, 2, 3), target=Path(sys.argv[3])).sha256)
"""


def test_another_process_makes_the_same_bytes(built, shop, tmp_path):
    """Another folder, day, zone, locale, mask, order of hashes; an index that is empty; files with other times."""
    shutil.rmtree(shop.folder / ".halfroll", ignore_errors=True)
    for path in shop.folder.rglob("*"):
        os.utime(path, (1e9, 1e9))
    languages = {
        "LC_ALL": "de_DE.UTF-8",
        "LANG": "de_DE.UTF-8",
        "TZ": "Pacific/Auckland",
        "PYTHONHASHSEED": "4711",
        "SOURCE_DATE_EPOCH": "0",
    }
    (tmp_path / "out").mkdir()
    done = subprocess.run(
        [sys.executable, "-c", ELSEWHERE, str(shop.folder), RELEASE, str(tmp_path / "out")], env={**os.environ, **languages},
        cwd=tmp_path, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert done.stdout.strip() == built.sha256


def test_every_content_is_made_and_made_alike(shop, tmp_path):
    """All papers, models and charts: twice the same bytes, PDFs without dates."""
    change(shop, leave_out=(), title="All of it")
    paths = []
    for n in (1, 2):
        shutil.rmtree(shop.folder / ".halfroll", ignore_errors=True)
        made = build_release(shop, RELEASE, audience="supporters", today=JULY, target=tmp_path / f"{n}.zip")
        paths.append(made.path)
    first, second = (files_in(path) for path in paths)
    assert [name for name in first if first[name] != second.get(name)] == []
    assert paths[0].read_bytes() == paths[1].read_bytes()
    for wanted in ("models/godwit-v2/godwit-v2.3mf", "models/godwit-v2/drawings.pdf", "charts/level.svg", "sweep/sweep.wav",
                   "papers/godwit-v2-data-sheet.pdf", "papers/godwit-v2-guide.pdf", "papers/godwit-v2-against-parent.pdf", "papers/godwit-v2-bill.pdf", "papers/godwit-v2-bill.csv"):  # fmt: skip
        assert wanted in first
    for name in (name for name in first if name.endswith(".pdf")):
        about = PdfReader(io.BytesIO(first[name])).metadata or {}
        assert "/CreationDate" not in about
        assert "/ModDate" not in about
    with zipfile.ZipFile(io.BytesIO(first["models/godwit-v2/godwit-v2.3mf"])) as model:
        assert {entry.date_time[0] for entry in model.infolist()} == {1980}
    assert check_bundle(paths[0]).sound


def test_audiences_get_the_same_files_from_their_day_on(built, shop, tmp_path):
    """What two audiences get differs by what was chosen for them and by nothing else."""
    everyone = build_release(shop, RELEASE, audience="everyone", today=OCTOBER, target=tmp_path)
    ours, theirs = files_in(built.path), files_in(everyone.path)
    assert [name for name in ours if ours[name] != theirs[name]] == ["checksums.txt", "manifest.json"]
    first, second = json.loads(ours["manifest.json"]), json.loads(theirs["manifest.json"])
    assert {key for key in first if first[key] != second[key]} == {"audience"}


def test_no_name_in_a_table_is_taken_for_a_formula():
    """A spreadsheet computes what begins with one of these signs (common practice); other cells stay as they are."""
    rows = [["what", "cost"], ["=1+1", "2.50"], ["@part", "0"], ["Frame, black", "1"]]
    read = list(csv.reader(io.StringIO(csv_table(rows).decode())))
    assert read == [["what", "cost"], ["'=1+1", "2.50"], ["'@part", "0"], ["Frame, black", "1"]]


def test_before_its_day_a_bundle_is_refused_unless_that_is_said(shop, tmp_path):
    """And then its manifest says it."""
    with pytest.raises(RefusedError, match="everyone from 2026-09-01 on, and today is 2026-08-01"):
        build_release(shop, RELEASE, audience="everyone", today=AUGUST, target=tmp_path)
    assert not list(tmp_path.glob("*.zip"))
    early = build_release(shop, RELEASE, audience="everyone", today=AUGUST, target=tmp_path, early=True)
    assert early.manifest.early
    assert any(verdict.code == "bundle-early" for verdict in check_bundle(early.path).verdicts)
    with pytest.raises(InputError, match="several audiences"):
        build_release(shop, RELEASE, today=OCTOBER, target=tmp_path)
    with pytest.raises(InputError, match="no such audience"):
        build_release(shop, RELEASE, audience="friends", today=OCTOBER, target=tmp_path)


def test_an_audience_gets_what_was_chosen_for_it(shop, tmp_path):
    """Without records there is nothing to bring in, and that is said."""
    change(shop, audiences=({"name": "everyone", "date": JULY, "gets": ("figures", "changes")},))
    made = build_release(shop, RELEASE, today=JULY, target=tmp_path)
    assert sorted(files_in(made.path)) == [
        "CHANGES.md",
        "LICENSE.txt",
        "README.txt",
        "checksums.txt",
        "figures.json",
        "manifest.json",
        "marks.json",
    ]
    assert {line.content: line.why for line in made.manifest.left_out}["takes"] == "not for this audience"
    report = check_bundle(made.path)
    assert report.sound
    assert any(verdict.code == "bundle-without-records" for verdict in report.verdicts)
    with pytest.raises(RefusedError, match="no records"):
        bring_in(empty_workshop(tmp_path / "other"), made.path)


def test_the_figures_are_the_same_numbers_elsewhere(built, home, tmp_path):
    """Round trip: every figure of the version, to the last bit, and its uncertainty."""
    other = empty_workshop(tmp_path / "other")
    found = bring_in(other, built.path, as_name="bar-tailed", today=OCTOBER)
    assert found.versions == ("bar-tailed/v2",)
    theirs = compare_versions(other, ["bar-tailed/v2"], with_curves=False).columns[0]
    ours = compare_versions(Workshop.open(home), ["godwit/v2"], with_curves=False).columns[0]
    assert sum(figure.value is not None for figure in ours.figures.values()) >= 8
    assert {k: (f.value, f.u) for k, f in ours.figures.items()} == {
        k: (f.value, f.u) for k, f in theirs.figures.items()
    }
    assert any(verdict.code == "measured-elsewhere" for verdict in theirs.cautions)
    origin = other.version("bar-tailed/v2").record.origin
    assert (origin.release, origin.licence, origin.sha256, origin.brought_in) == (
        RELEASE,
        "CERN-OHL-S-2.0",
        built.sha256,
        OCTOBER,
    )


def test_nothing_private_goes_along(built):
    """No builder's name, stock, sound card or folder; prices only with a bill."""
    files = files_in(built.path)
    whole = b"".join(files.values())
    assert b"Turnstone" not in whole
    assert b"back room" not in whole
    assert b"/hide" not in whole
    part = files["records/parts/slug.toml"].decode()
    assert "stock" not in part
    assert "price" not in part
    assert 'material = "n42"' in part


def test_what_the_maker_allows_goes_along(shop, tmp_path):
    """Builders by name, a licence's own text, takes that were named."""
    (shop.folder / "releases" / RELEASE / "own.txt").write_text("Build what you like.\n", encoding="utf-8")
    change(
        shop,
        builders=True,
        licence="LicenseRef-Saltmarsh",
        licence_file="own.txt",
        takes="chosen",
        take_ids=("godwit/v2/02/tuesday",),
    )
    files = files_in(build_release(shop, RELEASE, audience="supporters", today=JULY, target=tmp_path).path)
    assert "Build what you like." in files["LICENSE.txt"].decode()
    units = [name for name in files if name.endswith("unit.toml")]
    assert units == ["records/drivers/godwit/v2/units/02/unit.toml"]
    assert b"Turnstone" in files[units[0]]


def test_change_notes_tell_the_line_with_what_the_figures_bear(built):
    """What was changed and why, differences outside the spread with their marks, and where the marks lead."""
    files = files_in(built.path)
    notes = files["CHANGES.md"].decode().replace("\u202f", " ")
    assert "Surround: 1.2 mm → 0.8 mm (deeper bass)" in notes
    assert "Lower limit: 1.00 octaves deeper" in notes
    marks = json.loads(files["marks.json"])["marks"]
    line = next(row for row in notes.splitlines() if "Lower limit" in row)
    own, base = line[line.index("[") + 1 : -1].split(" against ")
    assert marks[own.lower()]["version"] == "godwit/v2"
    assert marks[base.lower()]["version"] == "godwit/v1"


def test_cautions_go_along(built):
    """They stand where somebody is about to build."""
    readme = files_in(built.path)["README.txt"].decode()
    for word in ("Magnets", "children", "Hearing", "Fumes", "Hot", "Mains", "where you live"):
        assert word in readme


def test_notes_that_claim_more_than_the_figures_bear_are_refused(shop, tmp_path):
    """A claim that stands goes along; one that does not stops the release."""
    change(shop, notes="It is deeper than v1.")
    made = build_release(shop, RELEASE, audience="supporters", today=JULY, target=tmp_path)
    assert "It is deeper than v1." in files_in(made.path)["CHANGES.md"].decode()
    change(shop, notes="It is more than three octaves deeper than v1.")
    with pytest.raises(RefusedError, match=r"release\.toml.*notes"):
        build_release(shop, RELEASE, audience="supporters", today=JULY, target=tmp_path)


def test_a_content_that_cannot_be_made_is_named_with_the_way_out(shop, tmp_path):
    """Nothing is written; leaving it out by one's own word makes the release."""
    loaded = shop.version("godwit/v2")
    shop.save(loaded, loaded.record.changed(cone=loaded.record.cone.changed(outer_mm=20.0)))
    change(shop, leave_out=tuple(word for word in QUICK if word != "models"))
    with pytest.raises(
        InputError, match=r'The models .* of the release cannot be made.*cone.*leave_out = \[.*"models"\]'
    ):
        build_release(shop, RELEASE, audience="supporters", today=JULY, target=tmp_path)
    assert not list(tmp_path.glob("*.zip"))
    change(shop, leave_out=QUICK)
    made = build_release(shop, RELEASE, audience="supporters", today=JULY, target=tmp_path)
    assert {line.content: line.why for line in made.manifest.left_out}["models"] == "left out by the maker"


def test_a_missing_recording_stops_the_release(shop, tmp_path):
    """The record that names it is named."""
    (shop.folder / "drivers/godwit/v2/units/01/takes/tuesday/take.flac").unlink()
    change(shop, takes="all", leave_out=(*QUICK, "figures", "changes"))
    with pytest.raises(InputError, match=r"take\.flac"):
        build_release(shop, RELEASE, audience="supporters", today=JULY, target=tmp_path)


def test_stopping_leaves_nothing(shop, tmp_path):
    """Nor does it touch the bundle that was there."""
    target = tmp_path / "a.zip"
    target.write_bytes(b"before")

    def stop(done: float, what: str) -> None:
        if done > 0.87:
            raise CancelledError("The release")

    with pytest.raises(CancelledError):
        build_release(shop, RELEASE, audience="supporters", today=JULY, target=target, progress=stop)
    assert target.read_bytes() == b"before"
    assert not list(tmp_path.glob(".*"))


def test_a_preview_says_what_would_be_in_it(shop):
    """And what must be said of the licence."""
    found = preview_release(shop, RELEASE, audience="everyone")
    assert found.contents == ("records", "takes", "figures", "changes")
    assert found.takes == ("godwit/v2/01/tuesday", "godwit/v2/02/tuesday")
    assert [verdict.code for verdict in found.verdicts] == ["licence-text-missing"]


def test_a_release_of_what_came_from_others_says_so(built, tmp_path):
    """Another licence than theirs needs a look."""
    other = empty_workshop(tmp_path / "other")
    bring_in(other, built.path)
    add_release(other, "again", licence="MIT")
    verdicts = {
        verdict.code: verdict.text
        for verdict in preview_release(other, "again", audience="everyone").verdicts
    }
    assert "godwit/v2 (CERN-OHL-S-2.0)" in verdicts["licence-of-origin"]


def test_private_paragraphs_stay_at_home(shop, tmp_path):
    """Of a note all goes along but paragraphs that begin with ``Private:``; the records at home keep them."""
    version_id = load_release(shop, RELEASE).record.versions[0]
    for loaded in (shop.version(version_id), shop.driver(version_id.split("/")[0])):
        shop.save(
            loaded,
            loaded.record.changed(notes="For the hides.\n\nPrivate: the one by the sluice.\n\nIn grey."),
        )
    built = build_release(shop, RELEASE, audience="supporters", today=JULY, target=tmp_path)
    found = files_in(built.path)
    assert not [name for name, data in found.items() if b"sluice" in data]
    records = [data for name, data in found.items() if name.endswith(("/version.toml", "/driver.toml"))]
    assert sum(b"For the hides." in data and b"In grey." in data for data in records) >= 2
    assert "sluice" in shop.version(version_id).record.notes
