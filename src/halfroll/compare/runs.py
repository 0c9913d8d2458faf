"""Which runs of a version count in a comparison: usable, and mounted as those of the other versions were."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from halfroll.compare.types import VersionInput
from halfroll.core.verdicts import Severity
from halfroll.figures.types import TakeReadings

MOUNTINGS = {"free-air": "in free air", "baffle": "in a baffle", "closed-box": "on a closed box"}


@dataclass(frozen=True, kw_only=True)
class RunSelection:
    """The runs that count, those left out with the reason, and how those that count were mounted."""

    runs: tuple[TakeReadings, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    mounting: str = ""


def common_mounting(inputs: Sequence[VersionInput]) -> str:
    """The mounting in which most versions have usable runs; the one with most runs among equals; empty without any."""
    versions: Counter[str] = Counter()
    runs: Counter[str] = Counter()
    for version in inputs:
        there = [r.mounting for r in version.runs if r.usable and r.mounting]
        versions.update(set(there))
        runs.update(there)
    return max(versions, key=lambda mounting: (versions[mounting], runs[mounting]), default="")


def select_runs(version: VersionInput, mounting: str) -> RunSelection:
    """Runs of one version: those mounted as asked for if there are any, else those of its own commonest mounting."""
    unusable = [(r.take_id, _why_unusable(r)) for r in version.runs if not r.usable]
    usable = [r for r in version.runs if r.usable]
    own = Counter(r.mounting for r in usable if r.mounting)
    chosen = mounting if mounting in own else next(iter([m for m, _ in own.most_common(1)]), "")
    other = [
        (r.take_id, f"Mounted otherwise ({MOUNTINGS.get(r.mounting, r.mounting)}).")
        for r in usable
        if r.mounting and r.mounting != chosen
    ]
    return RunSelection(
        runs=tuple(r for r in usable if not r.mounting or r.mounting == chosen),
        left_out=(*unusable, *other),
        mounting=chosen,
    )


def why_not_alike(one: RunSelection, other: RunSelection) -> str:
    """Why figures from two versions' runs may not be compared; empty when they may."""
    if not one.mounting or not other.mounting or one.mounting == other.mounting:
        return ""
    ours, theirs = (MOUNTINGS.get(m, m) for m in (one.mounting, other.mounting))
    return f"The impedance was measured {ours} and {theirs}; the air that moves along differs"


def _why_unusable(run: TakeReadings) -> str:
    return run.excluded or next(v.text for v in run.verdicts if v.severity is Severity.BAD)
