"""Parts of a suspension.

Displacement x of the inner edge is positive outwards (towards the listener), and so is the force F on it that holds it there.
"""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.midline import Profile


@dataclass(frozen=True, kw_only=True, eq=False)
class SuspensionPart:
    """A strip and what it is made of; `name` as people call it (surround, spider)."""

    name: str
    profile: Profile
    material: Elastic
