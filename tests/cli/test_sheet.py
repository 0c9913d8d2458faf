"""``sheet``, ``mark`` and ``site`` on the command line: files, JSON, exit codes, what is said of a slip."""

from __future__ import annotations

import io
import json
import re

import pypdf


def test_a_sheet_is_printed_and_its_marks_are_found(say, ask, workshop, tmp_path):
    """Text, PDF of the day that was asked for, pages as SVG; each mark leads to its takes and says what it is today."""
    pdf, svg = tmp_path / "sheet.pdf", tmp_path / "sheet.svg"
    code, out, err = say(
        "--workshop", workshop, "sheet", "dunlin/v2", "--pdf", pdf, "--svg", svg, "--date", "2026-05-02"
    )
    assert code == 0, err
    assert "Sensitivity" in out
    assert "2026-05-02" in pypdf.PdfReader(io.BytesIO(pdf.read_bytes())).pages[0].extract_text()
    assert [path.name for path in sorted(tmp_path.glob("*.svg"))] in (
        ["sheet.svg"],
        ["sheet-1.svg", "sheet-2.svg"],
    )
    told = ask("--workshop", workshop, "sheet", "dunlin/v2")
    figure = next(one for one in told["figures"] if one["key"] == "sensitivity_db")
    assert figure["mark"] in out
    assert {"value", "u", "unit", "conditions", "from", "expanded_95"} <= set(figure)
    behind = ask("--workshop", workshop, "mark", figure["mark"].lower())
    assert behind["figure"]["value"] == figure["value"]
    assert len(behind["takes"]) == 4
    assert behind["now"]["standing"] == "unchanged"
    code, out, err = say("--workshop", workshop, "mark", figure["mark"])
    assert code == 0, err
    assert re.search(r"Rule: Power mean.*", out)
    assert "Today: unchanged." in out
    assert str(workshop) not in out


def test_slips_are_told(say, workshop, tmp_path):
    """A mark that is none, a version that is none, a wrong ending, nothing to print."""
    code, _, err = say("--workshop", workshop, "mark", "2222222")
    assert (code, "No number in this workshop has this mark" in err) == (2, True)
    assert say("--workshop", workshop, "sheet", "dunlin/v9")[0] == 2
    code, _, err = say("--workshop", workshop, "sheet", "dunlin/v1", "--pdf", tmp_path / "sheet.png")
    assert (code, "must end with .pdf" in err) == (2, True)
    say("--workshop", workshop, "add", "version", "dunlin/v3", "--parent", "v2")
    code, out, err = say(
        "--workshop", workshop, "sheet", "dunlin/v3", "--pdf", tmp_path / "sheet.pdf", "--json"
    )
    assert code == 2
    assert "would be empty" in json.loads(out)["error"]["message"]
    assert not (tmp_path / "sheet.pdf").exists()


def test_a_site_is_written(say, ask, workshop, tmp_path):
    """Into a new folder; not over somebody's own."""
    told = ask(
        "--workshop", workshop, "site", tmp_path / "pages", "--version", "dunlin/v1", "--date", "2026-05-02"
    )
    assert told["files"] == sum(path.is_file() for path in (tmp_path / "pages").rglob("*"))
    assert "2026-05-02" in (tmp_path / "pages/index.html").read_text()
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "heron.jpg").write_bytes(b"x")
    code, _, err = say("--workshop", workshop, "site", tmp_path / "photos")
    assert (code, "only a folder that is empty or an earlier site" in err) == (2, True)
