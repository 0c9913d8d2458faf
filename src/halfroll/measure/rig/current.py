"""Voltage and current at the terminals from what was wired: a shunt, or a divider with a known series resistor.

Shunt: the current channel holds the voltage across a small resistor. When the voltage channel sits before the shunt, the
shunt's drop is taken off. Divider: one channel holds the voltage before a known resistor, the other that at the terminals;
the current is their difference over the resistance, so Z = R U/(Us - U). The second channel's gain and delay against the
voltage channel, found with nothing connected, are taken out first. All is linear, so it is done once on the samples.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from scipy import fft

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray, db
from halfroll.measure.analysis.checks import clipping
from halfroll.measure.recording import Recording, Role, Scale

_EXCHANGED_DB = 1.0  # a driver's voltage may exceed the source's by a little where the load is capacitive


@dataclass(frozen=True, kw_only=True)
class CurrentWay:
    """How the current is known.

    Parameters
    ----------
    method
        ``direct``: the current channel's scale alone; ``shunt``; ``divider``.
    resistance_ohm
        Shunt or series resistor (ohm); None with ``direct``.
    u_db
        Standard uncertainty of the current apart from gain and from what it shares with the voltage (dB).
    gain_db, gain_u_db
        How much more the second channel (current or source) reads than the voltage channel for the same voltage, and the
        standard uncertainty of that (dB).
    delay_s
        How much later it is (s).
    voltage_includes_shunt
        Whether the voltage channel was connected before the shunt.
    shares_voltage
        Whether an error of the voltage scale is the current's too, so that it leaves the impedance alone.
    """

    method: Literal["direct", "shunt", "divider"] = "direct"
    resistance_ohm: float | None = None
    u_db: float = 0.0
    gain_db: float = 0.0
    gain_u_db: float = 0.0
    delay_s: float = 0.0
    voltage_includes_shunt: bool = False
    shares_voltage: bool = False

    def __post_init__(self) -> None:
        needs = self.method == "divider" or self.voltage_includes_shunt
        if needs and not (
            self.resistance_ohm and math.isfinite(self.resistance_ohm) and self.resistance_ohm > 0
        ):
            raise InputError("The resistance must be a number above 0 for this way of measuring current",
                             key="resistance_ohm", found=self.resistance_ohm)  # fmt: skip


def with_current(recording: Recording, way: CurrentWay) -> Recording:
    """The recording with voltage and current at the terminals as channels of their own, as far as they can be had.

    Channels that are worked into others are looked at for clipping before.

    Raises
    ------
    InputError
        The source channel is smaller than the voltage at the terminals: the two are exchanged.
    """
    if way.method == "divider":
        return _by_divider(recording, way)
    if not {Role.CURRENT} <= set(recording.roles) & set(recording.scales):
        return recording
    return _by_shunt(recording, way)


def delayed(samples: FloatArray, rate_hz: int, delay_s: float) -> FloatArray:
    """Samples (n,) moved later by any time (s; negative: earlier), band-limited; what leaves at an end is lost."""
    if delay_s == 0.0:
        return samples
    n = fft.next_fast_len(samples.size + 2 * math.ceil(abs(delay_s) * rate_hz) + 64, real=True)
    turned = fft.rfft(samples, n) * np.exp(-2j * np.pi * fft.rfftfreq(n, 1 / rate_hz) * delay_s)
    return np.asarray(fft.irfft(turned, n)[: samples.size], dtype=np.float64)


def _by_shunt(recording: Recording, way: CurrentWay) -> Recording:
    """The current channel on the voltage channel's gain and time; the voltage without the shunt's drop."""
    channel, scale = recording.samples[recording.roles.index(Role.CURRENT)], recording.scales[Role.CURRENT]
    moved = delayed(channel, recording.rate_hz, -way.delay_s)
    clean = Scale(
        per_full_scale=scale.per_full_scale / _ratio(way.gain_db), u_db=math.hypot(scale.u_db, way.gain_u_db)
    )
    made = replace(recording, current_shares_voltage=way.shares_voltage)
    if way.delay_s:
        made = _looked_at(made, Role.CURRENT)
    made = made.with_channel(Role.CURRENT, moved, clean)
    voltage = recording.channel(Role.VOLTAGE)
    if not way.voltage_includes_shunt or voltage is None or Role.VOLTAGE not in recording.scales:
        return made
    volts = recording.scales[Role.VOLTAGE]
    sense = -1.0 if float(np.dot(voltage, moved)) < 0 else 1.0  # a passive load takes power
    drop = sense * float(way.resistance_ohm or 0.0) * clean.per_full_scale / volts.per_full_scale
    return _looked_at(made, Role.VOLTAGE).with_channel(Role.VOLTAGE, voltage - drop * moved, volts)


def _by_divider(recording: Recording, way: CurrentWay) -> Recording:
    """Current from the voltages before and behind the series resistor, both by the voltage channel's scale."""
    source, voltage = recording.channel(Role.SOURCE), recording.channel(Role.VOLTAGE)
    if source is None or voltage is None or Role.VOLTAGE not in recording.scales:
        return recording
    before = delayed(source, recording.rate_hz, -way.delay_s) / _ratio(way.gain_db)
    drop = (before - before.mean()) - (voltage - voltage.mean())
    whole, behind, across = (float(np.std(part)) for part in (before, voltage, drop))
    if whole < behind / _ratio(_EXCHANGED_DB):
        raise InputError(
            "The voltage before the series resistor must be the larger one; source and voltage seem to be exchanged",
            key="roles", found=f"the source channel lies {float(db(behind / max(whole, 1e-12))):.1f} dB below the voltage channel",
            remedy="Exchange the roles source and voltage of this recording",
        )  # fmt: skip
    volts = recording.scales[Role.VOLTAGE]
    size = 2.0 * max(float(np.abs(drop).max()), 1e-9)  # so that a large current is not taken for clipping
    u_db = math.hypot(way.u_db, way.gain_u_db * whole / max(across, 1e-6 * whole, 1e-12))
    scale = Scale(
        per_full_scale=size * volts.per_full_scale / float(way.resistance_ohm or 0.0), u_db=min(u_db, 20.0)
    )
    made = _looked_at(replace(recording, current_shares_voltage=True), Role.SOURCE)
    return made.with_channel(Role.CURRENT, drop / size, scale)


def _ratio(gain_db: float) -> float:
    return float(10.0 ** (gain_db / 20.0))


def _looked_at(recording: Recording, role: Role) -> Recording:
    """The recording with what clipping there is in a channel as it was recorded noted, before the channel is changed."""
    channel = recording.channel(role)
    verdict = None if channel is None else clipping(channel, role)
    return recording if verdict is None else replace(recording, verdicts=(*recording.verdicts, verdict))
