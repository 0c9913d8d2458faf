"""What is said of surround and spider together: how far their stiffness holds, and what their resonance rests on.

A part's own range matters by its share of the stiffness only, so with two parts it is told as a note with that share, and the
system's range is the one to count on.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import format_plain, format_value, join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.printed import SOFT_PA
from halfroll.suspension.design import FlexureDesign, StripDesign
from halfroll.suspension.results import PartResult, StiffnessCurve, SuspensionResult, TravelRange
from halfroll.suspension.study.curves import LEAST_COMPLIANCE

OWN_RANGE = ("stiffness-limit", "stiffness-falls")
"""Verdicts on a part's stiffness alone."""

FAST_METHODS = ("resonance", "ring", "update")
"""Calibrations that see a plastic in fast motion."""

COUNTS = 0.1
"""Share of the stiffness from which a part's plastic decides the resonance (own choice)."""

ROCKS_NEAR = 1.5
"""Ratio of rocking to resonance below which it is told (own choice)."""

STIFFER_FAST = 1.5
"""By how much a soft plastic may be stiffer at the resonance than in slow bending, for the example that is told: four printed TPUs
gained up to 183 % between slow pulling and 16 1/s (Haid, Duncan, Hart, Foster 2022, the source of the catalogue's soft plastics)."""


def parts_in_system(
    parts: Sequence[PartResult], curve: StiffnessCurve, limit: TravelRange
) -> tuple[PartResult, ...]:
    """The parts with what is said of their own ranges put in proportion to their share of the stiffness."""
    found = []
    for one in parts:
        kept = tuple(verdict for verdict in one.verdicts if verdict.code not in OWN_RANGE)
        own = [verdict for verdict in one.verdicts if verdict.code in OWN_RANGE]
        notes = (_alone(one, verdict, curve, limit) for verdict in own) if len(parts) > 1 else ()
        found.append(replace(one, verdicts=(*kept, *notes)))
    return tuple(found)


def system_verdicts(
    result: SuspensionResult, designs: Sequence[StripDesign | FlexureDesign]
) -> tuple[Verdict, ...]:
    """Everything there is to say of the system, gravest first."""
    return (*_limit(result, designs), *_falls(result), *_rocks(result), *_slow(result, designs))


def _alone(one: PartResult, said: Verdict, curve: StiffnessCurve, limit: TravelRange) -> Verdict:
    """A part's own range as a note: what it is, by what share it counts, and what both together do instead."""
    share = one.curve.at_rest() / curve.at_rest()
    bears = f"The {one.name} by itself, {_percent(share)} of the stiffness at rest,"
    if said.code == "stiffness-limit":
        held = "all over the travel" if limit.full_low and limit.full_high else f"to {_ends(limit)}"
        text = f"{bears} falls below {_percent(LEAST_COMPLIANCE)} of its compliance at {_ends(one.limit)}. Both together keep that share {held}, which is what counts."
    else:
        least = float((curve.kms_n_per_m / curve.at_rest()).min())
        text = (
            f"{bears} gives way to {_percent(said.data['ratio'])} of its stiffness at rest, at {_mm(said.data['x_m'])}. "
            f"Both together keep {_percent(least)} of theirs at least, which is what counts."
        )
    data = {**said.data, "part": one.name, "share": share}
    return replace(said, severity=Severity.NOTE, text=text, remedy="", data=data)


def _limit(result: SuspensionResult, designs: Sequence[StripDesign | FlexureDesign]) -> Iterator[Verdict]:
    limit = result.limit
    if limit.full_low and limit.full_high:
        return
    most = designs[_stiffens_most(result)]
    more = "longer arms" if isinstance(most, FlexureDesign) else "more roll"
    yield Verdict(
        code="stiffness-limit", severity=Severity.CAUTION,
        text=f"Compliance of {_subject(result)} falls below {_percent(LEAST_COMPLIANCE)} of its value at rest at {_ends(limit)}: about 10 % of distortion by IEC 62458 and AES2.",
        remedy=f"Count on travel up to there; for more, give the {most.name} {more}: it stiffens most.",
        data={"low_m": limit.low_m, "high_m": limit.high_m, "stiffens_most": most.name},
    )  # fmt: skip


def _stiffens_most(result: SuspensionResult) -> int:
    """Number of the part whose stiffness has grown most where the range ends."""
    limit = result.limit
    ends = [x for x, full in ((limit.low_m, limit.full_low), (limit.high_m, limit.full_high)) if not full]

    def grown(number: int) -> float:
        curve = result.parts[number].curve
        return float(np.interp(ends, curve.x_m, curve.kms_n_per_m).max()) - curve.at_rest()

    return max(range(len(result.parts)), key=grown)


def _subject(result: SuspensionResult) -> str:
    names = [one.name for one in result.parts]
    return f"the {names[0]}" if len(names) == 1 else f"{join_words(names)} together"


def _falls(result: SuspensionResult) -> Iterator[Verdict]:
    curve = result.curve
    ratio: FloatArray = curve.kms_n_per_m / curve.at_rest()
    if curve.at_rest() <= 0 or ratio.min() >= LEAST_COMPLIANCE:
        return
    at = float(curve.x_m[ratio.argmin()])
    yield Verdict(
        code="stiffness-falls", severity=Severity.CAUTION,
        text=f"Stiffness Kms of {_subject(result)} falls to {_percent(ratio.min())} of its value at rest, at {_mm(at)}: it gives way there, and the coil may drift to that side.",
        remedy="Use a lower or a thicker roll, or pair it with a part that stiffens on that side.",
        data={"x_m": at, "ratio": float(ratio.min())},
    )  # fmt: skip


def _rocks(result: SuspensionResult) -> Iterator[Verdict]:
    """Rocking that is not far above the resonance, where the cone moves most."""
    rocks, resonance = result.rocking, result.resonance_hz
    if rocks is None or resonance is None or rocks.rocking_hz >= ROCKS_NEAR * resonance:
        return
    alone = " Only one part holds it." if len(result.parts) == 1 else ""
    yield Verdict(
        code="rocking-near-resonance", severity=Severity.CAUTION,
        text=f"It rocks at {format_value(rocks.rocking_hz, None, 'Hz')}, {rocks.rocking_hz / resonance:.2g} times the resonance.{alone} "
        "Where the cone moves most, what is not quite even tilts the coil, and it may rub.",
        remedy="Hold it at two heights far apart: a spider low on the former besides the surround, stiff sideways.",
        data={"rocking_hz": rocks.rocking_hz, "resonance_hz": resonance},
    )  # fmt: skip


def _slow(result: SuspensionResult, designs: Sequence[StripDesign | FlexureDesign]) -> Iterator[Verdict]:
    """A resonance computed with a soft plastic's modulus of slow bending."""
    if result.resonance_hz is None:
        return
    whole = result.curve.at_rest()
    slow = [
        (one, drawn) for one, drawn in zip(result.parts, designs, strict=True)
        if drawn.material.modulus_pa < SOFT_PA and one.curve.at_rest() > COUNTS * whole
        and not any(method in drawn.material.calibrated for method in FAST_METHODS)
    ]  # fmt: skip
    if not slow:
        return
    share = sum(one.curve.at_rest() for one, _ in slow) / whole
    higher = float(np.sqrt(1 + (STIFFER_FAST - 1) * share))
    titles = join_words(list(dict.fromkeys(drawn.material.title for _, drawn in slow)))
    yield Verdict(
        code="resonance-from-slow-modulus", severity=Severity.NOTE,
        text=f"Resonance and rocking use the modulus of slow bending of {titles}. Soft plastics are stiffer in fast motion, and the interval does not "
        f"hold that: if half as stiff again, the resonance is {format_plain(higher * result.resonance_hz, 'Hz')}.",
        remedy="Calibrate the filament from a unit's measured resonance; sag and slow travel keep the slow modulus.",
        data={"share": share, "resonance_if_stiffer_hz": higher * result.resonance_hz, "stiffer": STIFFER_FAST},
    )  # fmt: skip


def _ends(limit: TravelRange) -> str:
    ends = [x for x, full in ((limit.low_m, limit.full_low), (limit.high_m, limit.full_high)) if not full]
    if len(ends) == 2 and f"{-1e3 * ends[0]:.1f}" == f"{1e3 * ends[1]:.1f}":
        return f"±{1e3 * ends[1]:.1f} mm"
    return join_words([_mm(x) for x in ends])


def _mm(x_m: float) -> str:
    return f"{1e3 * x_m:+.1f} mm".replace("-", "\N{MINUS SIGN}")


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %".replace("-", "\N{MINUS SIGN}")
