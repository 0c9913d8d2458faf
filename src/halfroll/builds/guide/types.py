"""An assembly guide: its steps, what is checked at each, and the cautions that belong to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from halfroll.builds.types import Band
from halfroll.core.verdicts import Verdict

if TYPE_CHECKING:
    from halfroll.motor.coil.wound import Coil
    from halfroll.motor.types import Assembly
    from halfroll.suspension.design import MovingDesign


@dataclass(frozen=True, kw_only=True)
class Caution:
    """A hazard at a step: what it is and what to do about it."""

    key: str
    text: str


@dataclass(frozen=True, kw_only=True)
class Check:
    """Something to measure or see.

    Parameters
    ----------
    key
        Key of a `Band` or of what is only seen (``polarity``, ``rub``, ``leak``).
    label, how
        What it is, and how it is read.
    good
        What is good, in words: ``6.4 to 6.8 Ω``, ``moves out``.
    if_not
        What to do when it is not.
    band
        The band; None where it is only seen or nothing is known.
    """

    key: str
    label: str
    how: str
    good: str
    if_not: str
    band: Band | None = None

    @property
    def unit(self) -> str:
        """Unit of the reading; empty of what is only seen."""
        return self.band.unit if self.band else ""


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step.

    Parameters
    ----------
    key
        A word by which ``guide.toml`` names it.
    parts, tools, text
        What is needed and what to do, line by line.
    checks, cautions
        What to measure here, and what can hurt here.
    last_chance
        What cannot be undone any more after this step; empty where everything can.
    drawn
        Names of what is put in its place here, bodies of the motor or moving parts, for the drawing.
    by_hand
        Whether ``guide.toml`` wrote it or rewrote it.
    """

    key: str
    title: str
    parts: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    text: tuple[str, ...] = ()
    checks: tuple[Check, ...] = ()
    cautions: tuple[Caution, ...] = ()
    last_chance: str = ""
    drawn: tuple[str, ...] = ()
    by_hand: bool = False


@dataclass(frozen=True, kw_only=True)
class Guide:
    """The assembly guide of a version: steps in order, all bands, what must be said, a note by hand; and what of the design can be drawn."""

    version_id: str
    title: str
    steps: tuple[Step, ...]
    bands: Mapping[str, Band] = field(default_factory=dict)
    note: str = ""
    verdicts: tuple[Verdict, ...] = ()
    assembly: Assembly | None = None
    coil: Coil | None = None
    moving: MovingDesign | None = None

    @property
    def checks(self) -> tuple[tuple[Step, Check], ...]:
        """All checks with their steps, in order."""
        return tuple((step, check) for step in self.steps for check in step.checks)
