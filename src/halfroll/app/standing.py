"""Where a version stands: its figures at the workshop's settings, what they rest on, and what speaks against them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from halfroll.compare.compare import compare
from halfroll.compare.gather import published_figures
from halfroll.compare.select import select_takes
from halfroll.compare.types import Column, VersionInput
from halfroll.core.text import count, join_words
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
    """A version in the overview: headline figures by key, state, and takes that need a look."""

    figures: dict[str, Figure]
    state: State
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
        takes=line.readings,
        published={} if record.published is None else published_figures(record.published),
        published_source="" if record.published is None else record.published.source,
    )


def headline(line: VersionLine, driver_title: str, settings: FigureSettings) -> Standing:
    """The headline figures alone: two thousand takes are looked through in well under a second."""
    version = input_of(line, driver_title)
    used = select_takes(version, settings, None).takes
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
        not_used=sum(not take.usable for take in line.readings),
        cautioned=sum(take.usable and worst(take.verdicts) >= Severity.CAUTION for take in line.readings),
    )


def whole(line: VersionLine, driver_title: str, settings: FigureSettings) -> Column:
    """All figures of a version with what must be said about them."""
    return compare([input_of(line, driver_title)], settings).columns[0]


def evidence(line: VersionLine) -> str:
    """What there is of a version: "3 units, 18 takes"."""
    takes = len(line.readings) + len(line.pending)
    if takes == 0 and line.record.published is not None:
        return line.record.published.source
    return f"{count(len(line.units), 'unit')}, {count(takes, 'take')}"


def _state(line: VersionLine) -> State:
    sources: Sequence[TakeReadings] = line.readings
    if sources:
        return "predicted" if all(take.source == "predicted" for take in sources) else "measured"
    if line.pending:
        return "waiting"
    if line.record.published is not None:
        return "published"
    return "built" if line.units else "open"
