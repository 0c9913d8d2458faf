"""Several parts side by side on one build plate."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.models.model import Model

APART_M = 5e-3
"""Space between two parts: room for a brim (common practice)."""


def places_on_plate(models: Sequence[Model], width_m: float = 0.22) -> list[FloatArray]:
    """Where the middle (x, y, 0) of each part lies (m): the largest first, in rows from the front left corner.

    All lies where x and y are positive, which 3MF asks for (Core Specification, section 3.4). What is wider than the plate has a
    row of its own; what does not fit behind each other is still laid out, and the check of the build volume says so.
    """
    order = sorted(range(len(models)), key=lambda n: (-float(models[n].mesh.size_m[1]), n))
    places: list[FloatArray] = [np.zeros(3) for _ in models]
    x = y = row = 0.0
    for n in order:
        wide, deep = (float(side) for side in models[n].mesh.size_m[:2])
        if x > 0.0 and x + wide > width_m:
            x, y, row = 0.0, y + row + APART_M, 0.0
        places[n] = np.array([x + 0.5 * wide, y + 0.5 * deep, 0.0])
        x, row = x + wide + APART_M, max(row, deep)
    return places
