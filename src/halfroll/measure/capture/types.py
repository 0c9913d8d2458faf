"""What a person chooses of a sound card, and what its meters show."""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.core.errors import InputError
from halfroll.measure.recording import Role
from halfroll.measure.sweep import HIGHEST_RATE_HZ, LOWEST_RATE_HZ

MOST_INPUTS = 32
"""So many input channels are recorded at most."""
LONGEST_LATENCY_S = 2.0


@dataclass(frozen=True, kw_only=True)
class CaptureSetup:
    """How the sound card is used.

    Parameters
    ----------
    input, output
        Device by number or name, or a part of the name that only one has; empty for the system's default.
    rate_hz
        Samples per second, in and out.
    output_channel
        Channel of the output that drives the amplifier, counted from 1; the others stay silent.
    inputs
        What each input channel holds, from channel 1 on.
    block
        Samples in a block; 0 leaves it to the device.
    latency_samples
        Samples from playing to recording at `rate_hz`, as a loopback showed; None when nobody measured it. Then what is
        recorded comes later than the signal by that unknown time.
    most
        Largest sample that may be played, re full scale; more is refused before a sound is made.
    """

    input: str = ""
    output: str = ""
    rate_hz: int = 48_000
    output_channel: int = 1
    inputs: tuple[Role, ...] = (Role.MICROPHONE,)
    block: int = 0
    latency_samples: int | None = None
    most: float = 1.0

    def __post_init__(self) -> None:
        latest = round(LONGEST_LATENCY_S * self.rate_hz)
        checks = (
            ("rate_hz", LOWEST_RATE_HZ <= self.rate_hz <= HIGHEST_RATE_HZ, "8000 to 768000 Hz"),
            ("output_channel", 1 <= self.output_channel <= 128, "1 to 128"),
            ("block", 0 <= self.block <= 65_536, "0 (the device chooses) to 65536 samples"),
            ("latency_samples", 0 <= (self.latency_samples or 0) <= latest, f"0 to {latest} samples"),
            ("most", 0 < self.most <= 1, "above 0 and at most 1 (full scale)"),
        )
        for name, holds, allowed in checks:
            if not holds:
                raise InputError(f"{name} of the sound card is out of range", key=name, found=f"{getattr(self, name):g}",
                                 allowed=allowed)  # fmt: skip
        if not 1 <= len(self.inputs) <= MOST_INPUTS:
            raise InputError("The number of input channels of the sound card is out of range", key="inputs",
                             found=str(len(self.inputs)), allowed=f"1 to {MOST_INPUTS}")  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Levels:
    """What the inputs carried lately, one value a channel.

    Parameters
    ----------
    peak, rms
        Largest sample and r.m.s. since the last look, re full scale (a full sine has r.m.s. 0.707).
    over
        Samples at full scale since the last look.
    done
        How far the signal is played, 0 to 1; 0 when nothing plays.
    """

    peak: tuple[float, ...] = ()
    rms: tuple[float, ...] = ()
    over: tuple[int, ...] = ()
    done: float = 0.0
