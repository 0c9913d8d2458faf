"""Every figure of the trade in one table: its rule in words, its source, and how it is read from a take."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from halfroll.figures.distortion import read_order, read_thd_mean, read_thd_worst
from halfroll.figures.extension import read_lower_limit, read_upper_limit
from halfroll.figures.impedance import read_impedance_minimum, read_resonance
from halfroll.figures.levels import read_max_level, read_sensitivity, read_sensitivity_2v83
from halfroll.figures.parameters import PARAMETER_RULES
from halfroll.figures.residue import read_residue_worst
from halfroll.figures.rule import GROUPS as GROUPS
from halfroll.figures.rule import LIMIT_TEXT as LIMIT_TEXT
from halfroll.figures.rule import DifferenceUnit as DifferenceUnit
from halfroll.figures.rule import FigureRule as FigureRule
from halfroll.figures.tones import TONES_RULES
from halfroll.figures.types import Figure, FigureSettings

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
        group="Distortion",
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
        group="Distortion",
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
        group="Distortion",
        room_shared=False,
        level_matters=True,
    ),
    *(_order_rule(order) for order in _ORDER_NAMES),
    FigureRule(
        key="residue_db",
        label="Above the harmonics",
        unit="dB",
        definition="Highest r.m.s. of the orders from 12 up re the fundamental in {distortion_band}, over a third of an "
        "octave and no fewer than 8 cycles, noise taken off, at {level} into the rated impedance",
        source="Own definition, after the impulsive distortion of IEC 60268-21 (from memory)",
        better="lower",
        difference="dB",
        read=read_residue_worst,
        group="Distortion",
        room_shared=False,
        level_matters=True,
    ),
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
        group="Impedance and parameters",
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
        group="Impedance and parameters",
        voltage_db=1.0,
        current_db=-1.0,
        space="any",
    ),
    *TONES_RULES,
    *PARAMETER_RULES,
)
"""All figures, in the order in which they are shown."""

RULE: dict[str, FigureRule] = {rule.key: rule for rule in RULES}

HEADLINES: tuple[str, ...] = tuple(rule.key for rule in RULES if rule.headline)
"""Keys of the figures in the overview."""


def told_of(
    figures: Iterable[Mapping[str, Figure]], kinds: Collection[str] = ()
) -> dict[str, list[FigureRule]]:
    """The rules worth a row in a table of some versions' figures, by their heading, in the order of `GROUPS`.

    A figure that comes from runs is left out when no version has a value or, among `kinds`, a run of its kind; one that
    could not be read stays, for it says why.
    """
    versions = list(figures)
    there = [
        rule
        for rule in RULES
        if rule.of in ("take", *kinds)
        or any(v[rule.key].value is not None for v in versions if rule.key in v)
    ]
    return {group: rules for group in GROUPS if (rules := [rule for rule in there if rule.group == group])}


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
