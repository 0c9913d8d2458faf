"""Records: what is saved is what was meant, what a person wrote stays, what is wrong is said with its line."""

import datetime as dt
import tomllib
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from halfroll.core.conditions import Space
from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity
from halfroll.workshop import AudioTable, DriverRecord, RigRecord, TakeRecord, VersionRecord, Workshop
from halfroll.workshop.faults import FaultsError, check
from halfroll.workshop.fields import Record
from halfroll.workshop.toml_read import parse_record
from halfroll.workshop.toml_write import render
from tests.workshop.strategies import RECORDS

thorough = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=50)


@pytest.mark.parametrize("kind", RECORDS)
@thorough
@given(data=st.data())
def test_saving_and_loading_is_the_identity(kind: str, data: st.DataObject) -> None:
    """Any record, with any keys of a person's own, comes back equal from a new file."""
    record = data.draw(RECORDS[kind])
    again, notes = parse_record(render(record, None, kind), type(record), kind)
    assert again == record
    assert {note.code for note in notes} <= {"unknown-key"}


@pytest.mark.parametrize("kind", RECORDS)
@thorough
@given(data=st.data())
def test_any_record_can_be_changed_into_any_other(kind: str, data: st.DataObject) -> None:
    """A record saved over a file that said another comes back equal; saving it once more leaves every byte."""
    before, after = data.draw(RECORDS[kind]), data.draw(RECORDS[kind])
    text = render(after, render(before, None, kind), kind)
    again, _ = parse_record(text, type(after), kind)
    assert again == after
    assert render(again, text, kind) == text


BY_HAND = """\
# the bench in the shed
format = 1
title = "Dunlin two"   # working title
shed_temperature = "cold"
rated_impedance_ohm = 4
parent = "v1"
when_glued = 2026-03-01
changes = [ { what = "glue", own_pot_life = 5 } ] # inline, as we like it

[published]
source = 'a leaflet'
  [published.figures]
  sensitivity_db = 84.5 # printed
"""

LIST_BY_HAND = """\
format = 1

# why we started
[[changes]]
what = "spider"   # the big one
after = "three rolls"
own_colour = "white"

# later
[[changes]]
what = "cone"
"""


def _edited(text: str, **changes: object) -> str:
    record, _ = parse_record(text.encode(), VersionRecord, "version.toml")
    return render(record.changed(**changes), text.encode(), "version.toml").decode()


def test_a_change_touches_only_its_own_line() -> None:
    """Comments, order, layout, inline tables and unknown keys stay exactly as they were written."""
    before = BY_HAND.splitlines()
    after = _edited(BY_HAND, title="Dunlin three").splitlines()
    differing = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert differing == [
        ('title = "Dunlin two"   # working title', 'title = "Dunlin three"   # working title')
    ]


def test_a_number_in_a_table_keeps_its_comment() -> None:
    """A value deep in a table is changed in place."""
    record, _ = parse_record(BY_HAND.encode(), VersionRecord, "version.toml")
    assert record.published is not None
    published = record.published.changed(figures={"sensitivity_db": 85.0})
    assert "  sensitivity_db = 85.0 # printed" in _edited(BY_HAND, published=published)


def test_entries_of_a_list_keep_their_comments() -> None:
    """Adding one in front, taking one away: the other keeps its comment and its own keys."""
    record, _ = parse_record(LIST_BY_HAND.encode(), VersionRecord, "version.toml")
    spider, cone = record.changes
    longer = _edited(LIST_BY_HAND, changes=(cone.changed(what="glue"), spider, cone))
    assert [change["what"] for change in tomllib.loads(longer)["changes"]] == ["glue", "spider", "cone"]
    assert (
        '[[changes]]\nwhat = "spider"   # the big one\nafter = "three rolls"\nown_colour = "white"\n'
        in longer
    )
    shorter = _edited(LIST_BY_HAND, changes=(spider,))
    assert 'what = "spider"   # the big one' in shorter
    assert "cone" not in shorter


def test_windows_line_ends_stay() -> None:
    """A file with CR LF keeps them throughout; a byte order mark does not disturb."""
    before = b"\xef\xbb\xbf" + LIST_BY_HAND.replace("\n", "\r\n").encode()
    record, _ = parse_record(before, VersionRecord, "version.toml")
    after = render(record.changed(summary="short", date=dt.date(2026, 1, 2)), before, "version.toml")
    assert after.count(b"\n") == after.count(b"\r\n") == LIST_BY_HAND.count("\n") + 2


def test_unknown_keys_are_noted_and_kept(workshop: Workshop) -> None:
    """A key halfroll does not know is a note, not a fault."""
    loaded = workshop.version("dunlin/v1")
    loaded.path.write_text(loaded.path.read_text() + "\n[shed]\nhumidity = 0.8\n")
    again = workshop.version("dunlin/v1")
    (note,) = again.notes
    assert (note.code, note.severity, note.data["key"]) == ("unknown-key", Severity.NOTE, "shed")
    saved = workshop.save(again, again.record.changed(summary="x"))
    assert saved.record.model_extra == {"shed": {"humidity": 0.8}}


def test_a_time_zone_becomes_its_offset() -> None:
    """TOML knows offsets only: the moment stays, the name of the zone goes."""
    when = dt.datetime(2026, 7, 1, 12, 0, tzinfo=ZoneInfo("Europe/Berlin"))
    audio = AudioTable(file="a.wav", sha256="0" * 64, roles=("microphone",))  # type: ignore[arg-type]
    record = TakeRecord(when=when, rig="bench", distance_m=1, space=Space.FREE, audio=(audio,))
    text = render(record, None, "take.toml").decode()
    assert tomllib.loads(text)["when"].isoformat() == "2026-07-01T12:00:00+02:00"


def test_a_record_says_its_format() -> None:
    """The first line of every new file."""
    assert render(DriverRecord(title="Knot"), None, "x").decode().startswith("format = 1\n")


TAKE = """\
format = 1
when = 2026-03-31T14:05:00Z
rig = "bench"
distance_m = 1.0
space = "half-space"

[sweep]
stop_hz = 8000.0
rate_hz = 24000

[[audio]]
file = "take.wav"
sha256 = "{hash}"
roles = ["voltage", "microphone"]
""".replace("{hash}", "0" * 64)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("distance_m = 1.0", "distance_m = -1.0", "take.toml:4, distance_m: distance_m of the take must be above 0; found -1.0."),
        ("distance_m = 1.0", "distance_m = 0", "take.toml:4, distance_m: distance_m of the take must be above 0; found 0."),
        ("distance_m = 1.0", "distance_m = 1000", "distance_m of the take must be at most 100; found 1000."),
        ("distance_m = 1.0", "distance_m = nan", "distance_m of the take must be a finite number; found nan."),
        ("distance_m = 1.0", "distance_m = inf", "distance_m of the take must be a finite number; found inf."),
        ("distance_m = 1.0", 'distance_m = "1"', "distance_m of the take must be a number; found '1'."),
        ("distance_m = 1.0", "distance_m = true", "distance_m of the take must be a number; found True."),
        ("distance_m = 1.0\n", "", "take.toml, distance_m: distance_m of the take is missing."),
        ("distance_m = 1.0", "distance_mm = 1000", "take.toml:4, distance_mm: distance_mm is not a key of the take. Allowed: distance_m."),
        ("distance_m = 1.0", "distanse_m = 1", "Correct it to distance_m; if the key is your own, name it own_distanse_m."),
        ("stop_hz", "stop_Hz", "take.toml:8, sweep.stop_Hz: sweep.stop_Hz is not a key of the take. Allowed: stop_hz."),
        ("roles =", "role =", "take.toml:14, audio[1].role: audio[1].role is not a key of the take. Allowed: roles."),
        ('"half-space"', '"half space"', "take.toml:5, space: space of the take must be one of the allowed words; found 'half space'. "
         "Allowed: half-space, free-field, near-field, in-cabinet."),
        ('"voltage", "microphone"', '"voltage", "mic"', "audio[1].roles[2] of the take must be one of the allowed words; found 'mic'."),
        ('"voltage", "microphone"', '"voltage", "voltage"', "each role but unused at most once"),
        ('"take.wav"', '"../take.wav"', "audio[1].file of the take must be the plain name of a file in the same folder"),
        ("0" * 64, "abc", "audio[1].sha256 of the take must be 64 hexadecimal digits (SHA-256); found 'abc'."),
        ("stop_hz = 8000.0", "stop_hz = 20000.0", "take.toml:8, sweep.stop_hz: sweep.stop_hz of the take must be at most half the "
         "sample rate, 12000 Hz; found 20000."),
        ("rate_hz = 24000", "rate_hz = 3", "sweep.rate_hz of the take must be 8000 to 768000 Hz; found 3."),
        ("2026-03-31T14:05:00Z", "2026-03-31", "when of the take must be a date and time such as 2026-03-31T14:05:00"),
        ("2026-03-31T14:05:00Z", '"yesterday"', "when of the take must be a date and time such as 2026-03-31T14:05:00; found 'yesterday'."),
        ('rig = "bench"', 'rig = ""', "take.toml:3, rig: rig of the take must not be empty"),
        ('rig = "bench"', 'rig = "bench"\ngate_ms = "off"', 'gate_ms of the take must be "auto", "none" or a number from 0.5'),
        ('rig = "bench"', "rig = bench", "take.toml:3: The file is not valid TOML: Invalid value; found rig = bench."),
        ('rig = "bench"', 'rig = "bench', "take.toml:3: The file is not valid TOML"),
        ("[sweep]", "[sweep", "take.toml:7: The file is not valid TOML"),
        ("rig = ", "when = 1\nrig = ", "take.toml:3: The file is not valid TOML: Cannot overwrite a value"),
        ("format = 1\n", "", "take.toml, format: format of the take is missing. Allowed: 1. Add the line: format = 1."),
        ("format = 1", "format = 2", "take.toml:1, format: The take was written by a newer halfroll; found 2. Allowed: 1. Update halfroll."),
        ("format = 1", 'format = "1"', "take.toml:1, format: format of the take must be 1; found 1."),
        ("[sweep]", "[[sweep]]", "sweep of the take must be a table"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said(old: str, new: str, said: str) -> None:
    """File, line, key, what was found, what is allowed."""
    assert old in TAKE
    with pytest.raises(InputError) as fault:
        parse_record(TAKE.replace(old, new).encode(), TakeRecord, "take.toml")
    assert said in str(fault.value)


def test_text_that_is_not_utf_8_is_said_with_its_line() -> None:
    """A file saved in another encoding."""
    data = 'format = 1\ntitle = "Säbelschnäbler"\n'.encode("latin-1")
    with pytest.raises(InputError, match=r"driver\.toml:2: The file must be text in UTF-8; found byte 0xe4"):
        parse_record(data, DriverRecord, "driver.toml")


def test_all_faults_come_at_once_in_order_of_lines() -> None:
    """A person corrects a file in one go; a machine gets every fault with its place."""
    wrong = (
        TAKE.replace("distance_m = 1.0", "distance_m = -1")
        .replace("stop_hz", "stop_hs")
        .replace('"bench"', "3")
    )
    with pytest.raises(FaultsError) as fault:
        parse_record(wrong.encode(), TakeRecord, "take.toml")
    assert [one.place.line for one in fault.value.faults] == [3, 4, 8]
    listed = fault.value.as_dict()["faults"]
    assert isinstance(listed, list)
    assert [one["key"] for one in listed] == ["rig", "distance_m", "sweep.stop_hs"]
    assert str(fault.value).count("\n") == 2


def test_a_role_may_not_stand_in_two_files() -> None:
    """Two files of one take that both claim the microphone."""
    second = f'\n[[audio]]\nfile = "b.wav"\nsha256 = "{"1" * 64}"\nroles = ["microphone"]\n'
    with pytest.raises(
        InputError, match="audio of the take must give each role but unused to one channel only"
    ):
        parse_record((TAKE + second).encode(), TakeRecord, "take.toml")


def test_a_line_is_found_behind_texts_of_several_lines() -> None:
    """A key that only looks like one, inside a long text, is not taken for the place."""
    text = 'format = 1\nnotes = """\ntitle = 5\n"""\ntitle = 5\n'
    with pytest.raises(
        InputError, match=r"driver\.toml:5, title: title of the driver must be text in quotes; found 5"
    ):
        parse_record(text.encode(), DriverRecord, "driver.toml")


def test_a_key_of_ones_own_may_look_like_a_known_one() -> None:
    """The way out that the message names."""
    record, _ = parse_record(b'format = 1\ntitle = "Knot"\nown_titel = "x"\n', DriverRecord, "driver.toml")
    assert record.model_extra == {"own_titel": "x"}


def test_a_published_figure_is_checked_against_the_table() -> None:
    """A slip in a figure's key would lose the figure silently."""
    text = 'format = 1\n[published]\nsource = "leaflet"\n[published.figures]\nsensitivty_db = 84.0\n'
    with pytest.raises(
        InputError, match=r"version\.toml:5, published\.figures\.sensitivty_db: .*sensitivity_db is meant"
    ):
        parse_record(text.encode(), VersionRecord, "version.toml")


@pytest.mark.parametrize(("model", "values"), [(RigRecord, {"microphone": {"pa_per_full_scale": 0}}),
                                               (VersionRecord, {"rated_impedance_ohm": 0}),
                                               (VersionRecord, {"rated_power_w": float("nan")})])  # fmt: skip
def test_values_of_a_form_are_checked_by_the_same_rules(
    model: type[Record], values: dict[str, object]
) -> None:
    """What a page or a command was given goes through the same check as a file."""
    with pytest.raises(InputError, match="must be"):
        check(model, values, file="the form")
