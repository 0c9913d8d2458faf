"""From readings of takes to figures of a version, with the uncertainty that belongs to the version.

Combined per JCGM 100:2008: the scatter of takes and units, the scales of the rig, and the room. What two versions
share, their rig and their place, is the same source in both, so that it cancels in their difference.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from halfroll.core.levels import DB_OF_RELATIVE
from halfroll.core.text import count
from halfroll.core.uncertainty import Quantity, Sources
from halfroll.figures.rules import RULES, FigureRule
from halfroll.figures.shared import Counted, calibration, fixed, room
from halfroll.figures.spread import PooledSpread, TwoLevel, two_level
from halfroll.figures.types import Figure, FigureSettings, Known, TakeReadings


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """A figure and the same as a quantity that knows its sources; `quantity` is None where `figure.u` is."""

    figure: Figure
    quantity: Quantity | None = None


def version_figures(
    takes: Sequence[TakeReadings],
    settings: FigureSettings,
    *,
    version_id: str = "",
    sources: Sources | None = None,
    pooled: Mapping[str, PooledSpread] | None = None,
) -> dict[str, Estimate]:
    """All figures of one version from the takes that count, by figure key.

    Parameters
    ----------
    takes
        Readings of the takes selected, of any number of units.
    sources
        Shared by all versions that are to be compared; a new one when left out.
    pooled
        Spread to use instead of the version's own, by figure key.
    """
    shared = Sources() if sources is None else sources
    return {
        rule.key: combine(
            rule, takes, settings, version_id=version_id, sources=shared, pooled=(pooled or {}).get(rule.key)
        )
        for rule in RULES
    }


def combine(
    rule: FigureRule,
    takes: Sequence[TakeReadings],
    settings: FigureSettings,
    *,
    version_id: str,
    sources: Sources,
    pooled: PooledSpread | None = None,
) -> Estimate:
    """One figure of one version; of `takes` only those of the figure's kind count."""
    takes = [t for t in takes if t.kind == rule.of]
    blank = Figure(key=rule.key, label=rule.label, unit=rule.unit, rule=rule.text(settings))
    having = [t for t in takes if _value(t, rule) is not None]
    if not having:
        source = takes[0].source if takes else blank.source
        return Estimate(figure=replace(blank, source=source, missing=_why_missing(rule, takes)))
    level, counted = _weighed(rule, having)
    bounds = {c.reading.bound for c in counted if c.reading.bound is not None}
    if len(bounds) > 1:
        return Estimate(
            figure=replace(blank, missing="Some takes give only an upper, others only a lower bound.")
        )
    computed = counted[0].take.source == "predicted"
    figure = replace(
        blank,
        value=level.mean,
        bound=next(iter(bounds), None),
        spread_within=level.within,
        spread_between=level.between,
        n_units=0 if computed else level.n_units,
        n_takes=0 if computed else len(counted),
        spread="none" if computed else _known(level),
        at_hz=_mean_frequency(counted),
        conditions=_conditions(counted),
        source=counted[0].take.source,
        cautions=_cautions(counted, sum(rule.key in t.readings for t in takes)),
        from_takes=tuple(c.take.take_id for c in counted),
        unit_means=tuple(level.unit_means.items()),
    )
    if figure.bound is not None:
        return Estimate(figure=figure)
    return _with_uncertainty(figure, rule, level, counted, version_id, sources, pooled)


def published_figure(
    rule: FigureRule, value: float, u: float | None, *, where: str, version_id: str, sources: Sources
) -> Estimate:
    """A figure known only from a printed table; its uncertainty is what the table states, if it does."""
    figure = Figure(
        key=rule.key,
        label=rule.label,
        unit=rule.unit,
        value=value,
        u=u,
        dof=None if u is None else math.inf,
        rule="as published",
        source="published",
        conditions={"published": where},
    )
    if u is None:
        return Estimate(figure=figure)
    return Estimate(figure=figure, quantity=value + u * sources.source(("published", version_id, rule.key)))


def level_of(rule: FigureRule, takes: Iterable[TakeReadings]) -> TwoLevel | None:
    """Unit means and spreads of a figure; None when no take has it."""
    having = [t for t in takes if t.kind == rule.of and _value(t, rule) is not None]
    return _weighed(rule, having)[0] if having else None


def _with_uncertainty(
    figure: Figure,
    rule: FigureRule,
    level: TwoLevel,
    counted: Sequence[Counted],
    version_id: str,
    sources: Sources,
    pooled: PooledSpread | None,
) -> Estimate:
    if figure.source == "predicted":
        return _from_assumptions(figure, level.mean, counted, version_id, sources)
    unit_per_db = level.mean / DB_OF_RELATIVE if rule.relative else 1.0
    scales = calibration(rule, counted, unit_per_db, sources)
    common = room(rule, counted, version_id, sources) + fixed(rule, counted, version_id, sources)
    figure = replace(figure, u_calibration=_std(scales))
    own = _own_spread(rule, level, counted, pooled)
    if own is None:
        return Estimate(figure=figure)
    u, dof, known = own
    estimate: Hashable = ("pooled", rule.key) if known == "pooled" else None
    spread = u * sources.source(("spread", version_id, rule.key), dof=dof, estimate=estimate)
    quantity = level.mean + spread + scales + common
    return Estimate(
        figure=replace(figure, u=_std(quantity), dof=sources.dof(quantity), spread=known), quantity=quantity
    )


def _from_assumptions(
    figure: Figure, mean: float, counted: Sequence[Counted], version_id: str, sources: Sources
) -> Estimate:
    """A predicted figure: each assumption is one source, the same in every version that rests on it."""
    if any(c.reading.u is None for c in counted):
        return Estimate(figure=figure)
    parts: dict[str, float] = {}
    rest = 0.0
    for c in counted:
        told = math.sqrt(sum(share**2 for _, share in c.reading.shares))
        rest += c.weight * math.sqrt(max((c.reading.u or 0.0) ** 2 - told**2, 0.0))
        for key, share in c.reading.shares:
            parts[key] = parts.get(key, 0.0) + c.weight * share
    if not parts and not rest:
        return Estimate(figure=figure)
    quantity = mean + sum(share * sources.source(("assumption", key)) for key, share in parts.items())
    if rest:
        quantity = quantity + rest * sources.source(("not told", version_id, figure.key))
    return Estimate(
        figure=replace(figure, u=_std(quantity), dof=math.inf, spread="assumptions"), quantity=quantity
    )


def _own_spread(
    rule: FigureRule, level: TwoLevel, counted: Sequence[Counted], pooled: PooledSpread | None
) -> tuple[float, float, Known] | None:
    """Uncertainty of the version's mean from scatter, its degrees of freedom and what it is known from.

    A single run has the uncertainty of its own fit, which speaks for that unit only; a single take has none.
    """
    if pooled is not None:
        return pooled.u_of_mean(level) * (abs(level.mean) if rule.relative else 1.0), pooled.dof, "pooled"
    if level.between is not None:
        return level.between / math.sqrt(level.n_units), level.n_units - 1, "known"
    if level.within is not None:
        return level.within / math.sqrt(level.counts[0]), level.within_dof, "one unit"
    reading = counted[0].reading
    if rule.of != "take" and reading.u is not None:
        return math.sqrt(max(reading.u**2 - reading.u_fixed**2, 0.0)), reading.dof or math.inf, "one unit"
    return None


def _value(take: TakeReadings, rule: FigureRule) -> float | None:
    reading = take.readings.get(rule.key)
    return None if reading is None else reading.value


def _weighed(rule: FigureRule, takes: Sequence[TakeReadings]) -> tuple[TwoLevel, list[Counted]]:
    """Spread of the takes that have the figure, and their weights: units weigh alike, and so do a unit's takes."""
    values: dict[str, list[float]] = {}
    counted = []
    for take in takes:
        reading = take.readings[rule.key]
        assert reading.value is not None
        values.setdefault(take.unit_id, []).append(reading.value)
        counted.append((take, reading, values[take.unit_id]))
    weighed = [
        Counted(take=take, reading=reading, weight=1.0 / (len(values) * len(siblings)))
        for take, reading, siblings in counted
    ]
    return two_level(values), weighed


def _known(level: TwoLevel) -> Known:
    if level.n_units > 1:
        return "known"
    return "one unit" if level.counts[0] > 1 else "one take"


def _mean_frequency(counted: Sequence[Counted]) -> float | None:
    """Geometric mean of the frequencies the readings belong to."""
    logs = [c.weight * math.log(c.reading.at_hz) for c in counted if c.reading.at_hz]
    return math.exp(sum(logs)) if len(logs) == len(counted) else None


def _cautions(counted: Sequence[Counted], n_takes: int) -> tuple[str, ...]:
    said = list(dict.fromkeys(text for c in counted for text in c.reading.cautions))
    bounded = sum(c.reading.bound is not None for c in counted)
    if 0 < bounded < len(counted):
        said.insert(
            0, f"{bounded} of {count(len(counted), 'take')} give only a bound, so the mean is a bound."
        )
    if len(counted) < n_takes:
        noun = "take" if counted[0].take.kind == "take" else "run"
        said.append(f"{len(counted)} of {count(n_takes, noun)} have this figure.")
    return tuple(said)


def _why_missing(rule: FigureRule, takes: Sequence[TakeReadings]) -> str:
    if not takes:
        return {"take": "No take counts.", "impedance": "No impedance was measured."}.get(
            rule.of, "Nothing was measured."
        )
    reasons = [t.readings[rule.key].missing for t in takes if rule.key in t.readings]
    return " ".join(dict.fromkeys(r for r in reasons if r)) or "Not read from these takes."


def _conditions(counted: Sequence[Counted]) -> dict[str, Any]:
    """Ranges of the conditions over the takes that counted; a single number where they agree."""
    takes = [c.take for c in counted]
    if takes[0].kind != "take":
        return {
            "drive_v": _range(t.conditions.drive_v for t in takes),
            "mounting": "/".join(sorted({t.mounting for t in takes if t.mounting})),
            "rig": "/".join(sorted({t.rig for t in takes if t.rig})),
        }
    return {
        "drive_w": _range(t.conditions.drive_w for t in takes),
        "distance_m": _range(t.conditions.distance_m for t in takes),
        "space": "/".join(sorted({str(t.conditions.space) for t in takes})),
        "rated_impedance_ohm": _range(t.conditions.rated_impedance_ohm for t in takes),
        "valid_from_hz": max(t.valid_from_hz for t in takes),
        "rig": "/".join(sorted({t.rig for t in takes})),
    }


def _range(values: Iterable[float | None]) -> float | list[float] | None:
    known = [v for v in values if v is not None]
    if not known:
        return None
    low, high = min(known), max(known)
    return low if math.isclose(low, high, rel_tol=1e-3) else [low, high]


def _std(quantity: Quantity) -> float:
    return float(getattr(quantity, "std_dev", 0.0))
