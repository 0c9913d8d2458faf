"""Which takes of a version count in a comparison: usable, at the level asked for, in the place the others were taken."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from halfroll.compare.types import VersionInput
from halfroll.core.conditions import Space
from halfroll.core.text import THIN, format_stated, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.types import FigureSettings, TakeReadings


@dataclass(frozen=True, kw_only=True)
class Place:
    """Radiation space and distance of takes, the distance to two digits."""

    space: Space
    distance_m: float

    def __str__(self) -> str:
        return f"{self.space}, {self.distance_m:g}{THIN}m"


@dataclass(frozen=True, kw_only=True)
class Selection:
    """The takes of a version that count, those left out with the reason, and what must be said.

    `notable` are those among `left_out` that a person should know of: unusable, excluded or taken in another place; that
    takes at other levels and predictions of a measured version stand aside is as it should be. `level_db` is the mean drive re the level asked for (dB); None when the drive or the rated impedance is unknown.
    """

    takes: tuple[TakeReadings, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    notable: tuple[tuple[str, str], ...] = ()
    place: Place | None = None
    level_db: float | None = None
    cautions: tuple[Verdict, ...] = ()


def common_place(inputs: Sequence[VersionInput], settings: FigureSettings) -> Place | None:
    """The place in which most versions have usable takes at the level asked for; the one with most takes among equals."""
    versions: Counter[Place] = Counter()
    takes: Counter[Place] = Counter()
    for version in inputs:
        there = [place_of(t) for t in version.takes if t.usable and _at_level(t, settings)]
        versions.update(set(there))
        takes.update(there)
    return max(versions, key=lambda place: (versions[place], takes[place]), default=None)


def select_takes(version: VersionInput, settings: FigureSettings, place: Place | None) -> Selection:
    """Takes of one version: those at the level and in the place if there are any, else the nearest to that.

    Takes in one comparison column share one place and one level; everything else is left out and named.
    """
    measured = any(t.usable and t.source == "measured" for t in version.takes)
    unusable = [(t.take_id, _why_unusable(t)) for t in version.takes if not t.usable]
    beside = [t for t in version.takes if t.usable and measured and t.source == "predicted"]
    usable = [t for t in version.takes if t.usable and not (measured and t.source == "predicted")]
    aside = [(t.take_id, "Predicted; this version was measured.") for t in beside]
    if not usable:
        return Selection(left_out=tuple(unusable), notable=tuple(unusable))
    there, chosen = _best_group(usable, settings, place)
    ids = {t.take_id for t in chosen}
    elsewhere = [(t.take_id, f"Taken in another place ({p}).") for t in usable if (p := place_of(t)) != there]
    louder = [
        (t.take_id, _why_other_level(t, settings))
        for t in usable
        if t.take_id not in ids and place_of(t) == there
    ]
    level = _mean(level_re_db(t, settings) for t in chosen)
    return Selection(
        takes=tuple(chosen),
        left_out=(*unusable, *aside, *elsewhere, *louder),
        notable=(*unusable, *elsewhere),
        place=there,
        level_db=level,
        cautions=_level_caution(version, settings, level, chosen),
    )


def place_of(take: TakeReadings) -> Place:
    """Where a take was taken."""
    return Place(space=take.conditions.space, distance_m=float(f"{take.conditions.distance_m:.2g}"))


def level_re_db(take: TakeReadings, settings: FigureSettings) -> float | None:
    """Drive of a take over the level asked for (dB); None when drive or rated impedance is unknown."""
    power = take.conditions.drive_w
    return None if not power else 10.0 * math.log10(power / settings.level_w)


def _at_level(take: TakeReadings, settings: FigureSettings) -> bool:
    level = level_re_db(take, settings)
    return level is not None and abs(level) <= settings.level_tolerance_db


def _best_group(
    usable: Sequence[TakeReadings], settings: FigureSettings, place: Place | None
) -> tuple[Place, list[TakeReadings]]:
    """Takes of one place and one level: at the level first, in the place second, then nearest, then most takes."""
    groups: dict[tuple[Place, float], list[TakeReadings]] = {}
    for take in usable:
        groups.setdefault((place_of(take), _level_step(take, settings)), []).append(take)

    def rank(key: tuple[Place, float]) -> tuple[bool, bool, float, int]:
        return key[1] == 0.0, key[0] == place, -abs(key[1]), len(groups[key])

    best = max(groups, key=rank)
    return best[0], groups[best]


def _level_step(take: TakeReadings, settings: FigureSettings) -> float:
    """Level re the one asked for in steps of twice the tolerance, 0 within it; infinite when unknown."""
    level = level_re_db(take, settings)
    if level is None:
        return math.inf
    if abs(level) <= settings.level_tolerance_db:
        return 0.0
    step = 2.0 * settings.level_tolerance_db
    return math.copysign(max(1, round(abs(level) / step)) * step, level) if step else level


def _why_unusable(take: TakeReadings) -> str:
    return take.excluded or next(v.text for v in take.verdicts if v.severity is Severity.BAD)


def _why_other_level(take: TakeReadings, settings: FigureSettings) -> str:
    level = level_re_db(take, settings)
    if level is None:
        return "Its drive or the rated impedance is unknown."
    return f"Taken at another level ({format_value(settings.level_w * 10 ** (level / 10), None, 'W')})."


def _level_caution(
    version: VersionInput, settings: FigureSettings, level: float | None, chosen: Sequence[TakeReadings]
) -> tuple[Verdict, ...]:
    asked = format_stated(settings.level_w, "W")
    if level is None:
        text = f"{version.driver_title} {version.name}: the drive level is unknown; it is compared as if it were {asked}."
        remedy = "State the drive voltage of the takes and the rated impedance of the version."
        return (Verdict(code="level-unknown", severity=Severity.CAUTION, text=text, remedy=remedy),)
    if abs(level) <= settings.level_tolerance_db:
        return ()
    power = settings.level_w * 10.0 ** (level / 10.0)
    text = f"{version.driver_title} {version.name}: no usable take at {asked}; the nearest level, {format_value(power, None, 'W')}, is used."
    remedy = f"Take it at {asked}, or compare at a level that all versions have."
    data = {"level_w": power, "asked_w": settings.level_w, "takes": [t.take_id for t in chosen]}
    return (Verdict(code="level-nearest", severity=Severity.CAUTION, text=text, remedy=remedy, data=data),)


def _mean(values: Iterable[float | None]) -> float | None:
    known = [v for v in values if v is not None]
    return sum(known) / len(known) if known else None
