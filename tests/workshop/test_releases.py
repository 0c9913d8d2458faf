"""Records of releases: audiences and days, licences, takes, and what was released before."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from packaging.licenses import _spdx

from halfroll.core.errors import InputError, RefusedError
from halfroll.workshop import ChangeTable, DriverRecord, VersionRecord, Workshop
from halfroll.workshop.licences import LICENCES, licence, nearest
from halfroll.workshop.release_record import CONTENTS
from halfroll.workshop.releases import (
    audience_of,
    checked_record,
    due,
    free_release_id,
    licence_text,
    load_release,
    new_release,
    previous_release,
    release_ids,
    save_release,
)

JULY = dt.date(2026, 7, 1)


@pytest.fixture
def shop(tmp_path):
    """Knot v1 to v4, each the child of the one before."""
    shop = Workshop.init(tmp_path / "shop", "Saltmarsh Workshop", durable=False)
    shop.create_driver("knot", DriverRecord(title="Knot"))
    for n in range(1, 5):
        changes = (ChangeTable(what="cone", before=f"{n}", after=f"{n + 1}"),)
        shop.create_version(
            "knot", f"v{n}", VersionRecord(parent=f"v{n - 1}" if n > 1 else None, changes=changes)
        )
    return shop


def values(**changes: Any) -> dict[str, Any]:
    """A record's values."""
    return {"title": "Knot v4", "versions": ["knot/v4"], "date": JULY, "licence": "CC0-1.0"} | changes


def audience(name: str, month: int, **more: Any) -> dict[str, Any]:
    """An audience from a month of 2026 on."""
    return {"name": name, "date": dt.date(2026, month, 1), **more}


def test_licences_are_those_of_the_spdx_list():
    """Identifiers held against the SPDX licence list as the package `packaging` carries it; none of them is deprecated there."""
    for id_ in LICENCES:
        row = _spdx.LICENSES[id_.lower()]
        assert row["id"] == id_
        assert not row["deprecated"]


def test_a_licence_that_is_nearly_one_is_answered_with_those_meant():
    """As people write them."""
    assert "GPL-3.0-only" in nearest("GPL-3.0")
    assert "CC-BY-SA-4.0" in nearest("cc by-sa 4.0")
    assert "CERN-OHL-S-2.0" in nearest("CERN OHL S")
    assert licence("LicenseRef-My.Own") is not None
    assert licence("LicenseRef-") is None


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"licence": "Public"}, "licence"), ({"licence": "LicenseRef-Own"}, "licence_file"), ({"versions": []}, "versions"),
        ({"versions": ["knot/v4", "knot/v4"]}, "versions"), ({"date": "2200-01-01"}, "date"), ({"date": "soon"}, "date"),
        ({"takes": "some"}, "takes"), ({"takes": "chosen"}, "take_ids"), ({"take_ids": ["a"]}, "take_ids"), ({"models": ["obj"]}, "models"),
        ({"leave_out": ["everything"]}, "leave_out"), ({"audiences": [audience("everyone", 6)]}, "audiences"),
        ({"audiences": [audience("Every One", 8)]}, "audiences"), ({"audiences": [audience("a", 8), audience("a", 9)]}, "audiences"),
        ({"licence_file": "../secret"}, "licence_file"), ({"lisence": "MIT"}, "lisence"),
    ],
)  # fmt: skip
def test_a_record_that_cannot_be_is_refused_at_its_key(changes, key):
    """Whatever is wrong, the key is named."""
    with pytest.raises(InputError) as refused:
        checked_record(values(**changes))
    assert key in str(refused.value)


def test_without_audiences_everyone_has_it_from_its_date_on():
    """One audience, made up."""
    (only,) = checked_record(values()).who
    assert (only.name, only.date) == ("everyone", JULY)


def test_contents_are_what_is_chosen_without_what_is_left_out():
    """Takes and photographs are files beside records, and go where these go."""
    record = checked_record(
        values(
            leave_out=["guide"],
            photographs=True,
            audiences=[audience("a", 7), audience("b", 8, gets=["takes", "sheet", "guide"])],
        )
    )
    first, second = record.who
    assert record.contents_for(first) == tuple(word for word in CONTENTS if word != "guide")
    assert record.contents_for(second) == ("sheet",)
    assert "takes" not in checked_record(values(takes="none")).contents_for(first)
    assert "bill" not in checked_record(values(bill=False)).contents_for(first)


def test_due_tells_what_is_out_and_what_comes_next(shop):
    """The newest first, then the nearest; a record that cannot be read is told and hides nothing."""
    new_release(
        shop, "b", checked_record(values(audiences=[audience("supporters", 7), audience("everyone", 9)]))
    )
    new_release(
        shop, "a", checked_record(values(audiences=[audience("supporters", 8), audience("everyone", 10)]))
    )
    (shop.folder / "releases/broken").mkdir()
    (shop.folder / "releases/broken/release.toml").write_text("format = 1\n", encoding="utf-8")
    found = due(shop, dt.date(2026, 9, 1))
    assert [(turn.release_id, turn.audience) for turn in found.out] == [
        ("b", "everyone"),
        ("a", "supporters"),
        ("b", "supporters"),
    ]
    assert [(turn.release_id, turn.audience) for turn in found.next] == [("a", "everyone")]
    assert len(found.faults) == 1
    assert due(shop, dt.date(2026, 6, 30)).out == ()


def test_an_audience_waits_for_its_day(shop):
    """Refused the day before, given on the day."""
    loaded = new_release(
        shop, "a", checked_record(values(audiences=[audience("supporters", 7), audience("everyone", 9)]))
    )
    with pytest.raises(RefusedError, match="from 2026-09-01 on"):
        audience_of(loaded, "everyone", dt.date(2026, 8, 31))
    assert audience_of(loaded, "everyone", dt.date(2026, 9, 1)).name == "everyone"
    assert audience_of(loaded, "everyone", dt.date(2026, 8, 1), early=True).name == "everyone"


def test_what_a_release_names_must_be_there(shop):
    """Versions and takes; nothing is written otherwise."""
    with pytest.raises(InputError, match="no version knot/v9"):
        new_release(shop, "a", checked_record(values(versions=["knot/v9"])))
    with pytest.raises(InputError, match="take_ids"):
        new_release(shop, "a", checked_record(values(takes="chosen", take_ids=["knot/v4/01/x"])))
    assert release_ids(shop) == []
    with pytest.raises(InputError, match="no release a"):
        load_release(shop, "a")


def test_a_release_is_saved_and_never_made_twice(shop):
    """A name that is taken is refused; a free one is offered."""
    loaded = new_release(shop, "knot-v4", checked_record(values()))
    save_release(shop, loaded, loaded.record.changed(title="Other"))
    assert load_release(shop, "knot-v4").record.title == "Other"
    with pytest.raises(InputError, match="already"):
        new_release(shop, "knot-v4", checked_record(values()))
    assert free_release_id(shop, ["knot/v4"]) == "knot-v4-2"


def test_what_was_released_before_is_the_nearest_ancestor(shop):
    """Another line or a later release does not count."""
    new_release(shop, "first", checked_record(values(versions=["knot/v1"], date=dt.date(2026, 1, 1))))
    new_release(shop, "second", checked_record(values(versions=["knot/v2"], date=dt.date(2026, 2, 1))))
    new_release(shop, "later", checked_record(values(versions=["knot/v3"], date=dt.date(2026, 12, 1))))
    new_release(shop, "this", checked_record(values()))
    assert previous_release(shop, "this", "knot/v4") == "knot/v2"
    assert previous_release(shop, "first", "knot/v1") is None


def test_the_text_of_a_licence_is_read_where_it_lies(shop):
    """Missing or no text is said."""
    loaded = new_release(shop, "a", checked_record(values(licence="LicenseRef-Own", licence_file="own.txt")))
    with pytest.raises(InputError, match=r"own\.txt.*missing|missing"):
        licence_text(shop, loaded)
    (loaded.path.parent / "own.txt").write_bytes(b"\xff\xfe")
    with pytest.raises(InputError, match="UTF-8"):
        licence_text(shop, loaded)
    (loaded.path.parent / "own.txt").write_text("Yours.", encoding="utf-8")
    assert licence_text(shop, loaded) == "Yours."


def test_a_release_whose_licence_cannot_be_read_is_not_made(shop, tmp_path):
    """Neither its record nor its folder's text stays; with a text that can be read both are there."""
    named = checked_record(values(licence="LicenseRef-Own", licence_file="own.txt"))
    text = tmp_path / "text"
    text.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="UTF-8"):
        new_release(shop, "a", named, text)
    assert release_ids(shop) == []
    text.write_text("Yours.", encoding="utf-8")
    assert licence_text(shop, new_release(shop, "a", named, text)) == "Yours."
    with pytest.raises(InputError, match="another file than the record"):
        checked_record(values(licence_file="release.toml"))


def test_the_demonstration_has_a_release_for_supporters_first(tmp_path):
    """Of the versions that are there."""
    from halfroll.workshop.demo_releases import add_releases

    shop = Workshop.init(tmp_path / "demo", "Saltmarsh Workshop", durable=False)
    shop.create_driver("avocet", DriverRecord(title="Avocet"))
    shop.create_version("avocet", "v8", VersionRecord())
    add_releases(shop)
    assert release_ids(shop) == ["avocet-v8"]
    assert [turn.audience for turn in due(shop, dt.date(2026, 8, 1)).out] == ["supporters"]
    assert [turn.audience for turn in due(shop, dt.date(2026, 8, 1)).next] == ["everyone"]
