"""How one figure is defined, read and compared, as a value."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from halfroll.core.text import format_band, format_stated
from halfroll.figures.types import FigureSettings, LimitRule, Reading
from halfroll.figures.view import TakeView

Better = Literal["higher", "lower", "neither"]
DifferenceUnit = Literal["dB", "octaves", "points", "ohm", "percent"]
Group = Literal["Level and range", "Distortion", "Impedance and parameters"]
Kind = Literal["take", "impedance", "tones"]

GROUPS: tuple[Group, ...] = ("Level and range", "Distortion", "Impedance and parameters")
"""Headings under which figures stand in tables, in their order."""
SpaceRule = Literal["same space", "same mounting", "any"]

LIMIT_TEXT: dict[LimitRule, str] = {
    "effective": "10 dB below the best one-octave mean (effective range)",
    "minus_10": "10 dB below the mean level in {sensitivity_band}",
    "minus_6": "6 dB below the mean level in {sensitivity_band}",
    "minus_3": "3 dB below the mean level in {sensitivity_band}",
}


@dataclass(frozen=True, kw_only=True)
class FigureRule:
    """How one figure is defined, read and compared.

    Parameters
    ----------
    key, label, unit
        Name for machines, name for people, unit.
    definition
        The rule in words; braces stand for settings (see `text`).
    source
        Where the rule comes from.
    better
        Which direction is the better one.
    difference
        Unit in which two versions differ.
    more, less
        What a larger and a smaller value are called.
    microphone_db, voltage_db, current_db
        Decibels (or, outside dB, decibels of relative change) by which the figure moves per decibel of error in
        the microphone's, the voltage's and the current's scale.
    room_shared
        Whether the room moves the figure alike for two versions measured in the same place; not so where the figure
        is a frequency, because the room differs from frequency to frequency.
    level_matters
        Whether takes at different drive may not be compared.
    space
        Which conditions of mounting and space must agree.
    headline
        Whether it stands in the overview.
    read
        Reads it from a take; None where it comes from runs.
    of
        What it is read from: takes, or a kind of run.
    group
        Heading under which it stands in tables.
    """

    key: str
    label: str
    unit: str
    definition: str
    source: str
    better: Better
    difference: DifferenceUnit
    read: Callable[[TakeView], Reading] | None = None
    of: Kind = "take"
    group: Group = "Level and range"
    more: str = "higher"
    less: str = "lower"
    microphone_db: float = 0.0
    voltage_db: float = 0.0
    current_db: float = 0.0
    room_shared: bool = True
    level_matters: bool = False
    space: SpaceRule = "same space"
    headline: bool = False

    @property
    def relative(self) -> bool:
        """Whether spreads of several versions are pooled relative to the value: with every unit but the decibel."""
        return self.unit != "dB"

    @property
    def noun(self) -> str:
        """What it is read from, as a word that is counted."""
        return "take" if self.of == "take" else "run"

    def text(self, settings: FigureSettings) -> str:
        """The rule in words with the settings filled in."""
        bands = {
            "sensitivity_band": format_band(settings.sensitivity_band_hz),
            "distortion_band": format_band(settings.distortion_band_hz),
        }
        return self.definition.format(
            **bands,
            limit=LIMIT_TEXT[settings.limit_rule].format(**bands),
            reference="total pressure" if settings.thd_reference == "total" else "fundamental",
            level=format_stated(settings.level_w, "W"),
        )
