"""Playing stepped tones and listening: from the lowest level upwards, each as long as it needs, stopped when it must be."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.core.text import format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.player import Player
from halfroll.measure.recording import Role, Scale
from halfroll.measure.stepped.tone_estimate import ToneEstimate, estimate
from halfroll.measure.stepped.tone_timing import check_timing
from halfroll.measure.stepped.tone_verdicts import is_clipped
from halfroll.measure.stepped.tones import Schedule, Tone, TonePlan, tone

LEAST_BLOCKS = 4

OVER_LIMIT = 1.05
"""A measured voltage above the limit by more than this stops the run: the rig's output scale is then wrong."""

SPARE = 1.3
"""A tone is made longer by this more than its noise asks for, so that it need not be played a third time."""


@dataclass(frozen=True, kw_only=True)
class ToneRun:
    """Tones as they were played and recorded: samples re full scale (channels, n), where each lies, and why it ended."""

    samples: FloatArray
    schedule: Schedule
    verdicts: tuple[Verdict, ...] = ()


def measure_tones(
    player: Player,
    plan: TonePlan,
    roles: Sequence[Role],
    scales: Mapping[Role, Scale],
    progress: Progress = silent,
) -> ToneRun:
    """Play a plan and record it, adapting every tone to how it settles and to the noise.

    Levels ascend, so that whatever is wrong shows at the lowest. A channel that clips or a voltage above the limit ends
    the run at once; a frequency whose distortion passes the plan's stop is not played louder. What was recorded until
    then is kept. In the end the last tone of the lowest level is played once more.

    Raises
    ------
    InputError
        The player's rate or channels are not those of the plan, nothing was recorded, or the first tone does not come
        when it should.
    CancelledError
        `progress` asked to stop; nothing is returned then.
    """
    _check(player, plan, roles)
    bench = _Bench(player, plan, tuple(roles), dict(scales))
    bench.silence(part(progress, 0.0, 0.02))
    wanted = [(level, frequency) for level in plan.level_v for frequency in plan.frequency_hz]
    left_out: dict[float, float] = {}
    for done, (level, frequency) in enumerate(wanted):
        if frequency in left_out:
            continue
        share = part(progress, 0.02 + 0.96 * done / len(wanted), 0.02 + 0.96 * (done + 1) / len(wanted))
        share(0.0, f"{format_value(frequency, None, 'Hz')} at {format_value(level, None, 'V')}")
        thd = bench.measure(frequency, level, share)
        if bench.ended:
            break
        if thd > plan.settings.stop_thd:
            left_out[frequency] = level
    if not bench.ended and len(bench.tones) > 1:
        bench.measure(plan.frequency_hz[-1], plan.level_v[0], part(progress, 0.98, 1.0), closing=True)
    return bench.run(left_out)


class _Bench:
    """The state of a run: what was recorded so far, and whether it must end."""

    def __init__(
        self, player: Player, plan: TonePlan, roles: tuple[Role, ...], scales: dict[Role, Scale]
    ) -> None:
        self.player, self.plan, self.roles, self.scales = player, plan, roles, scales
        self.parts: list[FloatArray] = []
        self.tones: list[Tone] = []
        self.ended: list[Verdict] = []
        self._length = 0
        self._silence = 0

    def silence(self, progress: Progress) -> None:
        """Record the place as it is."""
        heard = self.player.play(np.zeros(round(self.plan.settings.silence_s * self.plan.rate_hz)), progress)
        self._silence = heard.shape[1]
        self._keep(heard)

    def measure(
        self, frequency_hz: float, level_v: float, progress: Progress, *, closing: bool = False
    ) -> float:
        """Play one tone until it is settled and certain enough; its distortion over the fundamental."""
        plan, settings = self.plan, self.plan.settings
        block_s = tone(plan, frequency_hz, level_v, 1).block / plan.rate_hz
        blocks = max(LEAST_BLOCKS, math.ceil(settings.shortest_s / block_s))
        most = max(blocks, math.floor(settings.longest_s / block_s))
        while True:
            played = tone(plan, frequency_hz, level_v, blocks, closing=closing)
            heard = self._play(played, progress)
            self._check_timing(heard, played)
            found = estimate(heard, played, plan.rate_hz)
            self.ended = self._must_end(heard, played, found)
            row = self.roles.index(Role.MICROPHONE)
            thd = _thd(found, row)
            wanted = min(most, _blocks_wanted(found, played, plan, row))
            if self.ended or thd > settings.stop_thd or wanted <= blocks:
                break
            blocks = wanted
        self.tones.append(replace(played, start=self._length))
        self._keep(heard)
        return thd

    def run(self, left_out: Mapping[float, float]) -> ToneRun:
        """Everything recorded, with what must be said about how it went."""
        schedule = Schedule(rate_hz=self.plan.rate_hz, silence=self._silence, tones=tuple(self.tones))
        said = list(self.ended)
        louder = {f: v for f, v in left_out.items() if v < self.plan.level_v[-1]}
        if louder:
            said.append(_left_out(louder, self.plan))
        return ToneRun(samples=np.concatenate(self.parts, axis=1), schedule=schedule, verdicts=tuple(said))

    def _play(self, played: Tone, progress: Progress) -> FloatArray:
        heard = self.player.play(played.samples(self.plan.rate_hz), progress)
        for role, channel in zip(self.roles, heard, strict=True):
            if role is not Role.UNUSED and not np.any(channel):
                raise InputError(
                    f"Nothing was recorded: every sample of the {role} channel is zero",
                    remedy="Check cable, input and channel order; nothing was kept",
                )
        return heard

    def _check_timing(self, heard: FloatArray, played: Tone) -> None:
        """Of the first tone, where the terminals are recorded."""
        if not self.tones and Role.VOLTAGE in self.roles:
            rate = self.plan.rate_hz
            check_timing(
                heard[self.roles.index(Role.VOLTAGE)], played.samples(rate), played.frequency_hz(rate), rate
            )

    def _must_end(self, heard: FloatArray, played: Tone, found: ToneEstimate) -> list[Verdict]:
        said = [_clipped(played)] if is_clipped(heard, self.roles) else []
        if Role.VOLTAGE in self.roles and Role.VOLTAGE in self.scales:
            fundamental = abs(found.orders[self.roles.index(Role.VOLTAGE), 0])
            voltage = float(fundamental * self.scales[Role.VOLTAGE].per_full_scale)
            if voltage > OVER_LIMIT * self.plan.limit_v:
                said.append(_over_limit(voltage, self.plan.limit_v))
        return said

    def _keep(self, heard: FloatArray) -> None:
        self.parts.append(heard)
        self._length += heard.shape[1]


def _check(player: Player, plan: TonePlan, roles: Sequence[Role]) -> None:
    if player.rate_hz != plan.rate_hz:
        raise InputError("The plan must have the sample rate of the sound card",
                         found=f"{plan.rate_hz} Hz", allowed=f"{player.rate_hz} Hz")  # fmt: skip
    if len(roles) != player.channels:
        raise InputError(
            "Every input channel must have a role", found=f"{player.channels} channels, {len(roles)} roles"
        )
    if Role.MICROPHONE not in roles:
        raise InputError("One input channel must be the microphone", found=", ".join(roles))


def _thd(found: ToneEstimate, row: int) -> float:
    """Harmonics over the fundamental with the noise's share taken off; 0 where the fundamental is under the noise."""
    power, noise = np.abs(found.orders[row]) ** 2, found.noise[row] ** 2
    if not power[0] > 10.0 * noise[0]:
        return 0.0
    return math.sqrt(max(0.0, float(np.nansum(power[1:] - noise[1:]))) / float(power[0]))


def _blocks_wanted(found: ToneEstimate, played: Tone, plan: TonePlan, row: int) -> int:
    """Blocks the tone should have: twice as many while it is not steady, or what its noise asks for."""
    if not found.settled:
        return 2 * played.blocks
    settings = plan.settings
    orders = np.abs(found.orders[row, 1 : settings.wanted_order])
    u = found.noise[row, 1 : settings.wanted_order] / math.sqrt(2.0)
    fundamental = float(np.abs(found.orders[row, 0]))
    if fundamental == 0.0:
        return played.blocks
    # of an order under its noise only the wanted floor is known
    known = np.where(orders > 3.0 * u, orders, 0.0)
    target = settings.relative_u * np.maximum(known, fundamental * 10.0 ** (settings.weakest_db / 20.0))
    ratio = float(np.nanmax(u / target, initial=0.0)) ** 2
    if ratio <= 1.0:
        return played.blocks
    used = (found.window[1] - found.window[0]) / played.block
    settling = played.blocks - used
    return math.ceil(max(2 * settling, settling + min(SPARE * ratio * used, 1e6)))


def _clipped(played: Tone) -> Verdict:
    return Verdict(
        code="tone-clipped",
        severity=Severity.CAUTION,
        text=f"The series was stopped: a channel reached full scale at {format_value(played.nominal_hz, None, 'Hz')} and "
        f"{format_value(played.level_v, None, 'V')}.",
        remedy="Lower the input gain and measure again.",
        data={"level_v": played.level_v},
    )


def _over_limit(voltage_v: float, limit_v: float) -> Verdict:
    return Verdict(
        code="over-limit",
        severity=Severity.CAUTION,
        text=f"The series was stopped: {format_value(voltage_v, None, 'V')} stood at the terminals, above the limit of "
        f"{format_value(limit_v, None, 'V')}.",
        remedy="Calibrate the output of the rig again before anything louder is played.",
        data={"voltage_v": voltage_v, "limit_v": limit_v},
    )


def _left_out(left_out: Mapping[float, float], plan: TonePlan) -> Verdict:
    tones = ", ".join(f"{frequency:g} Hz from {level:.3g} V" for frequency, level in sorted(left_out.items()))
    return Verdict(
        code="stopped-at-distortion",
        severity=Severity.NOTE,
        text=f"Distortion passed {100 * plan.settings.stop_thd:.3g} %, so nothing louder was played there: {tones}.",
        data={"stop_thd": plan.settings.stop_thd},
    )
