"""Parts of a suspension.

Displacement x of the inner edge is positive outwards (towards the listener), and so is the force F on it that holds it there.
"""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.midline import Profile


@dataclass(frozen=True, kw_only=True, eq=False)
class SuspensionPart:
    """A strip and what it is made of; `name` as people call it (surround, spider).

    `fatigue_strain` is the elongation the plastic stands for millions of cycles, `strength_pa` its stress at break; None where
    nothing is known.
    """

    name: str
    profile: Profile
    material: Elastic
    fatigue_strain: float | None = None
    strength_pa: float | None = None
