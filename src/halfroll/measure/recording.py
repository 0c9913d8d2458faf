"""A recording as arrays: channels with roles, and what one full scale means in physical units."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from enum import StrEnum

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Verdict
from halfroll.measure.rig.correction import Correction


class Role(StrEnum):
    """What a channel holds; ``source`` is the voltage before a known series resistor."""

    MICROPHONE = "microphone"
    VOLTAGE = "voltage"
    CURRENT = "current"
    SOURCE = "source"
    UNUSED = "unused"


@dataclass(frozen=True, kw_only=True)
class Scale:
    """Physical value of one full scale of a channel, with its relative standard uncertainty in decibels."""

    per_full_scale: float
    u_db: float = 0.0

    def __post_init__(self) -> None:
        if not (np.isfinite(self.per_full_scale) and self.per_full_scale > 0):
            raise InputError(
                "The full-scale value of a channel must be a number above 0", found=self.per_full_scale
            )
        if not (np.isfinite(self.u_db) and self.u_db >= 0):
            raise InputError("The uncertainty of a scale must be 0 dB or more", found=self.u_db)


@dataclass(frozen=True, kw_only=True)
class Recording:
    """Samples of one take.

    Parameters
    ----------
    samples
        Shape (n_channels, n), re full scale.
    rate_hz
        Samples per second as the file says.
    roles
        One role a channel.
    scales
        Physical value of full scale for each role whose scale is known (Pa, V, A).
    verdicts
        What must be said of it before it is analysed: of its rig, and of channels before they were worked into others
        (`halfroll.measure.rig.current`).
    current_shares_voltage
        Whether an error of the voltage's scale is the current's too.
    correction
        What the microphone reads too high over frequency; None when not known.
    """

    samples: FloatArray
    rate_hz: int
    roles: tuple[Role, ...]
    scales: dict[Role, Scale] = field(default_factory=dict)
    verdicts: tuple[Verdict, ...] = ()
    current_shares_voltage: bool = False
    correction: Correction | None = None

    def __post_init__(self) -> None:
        if self.samples.ndim != 2 or self.samples.shape[0] != len(self.roles):
            raise InputError(
                "A recording must have as many channels as roles are given",
                found=f"{self.samples.shape[0] if self.samples.ndim == 2 else 1} channels, {len(self.roles)} roles",
            )
        if not self.samples.size:
            raise InputError("The recording is empty", remedy="Export it again")
        used = [role for role in self.roles if role is not Role.UNUSED]
        if len(used) != len(set(used)):
            raise InputError("Each role may be given to one channel only", found=", ".join(self.roles))

    def channel(self, role: Role) -> FloatArray | None:
        """Samples (n,) of the channel with a role, re full scale; None when there is none."""
        return self.samples[self.roles.index(role)] if role in self.roles else None

    def physical(self, role: Role) -> FloatArray | None:
        """Samples (n,) in Pa, V or A; None when the channel is missing; refused by the caller if the scale is."""
        channel = self.channel(role)
        if channel is None:
            return None
        scale = self.scales.get(role)
        return channel if scale is None else channel * scale.per_full_scale

    def u_db(self, role: Role) -> float:
        """Standard uncertainty (dB) of what a channel reads: of its scale, and of the microphone's correction; 0 where unknown."""
        scale = self.scales[role].u_db if role in self.scales else 0.0
        bent = self.correction.u_db if role is Role.MICROPHONE and self.correction is not None else 0.0
        return math.hypot(scale, bent)

    @property
    def impedance_u_db(self) -> float:
        """Standard uncertainty (dB) of voltage over current from their scales; an error that both share cancels."""
        voltage, current = self.u_db(Role.VOLTAGE), self.u_db(Role.CURRENT)
        return current if self.current_shares_voltage else math.hypot(voltage, current)

    def with_channel(self, role: Role, samples: FloatArray, scale: Scale) -> Recording:
        """The same with the channel of a role put in place of the one there is, or added; samples (n,) re full scale."""
        if role in self.roles:
            every = self.samples.copy()
            every[self.roles.index(role)] = samples
            return replace(self, samples=every, scales={**self.scales, role: scale})
        return replace(
            self, samples=np.vstack([self.samples, samples]), roles=(*self.roles, role),
            scales={**self.scales, role: scale},
        )  # fmt: skip
