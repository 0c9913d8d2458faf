"""What is said alike of a strip and of a flexure: where the law of the plastic, and the finite elements, are to be trusted less."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

import numpy as np

from halfroll.core.verdicts import Severity, Verdict

F = TypeVar("F")

COARSE = 0.005
"""Share of the force from which the elements' own error is told."""

LAW_COMPRESSION = 0.1
"""Compression from which St Venant's law is no longer trusted: at 42 % it loses its stiffness altogether, at 10 % a fifth of it."""


def gravest_first(found: F, rules: Iterable[Callable[[F], Sequence[Verdict]]]) -> tuple[Verdict, ...]:
    """What all rules say of what was found."""
    said = [verdict for rule in rules for verdict in rule(found)]
    return tuple(sorted(said, key=lambda verdict: -verdict.severity))


def past_law(law: str, least_strain: float, remedy: str) -> list[Verdict]:
    """The plastic is compressed (least principal strain, below 0) further than its law holds."""
    if law != "st-venant" or least_strain > -LAW_COMPRESSION:
        return []
    return [Verdict(
        code="strain-past-law", severity=Severity.CAUTION,
        text=f"The plastic is compressed by {-100 * least_strain:.0f} %. The law used for stiff plastics holds to about {100 * LAW_COMPRESSION:.0f} %.",
        remedy=f"{remedy}; such a plastic would yield anyway.", data={"least_strain": least_strain},
    )]  # fmt: skip


def coarse(mesh_error: float, curve_error: float, remedy: str) -> list[Verdict]:
    """The elements' error, as shares of the force at the travel's ends, is large; not a number where it could not be told."""
    error = float(np.max([mesh_error, curve_error]))  # nan when either is
    if error <= COARSE:
        return []
    known = f"The finite elements may be wrong by {100 * error:.1f} % of the force at the travel's ends."
    return [Verdict(
        code="elements-coarse", severity=Severity.NOTE,
        text=known if np.isfinite(error) else "How far the finite elements may be wrong could not be told: coarser ones found no equilibrium.",
        remedy=remedy, data={"mesh_error": mesh_error, "curve_error": curve_error},
    )]  # fmt: skip
