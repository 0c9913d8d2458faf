"""The playback level for a wanted voltage at the terminals, found from below with short tone bursts.

Each step plays one burst with raised-cosine fades and reads its amplitude, so that nothing sounds long and nothing is
louder than what the last burst proved to be safe. The amplifier is taken to be linear, and every step checks that.
"""

from __future__ import annotations

import math

import numpy as np

from halfroll.core.errors import InputError, RefusedError
from halfroll.core.levels import DB_OF_RELATIVE, FloatArray, db
from halfroll.core.progress import Progress, part, silent
from halfroll.core.text import format_value
from halfroll.measure.level.burst import burst, read_burst
from halfroll.measure.level.ramp import FoundLevel, RampSettings, RampStep
from halfroll.measure.player import Player
from halfroll.measure.recording import Scale

ROOT_2 = math.sqrt(2.0)
CLIPPED = 0.9995
_SEEN = 10.0
_RISE_TOLERANCE_DB = 1.0
_SCALE_TOLERANCE_DB = 1.0
_STEADY_DB = 0.15
"""A burst that reads lower by this than the one before foretold is played again."""

_MOST_STEPS = 40


def find_level(
    player: Player,
    target_v: float,
    *,
    limit_v: float | None = None,
    voltage: tuple[int, Scale] | None = None,
    output: Scale | None = None,
    most: float = 1.0,
    settings: RampSettings | None = None,
    progress: Progress = silent,
) -> FoundLevel:
    """Find the level for a terminal voltage.

    Parameters
    ----------
    player
        Plays the bursts.
    target_v
        Wanted voltage at the terminals, V r.m.s. of a sine.
    limit_v
        Voltage that must not be exceeded; None: there is only the target.
    voltage
        Index of the voltage channel and the voltage of its full scale, where there is one.
    output
        Terminal voltage (instantaneous) of one digital full scale, where it is known. Without a voltage channel it is
        believed; with one, both must agree within 1 dB.
    most
        Largest sample that may be played, re full scale.
    settings
        Tone and steps.
    progress
        Called between and during the bursts; may cancel, which stops the sound.

    Raises
    ------
    RefusedError
        The target lies above the limit, or above what the output can do.
    InputError
        Neither voltage channel nor output scale is known; an input clips; the voltage does not follow the level.
    """
    search = _Search(player, target_v, limit_v, voltage, output, most, settings or RampSettings())
    return search.run(progress)


class _Search:
    """One search: what is known, and the bursts so far."""

    def __init__(
        self, player: Player, target_v: float, limit_v: float | None, voltage: tuple[int, Scale] | None,
        output: Scale | None, most: float, settings: RampSettings,
    ) -> None:  # fmt: skip
        self.player, self.settings = player, settings
        self.target_v, self.voltage, self.output, self.most = target_v, voltage, output, most
        _check_goal(target_v, limit_v, voltage, output, player, settings)
        self.limit_v = target_v if limit_v is None else limit_v
        self.steps: list[RampStep] = []
        self.gain = output.per_full_scale if output is not None else None
        """Terminal voltage (instantaneous) of one full scale as known by now."""

    def run(self, progress: Progress) -> FoundLevel:
        level = self._first()
        guess = (
            2 + max(float(db(self._level_for(self.target_v) / level)), 0.0) / self.settings.step_db
            if self.gain
            else 8
        )
        for number in range(_MOST_STEPS):
            share = [min((number + k) / (max(guess, number + 1)), 1.0) for k in (0, 1)]
            here = part(progress, *share)
            read = self._burst(level, here)
            if self._near(level, read):
                return self._found(level, read)
            level = self._next(level)
        raise InputError("The wanted voltage was not reached", found=_volts(self.steps[-1].voltage_v),
                         allowed=_volts(self.target_v), remedy="Check amplifier, leads and scales")  # fmt: skip

    def _first(self) -> float:
        start = float(10 ** (self.settings.start_db / 20))
        far = start if self.gain is None else self._level_for(self.target_v) / 10.0
        return min(start, far, self.most)

    def _level_for(self, volts: float) -> float:
        assert self.gain is not None
        return volts * ROOT_2 / self.gain

    def _burst(self, level: float, progress: Progress) -> tuple[float, float] | None:
        """Play one; the voltage and its relative noise, or None when there is no channel or it shows nothing."""
        read = self._play(level, progress)
        if read is not None and self._reads_low(level, *read):
            read = max(read, self._play(level, progress) or read)
        self.steps.append(RampStep(level=level, voltage_v=None if read is None else read[0]))
        if self.voltage is not None:
            self._check(level, None if read is None else read[0])
        return read

    def _play(self, level: float, progress: Progress) -> tuple[float, float] | None:
        rate, frequency = self.player.rate_hz, self.settings.frequency_hz
        words = f"tone of {frequency:g} Hz at {format_value(float(db(level)), None, 'dB')} re full scale"
        progress(0.0, words)
        recorded = self.player.play(burst(frequency, rate, level), lambda done, what: progress(done, words))
        _check_clipping(recorded)
        if self.voltage is None:
            return None
        channel, scale = self.voltage
        amplitude, noise = read_burst(recorded[channel], frequency, rate)
        if not (amplitude > _SEEN * noise and amplitude > 0):
            return None
        return amplitude * scale.per_full_scale / ROOT_2, noise / amplitude

    def _reads_low(self, level: float, volts: float, noise: float) -> bool:
        """Whether less was read than is known to be there: a block that the sound system dropped does that, so it is read again.

        Believed, it would raise the level. Too high a reading is never put down to chance.
        """
        if self.gain is None:
            return False
        seen = any(step.voltage_v is not None for step in self.steps)
        tolerance = _STEADY_DB + 3.0 * noise * DB_OF_RELATIVE if seen else _SCALE_TOLERANCE_DB
        return float(db(volts / (level * self.gain / ROOT_2))) < -tolerance

    def _check(self, level: float, volts: float | None) -> None:
        """Whether the voltage is what it must be after this burst; then it says what the amplifier does."""
        if volts is None:
            self._check_blind(level)
            return
        if volts > 1.03 * self.limit_v:
            raise RefusedError("The voltage is above the limit, so the sound was stopped", found=_volts(volts),
                               allowed=f"up to {_volts(self.limit_v)}", remedy="Turn the amplifier down")  # fmt: skip
        self._check_scale(level, volts)
        self._check_rise()
        self.gain = volts * ROOT_2 / level

    def _check_blind(self, level: float) -> None:
        """Nothing was read: whether to go on, a little, for a small voltage may drown in the noise."""
        seen = any(step.voltage_v is not None for step in self.steps)
        at_goal = self.gain is not None and level >= self._level_for(self.target_v) * (1 - 1e-9)
        too_high = db(level) + self.settings.step_db > self.settings.blind_db
        if seen or at_goal or too_high:
            raise InputError(
                "The voltage channel shows no tone, so the level is not raised further",
                found=f"nothing at {db(level):.0f} dB re full scale",
                remedy="Check that the amplifier is on, that the voltage channel is connected to its terminals, and the order of the channels",
            )

    def _check_scale(self, level: float, volts: float) -> None:
        if self.output is None:
            return
        expected = level * self.output.per_full_scale / ROOT_2
        apart = float(db(volts / expected))
        if abs(apart) > _SCALE_TOLERANCE_DB:
            raise InputError(
                "The voltage channel and the output scale do not agree",
                found=f"{_volts(volts)} read where {_volts(expected)} was expected, {apart:+.1f} dB",
                remedy="The amplifier's setting was changed, or a scale of the rig is wrong: calibrate the output anew",
            )

    def _check_rise(self) -> None:
        seen = [step for step in self.steps if step.voltage_v is not None]
        if len(seen) < 2:
            return
        before, after = seen[-2:]
        wanted = after.level_db - before.level_db
        rose = float(db((after.voltage_v or 0.0) / (before.voltage_v or 1.0)))
        if abs(rose - wanted) > _RISE_TOLERANCE_DB:
            raise InputError(
                "The voltage does not follow the level",
                found=f"{rose:+.1f} dB for {wanted:+.1f} dB more",
                remedy="Something limits or compresses, or the channel holds something else: check amplifier, leads and channel order",
            )

    def _near(self, level: float, read: tuple[float, float] | None) -> bool:
        if self.voltage is None:
            return math.isclose(level, self._level_for(self.target_v), rel_tol=1e-9)
        return read is not None and abs(float(db(read[0] / self.target_v))) <= self.settings.tolerance_db

    def _next(self, level: float) -> float:
        higher = level * float(10 ** (self.settings.step_db / 20))
        if self.gain is None:
            return min(higher, self.most)
        goal = self._level_for(self.target_v)
        if goal > self.most * (1 + 1e-9):
            raise RefusedError(
                "The output cannot reach the wanted voltage",
                found=f"{_volts(self.most * self.gain / ROOT_2)} at {self.most:.3g} of full scale",
                allowed=f"{_volts(self.target_v)} was wanted",
                remedy="Turn the amplifier up and calibrate the output anew, or ask for less",
            )
        return min(higher, goal)

    def _found(self, level: float, read: tuple[float, float] | None) -> FoundLevel:
        scale = self.output if self.voltage is None else self.voltage[1]
        assert scale is not None
        noise_db = 0.0 if read is None else DB_OF_RELATIVE * read[1]
        return FoundLevel(
            level=level,
            voltage_v=self.target_v if read is None else read[0],
            u_db=math.hypot(scale.u_db, noise_db),
            measured=read is not None,
            frequency_hz=self.settings.frequency_hz,
            steps=tuple(self.steps),
        )


def _check_goal(
    target_v: float, limit_v: float | None, voltage: tuple[int, Scale] | None, output: Scale | None, player: Player,
    settings: RampSettings,
) -> None:  # fmt: skip
    """Refuse before a sound is made."""
    if not (math.isfinite(target_v) and 0 < target_v <= 1000):
        raise InputError("The wanted voltage must be above 0 V and at most 1000 V", found=f"{target_v:g} V")
    if limit_v is not None and target_v > limit_v * (1 + 1e-9):
        raise RefusedError("The wanted voltage is above the limit that was set", found=_volts(target_v),
                           allowed=f"up to {_volts(limit_v)}",
                           remedy="Ask for less, or raise the limit if the driver bears it")  # fmt: skip
    if settings.frequency_hz > 0.4 * player.rate_hz:
        raise InputError("The tone must lie below 0.4 of the sample rate", key="frequency_hz",
                         found=f"{settings.frequency_hz:g} Hz", allowed=f"up to {0.4 * player.rate_hz:g} Hz")  # fmt: skip
    if voltage is None and output is None:
        raise InputError(
            "The level cannot be found: neither a voltage channel with a scale nor the output scale is known",
            remedy="Calibrate the output with a multimeter, or connect a voltage channel and enter its scale in the rig",
        )


def _check_clipping(recorded: FloatArray) -> None:
    over = np.flatnonzero(np.abs(recorded).max(axis=1, initial=0.0) >= CLIPPED)
    if len(over):
        raise InputError(f"Input channel {int(over[0]) + 1} clips, so the level is not raised further",
                         remedy="Lower the gain of that input, and calibrate it anew")  # fmt: skip


def _volts(value: float | None) -> str:
    return "no voltage" if value is None else format_value(value, None, "V")
