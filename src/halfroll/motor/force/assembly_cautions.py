"""What is said about the pull between parts, in newtons and in words, before a hand is in between."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.steel import MU_0
from halfroll.motor.heat.masses import volume_m3
from halfroll.motor.types import Body, Magnet

STANDARD_GRAVITY = 9.80665
"""m/s² (ISO 80000-4)."""

SMALL_N = 5.0
"""Below this, half a kilogram, a part is held between two fingers without effort (own choice)."""

FINGER_N = 140.0
"""Force at which a clamped finger begins to hurt: ISO/TS 15066:2016, table A.2, hands and fingers, quasi-static (value from
memory). Above it no part is guided by hand."""

REPELLED_N = 1.0

IMPLANT_T = 0.5e-3
"""Flux density that persons with a pacemaker keep away from (ICNIRP 2009 guidelines on static fields; Directive 2013/35/EU)."""


def cautions(
    title: str, movers: Sequence[Body], distance_m: FloatArray, force_n: FloatArray, contact_n: float | None
) -> tuple[Verdict, ...]:
    """Verdicts on the force (N, positive towards the place) over the distance still to go (m)."""
    said = []
    highest = int(np.argmax(force_n))
    pull, at = float(force_n[highest]), float(distance_m[highest])
    if contact_n is not None and contact_n > pull:
        pull, at = contact_n, 0.0
    if pull > REPELLED_N:
        said.append(_pinch(title, pull, at, distance_m, force_n))
    if float(force_n.min()) < -REPELLED_N:
        said.append(_pushed(title, distance_m, force_n))
    magnets = [body for body in movers if isinstance(body.matter, Magnet)]
    if magnets:
        said.append(_implant(title, magnets))
    return tuple(said)


def weight_kg(force_n: float) -> float:
    """The mass (kg) that weighs as much as a force."""
    return abs(force_n) / STANDARD_GRAVITY


def _like(force_n: float) -> str:
    kg = weight_kg(force_n)
    return f"{force_n:.3g} N, like lifting {f'{kg:.2g} kg' if kg >= 0.995 else f'{1e3 * kg:.2g} g'}"


def _pinch(title: str, pull: float, at: float, distance_m: FloatArray, force_n: FloatArray) -> Verdict:
    severity = Severity.NOTE if pull < SMALL_N else Severity.CAUTION if pull < FINGER_N else Severity.BAD
    where = "in its place" if at == 0 else f"{1e3 * at:.2g} mm before its place"
    heavy = [float(d) for d, f in zip(distance_m, force_n, strict=True) if f >= SMALL_N]
    text = f"{title} is pulled to its place with up to {_like(pull)}, {where}."
    if heavy and severity is not Severity.NOTE:
        text += f" It passes {SMALL_N:g} N about {1e3 * max(heavy):.2g} mm away and then snaps."
    if severity is Severity.BAD:
        text += f" {FINGER_N:g} N already hurts a finger."
    remedy = ""
    if severity is not Severity.NOTE:
        remedy = (
            "Lower it with a guide, wooden wedges or a jacking screw, never by hand alone; keep fingers and steel tools "
            "out and wear goggles, for hard magnets splinter. Off centre it is also pulled sideways."
        )
    data = {"part": title, "force_n": pull, "distance_m": at, "mass_kg": weight_kg(pull)}
    return Verdict(code="magnet-pinch", severity=severity, text=text, remedy=remedy, data=data)


def _pushed(title: str, distance_m: FloatArray, force_n: FloatArray) -> Verdict:
    lowest = int(np.argmin(force_n))
    push, at = -float(force_n[lowest]), float(distance_m[lowest])
    stays = float(force_n[0]) > 0
    text = (
        f"{title} is pushed away from its place with up to {_like(push)}, {1e3 * at:.2g} mm before it"
        + (", and pulled in once it is nearer." if stays else ".")
        + " Let go, it jumps aside or turns over."
    )
    return Verdict(
        code="magnet-repelled",
        severity=Severity.CAUTION if push < FINGER_N else Severity.BAD,
        text=text,
        remedy="Hold it in a guide that lets it neither tilt nor turn, and clamp it until the glue is hard.",
        data={"part": title, "force_n": -push, "distance_m": at, "mass_kg": weight_kg(push), "stays": stays},
    )


def implant_distance(magnets: Sequence[Body]) -> float:
    """Distance (m) on the axis from the middle of loose magnets where they make 0.5 mT, as a dipole of their moment:
    B = μ0 m / (2 π z³).
    """
    moment = sum(
        body.matter.grade.br_at(body.matter.temperature_c) / MU_0 * volume_m3(body)
        for body in magnets
        if isinstance(body.matter, Magnet)
    )
    return float((MU_0 * moment / (2.0 * math.pi * IMPLANT_T)) ** (1.0 / 3.0))


def _implant(title: str, magnets: Sequence[Body]) -> Verdict:
    distance = implant_distance(magnets)
    return Verdict(
        code="magnet-implants",
        severity=Severity.CAUTION if distance > 0.1 else Severity.NOTE,
        text=f"Outside the motor {title} makes 0.5 mT up to {1e2 * distance:.2g} cm away, which can disturb a pacemaker.",
        remedy=f"Keep it {1e2 * max(0.3, 1.5 * distance):.2g} cm from implants, and from magnetic cards, watches and children.",
        data={"part": title, "distance_m": distance, "flux_density_t": IMPLANT_T},
    )


def uncomputed(title: str, reason: str) -> Verdict:
    """Says that there is no force, and why."""
    return Verdict(
        code="assembly-force-unknown",
        severity=Severity.NOTE,
        text=f"The pull on {title} was not computed: {reason}.",
        remedy="Take it to be as strong as that of the magnets around it and use a guide.",
        data={"part": title},
    )
