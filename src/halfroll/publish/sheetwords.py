"""What the sheet of a comparison says in words: conditions, changes, definitions, and who was measured how often."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from halfroll.compare.types import Change, Column, Comparison
from halfroll.core.text import THIN, count, join_words
from halfroll.core.verdicts import Severity
from halfroll.figures.rules import RULE
from halfroll.figures.types import TakeReadings

LONGEST_NAME = 30
LONGEST_SENTENCE = 230

SIGNS = (
    "Figures: mean of the version ± half-width of its 95 % interval (Student's t) from the spread of units and takes "
    "and the rig's calibration; a value without ± has an unknown spread. Arrow: the better direction. Grey: not "
    "distinguishable from the base. Open point: predicted or published. Dotted to the edge: a bound.",
    "Curves: band, 95 % interval of the mean from the spread of units, without calibration. Dotted with ticks down: "
    "at most this, because harmonics lie under the noise. Hatched: contains the room.",
)


@dataclass(frozen=True, kw_only=True)
class SheetWords:
    """Sentences of the sheet, most important first."""

    subtitle: str
    findings: tuple[str, ...]
    cautions: tuple[str, ...]
    conditions: tuple[str, ...]
    changes: tuple[str, ...]
    signs: tuple[str, ...]
    rules: tuple[tuple[str, str], ...]


def sheet_words(comparison: Comparison, figure_keys: Sequence[str]) -> SheetWords:
    """All sentences of the sheet; the sheet takes as many as fit."""
    cautions = sorted(comparison.cautions, key=lambda verdict: -verdict.severity)
    weighty = [v for v in cautions if v.severity > Severity.GOOD]
    return SheetWords(
        subtitle=_subtitle(comparison),
        findings=tuple(shortened(f) for f in comparison.findings) or ("Nothing to compare with yet.",),
        cautions=tuple(shortened(f"{v.text} {v.remedy}".strip()) for v in weighty),
        conditions=tuple(_conditions(comparison.columns)),
        changes=tuple(_changes(comparison)) or ("No change is recorded.",),
        signs=SIGNS,
        rules=_rules(comparison, figure_keys),
    )


def version_note(column: Column) -> str:
    """How a version is known: units and takes, a table, a computation; and what was left out."""
    if column.source == "published":
        return shortened(
            f"published: {column.version.published_source}".removesuffix(": "), LONGEST_NAME + 10
        )
    units = {take_id.rsplit("/", 1)[0] for take_id in column.takes_used}
    if not column.takes_used:
        return "no take counts"
    note = f"{count(len(units), 'unit')}, {count(len(column.takes_used), 'take')}"
    if column.source == "predicted":
        return f"predicted, {note}"
    left_out = len(column.takes_left_out)
    return f"{note}, {left_out} left out" if left_out else note


def shortened(text: str, most: int = LONGEST_SENTENCE) -> str:
    """The text cut at `most` characters, the cut marked; line breaks and tabs become spaces."""
    flat = " ".join(text.split())
    return flat if len(flat) <= most else f"{flat[: most - 1].rstrip()}…"


def first_of(sentences: Sequence[str], most: int) -> list[str]:
    """The first `most` sentences; the last of them counts those left out."""
    if len(sentences) <= most:
        return list(sentences)
    return [*sentences[: most - 1], f"And {len(sentences) - most + 1} more in the full comparison."]


def _subtitle(comparison: Comparison) -> str:
    titles = {c.version.version_id: shortened(c.version.title, LONGEST_NAME) for c in comparison.columns}
    if len(titles) == 1:
        return f"{next(iter(titles.values()))}, distortion at {comparison.settings.level_w:g}{THIN}W into the rated impedance"
    against = (
        "each its parent"
        if comparison.base_mode == "parent"
        else titles.get(comparison.base_id, comparison.base_id)
    )
    level = f"{comparison.settings.level_w:g}{THIN}W"
    return (
        f"{count(len(titles), 'version')} against {against}, distortion at {level} into the rated impedance"
    )


def _conditions(columns: Iterable[Column]) -> list[str]:
    """One sentence for each set of conditions, with the versions taken so."""
    groups: dict[str, list[str]] = {}
    for column in columns:
        groups.setdefault(_conditions_of(column), []).append(shortened(column.version.title, LONGEST_NAME))
    alone = len(groups) == 1
    return [shortened(f"{'All' if alone else join_words(names)}: {text}.") for text, names in groups.items()]


def _conditions_of(column: Column) -> str:
    used = set(column.takes_used)
    takes = [take for take in column.version.takes if take.take_id in used]
    if not takes:
        return "no recorded conditions"
    return "; ".join(dict.fromkeys(_take_conditions(take) for take in takes))


def _take_conditions(take: TakeReadings) -> str:
    given = take.conditions
    parts = [str(given.space), f"{given.distance_m:.3g}{THIN}m"]
    if given.drive_v is not None:
        power = (
            ""
            if given.drive_w is None
            else f" ({given.drive_w:.3g}{THIN}W into {given.rated_impedance_ohm:g}{THIN}Ω)"
        )
        parts.append(f"{given.drive_v:.3g}{THIN}V{power}")
    if take.rig:
        parts.append(f"rig {take.rig}")
    if take.valid_from_hz > 0:
        parts.append(f"room below {take.valid_from_hz:.3g}{THIN}Hz")
    return ", ".join(parts)


def _changes(comparison: Comparison) -> list[str]:
    lines = []
    for column in comparison.columns:
        changes = comparison.changes.get(column.version.version_id, ())
        if changes:
            told = "; ".join(_change(change) for change in changes)
            lines.append(shortened(f"{shortened(column.version.title, LONGEST_NAME)}: {told}."))
    return lines


def _change(change: Change) -> str:
    step = f"{change.before} → {change.after}" if change.before else change.after
    why = f" ({change.why})" if change.why else ""
    return f"{change.what} {step}".rstrip() + why


def _rules(comparison: Comparison, figure_keys: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Label and rule of every figure that some version has."""
    shown = [
        RULE[key] for key in figure_keys
        if any(key in c.figures and c.figures[key].value is not None for c in comparison.columns)
    ]  # fmt: skip
    return tuple((rule.label, rule.text(comparison.settings)) for rule in shown)
