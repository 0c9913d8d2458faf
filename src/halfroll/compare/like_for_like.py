"""Where a comparison would be unfair: conditions, evidence and recordings that are not alike."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from halfroll.compare.drift import drift_cautions
from halfroll.compare.outliers import outlier_cautions
from halfroll.compare.runs import RunSelection
from halfroll.compare.select import Place, Selection
from halfroll.compare.types import VersionInput
from halfroll.core.errors import RefusedError
from halfroll.core.text import THIN, count, format_band, format_stated, format_value, join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.types import FigureSettings, Spread, TakeReadings
from halfroll.measure.analysis.normalise import require_comparable, voltage_step_db

GATE_RATIO = 2.0 ** (1.0 / 3.0)
"""Validity limits further apart than a third of an octave are unlike."""

SWEEP_RATIO = 2.0 ** (1.0 / 3.0)

TEMPERATURE_STEP_C = 10.0
"""Printed soft parts change their stiffness noticeably over this many kelvin."""

ENOUGH_UNITS = 3

SAME_DRIVE_DB = 0.05
"""1 W and 2.83 V closer than this are one drive."""


@dataclass(frozen=True, kw_only=True)
class Entry:
    """A version with the takes and runs that were selected and what it is called."""

    version: VersionInput
    selection: Selection
    name: str
    runs: RunSelection = field(default_factory=RunSelection)

    @property
    def takes(self) -> tuple[TakeReadings, ...]:
        """The takes that count."""
        return self.selection.takes


def column_cautions(entry: Entry, spread: Spread = "own") -> tuple[Verdict, ...]:
    """What must be said about one version by itself, when spreads are each version's own or pooled."""
    if not entry.version.takes:
        return _published(entry)
    if entry.takes and all(take.source == "predicted" for take in entry.takes):
        return (*entry.selection.cautions, *_left_out(entry), *_one_watt(entry), *_predicted(entry))
    return (
        *entry.selection.cautions,
        *_elsewhere(entry),
        *_left_out(entry),
        *_one_watt(entry),
        *_few_units(entry, spread),
        *_rigs_within(entry),
        *outlier_cautions(entry.version, entry.name),
        *drift_cautions(entry.version, entry.name),
        *_temperature([entry]),
        *_gates([entry]),
    )


def comparison_cautions(entries: Sequence[Entry], settings: FigureSettings) -> tuple[Verdict, ...]:
    """What must be said about the versions beside each other."""
    measured = [e for e in entries if e.takes]
    if len(measured) < 2:
        return ()
    return (
        *_spaces(measured),
        *_distances(measured),
        *_levels(measured, settings),
        *_sweeps(measured, settings),
        *_gates(measured),
        *_rigs_between(measured),
        *_temperature(measured),
    )


def why_not_comparable(one: Place | None, other: Place | None) -> str:
    """Why levels in two places may not be compared; empty when they may, or when a place is unknown."""
    if one is None or other is None:
        return ""
    try:
        require_comparable(one.space, other.space)
    except RefusedError as refusal:
        return refusal.message
    return ""


def same_level(one: Selection, other: Selection, settings: FigureSettings) -> bool:
    """Whether two selections were driven alike, within twice the tolerance; unknown levels count as alike."""
    if one.level_db is None or other.level_db is None:
        return True
    return abs(one.level_db - other.level_db) <= 2.0 * settings.level_tolerance_db


def _elsewhere(entry: Entry) -> tuple[Verdict, ...]:
    """Takes that came with somebody else's release."""
    if not entry.version.origin:
        return ()
    text = f"{entry.name} was measured elsewhere: its takes came with {entry.version.origin}. Rigs, rooms and their calibrations are its maker's."
    return (Verdict(code="measured-elsewhere", severity=Severity.NOTE, text=text),)


def _published(entry: Entry) -> tuple[Verdict, ...]:
    if entry.version.runs and not entry.version.published:
        return ()
    if not (entry.version.published or entry.version.published_source):
        why = entry.version.not_predicted
        text = f"{entry.name} has no take yet" + (f", and could not be predicted. {why}" if why else ".")
        return (
            Verdict(
                code="no-takes",
                severity=Severity.CAUTION,
                text=text,
                remedy="Import a take of one of its units.",
            ),
        )
    where = f" ({entry.version.published_source})" if entry.version.published_source else ""
    text = f"{entry.name} is known only from published figures{where}; their conditions and rules may differ."
    return (Verdict(code="published-only", severity=Severity.CAUTION, text=text),)


def _predicted(entry: Entry) -> tuple[Verdict, ...]:
    """That nothing was measured, and what is said of the computed takes themselves."""
    text = f"{entry.name}: every figure is predicted, none was measured; the intervals come from what was assumed."
    own = [v for take in entry.takes for v in take.verdicts if v.severity >= Severity.CAUTION]
    return (
        Verdict(
            code="predicted-figures", severity=Severity.NOTE, text=text, remedy="Build it and measure it; then compare it with its prediction."
        ),
        *own,
    )  # fmt: skip


def _left_out(entry: Entry) -> tuple[Verdict, ...]:
    """Takes that do not count for a reason a person should know of, with the reasons."""
    dropped = dict(entry.selection.notable)
    if not dropped:
        return ()
    reasons = " ".join(dict.fromkeys(dropped.values()))
    verb = "does" if len(dropped) == 1 else "do"
    text = f"{entry.name}: {len(dropped)} of {count(len(entry.version.takes), 'take')} {verb} not count. {reasons}"
    return (Verdict(code="takes-left-out", severity=Severity.CAUTION, text=text, data={"takes": dropped}),)


def _one_watt(entry: Entry) -> tuple[Verdict, ...]:
    """Where 1 W and 2.83 V are different drives, and by how much the level at 2.83 V flatters or hides."""
    rated = entry.version.rated_impedance_ohm
    if rated is None or abs(step := voltage_step_db(rated)) < SAME_DRIVE_DB:
        return ()
    text = (
        f"{entry.name} is rated {format_stated(rated, 'ohm')}: at 2.83 V it gets "
        f"{format_stated(round(8.0 / rated, 2), 'W')}, so its level at 2.83 V lies {format_value(abs(step), 0.5, 'dB', digits=1)} "
        f"{'above' if step > 0 else 'below'} that at 1 W."
    )
    return (Verdict(code="one-watt", severity=Severity.CAUTION, text=text, remedy="Compare at 1 W."),)


def _few_units(entry: Entry, spread: Spread) -> tuple[Verdict, ...]:
    units = {t.unit_id for t in entry.takes}
    if not units or len(units) >= ENOUGH_UNITS or entry.takes[0].source == "predicted":
        return ()
    evidence = "one take" if len(entry.takes) == 1 else count(len(units), "unit")
    severity = Severity.CAUTION if len(units) == 1 else Severity.NOTE
    if spread == "pooled":
        told, severity = "its spread is taken from all versions together", Severity.NOTE
    elif len(units) > 1:
        told = "its intervals are wide"
    else:
        told = (
            "its spread is unknown, not zero"
            if len(entry.takes) == 1
            else "the spread between units is unknown"
        )
    return (
        Verdict(
            code="few-units",
            severity=severity,
            text=f"{entry.name}: {evidence}; {told}.",
            remedy=f"Measure {ENOUGH_UNITS} units or more.",
            data={"units": len(units), "takes": len(entry.takes)},
        ),
    )


def _rigs_within(entry: Entry) -> tuple[Verdict, ...]:
    rigs = sorted({t.rig for t in entry.takes})
    if len(rigs) < 2:
        return ()
    text = f"{entry.name} was measured on several rigs ({join_words(rigs)}); their calibrations differ."
    return (Verdict(code="rigs-mixed", severity=Severity.CAUTION, text=text, data={"rigs": rigs}),)


def _rigs_between(entries: Sequence[Entry]) -> tuple[Verdict, ...]:
    """Versions on unlike rigs, or on one rig as it was calibrated at different times."""
    measured = [e for e in entries if e.takes[0].source == "measured"]
    by_rig: dict[str, set[str]] = {}
    for take in (take for e in measured for take in e.takes):
        by_rig.setdefault(take.rig, set()).add(take.calibration_dates[0])

    def name_of(take: TakeReadings) -> str:
        date = take.calibration_dates[0] or "an unknown day"
        return take.rig if len(by_rig[take.rig]) < 2 else f"{take.rig} as calibrated on {date}"

    rigs = {e.name: sorted({name_of(t) for t in e.takes}) for e in measured}
    if len({tuple(r) for r in rigs.values()}) < 2:
        return ()
    text = "Not all versions were measured on the same rig and calibration, so that does not cancel between them: "
    return (_unlike("rig-differs", text, {name: join_words(r) for name, r in rigs.items()}, Severity.NOTE),)


def _spaces(entries: Sequence[Entry]) -> tuple[Verdict, ...]:
    spaces = {e.name: str(e.selection.place.space) for e in entries if e.selection.place}
    if len(set(spaces.values())) < 2:
        return ()
    return (_unlike("space-differs", "Radiation spaces differ: ", spaces),)


def _distances(entries: Sequence[Entry]) -> tuple[Verdict, ...]:
    distances = {e.name: e.selection.place.distance_m for e in entries if e.selection.place}
    if len(set(distances.values())) < 2:
        return ()
    shown = {name: f"{d:g}{THIN}m" for name, d in distances.items()}
    return (_unlike("distance-differs", "Distances differ; levels are referred to 1 m: ", shown),)


def _levels(entries: Sequence[Entry], settings: FigureSettings) -> tuple[Verdict, ...]:
    powers = {
        e.name: settings.level_w * 10.0 ** (e.selection.level_db / 10.0)
        for e in entries
        if e.selection.level_db is not None
    }
    if not powers or max(powers.values()) <= min(powers.values()) * 10.0 ** (
        settings.level_tolerance_db / 5.0
    ):
        return ()
    shown = {name: format_value(power, None, "W") for name, power in powers.items()}
    return (_unlike("level-differs", "Drive levels differ, so distortion is not compared: ", shown),)


def _sweeps(entries: Sequence[Entry], settings: FigureSettings) -> tuple[Verdict, ...]:
    """Sweeps that start or end at unlike frequencies inside a band that figures use."""
    low = min(settings.distortion_band_hz[0], settings.sensitivity_band_hz[0])
    high = max(settings.distortion_band_hz[1], settings.sensitivity_band_hz[1])
    covered = {}
    for e in entries:
        known = [t.valid_hz for t in e.takes if t.valid_hz is not None]
        if known:
            covered[e.name] = (max(max(v[0] for v in known), low), min(min(v[1] for v in known), high))
    lows, highs = [v[0] for v in covered.values()], [v[1] for v in covered.values()]
    if not covered or (max(lows) <= SWEEP_RATIO * min(lows) and max(highs) <= SWEEP_RATIO * min(highs)):
        return ()
    shown = {name: format_band(band) for name, band in covered.items()}
    return (_unlike("sweep-differs", "Sweeps cover unlike parts of the bands: ", shown),)


def _gates(entries: Sequence[Entry]) -> tuple[Verdict, ...]:
    limits = {e.name: [t.valid_from_hz for t in e.takes] for e in entries if e.takes}
    flat = [limit for group in limits.values() for limit in group]
    if not flat or max(flat) <= GATE_RATIO * max(min(flat), 1.0):
        return ()
    if len(entries) > 1 and len({round(max(group), 1) for group in limits.values()}) < 2:
        return ()  # unlike within each version, told there
    shown = {name: f"{max(group):.0f}{THIN}Hz" if max(group) else "nowhere" for name, group in limits.items()}
    if len(entries) == 1:
        (limit,) = shown.values()
        text = f"{entries[0].name}: some takes contain the room below {limit}, others do not."
        return (Verdict(code="gate-differs", severity=Severity.CAUTION, text=text),)
    text = "The room is in some measurements and not in others; it is in them below: "
    return (_unlike("gate-differs", text, shown),)


def _temperature(entries: Sequence[Entry]) -> tuple[Verdict, ...]:
    known = {
        e.name: [t.conditions.temperature_c for t in e.takes if t.conditions.temperature_c is not None]
        for e in entries
    }
    flat = [c for group in known.values() for c in group]
    if not flat or max(flat) - min(flat) < TEMPERATURE_STEP_C:
        return ()
    shown = {name: _degrees(group) for name, group in known.items() if group}
    text = "Air temperatures differ by 10 K or more; printed soft parts change with temperature: "
    return (_unlike("temperature-differs", text, shown),)


def _degrees(group: Sequence[float]) -> str:
    low, high = min(group), max(group)
    shown = f"{low:.0f}" if math.isclose(low, high, abs_tol=0.5) else f"{low:.0f} to {high:.0f}"
    return f"{shown}{THIN}°C"


def _unlike(
    code: str, text: str, by_name: Mapping[str, str], severity: Severity = Severity.CAUTION
) -> Verdict:
    """A caution that lists what each version has, versions with the same together."""
    groups: dict[str, list[str]] = {}
    for name, shown in by_name.items():
        groups.setdefault(shown, []).append(name)
    told = "; ".join(f"{join_words(names)} {shown}" for shown, names in groups.items())
    return Verdict(code=code, severity=severity, text=f"{text}{told}.", data=dict(by_name))
