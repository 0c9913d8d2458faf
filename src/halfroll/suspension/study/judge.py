"""What is said about a strip's travel: where it jumps, touches itself, is pulled straight, and what its plastic bears."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.text import format_plain, join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.suspension.results import StiffnessCurve, TravelRange
from halfroll.suspension.study.common_verdicts import coarse, gravest_first, past_law
from halfroll.suspension.study.contact import touches
from halfroll.suspension.study.curves import LEAST_COMPLIANCE
from halfroll.suspension.study.sideways import Sideways
from halfroll.suspension.study.strain import Strains
from halfroll.suspension.study.travel import Bent, clamps_apart, sides, strip_length
from halfroll.suspension.types import SuspensionPart

HOOP_COMPRESSION = 0.01
"""Hoop compression from which wrinkling is warned of (own choice: thin rings wrinkle at some per cent)."""


@dataclass(frozen=True, kw_only=True)
class Found:
    """All that is judged."""

    strip: SuspensionPart
    bent: Bent
    travel_m: float
    curve: StiffnessCurve
    limit: TravelRange
    strains: Strains
    mesh_error: float
    sideways: Sideways


def verdicts_of(found: Found) -> tuple[Verdict, ...]:
    """Everything there is to say, gravest first."""
    rules = (_short, _unstable, _contact, _straight, _stiffness, _fatigue, _strength, _hoop, _law, _mesh)
    return gravest_first(found, rules)


def _short(found: Found) -> list[Verdict]:
    ends = {-1: found.bent.states[0].x_m, 1: found.bent.states[-1].x_m}
    return [
        Verdict(
            code="bend-not-reached", severity=Severity.BAD,
            text=f"Bending {_way(side)}, no equilibrium was found beyond {_mm(ends[side])}; {_mm(side * found.travel_m)} was asked for.",
            remedy="Ask for less travel, or give it more roll: it folds or is pulled straight there.",
            data={"reached_m": ends[side], "wanted_m": side * found.travel_m},
        )
        for side in found.bent.short
    ]  # fmt: skip


def _unstable(found: Found) -> list[Verdict]:
    said = []
    for side in sides(found.bent.states):
        bad = [one.x_m for one in side if not one.stable]
        x, slope = found.curve.x_m, found.curve.tangent_n_per_m
        falling = x[(slope <= 0) & (np.sign(x) == np.sign(side[-1].x_m))] if side else np.empty(0)
        places = [*bad, *falling.tolist()]
        if places:
            at = min(places, key=abs)
            what = (
                "the force no longer grows with travel: the wall snaps over to another shape and does not come back the same way"
                if len(falling) and at in falling
                else "the bent shape is unstable: it may jump to another one at the same travel"
            )
            said.append(Verdict(
                code="snap-through", severity=Severity.BAD,
                text=f"From {_mm(at)} {what}.",
                remedy="Keep the travel below that, or use a lower or thicker roll.", data={"x_m": at},
            ))  # fmt: skip
    return said


def _contact(found: Found) -> list[Verdict]:
    return [
        Verdict(
            code="walls-touch", severity=Severity.BAD,
            text=f"At {_mm(x)} its walls touch. From there on the computed stiffness is too low: walls that meet are not computed.",
            remedy="Keep the travel below that, or open the roll.", data={"x_m": x, "gap_m": gap},
        )
        for x, gap in touches(found.strip.profile, found.bent)
    ]  # fmt: skip


def _straight(found: Found) -> list[Verdict]:
    profile = found.strip.profile
    length = strip_length(profile)
    if length < 1.02 * clamps_apart(profile, 0.0):
        return []
    x = found.curve.x_m
    taut = np.array([clamps_apart(profile, float(one)) > length for one in x])
    said = []
    for side in (x < 0, x > 0):
        where = x[taut & side]
        if len(where):
            at = float(where[np.abs(where).argmin()])
            said.append(Verdict(
                code="pulled-straight", severity=Severity.CAUTION,
                text=f"From {_mm(at)} the clamps are farther apart than the wall is long ({1e3 * length:.1f} mm): it is stretched, and stiffness climbs steeply.",
                remedy="Give it more roll for this travel.", data={"x_m": at, "length_m": length},
            ))  # fmt: skip
    return said


def _stiffness(found: Found) -> list[Verdict]:
    curve, limit = found.curve, found.limit
    said = []
    if not (limit.full_low and limit.full_high):
        ends = [
            _mm(x) for x, full in ((limit.low_m, limit.full_low), (limit.high_m, limit.full_high)) if not full
        ]
        said.append(Verdict(
            code="stiffness-limit", severity=Severity.CAUTION,
            text=f"Compliance falls below {100 * LEAST_COMPLIANCE:.0f} % of its value at rest at {' and '.join(ends)}: about 10 % of distortion by IEC 62458 and AES2.",
            remedy="Count on travel up to there, or give it more roll.", data={"low_m": limit.low_m, "high_m": limit.high_m},
        ))  # fmt: skip
    ratio = curve.kms_n_per_m / curve.at_rest()
    if ratio.min() < LEAST_COMPLIANCE:
        at = float(curve.x_m[ratio.argmin()])
        said.append(Verdict(
            code="stiffness-falls", severity=Severity.CAUTION,
            text=f"Stiffness Kms falls to {_percent(ratio.min())} of its value at rest, at {_mm(at)}: the roll gives way there, and the coil may drift to that side.",
            remedy="Use a lower or a thicker roll, or pair it with a part that stiffens on that side.", data={"x_m": at, "ratio": float(ratio.min())},
        ))  # fmt: skip
    return said


def _fatigue(found: Found) -> list[Verdict]:
    limit, peak = found.strip.fatigue_strain, found.strains.most_strained
    elongation = float(np.sqrt(1 + 2 * peak.value) - 1)
    if limit is None or elongation <= limit:
        return []
    return [Verdict(
        code="strain-fatigue", severity=Severity.CAUTION,
        text=f"The plastic is stretched by {100 * elongation:.1f} % at {_mm(peak.x_m)}, on the {peak.surface} surface at {1e3 * peak.r_m:.1f} mm radius; {100 * limit:.1f} % is what it stands for millions of cycles. It will crack in use.",
        remedy="Use a thinner wall, a rounder or wider roll, less travel, or a softer plastic.",
        data={"elongation": elongation, "limit": limit, "x_m": peak.x_m, "r_m": peak.r_m},
    )]  # fmt: skip


def _strength(found: Found) -> list[Verdict]:
    limit, peak = found.strip.strength_pa, found.strains.most_stressed
    if limit is None or peak.value <= limit:
        return []
    return [Verdict(
        code="stress-strength", severity=Severity.BAD,
        text=f"Stress reaches {format_plain(peak.value / 1e6, 'MPa')} at {_mm(peak.x_m)}, on the {peak.surface} surface at {1e3 * peak.r_m:.1f} mm radius; the plastic breaks at {format_plain(limit / 1e6, 'MPa')}.",
        remedy="Use a thinner wall, a rounder or wider roll, or less travel.",
        data={"stress_pa": peak.value, "limit_pa": limit, "x_m": peak.x_m, "r_m": peak.r_m},
    )]  # fmt: skip


def _hoop(found: Found) -> list[Verdict]:
    peak, waves = found.strains.most_shrunk, found.sideways
    said = [
        Verdict(
            code="wrinkles", severity=Severity.CAUTION,
            text=f"At {_mm(x)} the wall wrinkles into {count} wave{'s' * (count > 1)} around, if not before. Stiffness beyond is lower than shown, and wrinkles may buzz.",
            remedy="Use a thicker or narrower wall, more roll, or less travel.", data={"x_m": x, "waves": count},
        )
        for x, count in zip(waves.wrinkle_x_m, waves.wrinkle_waves, strict=True)
    ]  # fmt: skip
    if peak.value < HOOP_COMPRESSION:
        return said
    said.append(Verdict(
        code="hoop-compression", severity=Severity.NOTE,
        text=f"Around the axis the wall is pressed together by {100 * peak.value:.1f} % at {_mm(peak.x_m)}, {1e3 * peak.r_m:.1f} mm from the axis. {_looked_for(waves)}",
        remedy="A print is less even than the ring computed: look at one over its whole travel before you trust the stiffness there.",
        data={"hoop_strain": -peak.value, "x_m": peak.x_m, "r_m": peak.r_m, "searched_waves": [waves.searched[0], waves.searched[-1]]},
    ))  # fmt: skip
    return said


def _looked_for(waves: Sideways) -> str:
    """How wrinkles were looked for, and what came of it."""
    first, last = waves.searched[0], waves.searched[-1]
    looked = (
        f"{len(waves.looked_m)} displacements from {_mm(waves.looked_m[0])} to {_mm(waves.looked_m[-1])}"
        if waves.looked_m
        else "no displacement"
    )
    found = [f"{count} at {_mm(x)}" for x, count in zip(waves.wrinkle_x_m, waves.wrinkle_waves, strict=True)]
    what = f"the first found are {join_words(found)}" if found else "none was found"
    return f"Wrinkles of {first} to {last} waves around were looked for at {looked}: {what}."


def _law(found: Found) -> list[Verdict]:
    least = float(found.strains.least_strain.min())
    return past_law(found.strip.material.law, least, "Use less travel or a thinner wall")


def _mesh(found: Found) -> list[Verdict]:
    remedy = "Corners or very tight bends need rounder lines; otherwise this is small against what is not known of the plastic."
    return coarse(found.mesh_error, found.bent.curve_error, remedy)


def _mm(x_m: float) -> str:
    return f"{1e3 * x_m:+.1f} mm".replace("-", "\N{MINUS SIGN}")


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %".replace("-", "\N{MINUS SIGN}")


def _way(side: int) -> str:
    return "outwards" if side > 0 else "inwards"
