"""``halfroll release``: a release made, shown, built for its day, checked, and brought in elsewhere."""

from __future__ import annotations

import shutil

import pytest

from halfroll.cli.main import run
from tests.publish.release_shop import QUICK, analysed

LEFT = [word for content in QUICK for word in ("--leave-out", content)]


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """A workshop with two versions, no release yet; its takes are analysed."""
    return analysed(tmp_path_factory.getbasetemp())


@pytest.fixture
def hide(home, tmp_path):
    """A copy of it."""
    return shutil.copytree(home, tmp_path / "hide")


def new(ask, hide, *more):
    """A release of v2."""
    return ask(
        "--workshop",
        hide,
        "release",
        "new",
        "godwit/v2",
        "--licence",
        "CC0-1.0",
        "--date",
        "2026-01-05",
        *LEFT,
        *more,
    )


def test_the_whole_way(ask, say, hide, tmp_path):
    """New, list, show, notes, build twice, check, bring in."""
    made = new(
        ask,
        hide,
        "--audience",
        "supporters=2026-01-05",
        "--audience",
        "everyone=2026-02-01",
        "--notes",
        "It is deeper than v1.",
    )
    assert made["release"] == "godwit-v2"
    (line,) = ask("--workshop", hide, "release", "list")["releases"]
    assert [turn["audience"] for turn in line["audiences"]] == ["supporters", "everyone"]
    shown = ask("--workshop", hide, "release", "show", "godwit-v2")
    assert shown["contents"] == ["records", "takes", "figures", "changes"]
    notes = ask("--workshop", hide, "release", "notes", "godwit-v2")["versions"][0]
    assert notes["steps"][0]["changes"][0]["what"] == "surround"
    assert ask("--workshop", hide, "release", "notes", "godwit-v2")["own_words"]["refused"] is False
    assert "## Godwit v2" in say("--workshop", hide, "release", "notes", "godwit-v2")[1]
    out = tmp_path / "out"
    first = ask("--workshop", hide, "release", "build", "godwit-v2", "--audience", "everyone", "--to", out)
    again = ask(
        "--workshop",
        hide,
        "release",
        "build",
        "godwit-v2",
        "--audience",
        "everyone",
        "--to",
        out / "again.zip",
    )
    assert first["sha256"] == again["sha256"]
    report = ask("release", "check", first["file"], "--sha256", first["sha256"])
    assert report["sound"]
    assert report["records"]["takes"] == 2
    assert run(["init", str(tmp_path / "other"), "--name", "Other"]) == 0
    found = ask("--workshop", tmp_path / "other", "release", "bring-in", first["file"], "--as", "ruff")
    assert found["versions"] == ["ruff/v2"]
    assert (
        ask("--workshop", tmp_path / "other", "figures", "ruff/v2")["versions"][0]["figures"][
            "sensitivity_db"
        ]["value"]
        is not None
    )
    code, printed, _ = say(
        "--workshop", hide, "release", "build", "godwit-v2", "--audience", "everyone", "--to", out
    )
    assert code == 0
    assert first["sha256"] in printed


def test_own_words_are_answered_before_anything_is_built(ask, say, hide):
    """The notes are printed all the same; what the figures say to a sentence follows, and code 2."""
    new(ask, hide, "--notes", "It is more than five octaves deeper than v1.")
    code, printed, error = say("--workshop", hide, "release", "notes", "godwit-v2")
    assert (code, "## Godwit v2" in printed) == (2, True)
    assert "The figures do not bear this sentence" in error


def test_due_tells_who_may_have_what(ask, say, hide):
    """By a day that is named."""
    new(ask, hide, "--audience", "supporters=2026-02-01", "--audience", "everyone=2026-03-01")
    found = ask("--workshop", hide, "release", "due", "--on", "2026-02-10")
    assert [turn["audience"] for turn in found["out"]] == ["supporters"]
    assert [turn["audience"] for turn in found["next"]] == ["everyone"]
    assert "Nothing is waiting" in say("--workshop", hide, "release", "due", "--on", "2026-04-01")[1]
    code, _, error = say("--workshop", hide, "release", "due", "--on", "soon")
    assert (code, "such as 2026-07-01" in error) == (2, True)


def test_an_early_build_is_refused_until_it_is_said(ask, say, hide, tmp_path):
    """With the day and the way out."""
    new(ask, hide, "--audience", "everyone=2099-01-01")
    code, _, error = say("--workshop", hide, "release", "build", "godwit-v2", "--to", tmp_path)
    assert code == 2
    assert "from 2099-01-01 on" in error
    assert "--early" in error
    assert ask("--workshop", hide, "release", "build", "godwit-v2", "--to", tmp_path, "--early")["manifest"][
        "early"
    ]


def test_a_bundle_that_is_refused_ends_with_2(ask, say, hide, tmp_path):
    """What is wrong is named; nothing comes in."""
    new(ask, hide)
    made = ask("--workshop", hide, "release", "build", "godwit-v2", "--to", tmp_path)
    data = bytearray((tmp_path / "godwit-v2-everyone.zip").read_bytes())
    at = data.index(b"deeper bass")
    data[at : at + 6] = b"DEEPER"
    bad = tmp_path / "bad.zip"
    bad.write_bytes(data)
    code, printed, _ = say("release", "check", bad)
    assert code == 2
    assert "refused:" in printed
    assert made["sha256"] not in printed
    code, _, error = say("--workshop", hide, "release", "bring-in", bad, "--as", "ruff")
    assert code == 2
    assert "damaged" in error or "changed" in error
    assert not (hide / "drivers/ruff").exists()


@pytest.mark.parametrize(
    ("words", "word"),
    [
        (["godwit/v2", "--licence", "GPL-3"], "GPL-3.0-only"), (["godwit/v9", "--licence", "MIT"], "no version godwit/v9"),
        (["godwit/v2", "--licence", "MIT", "--date", "2026-13-01"], "date"), (["godwit/v2", "--licence", "MIT", "--audience", "friends"], "NAME=DATE"),
        (["godwit/v2", "--licence", "LicenseRef-Own"], "licence_file"), (["godwit/v2", "--licence", "MIT", "--leave-out", "guides"], "allowed words"),
        (["godwit/v2", "--licence", "MIT", "--audience", "a=2026-01-01", "--date", "2026-02-01"], "must not lie before"),
        (["godwit/v2", "--licence", "MIT", "--name", "marks"], "another meaning"), (["godwit/v2", "--licence", "MIT", "--date", "1979-01-01"], "1980"),
    ],
)  # fmt: skip
def test_bad_input_is_refused_in_words(say, hide, words, word):
    """Nothing is written then."""
    code, _, error = say("--workshop", hide, "release", "new", *words)
    assert code == 2
    assert word in error
    assert "Traceback" not in error
    assert not (hide / "releases").exists()


def test_an_own_licence_brings_its_text(ask, hide, tmp_path):
    """It is copied beside the record and stands in the bundle."""
    text = tmp_path / "own.txt"
    text.write_text("Build what you like.", encoding="utf-8")
    ask(
        "--workshop",
        hide,
        "release",
        "new",
        "godwit/v2",
        "--licence",
        "LicenseRef-Saltmarsh",
        "--licence-text",
        text,
        *LEFT,
    )
    assert (hide / "releases/godwit-v2/own.txt").read_text(encoding="utf-8") == "Build what you like."
