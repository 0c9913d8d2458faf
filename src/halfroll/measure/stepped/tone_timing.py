"""Whether a tone comes when it should: a delay of the sound card that is stated wrongly would spoil every tone after it."""

from __future__ import annotations

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray

LEAST_S = 0.005
"""Displacement (s) that is told, or one period of the tone where that is longer. Own choice: the fades last longer."""

_OVER = 0.5  # of the largest sample: a sine passes it within a sixth of a period


def check_timing(voltage: FloatArray, played: FloatArray, frequency_hz: float, rate_hz: int) -> None:
    """Compare begin and end of a tone at the terminals with those of what was played, both shape (n,).

    Raises
    ------
    InputError
        The tone lies elsewhere: the delay of the sound card is not what the rig states.
    """
    found, wanted = _ends(voltage), _ends(played)
    off = max((a - b for a, b in zip(found, wanted, strict=True)), key=abs) / rate_hz
    if abs(off) > max(LEAST_S, 1.0 / frequency_hz):
        raise InputError(
            "The tone does not come when it should: the delay of the sound card is not what the rig states",
            found=f"{1e3 * abs(off):.0f} ms too {'late' if off > 0 else 'early'} at the terminals",
            remedy="Measure the delay of the rig anew by a loop, at the block size in use; nothing was kept",
        )  # fmt: skip


def _ends(signal: FloatArray) -> tuple[int, int]:
    """First and last sample of a tone that is not small."""
    size = np.abs(signal)
    over = np.flatnonzero(size > _OVER * float(size.max()))
    return (int(over[0]), int(over[-1])) if over.size else (0, 0)
