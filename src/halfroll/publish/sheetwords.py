"""What the sheet of a comparison says in words: conditions, changes, definitions, and who was measured how often."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfroll.compare.findings import short_names
from halfroll.compare.types import Change, Column, Comparison
from halfroll.core.text import THIN, count, format_value, join_words
from halfroll.core.verdicts import Severity
from halfroll.figures.rules import RULE

PARAMETERS = {"re_ohm": "Re", "fs_hz": "fs", "qts": "Qts", "mms_g": "Mms", "bl_n_per_a": "Bl", "vas_l": "Vas"}
"""Lumped parameters on the sheet, by figure."""

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
        conditions=tuple(_conditions(comparison)),
        changes=tuple(_changes(comparison)) or ("No change is recorded.",),
        signs=SIGNS,
        rules=_rules(comparison, figure_keys),
    )


def version_note(column: Column) -> str:
    """How a version is known: units and takes, a table, a computation; how many takes were left out."""
    if column.source == "published":
        return f"published: {column.version.published_source}".removesuffix(": ")
    if not column.takes_used:
        return "no take counts"
    units = {"/".join(take_id.split("/")[:3]) for take_id in column.takes_used}
    note = f"{count(len(units), 'unit')}, {count(len(column.takes_used), 'take')}"
    unused = f", {len(column.takes_refused)} left out" if column.takes_refused else ""
    return f"{'predicted, ' if column.source == 'predicted' else ''}{note}{unused}"


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
    names = short_names([column.version for column in comparison.columns])
    level = f"distortion at {comparison.settings.level_w:g}{THIN}W into the rated impedance"
    if len(names) == 1:
        return f"{shortened(next(iter(names.values())), LONGEST_NAME)}; {level}"
    base = shortened(names.get(comparison.base_id, comparison.base_id), LONGEST_NAME)
    against = ", each against its parent" if comparison.base_mode == "parent" else f" against {base}"
    return f"{count(len(names), 'version')}{against}; {level}"


def _conditions(comparison: Comparison) -> list[str]:
    """One sentence for each set of conditions, with the versions taken so."""
    names = short_names([column.version for column in comparison.columns])
    groups: dict[str, list[str]] = {}
    for column in comparison.columns:
        groups.setdefault(_conditions_of(column), []).append(names[column.version.version_id])
    alone = len(groups) == 1
    told = [shortened(f"{'All' if alone else join_words(who)}: {text}.") for text, who in groups.items()]
    lumped = [
        f"{names[column.version.version_id]}: {text}"
        for column in comparison.columns
        if (text := _parameters_of(column))
    ]
    return [
        *told,
        *([shortened(f"Parameters. {'; '.join(lumped)}.", 4 * LONGEST_SENTENCE)] if lumped else []),
    ]


def _parameters_of(column: Column) -> str:
    """The lumped parameters of a version in a row, as far as they are known."""
    known = [(symbol, column.figures[key]) for key, symbol in PARAMETERS.items() if key in column.figures]
    return ", ".join(
        f"{symbol}{THIN}{format_value(f.value, f.expanded, f.unit)}"
        for symbol, f in known
        if f.value is not None
    )


def _conditions_of(column: Column) -> str:
    """Space, distance, drive, rigs and room of the takes that count, what differs little as one number."""
    used = set(column.takes_used)
    takes = [take for take in column.version.takes if take.take_id in used]
    if not takes:
        return "no recorded conditions"
    given = [take.conditions for take in takes]
    parts = [join_words(list(dict.fromkeys(str(c.space) for c in given)))]
    parts.append(_about([c.distance_m for c in given], "m"))
    parts.append(_about([c.drive_v for c in given if c.drive_v is not None], "V"))
    parts.append(_about([c.drive_w for c in given if c.drive_w is not None], "W"))
    rigs = list(dict.fromkeys(take.rig for take in takes if take.rig))
    parts.append(f"{'rig' if len(rigs) == 1 else 'rigs'} {join_words(rigs)}" if rigs else "")
    room_hz = max(take.valid_from_hz for take in takes)
    parts.append(f"room below {room_hz:.3g}{THIN}Hz" if room_hz > 0 else "")
    return ", ".join(part for part in parts if part)


def _about(values: Sequence[float], unit: str) -> str:
    """The mean to two digits where values lie within 5 % of it, else their range; empty without values."""
    if not values:
        return ""
    low, high, mean = min(values), max(values), sum(values) / len(values)
    if high - low <= 0.1 * mean:
        return f"{float(f'{mean:.2g}'):g}{THIN}{unit}"
    return f"{float(f'{low:.2g}'):g} to {float(f'{high:.2g}'):g}{THIN}{unit}"


def _changes(comparison: Comparison) -> list[str]:
    names = short_names([column.version for column in comparison.columns])
    lines = []
    for column in comparison.columns:
        changes = comparison.changes.get(column.version.version_id, ())
        if changes:
            told = "; ".join(_change(change) for change in changes)
            lines.append(shortened(f"{names[column.version.version_id]}: {told}."))
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
