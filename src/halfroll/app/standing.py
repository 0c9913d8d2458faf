"""Where a version stands: its figures at the workshop's settings, what they rest on, and what speaks against them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from halfroll.compare.compare import compare
from halfroll.compare.gather import published_figures
from halfroll.compare.select import Selection, select_takes
from halfroll.compare.types import Column, VersionInput
from halfroll.core.text import count, format_stated, join_words
from halfroll.core.uncertainty import Sources
from halfroll.core.verdicts import Severity, worst
from halfroll.figures.combine import combine, published_figure
from halfroll.figures.rules import HEADLINES, RULE
from halfroll.figures.types import Figure, FigureSettings, TakeReadings
from halfroll.workshop import VersionLine

State = Literal["measured", "predicted", "published", "waiting", "built", "open"]

STATES = {
    "measured": "measured",
    "predicted": "only predicted",
    "published": "from a printed table",
    "waiting": "not analysed yet",
    "built": "built, not measured",
    "open": "not built",
}


@dataclass(frozen=True, kw_only=True)
class Standing:
    """A version in the overview: headline figures by key, state, what they rest on, and takes that need a look."""

    figures: dict[str, Figure]
    state: State
    evidence: str
    not_used: int
    cautioned: int

    @property
    def warning(self) -> str:
        """What needs a look, in a few words; empty when nothing does."""
        parts = [f"{count(self.not_used, 'take')} not used"] if self.not_used else []
        parts += [f"{count(self.cautioned, 'take')} with cautions"] if self.cautioned else []
        return join_words(parts)


def input_of(line: VersionLine, driver_title: str) -> VersionInput:
    """A version of the overview as it enters figures and comparisons."""
    record = line.record
    return VersionInput(
        version_id=line.version_id,
        title=record.title or line.version_id.rpartition("/")[2],
        driver_title=driver_title,
        parent=line.parent,
        rated_impedance_ohm=record.rated_impedance_ohm,
        rated_power_w=record.rated_power_w,
        takes=line.readings or tuple(one for one in line.predicted if one.kind == "take"),
        runs=tuple(one for one in line.predicted if one.kind != "take"),
        published={} if record.published is None else published_figures(record.published),
        published_source="" if record.published is None else record.published.source,
        origin="" if record.origin is None else record.origin.said,
    )


def headline(line: VersionLine, driver_title: str, settings: FigureSettings) -> Standing:
    """The headline figures alone: two thousand takes are looked through in well under a second."""
    version = input_of(line, driver_title)
    selection = select_takes(version, settings, None)
    used = selection.takes
    sources = Sources()
    figures = {
        key: combine(RULE[key], used, settings, version_id=line.version_id, sources=sources).figure
        for key in HEADLINES
    }
    if not version.takes:
        for key in set(version.published) & set(HEADLINES):
            value, u = version.published[key]
            figures[key] = published_figure(
                RULE[key],
                value,
                u,
                where=version.published_source,
                version_id=line.version_id,
                sources=sources,
            ).figure
    return Standing(
        figures=figures,
        state=_state(line),
        evidence=evidence(line, selection, settings),
        not_used=sum(not take.usable for take in line.readings),
        cautioned=sum(take.usable and worst(take.verdicts) >= Severity.CAUTION for take in line.readings),
    )


def whole(
    line: VersionLine, driver_title: str, settings: FigureSettings, runs: Sequence[TakeReadings] = ()
) -> Column:
    """All figures of a version, those of its runs too, with what must be said about them."""
    version = input_of(line, driver_title)
    version = replace(version, runs=tuple(runs) or version.runs)
    return compare([version], settings).columns[0]


def evidence(
    line: VersionLine, selection: Selection | None = None, settings: FigureSettings | None = None
) -> str:
    """What there is of a version: "3 units, 18 takes", with a selection "3 units, 9 of 18 takes at 1 W"."""
    takes = len(line.readings) + len(line.pending)
    if takes == 0 and line.predicted:
        return (
            f"{count(len(line.units), 'unit')} built, none measured"
            if line.units
            else "from its design, not built"
        )
    if takes == 0 and line.record.published is not None:
        return line.record.published.source
    units = count(len(line.units), "unit")
    if selection is None or settings is None or len(selection.takes) in (0, takes):
        return f"{units}, {count(takes, 'take')}"
    at_level = selection.level_db is not None and abs(selection.level_db) <= settings.level_tolerance_db
    level = f"at {format_stated(settings.level_w, 'W')}" if at_level else "used"
    return f"{units}, {len(selection.takes)} of {count(takes, 'take')} {level}"


def _state(line: VersionLine) -> State:
    sources: Sequence[TakeReadings] = line.readings
    if sources:
        return "predicted" if all(take.source == "predicted" for take in sources) else "measured"
    if line.pending:
        return "waiting"
    if line.predicted:
        return "predicted"
    if line.record.published is not None:
        return "published"
    return "built" if line.units else "open"
