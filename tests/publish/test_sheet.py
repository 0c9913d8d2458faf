"""The sheet: always one page, every text as text, everything of the comparison on it."""

import dataclasses
import io
import struct

import pytest
from pypdf import PdfReader

from halfroll.compare.types import Comparison
from halfroll.core.errors import RefusedError
from halfroll.core.verdicts import Severity, Verdict
from halfroll.publish.sheet import sheet_pdf, sheet_png, sheet_svg
from halfroll.publish.sheetwords import first_of, sheet_words, shortened, version_note
from tests.publish import samples

NASTY = '#panic("x") $x^2 *b* _i_ `c` <l> @ref \\ "q" // /* [a] {b} = - + ~ & %'


def pdf(comparison: Comparison, title: str = "Which Curlew for the hide?", date: str = "4 May 2025") -> bytes:
    """The sheet with a title and a date."""
    return sheet_pdf(comparison, title=title, date=date)


def pages(data: bytes) -> int:
    """Page count by pypdf, a reader of others."""
    return len(PdfReader(io.BytesIO(data)).pages)


def text(data: bytes) -> str:
    """All text by pypdf, white space made single."""
    said = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)
    return " ".join(said.replace("\u202f", " ").split())


def crowded(n: int) -> Comparison:
    """A comparison with far more to say than a page holds, in long sentences without mercy."""
    base = samples.comparison(n)
    long = "This sentence goes on about the surround, the spider, the coil and the gap until nobody listens any more. "
    columns = tuple(
        dataclasses.replace(c, version=dataclasses.replace(c.version, title=f"{c.version.title} {'very ' * 20}long"))
        for c in base.columns
    )  # fmt: skip
    return dataclasses.replace(
        base,
        columns=columns,
        findings=tuple(f"Finding {i}. {long * 3}" for i in range(40)),
        cautions=tuple(
            Verdict(code=f"c{i}", severity=Severity.CAUTION, text=long * 3, remedy=long) for i in range(20)
        ),
        changes={k: v * 12 for k, v in base.changes.items()},
    )


@pytest.mark.parametrize("n", range(1, 9))
def test_one_page_for_one_to_eight_versions(n: int) -> None:
    """Counted by another program."""
    assert pages(pdf(samples.comparison(n))) == 1


@pytest.mark.parametrize("n", [2, 8])
def test_one_page_however_much_there_is_to_say(n: int) -> None:
    """What does not fit is counted, not hidden."""
    data = pdf(crowded(n), title="A title as long as a title can be " * 3)
    assert pages(data) == 1
    assert "more in the full comparison" in text(data)


def test_the_page_says_what_the_comparison_says() -> None:
    """Findings, cautions, values with intervals, conditions, changes, rules, date."""
    said = text(pdf(samples.comparison(4)))
    for piece in (
        "Which Curlew for the hide?", "4 May 2025", "4 versions against v1",
        "lower limit 0.32 ± 0.06 octaves deeper", "brought to 1 m by the distance law",
        "84.60 ± 0.53", "88.0 ± 3.6", "v1 first print (base)", "3 units, 9 takes, 1 left out",
        "v1, v2 and v3: half-space, 0.5 m, 2 V, 1 W, rig bench", "surround.thickness_mm 0.8 → 0.6",
        "Power mean on a logarithmic frequency grid", "Sound pressure level at 1 W and 1 m", "THD over total pressure",
    ):  # fmt: skip
        assert piece in said, piece


def test_every_text_is_text_and_never_markup() -> None:
    """A title made of the typesetter's own signs stands on the page as typed."""
    comparison = samples.comparison(2, title=NASTY[:29])
    comparison = dataclasses.replace(comparison, findings=(NASTY,))
    said = text(pdf(comparison, title=NASTY, date="#date"))
    assert said.count(" ".join(NASTY.split())) >= 2
    assert NASTY[:29].strip() in said
    assert "#date" in said


def test_two_runs_give_the_same_bytes() -> None:
    """The date comes from the caller; no clock is looked at."""
    assert pdf(samples.comparison(2)) == pdf(samples.comparison(2))


def test_a_printed_table_alone_gives_a_sheet() -> None:
    """Versions without curves: no charts, no crash."""
    comparison = samples.comparison(2)
    bare = dataclasses.replace(
        comparison, columns=tuple(dataclasses.replace(c, curves={}, figures={}) for c in comparison.columns)
    )
    assert pdf(bare).startswith(b"%PDF-")


def test_more_than_eight_are_refused_with_the_way_out() -> None:
    """Nine do not fit a page a person can read."""
    comparison = samples.comparison(8)
    nine = dataclasses.replace(comparison, columns=(*comparison.columns, comparison.columns[0]))
    with pytest.raises(RefusedError, match="8 versions or fewer"):
        pdf(nine)


def test_previews_are_the_same_page() -> None:
    """SVG and PNG for the screen; the PNG as wide as asked and in A4 proportions (ISO 216: 1 to the root of 2)."""
    comparison = samples.comparison(2)
    assert sheet_svg(comparison, title="a", date="b").startswith("<svg")
    data = sheet_png(comparison, title="a", date="b", width_px=620)
    width, height = struct.unpack(">II", data[16:24])
    assert width == 620
    assert height / width == pytest.approx(2**0.5, abs=0.003)


def test_weightiest_cautions_come_first() -> None:
    """A caution stands before a note."""
    notes = [Verdict(code="n", severity=Severity.NOTE, text="a note"), Verdict(code="c", severity=Severity.CAUTION, text="a caution")]  # fmt: skip
    comparison = dataclasses.replace(samples.comparison(2), cautions=tuple(notes))
    assert sheet_words(comparison, ()).cautions == ("a caution", "a note")


def test_versions_say_how_they_are_known() -> None:
    """Units and takes, what was left out, predicted, published."""
    notes = [version_note(c) for c in samples.comparison(8).columns]
    assert notes[0] == "3 units, 9 takes"
    assert notes[1] == "3 units, 9 takes, 1 left out"
    assert notes[6] == "predicted, 3 units, 9 takes"
    assert notes[7] == "published: data table"


def test_cut_sentences_show_the_cut() -> None:
    """Lists tell how many are missing; long sentences end in dots; line breaks become spaces."""
    assert first_of(["a", "b", "c", "d"], 3) == ["a", "b", "And 2 more in the full comparison."]
    assert first_of(["a"], 3) == ["a"]
    assert shortened("a\n\tb") == "a b"
    assert shortened("x" * 300, 10) == "x" * 9 + "…"
