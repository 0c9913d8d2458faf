"""Every figure of the trade in one table: its rule in words, its source, and how it is read from a take."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from halfroll.core.text import format_band, format_stated
from halfroll.figures.distortion import read_order, read_thd_mean, read_thd_worst
from halfroll.figures.extension import read_lower_limit, read_upper_limit
from halfroll.figures.impedance import read_impedance_minimum, read_resonance
from halfroll.figures.levels import read_max_level, read_sensitivity, read_sensitivity_2v83
from halfroll.figures.types import FigureSettings, LimitRule, Reading
from halfroll.figures.view import TakeView

Better = Literal["higher", "lower", "neither"]
DifferenceUnit = Literal["dB", "octaves", "points", "ohm"]
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
    microphone_db, voltage_db
        Decibels (or, outside dB, decibels of relative change) by which the figure moves per decibel of error in
        the microphone's and the voltage's scale.
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
        Reads it from a take.
    """

    key: str
    label: str
    unit: str
    definition: str
    source: str
    better: Better
    difference: DifferenceUnit
    read: Callable[[TakeView], Reading]
    more: str = "higher"
    less: str = "lower"
    microphone_db: float = 0.0
    voltage_db: float = 0.0
    room_shared: bool = True
    level_matters: bool = False
    space: SpaceRule = "same space"
    headline: bool = False

    @property
    def relative(self) -> bool:
        """Whether spreads of several versions are pooled relative to the value: with every unit but the decibel."""
        return self.unit != "dB"

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


_LEVEL = "Power mean on a logarithmic frequency grid over {sensitivity_band}"
_TROUGHS = "crossing interpolated in lg f against dB; troughs narrower than 1/9 octave ignored"
_ORDER_NAMES = {2: "2nd", 3: "3rd", 4: "4th", 5: "5th"}


def _order_rule(order: int) -> FigureRule:
    return FigureRule(
        key=f"h{order}_percent",
        label=f"{_ORDER_NAMES[order]} harmonic",
        unit="%",
        definition=f"Mean of the {_ORDER_NAMES[order]} harmonic over {{reference}} in {{distortion_band}}, every "
        "octave weighing the same, at {level} into the rated impedance",
        source="IEC 60268-5 cl. 24.2 (clause from memory); the mean over a band is common practice",
        better="lower",
        difference="points",
        read=read_order(order),
        level_matters=True,
    )


RULES: tuple[FigureRule, ...] = (
    FigureRule(
        key="sensitivity_db",
        label="Sensitivity",
        unit="dB",
        definition=_LEVEL + ", at 1 m and 1 W into the rated impedance, re 20 µPa",
        source="IEC 60268-5 cl. 20.3, 20.4 (secondary transcription); power mean cl. 20.6 (from memory)",
        better="higher",
        difference="dB",
        read=read_sensitivity,
        microphone_db=1.0,
        voltage_db=-1.0,
        headline=True,
    ),
    FigureRule(
        key="sensitivity_2v83_db",
        label="Level at 2.83 V",
        unit="dB",
        definition=_LEVEL + ", at 1 m and 2.83 V, re 20 µPa; 1 W only for 8 ohm",
        source="Common practice; 2.83 V is 1 W into 8 ohm",
        better="higher",
        difference="dB",
        read=read_sensitivity_2v83,
        microphone_db=1.0,
        voltage_db=-1.0,
    ),
    FigureRule(
        key="lower_limit_hz",
        label="Lower limit",
        unit="Hz",
        definition="Where the level falls {limit}, " + _TROUGHS,
        source="IEC 60268-5 cl. 21.2 (secondary transcription) for the effective range, with the octave placed where "
        "its mean is highest; fixed drops are common practice",
        better="lower",
        difference="octaves",
        read=read_lower_limit,
        more="higher",
        less="deeper",
        room_shared=False,
        headline=True,
    ),
    FigureRule(
        key="upper_limit_hz",
        label="Upper limit",
        unit="Hz",
        definition="Where the level falls {limit} at the upper end, " + _TROUGHS,
        source="As the lower limit",
        better="higher",
        difference="octaves",
        read=read_upper_limit,
        room_shared=False,
    ),
    FigureRule(
        key="thd_mean_percent",
        label="Mean distortion",
        unit="%",
        definition="Mean of THD over {reference} in {distortion_band}, every octave weighing the same, at {level} into "
        "the rated impedance",
        source="IEC 60268-5 cl. 24.1 (formula from memory); the mean over a band is common practice",
        better="lower",
        difference="points",
        read=read_thd_mean,
        level_matters=True,
        headline=True,
    ),
    FigureRule(
        key="thd_worst_percent",
        label="Worst distortion",
        unit="%",
        definition="Highest THD over {reference} in {distortion_band}, at {level} into the rated impedance",
        source="IEC 60268-5 cl. 24.1 (formula from memory); the highest value in a band is common practice",
        better="lower",
        difference="points",
        read=read_thd_worst,
        room_shared=False,
        level_matters=True,
    ),
    *(_order_rule(order) for order in _ORDER_NAMES),
    FigureRule(
        key="max_level_db",
        label="Maximum level",
        unit="dB",
        definition="Sensitivity plus 10 lg of the rated power in watts; heat only, excursion may set in earlier",
        source="Common practice",
        better="higher",
        difference="dB",
        read=read_max_level,
        microphone_db=1.0,
        voltage_db=-1.0,
        headline=True,
    ),
    FigureRule(
        key="resonance_hz",
        label="Resonance",
        unit="Hz",
        definition="Lowest frequency at which the modulus of the impedance has its principal maximum",
        source="IEC 60268-5 cl. 19.2 (wording from memory)",
        better="neither",
        difference="octaves",
        read=read_resonance,
        space="same mounting",
    ),
    FigureRule(
        key="impedance_min_ohm",
        label="Impedance minimum",
        unit="ohm",
        definition="Lowest modulus of the impedance in the measured range; must be at least 80 % of the rated impedance",
        source="IEC 60268-5 cl. 16.1 (secondary transcription)",
        better="neither",
        difference="ohm",
        read=read_impedance_minimum,
        voltage_db=1.0,
        space="any",
    ),
)
"""All figures, in the order in which they are shown."""

RULE: dict[str, FigureRule] = {rule.key: rule for rule in RULES}

HEADLINES: tuple[str, ...] = tuple(rule.key for rule in RULES if rule.headline)
"""Keys of the figures in the overview."""

_INTRODUCTION = """# Figures

<!-- Made from the table of rules in halfroll.figures.rules; edit there. -->

Every figure has one definition, used for measured and for computed takes alike. The words below show the default
settings; bands, limit rule, reference of THD and drive level can be chosen and stand beside every number.

| figure | key | unit | rule | better | difference in | source |
| --- | --- | --- | --- | --- | --- | --- |
"""

_NOTES = """
## What every figure has in common

- **Weight.** Means weigh every octave the same: the grid has 48 points an octave.
- **Harmonics under the noise.** An order counts when its power is at least ten times the expected power of the noise.
  An order below gives only a 95 % upper limit. When such orders could raise THD by more than a tenth of its value and
  by more than 0.05 points, the value is shown as an upper bound, never as a result. A recording without silence has no
  known noise, so its distortion is a bound throughout.
- **Uncertainty.** The mean of a version is the mean of its units; its uncertainty comes from the scatter of the units'
  means (JCGM 100:2008, 4.2 and H.5), the rig's calibration and the room. One take gives "spread unknown", not zero;
  takes of one unit speak for that unit only.
- **Intervals.** 95 % intervals use Student's t with the effective degrees of freedom of Welch and Satterthwaite
  (JCGM 100:2008, G.4).
- **Differences.** A calibration or a place that two versions share cancels in their difference. A difference is claimed
  only when it is larger than its 95 % half-width.
"""


def docs_table(settings: FigureSettings | None = None) -> str:
    """The page docs/reference/figures.md: the table of rules and what all rules have in common, as Markdown."""
    chosen = FigureSettings() if settings is None else settings
    rows = [
        f"| {r.label} | `{r.key}` | {r.unit} | {r.text(chosen)} | {r.better} | {r.difference} | {r.source} |"
        for r in RULES
    ]
    return _INTRODUCTION + "\n".join(rows) + "\n" + _NOTES
