"""The bench: a rig's sound card as the measure room wants it, and how loud it may get."""

from __future__ import annotations

import math
from contextlib import AbstractContextManager
from typing import TYPE_CHECKING, Any

from halfroll.workshop.rig_record import DevicesTable, RigRecord

if TYPE_CHECKING:
    from halfroll.measure.capture import CaptureSetup, SoundCard

ROOT_2 = math.sqrt(2.0)


def open_player(
    rig: RigRecord, *, v_max: float | None = None, **changes: Any
) -> AbstractContextManager[SoundCard]:
    """The sound card of a rig, open while the ``with`` lasts; a `halfroll.measure.player.Player` with `roles`.

    `changes` go before what the rig's ``[devices]`` say (`input`, `output`, `rate_hz`, `output_channel`, `inputs`,
    `block`). Nothing louder than the rig's limit (or `v_max`, if lower) is played, as far as the rig's ``[output]``
    tells what that is.

    Raises
    ------
    InputError
        A device is not there or does not do what is asked; or what is needed for it is not installed.
    """
    from halfroll.measure.capture import open_player as open_card

    return open_card(capture_setup(rig, v_max=v_max, **changes))


def capture_setup(rig: RigRecord, *, v_max: float | None = None, **changes: Any) -> CaptureSetup:
    """How the sound card of a rig is used."""
    from halfroll.measure.capture import CaptureSetup

    table = rig.devices or DevicesTable()
    chosen = {
        key: getattr(table, key)
        for key in ("input", "output", "rate_hz", "output_channel", "inputs", "block")
    }
    chosen |= {key: value for key, value in changes.items() if value is not None}
    latency = rig.latency if rig.latency is not None and rig.latency.rate_hz == chosen["rate_hz"] else None
    return CaptureSetup(
        **chosen,
        latency_samples=None if latency is None else max(round(latency.samples), 0),
        most=most_of(rig, v_max),
    )


def most_of(rig: RigRecord, v_max: float | None = None) -> float:
    """Largest sample re full scale within the limit of a rig (and `v_max`); 1 where no limit or no scale is known."""
    limit = limit_v(rig, v_max)
    if limit is None or rig.output is None:
        return 1.0
    return min(limit * ROOT_2 / rig.output.v_per_full_scale, 1.0)


def limit_v(rig: RigRecord, v_max: float | None = None) -> float | None:
    """The lower of the rig's limit and `v_max` (V r.m.s. of a sine); None when neither is set."""
    own = None if rig.limits is None else rig.limits.v_max
    known = [limit for limit in (own, v_max) if limit is not None]
    return min(known, default=None)
