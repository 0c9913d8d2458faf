"""The delay of a rig's sound card measured on the spot: a quiet sweep goes out and comes back by one of the inputs."""

from __future__ import annotations

import datetime as dt

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.measure.recording import Role
from halfroll.measure.sweep import Sweep
from halfroll.workshop.bench import most_of, open_player
from halfroll.workshop.calibrate import Proposal
from halfroll.workshop.calibrate_electric import propose_latency
from halfroll.workshop.rig_record import RigRecord
from halfroll.workshop.store import Workshop

LEVEL = 0.03
"""Peak of the sweep re full scale, −30 dB: quiet behind an amplifier, far above the noise of an input. Own choice."""

REPEATS = 3
_SECONDS, _AFTER_S = 1.0, 1.0


def measure_latency(
    workshop: Workshop, rig: str, *, role: Role | None = None, date: dt.date | None = None, progress: Progress = silent
) -> Proposal:  # fmt: skip
    """Play a sweep of one second three times, 30 dB below full scale and within the rig's limit, and find its delay.

    Parameters
    ----------
    role
        The input that hears the output: joined by a cable, or the voltage at the terminals. Voltage when None.
    progress
        May cancel; nothing is kept then.

    Raises
    ------
    InputError
        The rig states no sound card or no such input, the card is not there, or what came back is not what was played.
    CancelledError
        `progress` asked to stop.
    """
    record = workshop.rig(rig).record
    wanted = role or Role.VOLTAGE
    row = _row(record, wanted)
    assert record.devices is not None
    rate = record.devices.rate_hz
    level = min(LEVEL, most_of(record))
    sweep = Sweep(start_hz=20.0, stop_hz=0.45 * rate, duration_s=_SECONDS, rate_hz=rate, level=level,
                  silence_before_s=0.1, silence_after_s=_AFTER_S)  # fmt: skip
    signal = sweep.samples()
    with open_player(record.changed(latency=None)) as card:
        heard = [
            card.play(signal, part(progress, n / REPEATS, (n + 1) / REPEATS))[row] for n in range(REPEATS)
        ]
    return propose_latency(workshop, rig, signal, heard, rate_hz=rate, date=date)


def _row(record: RigRecord, role: Role) -> int:
    """Place of the input among the card's."""
    if record.devices is None:
        raise InputError("The rig names no sound card yet", key="role",
                         remedy="Choose it on the bench, and keep it in the rig")  # fmt: skip
    if role not in record.devices.inputs:
        raise InputError(f"No input of the rig's sound card holds the {role}", key="role",
                         found=", ".join(record.devices.inputs), remedy="Say on the bench what each input holds")  # fmt: skip
    return record.devices.inputs.index(role)
