"""Why a winding stands where it does, and what is said about the whole answer."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from halfroll.core.text import THIN
from halfroll.core.verdicts import Severity, Verdict
from halfroll.motor.coil.winding_types import Choice, Target

ODD_LAYERS = 0.9
NESTED = 0.9
"""What the rank of a winding is multiplied by: a lead at the far end, and grooves that hand-winding seldom keeps. Judged."""

LEVEL = 0.9895
"""Share of the highest from which on a winding counts as level with it: 0.05 dB, or 1 %."""


def explained(choice: Choice, rank: int, ranked: Sequence[Choice], other_mass_kg: float | None) -> Choice:
    """The choice with the reason for its rank in words."""
    plain = [one.score / set_back(one) for one in ranked]
    share = choice.score / set_back(choice) / max(plain)
    what = "(Bl)²/R" if other_mass_kg is None else "sensitivity"
    if share > LEVEL:
        words = [f"Highest {what}" if share == 1.0 else f"As good as the highest {what}"]
    elif other_mass_kg is None:
        words = [f"{100 * share:.0f} % of the highest {what}"]
    else:
        words = [f"{-10 * math.log10(share):.1f} dB of {what} under the highest"]
    if rank and abs(more := 1e3 * (choice.coil.mass_kg - ranked[0].coil.mass_kg)) >= 0.005:
        words.append(f"{abs(more):.2f} g {'more' if more > 0 else 'less'} than the first")
    if choice.coil.design.layers % 2:
        tight = choice.clearance.outside.nominal_m <= choice.coil.design.wire.overall_m
        groove = (
            ", and over the winding there is no room for it to come back: the former needs a groove"
            if tight
            else ""
        )
        words.append(f"set back by a tenth: the lead ends at the far end{groove}")
    if choice.coil.design.packing == "nested":
        words.append("set back by a tenth: nested layers are hard to keep by hand")
    if rank == 0 and share <= LEVEL:
        words.append("first, as those above it are set back")
    if any(v.code in ("coil-rubs", "coil-may-rub") for v in choice.clearance.verdicts):
        words.append("may rub")
    return replace(choice, why="; ".join(words) + ".")


def set_back(choice: Choice) -> float:
    """What the rank is multiplied by for how the winding is made."""
    design = choice.coil.design
    return (ODD_LAYERS if design.layers % 2 else 1.0) * (NESTED if design.packing == "nested" else 1.0)


def winding_verdicts(
    target: Target, choices: Sequence[Choice], rejected: Counter[str], field_solved: bool, travel_m: float
) -> Iterator[Verdict]:
    """What was meant by the impedance, whether a field stands behind the ranks, whether travel counts, and that nothing fits."""
    yield Verdict(
        code="impedance-meant", severity=Severity.NOTE, text=f"Asked for: {target.in_words()}.",
        data={"kind": target.kind, "low_ohm": target.range_ohm[0], "high_ohm": target.range_ohm[1]},
    )  # fmt: skip
    if not field_solved:
        yield Verdict(
            code="field-not-solved", severity=Severity.CAUTION,
            text="No field was computed: turns in the gap count as in 1 T, turns beside it as in none. The order is that of turns "
            "in the gap, and Bl is per tesla.",
            remedy="Compute the motor's field first.",
        )  # fmt: skip
    if travel_m == 0.0 and choices:
        yield Verdict(
            code="travel-not-asked", severity=Severity.NOTE, data={"first_travel_mm": 1e3 * choices[0].travel_m},
            text="No travel was asked for, so winding height counts by its force at rest alone; the first has "
            f"±{1e3 * choices[0].travel_m:.2g}{THIN}mm of geometric travel.",
            remedy="Ask for the travel the driver needs, or enter travel_mm in the design.",
        )  # fmt: skip
    if not choices:
        why = ", ".join(f"{n} {reason}" for reason, n in rejected.most_common(3))
        yield Verdict(
            code="no-winding-fits", severity=Severity.BAD, text=f"None of {sum(rejected.values())} windings fits: {why}.",
            remedy="Widen the gap or the former, allow more height, less clearance or another impedance, or take more wires.",
            data={"rejected": dict(rejected)},
        )  # fmt: skip
