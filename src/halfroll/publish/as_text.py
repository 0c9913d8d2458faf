"""A comparison as text to paste: findings, figures with their intervals and marks, cautions, conditions.

Two forms: Markdown (CommonMark with tables), in which every text of a person is escaped, and plain text in aligned columns.
The sentences are those of the comparison.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from halfroll.compare.findings import ALSO_TOLD
from halfroll.compare.types import Comparison
from halfroll.core.errors import choose
from halfroll.core.text import THIN, format_band, format_stated
from halfroll.core.verdicts import Verdict
from halfroll.figures.marks import printed
from halfroll.figures.rules import HEADLINES, LIMIT_TEXT, RULES, FigureRule
from halfroll.publish.screens.words import Marks
from halfroll.publish.sheetwords import sheet_words
from halfroll.publish.striprows import strip_rows

Form = Literal["markdown", "plain"]
FORMS = ("markdown", "plain")

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>#|~&$])")
"""What Markdown could read as its own; a backslash before ASCII punctuation makes it plain (CommonMark 0.31, 2.4)."""

_LIST_LIKE = re.compile(r"^(\d{1,9})([.)])(?=\s|$)|^([-+])(?=\s|$)")


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One version's value of one figure, in words."""

    version: str
    value: str
    against: str
    mark: str


def comparison_text(
    comparison: Comparison,
    marks: Marks | None = None,
    form: str = "markdown",
    *,
    title: str = "",
    source: str = "",
    date: str = "",
    everything: bool = False,
) -> str:
    """The comparison as text.

    Parameters
    ----------
    comparison
        Any number of versions.
    marks
        Marks of the figures by (version id, figure key); the column is left out without any.
    form
        ``markdown`` or ``plain``.
    title, source, date
        Heading and last line, as given.
    everything
        All figures that some version has, instead of those the findings tell of.

    Raises
    ------
    InputError
        There is no such form.
    """
    write = {"markdown": _markdown, "plain": _plain}[choose(form, FORMS, field="The form", key="--text")]
    told = [(rule, entries_of(comparison, rule, marks or {})) for rule in _rules(comparison, everything)]
    words = sheet_words(comparison, [rule.key for rule, _ in told])
    cautions = sorted(
        {
            (v.severity, f"{v.severity.name.lower()}: {v.text} {v.remedy}".strip()): None
            for v in _cautions(comparison)
        },
        key=lambda one: -one[0],
    )
    lists = {
        "Findings": list(comparison.findings) or ["Nothing to compare with yet."],
        "Where the comparison is unfair, and what else to know": [text for _, text in cautions],
        "Conditions": list(words.conditions),
        "What changed": [] if words.changes == ("No change is recorded.",) else list(words.changes),
    }
    return write(comparison, told, lists, (title, " · ".join(part for part in (source, date) if part)))


def settings_sentence(comparison: Comparison) -> str:
    """How the figures were read and what the versions are compared with, in one line."""
    settings = comparison.settings
    band = format_band(settings.sensitivity_band_hz)
    base = "each with its parent" if comparison.base_mode == "parent" else f"with {comparison.base_id}"
    return (
        f"Compared {base}, at {format_stated(settings.level_w, 'W')} into the rated impedance; sensitivity over {band}, "
        f"distortion over {format_band(settings.distortion_band_hz)}; "
        f"limits {LIMIT_TEXT[settings.limit_rule].format(sensitivity_band=band)}."
    )


def table_note(comparison: Comparison, *, marked: bool) -> str:
    """What the numbers of the table are."""
    predicted = any(column.source == "predicted" for column in comparison.columns)
    said = f"Mean of the units{', or prediction,' if predicted else ''} ± half of the 95 % interval"
    said += "; without ± the spread is unknown."
    return f"{said} A mark leads to the takes and settings behind its number." if marked else said


def entries_of(comparison: Comparison, rule: FigureRule, marks: Marks) -> list[Entry]:
    """A figure of every version in words."""
    made = []
    for row, column in zip(strip_rows(comparison, rule.key), _having(comparison, rule.key), strict=True):
        mark = marks.get((column, rule.key), "")
        value = (
            row.value_text
            if row.figure.value is not None
            else f"no value: {row.figure.missing}".removesuffix(": ")
        )
        made.append(
            Entry(
                version=row.name, value=value, against=row.difference_text, mark=printed(mark) if mark else ""
            )
        )
    return made


def escaped(text: str) -> str:
    """A text that Markdown shows as it is, on one line."""
    flat = _SPECIAL.sub(r"\\\1", " ".join(text.split()))
    return _LIST_LIKE.sub(lambda found: f"{found[1]}\\{found[2]}" if found[1] else f"\\{found[3]}", flat)


def _having(comparison: Comparison, key: str) -> list[str]:
    return [column.version.version_id for column in comparison.columns if key in column.figures]


def _cautions(comparison: Comparison) -> Iterator[Verdict]:
    yield from comparison.cautions
    for column in comparison.columns:
        yield from column.cautions


def _rules(comparison: Comparison, everything: bool) -> list[FigureRule]:
    return [
        rule
        for rule in RULES
        if (everything or rule.key in (*HEADLINES, *ALSO_TOLD))
        and any(rule.key in c.figures and c.figures[rule.key].value is not None for c in comparison.columns)
    ]


Told = Sequence[tuple[FigureRule, list[Entry]]]


def _heads(comparison: Comparison, told: Told) -> list[str]:
    against = "Against its parent" if comparison.base_mode == "parent" else "Against the base"
    heads = ["Figure", "Version", "Value"]
    heads += [against] if any(e.against for _, entries in told for e in entries) else []
    return heads + (["Mark"] if any(e.mark for _, entries in told for e in entries) else [])


def _cells(heads: list[str], entry: Entry) -> list[str]:
    return [entry.version, entry.value, *([entry.against] if any("Against" in h for h in heads) else []),
            *([entry.mark] if "Mark" in heads else [])]  # fmt: skip


def _markdown(
    comparison: Comparison, told: Told, lists: dict[str, list[str]], around: tuple[str, str]
) -> str:
    title, foot = around
    heads = _heads(comparison, told)
    blocks = [f"## {escaped(title)}"] if title else []
    blocks.append(escaped(settings_sentence(comparison)))
    for i, (name, sentences) in enumerate(lists.items()):
        if sentences:
            blocks += [f"### {name}", "\n".join(f"- {escaped(sentence)}" for sentence in sentences)]
        if i == 0 and told:
            lines = [heads, ["---"] * len(heads)]
            for rule, entries in told:
                lines += [[rule.label if k == 0 else "", *_cells(heads, e)] for k, e in enumerate(entries)]
            rows = [
                " | ".join(cell if at == 1 else escaped(cell) for cell in line)
                for at, line in enumerate(lines)
            ]
            blocks += ["### Figures", "\n".join(f"| {row} |" for row in rows)]
            blocks.append(escaped(table_note(comparison, marked="Mark" in heads)))
    return "\n\n".join([*blocks, *([escaped(foot)] if foot else [])]) + "\n"


def _plain(comparison: Comparison, told: Told, lists: dict[str, list[str]], around: tuple[str, str]) -> str:
    title, foot = around
    heads = _heads(comparison, told)
    blocks = [f"{_flat(title)}\n{'=' * _width(_flat(title))}"] if title else []
    blocks.append(_flat(settings_sentence(comparison)))
    for i, (name, sentences) in enumerate(lists.items()):
        if sentences:
            blocks.append("\n".join([name.upper(), *(f"- {_flat(sentence)}" for sentence in sentences)]))
        if i == 0 and told:
            table = [heads[1:], *(_cells(heads, e) for _, entries in told for e in entries)]
            table = [[_flat(cell) for cell in line] for line in table]
            wide = [max(_width(line[k]) for line in table) for k in range(len(table[0]))]
            lines, at = ["FIGURES", _aligned(table[0], wide)], 1
            for rule, entries in told:
                lines.append(_flat(rule.label))
                lines += [_aligned(line, wide) for line in table[at : at + len(entries)]]
                at += len(entries)
            blocks.append("\n".join([*lines, _flat(table_note(comparison, marked="Mark" in heads))]))
    return "\n\n".join([*blocks, *([_flat(foot)] if foot else [])]) + "\n"


def _aligned(cells: Sequence[str], wide: Sequence[int]) -> str:
    padded = [cell + " " * (width - _width(cell)) for cell, width in zip(cells, wide, strict=True)]
    return f"  {'  '.join(padded)}".rstrip()


def _flat(text: str) -> str:
    """On one line, with plain spaces, without signs that only steer a terminal."""
    plain = text.replace(THIN, " ").replace("\u2009", " ")
    return " ".join("".join(c for c in plain if c.isspace() or unicodedata.category(c)[0] != "C").split())


def _width(text: str) -> int:
    """Columns of a terminal or a typewriter face: none for accents that sit on a letter, two for wide letters."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text
    )
