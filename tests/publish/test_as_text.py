"""A comparison as text: what it says, safe characters, columns that align; Markdown read by another parser."""

import dataclasses

import pytest
from markdown_it import MarkdownIt
from rich.cells import cell_len

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity, Verdict
from halfroll.publish.as_text import comparison_text, escaped
from tests.publish import samples

NASTY = "a|b *c* `d` <e> [f](g) \\ ~h~ #i & $j$ _k_ {l}"
STARTS = (
    "1. first",
    "1) first",
    "- dash",
    "+ plus",
    "# head",
    "> quote",
    "```",
    "| cell |",
    "1.5 mm",
    "-3 dB",
)


def marks(n: int) -> dict[tuple[str, str], str]:
    """A mark for every figure."""
    return {
        (c.version.version_id, key): f"k7mf2x{i}"
        for i, c in enumerate(samples.comparison(n).columns)
        for key in c.figures
    }


def parsed(text: str) -> list[list[str]]:
    """The rows of the table as a parser of CommonMark with tables reads them, cells as they would be shown."""
    rows: list[list[str]] = []
    tokens = MarkdownIt("commonmark").enable("table").parse(text)
    for kind, token in zip([None, *(t.type for t in tokens)], tokens, strict=False):
        if token.type == "tr_open":
            rows.append([])
        elif token.type == "inline" and kind in ("td_open", "th_open"):
            assert all(child.type in ("text", "text_special") for child in token.children or ()), (
                token.content
            )
            rows[-1].append("".join(child.content for child in token.children or ()))
    return rows


def test_markdown_table_says_what_the_comparison_says() -> None:
    """Figures, versions, values with intervals, what may be claimed, marks; sentences of the findings unchanged."""
    text = comparison_text(
        samples.comparison(3),
        marks(3),
        "markdown",
        title="Which Curlew?",
        source="Saltmarsh Workshop",
        date="2026-11-26",
    )
    rows = [[cell.replace("\u202f", " ") for cell in row] for row in parsed(text)]
    assert rows[0] == ["Figure", "Version", "Value", "Against the base", "Mark"]
    assert ["Sensitivity", "v1 first print (base)", "84.60 ± 0.53 dB", "", "K7MF2X0"] in rows
    assert ["", "v2 softer surround", "84.80 ± 0.64 dB", "not distinguishable", "K7MF2X1"] in rows
    assert ["", "v3 longer coil", "71.0 ± 3.6 Hz", "−0.31 ± 0.07 octaves, better", "K7MF2X2"] in rows
    assert all(f"- {finding}" in text for finding in samples.comparison(3).findings)
    for piece in ("## Which Curlew?", "Compared with curlew/v1, at 1", "half of the 95 % interval", "note: Curlew v2: one take of unit c is clipped",
                  "All: half-space, 0.5", "surround.thickness\\_mm 0.8 → 0.6", "Saltmarsh Workshop · 2026-11-26"):  # fmt: skip
        assert piece in text, piece


def test_any_title_is_text_in_markdown() -> None:
    """Signs of Markdown in titles and cautions stand as typed, in one cell, and start nothing."""
    comparison = samples.comparison(2, title=NASTY)
    caution = Verdict(code="x", severity=Severity.CAUTION, text=f"{NASTY}\nsecond line")
    comparison = dataclasses.replace(comparison, cautions=(caution,), findings=(NASTY,))
    text = comparison_text(comparison, None, "markdown", title=NASTY)
    rows = parsed(text)
    assert {len(row) for row in rows} == {4}
    assert sum(row[1] == f"v2 {NASTY}" for row in rows) == 6
    shown = MarkdownIt("commonmark").enable("table").render(text)
    assert not {"<em>", "<code>", "<a ", "<e>"} & {
        tag for tag in ("<em>", "<code>", "<a ", "<e>") if tag in shown
    }


@pytest.mark.parametrize("start", STARTS)
def test_no_beginning_starts_a_list(start: str) -> None:
    """In a list item, a text that looks like a list, a heading, a quotation or a fence is a paragraph with that text."""
    tokens = MarkdownIt("commonmark").enable("table").parse(f"- {escaped(start)}")
    assert [t.type for t in tokens] == ["bullet_list_open", "list_item_open", "paragraph_open", "inline", "paragraph_close",
                                        "list_item_close", "bullet_list_close"]  # fmt: skip
    assert "".join(child.content for child in tokens[3].children or ()) == start


def test_plain_text_is_aligned() -> None:
    """Every column begins at the same place in every row, widths counted by another library, with accents and wide letters."""
    comparison = samples.comparison(3, title="Kanüle e\u0301 試作 v\u200b2")
    text = comparison_text(comparison, marks(3), "plain", title="Which Curlew?")
    lines = text[text.index("FIGURES") :].splitlines()
    rows = [line for line in lines[2:] if line.startswith("  ")]
    assert len(rows) == 18
    assert {cell_len(line[: line.index("K7MF")]) for line in rows} == {
        cell_len(lines[1][: lines[1].index("Mark")])
    }
    assert text.startswith("Which Curlew?\n=============\n")
    assert "\u202f" not in text
    assert "\u200b" not in text
    assert "  v3 longer coil" in text


def test_bounds_missing_values_and_sources_are_said() -> None:
    """A bound has its sign, a missing value its reason, a prediction and a printed table their word; no marks, no column."""
    text = comparison_text(samples.comparison(8), None, "plain").replace("  ", " ")
    for piece in (
        "≤ 2.7 %",
        "no value: Not in the table.",
        "Redshank v1 two magnets (predicted)",
        "(published)",
        "spread unknown",
    ):
        assert piece in text, piece
    assert "Mark" not in text


def test_one_version_has_nothing_to_be_compared_with() -> None:
    """No column of differences; everything asked gives more figures only where there are values."""
    comparison = dataclasses.replace(samples.comparison(1), findings=())
    text = comparison_text(comparison, None, "markdown")
    assert parsed(text)[0] == ["Figure", "Version", "Value"]
    assert "Nothing to compare with yet." in text
    assert comparison_text(comparison, None, "markdown", everything=True).count("| ") >= text.count("| ")
    with pytest.raises(InputError, match="markdown, plain"):
        comparison_text(comparison, None, "html")
