"""What is said about a flexure's travel: whether its hub turns, where its arms are stretched, and what its plastic bears."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import format_plain
from halfroll.core.verdicts import Severity, Verdict
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.flexure.bend import BentArm
from halfroll.suspension.flexure.hub import HubStiffness
from halfroll.suspension.flexure.strain import ArmStrains
from halfroll.suspension.results import StiffnessCurve, TravelRange
from halfroll.suspension.study.common_verdicts import coarse, gravest_first, past_law
from halfroll.suspension.study.curves import LEAST_COMPLIANCE

UNLIKE = 1.05
"""Ratio of the sideways stiffnesses in two directions from which they are told apart."""

STIFFENED = 2.0
"""Kms at the travel's end over that at rest from which straight legs are said to be stretched."""


@dataclass(frozen=True, kw_only=True)
class FlexureFound:
    """All that is judged."""

    design: FlexureDesign
    material: Elastic
    bent: BentArm
    travel_m: float
    curve: StiffnessCurve
    limit: TravelRange
    strains: ArmStrains
    hub: HubStiffness
    mesh_error: float


def verdicts_of(found: FlexureFound) -> tuple[Verdict, ...]:
    """Everything there is to say, gravest first."""
    rules = (_short, _unstable, _stiffness, _stretched, _fatigue, _strength, _law, _hub, _two, _mesh)
    return gravest_first(found, rules)


def _short(found: FlexureFound) -> list[Verdict]:
    if not found.bent.short:
        return []
    reached = float(found.bent.states[-1].x_m)
    return [Verdict(
        code="bend-not-reached", severity=Severity.BAD,
        text=f"No equilibrium was found beyond ±{_mm(reached)}; ±{_mm(found.travel_m)} was asked for.",
        remedy="Ask for less travel, or give the arms more length.",
        data={"reached_m": reached, "wanted_m": found.travel_m},
    )]  # fmt: skip


def _unstable(found: FlexureFound) -> list[Verdict]:
    bad = [one.x_m for one in found.bent.states if not one.stable or one.stiffness_n_per_m <= 0]
    if not bad:
        return []
    return [Verdict(
        code="snap-through", severity=Severity.BAD,
        text=f"From {_mm(min(bad))} either way the arms are unstable: they buckle aside to another shape.",
        remedy="Keep the travel below that, or make the arms wider or thicker.", data={"x_m": min(bad)},
    )]  # fmt: skip


def _stiffness(found: FlexureFound) -> list[Verdict]:
    limit = found.limit
    if limit.full_low and limit.full_high:
        return []
    return [Verdict(
        code="stiffness-limit", severity=Severity.CAUTION,
        text=f"Compliance falls below {100 * LEAST_COMPLIANCE:.0f} % of its value at rest at ±{_mm(limit.high_m)}: about 10 % of distortion by IEC 62458 and AES2.",
        remedy="Count on travel up to there, or use longer arms: spirals with more sweep.",
        data={"low_m": limit.low_m, "high_m": limit.high_m},
    )]  # fmt: skip


def _stretched(found: FlexureFound) -> list[Verdict]:
    ratio = float(found.curve.kms_n_per_m[-1] / found.curve.at_rest())
    if found.design.family != "straight-legs" or ratio < STIFFENED:
        return []
    reached = float(found.bent.states[-1].x_m)
    return [Verdict(
        code="legs-stretched", severity=Severity.CAUTION,
        text=f"At ±{_mm(reached)} stiffness Kms is {ratio:.3g} times that at rest: straight legs between two clamps cannot give way, they must stretch.",
        remedy="Use spiral arms, or keep the travel below the legs' thickness.", data={"ratio": ratio, "x_m": reached},
    )]  # fmt: skip


def _fatigue(found: FlexureFound) -> list[Verdict]:
    limit = found.design.material.fatigue_strain
    elongation = float(np.sqrt(1 + 2 * found.strains.strain.max()) - 1)
    if limit is None or elongation <= limit:
        return []
    return [Verdict(
        code="strain-fatigue", severity=Severity.CAUTION,
        text=f"The plastic is stretched by {100 * elongation:.1f} % at ±{_mm(found.bent.states[-1].x_m)}, {1e3 * found.strains.worst_r_m:.1f} mm from the axis; {100 * limit:.0f} % is what it stands for millions of cycles. It will crack in use.",
        remedy="Use thinner or longer arms, less travel, or a softer plastic.",
        data={"elongation": elongation, "limit": limit, "r_m": found.strains.worst_r_m},
    )]  # fmt: skip


def _strength(found: FlexureFound) -> list[Verdict]:
    limit, most = found.design.material.strength_pa, float(found.strains.stress_pa.max())
    if limit is None or most <= limit:
        return []
    return [Verdict(
        code="stress-strength", severity=Severity.BAD,
        text=f"Stress in the arms reaches {format_plain(most / 1e6, 'MPa')} at ±{_mm(found.bent.states[-1].x_m)}; the plastic breaks at {format_plain(limit / 1e6, 'MPa')}.",
        remedy="Use thinner or longer arms, or less travel.", data={"stress_pa": most, "limit_pa": limit},
    )]  # fmt: skip


def _law(found: FlexureFound) -> list[Verdict]:
    least = float(found.strains.least.min())
    return past_law(found.material.law, least, "Use less travel or thinner arms")


def _hub(found: FlexureFound) -> list[Verdict]:
    if found.design.family != "spiral-arms":
        return []
    if found.bent.turning is not None:
        turn = found.bent.turn_rad(found.bent.states[-1].x_m)
        return [Verdict(
            code="hub-turns", severity=Severity.NOTE,
            text=f"The hub is taken as free to turn, and turns by {abs(np.degrees(turn)):.2f}° at ±{_mm(found.bent.states[-1].x_m)}, the same way in both directions.",
            remedy="Leave the leads room for it; if something keeps the hub from turning, say so: the spider is stiffer then.",
            data={"turn_rad": turn},
        )]  # fmt: skip
    torque = found.design.arms * found.bent.torque_nm()
    return [Verdict(
        code="hub-held", severity=Severity.NOTE,
        text=f"The hub is taken as kept from turning. That takes {format_plain(1e3 * abs(torque), 'mN·m', 2)} at ±{_mm(found.bent.states[-1].x_m)}, from a surround or a second flexure.",
        remedy="If nothing takes that torque, set the hub free: it turns, and the spider is softer at the ends of its travel.",
        data={"torque_nm": torque},
    )]  # fmt: skip


def _two(found: FlexureFound) -> list[Verdict]:
    if found.hub.unlike < UNLIKE:
        return []
    return [Verdict(
        code="sideways-uneven", severity=Severity.CAUTION,
        text=f"Sideways the hub is {found.hub.unlike:.2g} times as stiff in one direction as in the other; the weaker one is shown.",
        remedy="Three arms or more hold the hub alike in all directions.", data={"ratio": found.hub.unlike},
    )]  # fmt: skip


def _mesh(found: FlexureFound) -> list[Verdict]:
    remedy = "This is small against what is not known of the plastic."
    return coarse(found.mesh_error, found.bent.curve_error, remedy)


def _mm(x_m: FloatArray | float) -> str:
    return f"{1e3 * float(x_m):.1f} mm"
