"""Web pages for visitors: whole or not at all, relative links that lead somewhere, nothing private, the same bytes for the same workshop."""

from __future__ import annotations

import io
import json
import re
import shutil
import zipfile
from hashlib import sha256
from html.parser import HTMLParser
from pathlib import Path

import pytest

from halfroll.core.errors import CancelledError, InputError, RefusedError
from halfroll.core.progress import CancelToken
from halfroll.publish.private import public
from halfroll.publish.site import build_site, site_files, zipped
from halfroll.workshop import VersionRecord, Workshop, derive
from tests.app.samples import analysed_workshop, empty_workshop

DAY = "2026-05-02"
CHOSEN = ("godwit/v2", "godwit/v3", "sandpiper")


class Page(HTMLParser):
    """What a page links to and what it names."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.ids: list[str] = []
        self.scripts: list[dict[str, str | None]] = []
        self.tags: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        self.tags.append(tag)
        self.links += [found[key] or "" for key in ("href", "src") if key in found]
        if found.get("id"):
            self.ids.append(str(found["id"]))
        if tag == "script":
            self.scripts.append(found)


@pytest.fixture(scope="module")
def shop(shared: Path, tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    """The small workshop with a private note, words that look like markup, and a version of which nothing is known."""
    folder = tmp_path_factory.mktemp("site") / "shop"
    made = Workshop.open(Path(shutil.copytree(analysed_workshop(shared), folder)))
    loaded = made.version("godwit/v2")
    made.save(loaded, loaded.record.changed(
        title="<b>Bold</b> & \"brave\"", notes="Sounds warm.\n\nPrivate: the hide by the sluice.\n\n</script><script>alert(1)</script>",
    ))  # fmt: skip
    made.create_version("sandpiper", "v2", VersionRecord(title="Not yet"))
    derive.readings(made, workers=1)
    return made


@pytest.fixture(scope="module")
def files(shop: Workshop) -> dict[str, bytes]:
    """Its site."""
    return site_files(shop, versions=CHOSEN, date=DAY)


def test_every_link_leads_somewhere_and_stays_inside(files: dict[str, bytes]) -> None:
    """Relative addresses only, of files and of places in them."""
    pages = {name: Page(data.decode()) for name, data in files.items() if name.endswith(".html")}
    assert {
        "index.html",
        "versions/godwit--v3.html",
        "marks/godwit--v3.html",
        "compare/godwit.html",
        "changes.html",
        "parts.html",
    } <= set(pages)
    for name, page in pages.items():
        assert len(set(page.ids)) == len(page.ids), name
        for link in page.links:
            if link == "data:,":
                continue
            assert not re.match(r"[a-z]+:|/", link), (name, link)
            path, _, place = link.partition("#")
            target = (
                str((Path("/site") / name).parent.joinpath(path).resolve()).removeprefix("/site/")
                if path
                else name
            )
            assert target in files, (name, link)
            if place and target in pages:
                assert place in pages[target].ids, (name, link)


def test_every_number_has_its_mark_and_what_stands_behind_it(files: dict[str, bytes]) -> None:
    """The marks on a version's page are entries of its marks page and of the data."""
    page = files["versions/godwit--v3.html"].decode()
    marks = set(re.findall(r'class="mark" href="\.\./marks/godwit--v3\.html#(\w+)"', page))
    assert len(marks) > 8
    told = json.loads(files["marks.json"])["marks"]
    assert {mark.lower() for mark in marks} <= set(told)
    behind = files["marks/godwit--v3.html"].decode()
    for take in told[min(marks).lower()]["takes"]:
        assert take["audio"][0]["sha256"] in behind


def test_pages_read_without_a_script(files: dict[str, bytes]) -> None:
    """Pictures with words stand in the page; scripts are two files and data, and the policy allows no other."""
    page = files["versions/godwit--v3.html"].decode()
    parsed = Page(page)
    assert page.count('<div class="still wide"><svg') == page.count("<figure") >= 2
    assert re.findall(r'<svg[^>]*role="img" aria-label="[^"]{40,}"', page)
    assert "default-src 'none'" in page
    for script in parsed.scripts:
        assert script.get("src") in ("../charts.js", "../site.js") or script.get("type") == "application/json"
    assert "fetch(" not in files["site.js"].decode()
    assert "XMLHttpRequest" not in files["site.js"].decode()
    assert not re.search(rb"url\((?!['\"]?data:)", files["style.css"])


def test_nothing_private_and_nothing_as_markup(shop: Workshop, files: dict[str, bytes]) -> None:
    """No path, no private paragraph; what somebody wrote is shown, not run."""
    for name, data in files.items():
        assert str(shop.folder).encode() not in data, name
        assert b"sluice" not in data, name
    page = files["versions/godwit--v2.html"].decode()
    assert "Sounds warm." in page
    assert "<b>Bold</b>" not in page
    assert "&lt;b&gt;Bold&lt;/b&gt; &amp; &#34;brave&#34;" in page
    assert "<script>alert" not in page
    assert public("One.\n\n  PRIVATE : two\nmore of it\n\nThree.") == ("One.", "Three.")


def test_the_same_workshop_gives_the_same_bytes(shop: Workshop, files: dict[str, bytes]) -> None:
    """Another time from a copy elsewhere; the manifest holds the hashes; the ZIP too is the same."""
    copy = Workshop.open(Path(shutil.copytree(shop.folder, shop.folder.parent / "copy")))
    again = site_files(copy, versions=CHOSEN, date=DAY)
    assert {name for name in files if files[name] != again.get(name)} == set()
    manifest = json.loads(files["site.json"])
    assert manifest["files"] == {
        name: sha256(data).hexdigest() for name, data in files.items() if name != "site.json"
    }
    assert zipped(files) == zipped(again)
    with zipfile.ZipFile(io.BytesIO(zipped(files))) as archive:
        assert archive.read("site/index.html") == files["index.html"]


def test_the_folder_is_replaced_whole_or_left_alone(
    shop: Workshop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An earlier site is replaced; anything else is refused; a fault half-way leaves what was there."""
    target = tmp_path / "pages"
    built = build_site(shop, target, versions=["sandpiper"], date=DAY)
    assert built.index.read_bytes().startswith(b"<!doctype html>")
    assert built.files == sum(path.is_file() for path in target.rglob("*"))
    (target / "stale.html").write_text("old")
    build_site(shop, target, versions=["sandpiper/v1"], date="2026-05-03")
    assert not (target / "stale.html").exists()
    before = {path: path.read_bytes() for path in target.rglob("*") if path.is_file()}
    written = Path.write_bytes

    def full(path: Path, data: bytes) -> int:
        if path.name == "site.js":
            raise OSError(28, "No space left on device")
        return written(path, data)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "write_bytes", full)
        with pytest.raises(InputError, match="disk is full"):
            build_site(shop, target, versions=["sandpiper"], date=DAY)
    assert {path: path.read_bytes() for path in target.rglob("*") if path.is_file()} == before
    assert [path.name for path in tmp_path.iterdir()] == ["pages"]
    token = CancelToken()
    token.cancel()
    with pytest.raises(CancelledError):
        build_site(shop, target, date=DAY, progress=token.wrap(lambda done, step: None, "the site"))
    assert {path: path.read_bytes() for path in target.rglob("*") if path.is_file()} == before


def test_folders_that_are_not_ours_are_refused(shop: Workshop, tmp_path: Path) -> None:
    """A folder with something else, a file, the workshop itself, its records."""
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "heron.jpg").write_bytes(b"x")
    (tmp_path / "file").write_bytes(b"x")
    for folder, said in (
        (tmp_path / "photos", "only a folder that is empty or an earlier site"), (tmp_path / "file", "a file has that name"),
        (shop.folder, "must not replace the workshop"), (shop.folder.parent, "must not replace the workshop"),
        (shop.folder / "drivers" / "pages", "among the records"),
    ):  # fmt: skip
        with pytest.raises(InputError, match=said):
            build_site(shop, folder, date=DAY)
    assert (tmp_path / "photos" / "heron.jpg").exists()


def test_what_cannot_be_shown_is_said(shop: Workshop, tmp_path: Path) -> None:
    """No such version; no version at all; none of which anything is known."""
    with pytest.raises(InputError, match="avocet"):
        build_site(shop, tmp_path / "a", versions=["avocet/v1"], date=DAY)
    with pytest.raises(InputError, match="no version to compare yet"):
        build_site(empty_workshop(tmp_path / "empty"), tmp_path / "b", date=DAY)
    with pytest.raises(RefusedError, match="at least one version whose figures are known"):
        build_site(shop, tmp_path / "c", versions=["sandpiper/v2"], date=DAY)
    assert not (tmp_path / "c").exists()
