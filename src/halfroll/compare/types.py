"""Value objects of a comparison: what goes in for each version, and what comes out."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Verdict
from halfroll.figures.types import Bound, Figure, FigureSettings, Source, TakeReadings
from halfroll.workshop.paths import PREDICTED

BaseMode = Literal["parent", "best", "first", "chosen"]
Outcome = Literal["better", "worse", "higher", "lower", "not distinguishable", "unknown", "not comparable"]


@dataclass(frozen=True, kw_only=True)
class Change:
    """One thing that differs between a version and its parent: what, from, to, why."""

    what: str
    before: str = ""
    after: str = ""
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class VersionInput:
    """One version as it enters a comparison.

    Parameters
    ----------
    version_id
        ``driver/version``.
    takes
        Readings of all its takes, at all levels, usable or not.
    runs
        Readings of what was done on the bench besides takes: impedance, stepped tones.
    published
        Figures known only from a printed table, by figure key: (value, u or None); empty when measured.
    parent
        ``driver/version`` of the parent; None for a first version.
    not_predicted
        Why a version that was not measured is not predicted either, in words; empty where it is, or has no design.
    origin
        The release it was brought in from, in a few words; empty where it is the workshop's own.
    """

    version_id: str
    title: str
    driver_title: str
    parent: str | None = None
    date: str = ""
    summary: str = ""
    changes: tuple[Change, ...] = ()
    rated_impedance_ohm: float | None = None
    rated_power_w: float | None = None
    takes: tuple[TakeReadings, ...] = ()
    runs: tuple[TakeReadings, ...] = ()
    published: dict[str, tuple[float, float | None]] = field(default_factory=dict)
    published_source: str = ""
    not_predicted: str = ""
    origin: str = ""

    @property
    def name(self) -> str:
        """The version's own name in its id, such as ``v8``; ``v8 predicted`` where its prediction is meant."""
        return self.version_id.rpartition("/")[2].replace(PREDICTED, " predicted")

    @property
    def label(self) -> str:
        """Name and title, such as ``v8 Wide thin roll``."""
        return self.name if self.title in ("", self.name) else f"{self.name} {self.title}"


@dataclass(frozen=True, kw_only=True)
class Curve:
    """A curve over frequency with its uncertainty band.

    Parameters
    ----------
    frequency_hz, value
        Shape (n_f,).
    low, high
        Edges of the 95 % band of the version's mean, shape (n_f,); None when the spread is unknown.
    bound
        Mask (n_f,): the value is only an upper bound there (harmonics under the noise); None when nowhere.
    valid_from_hz
        Below this the curve contains the room or is not valid.
    """

    frequency_hz: FloatArray
    value: FloatArray
    low: FloatArray | None = None
    high: FloatArray | None = None
    bound: NDArray[np.bool_] | None = None
    valid_from_hz: float = 0.0
    valid_to_hz: float = float("inf")


@dataclass(frozen=True, kw_only=True)
class Column:
    """One version in the comparison: its figures, curves, conditions, and what was left out and why.

    `takes_left_out` names every take that does not count here with the reason, takes at other levels too;
    `takes_refused` only those a person should know of: unusable, excluded, or taken in another place. `runs_used` and
    `runs_left_out` say the same of runs.
    """

    version: VersionInput
    figures: dict[str, Figure]
    curves: dict[str, Curve] = field(default_factory=dict)
    takes_used: tuple[str, ...] = ()
    takes_left_out: tuple[tuple[str, str], ...] = ()
    takes_refused: tuple[str, ...] = ()
    runs_used: tuple[str, ...] = ()
    runs_left_out: tuple[tuple[str, str], ...] = ()
    cautions: tuple[Verdict, ...] = ()

    @property
    def source(self) -> Source:
        """Whether the column was measured, predicted from a design, or taken from a printed table."""
        if not self.takes_used and not self.runs_used and self.version.published:
            return "published"
        used = set(self.takes_used)
        found = {take.source for take in self.version.takes if take.take_id in used}
        return "predicted" if found == {"predicted"} else "measured"


@dataclass(frozen=True, kw_only=True)
class Difference:
    """The difference of one figure between a version and the base.

    `value` is version minus base in `unit`: ``dB``, ``octaves`` (log2 of version over base, so a deeper lower limit is
    negative), ``points`` (percentage points), ``ohm`` or ``percent`` (of the base). `expanded` is its 95 % half-width; `bound` says that the
    difference is at most (``upper``) or at least (``lower``) `value`; `outcome` says what may be claimed; `sentence` is
    the finding in words. `ratio` is version over base: of power for ``dB``, of the value for all others.
    """

    figure: str
    version_id: str
    base_id: str
    value: float | None
    unit: str
    u: float | None = None
    dof: float | None = None
    expanded: float | None = None
    bound: Bound | None = None
    ratio: float | None = None
    outcome: Outcome = "unknown"
    sentence: str = ""

    @property
    def claimed(self) -> bool:
        """Whether a difference may be claimed."""
        return self.outcome in ("better", "worse", "higher", "lower")

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "figure": self.figure,
            "version": self.version_id,
            "base": self.base_id,
            "value": self.value,
            "unit": self.unit,
            "u": self.u,
            "dof": None if self.dof is None or math.isinf(self.dof) else self.dof,
            "expanded_95": self.expanded,
            "bound": self.bound,
            "ratio": self.ratio,
            "outcome": self.outcome,
            "sentence": self.sentence,
        }


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Several versions, like for like.

    Parameters
    ----------
    columns
        In the order asked for.
    base_id
        The version all others are compared with; when `base_mode` is ``parent`` the first column, and every difference
        names its own base.
    base_mode
        ``parent``, ``best``, ``first``, or ``chosen``.
    differences
        For every version but the base and every figure.
    findings
        The sentences worth reading first, most important first.
    cautions
        Where the comparison would be unfair, and what else must be said.
    changes
        For each version but the base: what changed in the records between the two, along the line of parents.
    """

    columns: tuple[Column, ...]
    base_id: str
    differences: tuple[Difference, ...]
    findings: tuple[str, ...]
    cautions: tuple[Verdict, ...]
    settings: FigureSettings
    changes: dict[str, tuple[Change, ...]] = field(default_factory=dict)
    base_mode: BaseMode = "first"

    def column(self, version_id: str) -> Column:
        """The column of a version; KeyError when it is not in the comparison."""
        for column in self.columns:
            if column.version.version_id == version_id:
                return column
        raise KeyError(version_id)

    def difference(self, figure: str, version_id: str) -> Difference | None:
        """The difference of a figure between a version and the base; None for the base itself."""
        return next((d for d in self.differences if d.figure == figure and d.version_id == version_id), None)

    def as_dict(self) -> dict[str, Any]:
        """The machine interface's shape (curves left out; the charts carry them)."""
        return {
            "base": self.base_id,
            "base_mode": self.base_mode,
            "settings": self.settings.as_dict(),
            "findings": list(self.findings),
            "cautions": [c.as_dict() for c in self.cautions],
            "versions": [
                {
                    "id": c.version.version_id,
                    "title": c.version.title,
                    "driver": c.version.driver_title,
                    "parent": c.version.parent,
                    "source": c.source,
                    "figures": {k: f.as_dict() for k, f in c.figures.items()},
                    "takes_used": list(c.takes_used),
                    "takes_left_out": [{"take": t, "why": w} for t, w in c.takes_left_out],
                    "runs_used": list(c.runs_used),
                    "runs_left_out": [{"run": r, "why": w} for r, w in c.runs_left_out],
                    "cautions": [v.as_dict() for v in c.cautions],
                }
                for c in self.columns
            ],
            "differences": [d.as_dict() for d in self.differences],
            "changes": {k: [vars(c) for c in v] for k, v in self.changes.items()},
        }
