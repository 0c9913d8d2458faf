"""A sound card that plays and records at once."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from typing import Any

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.measure.capture import child
from halfroll.measure.capture.listing import answer, choose_device, devices, end, start
from halfroll.measure.capture.types import CaptureSetup, Levels
from halfroll.measure.recording import Role

_LOOK_EVERY_S = 0.05
_HUNG_S = 3.0
_BAD_RATE = -9997  # paInvalidSampleRate
_LOST = "The sound device was lost"
_AFTER_LOSS = "See that it is connected and its sound service runs, then begin again; nothing was saved"


@contextlib.contextmanager
def open_player(setup: CaptureSetup) -> Iterator[SoundCard]:
    """The sound card, open and silent while the ``with`` lasts.

    Raises
    ------
    InputError
        A device is not there, or does not take the rate or the channels; or what is needed is not installed.
    """
    card = SoundCard(setup)
    try:
        yield card
    finally:
        card.close()


class SoundCard:
    """A `halfroll.measure.player.Player` with a sound card behind it. Used by one thread at a time.

    `last` may be read by any thread: the levels at the latest look, which `play` and `listen` keep fresh. Once `lost` is true
    nothing more can be done with it.
    """

    def __init__(self, setup: CaptureSetup) -> None:
        known = devices()
        into = choose_device(known, setup.input, output=False)
        out = choose_device(known, setup.output, output=True)
        _check_fit(setup, into.inputs, into.label, out.outputs, out.label)
        self.setup = setup
        self.names = (into.label, out.label)
        self.last = Levels()
        self.lost = False
        self._process, self._pipe = start(child.run, setup, (into.number, out.number), min(out.outputs, 2)
                                          if setup.output_channel <= 2 else setup.output_channel)  # fmt: skip
        try:
            word, *rest = answer(self._pipe, self._process)
            if word == "refused":
                rates = sorted({into.rate_hz, out.rate_hz})
                raise _refusal(setup, self.names, rates, *rest)
        except BaseException:
            end(self._process)
            raise

    @property
    def rate_hz(self) -> int:
        """Samples per second, in and out."""
        return self.setup.rate_hz

    @property
    def channels(self) -> int:
        """Number of input channels."""
        return len(self.setup.inputs)

    @property
    def roles(self) -> tuple[Role, ...]:
        """What each input channel holds."""
        return self.setup.inputs

    def play(self, signal: FloatArray, progress: Progress = silent) -> FloatArray:
        """Play a signal and record; see `Player.play`. A stop, also by Ctrl-C, fades out within 10 ms.

        Raises
        ------
        InputError
            A sample lies above `CaptureSetup.most`; the device was lost; or samples were dropped.
        CancelledError
            `progress` asked to stop.
        """
        self._check_signal(signal)
        self._tell("play", np.ascontiguousarray(signal, dtype=np.float32))
        try:
            while True:
                state = self._look()
                if state["over_now"]:
                    break
                progress(min(self.last.done, 1.0), "playing")
                self._process.join(_LOOK_EVERY_S)
        except BaseException:
            self._stop()
            raise
        recorded = self._ask("fetch")
        _check_whole(state["flags"], self.rate_hz)
        return np.asarray(recorded, dtype=np.float64)

    def listen(self, progress: Progress = silent) -> Levels:
        """Levels of the inputs since the last look, without playing anything.

        Raises
        ------
        InputError
            The device was lost.
        """
        self._look()
        progress(0.0, "listening")
        return self.last

    def close(self) -> None:
        """Silence, and let the device go."""
        with contextlib.suppress(OSError, InputError):
            self._pipe.send(("close",))
        end(self._process, 1.0)
        self._pipe.close()

    def _check_signal(self, signal: FloatArray) -> None:
        if signal.ndim != 1 or not len(signal) or not np.isfinite(signal).all():
            raise InputError("A signal to play must be a row of numbers", found=f"shape {signal.shape}")
        peak = float(np.abs(signal).max())
        if peak > self.setup.most * (1 + 1e-9):
            raise InputError("The signal is louder than the limit that was set, so nothing was played",
                             found=f"{peak:.4f} of full scale", allowed=f"up to {self.setup.most:.4f} of full scale",
                             remedy="Lower the wanted level, or raise the limit if the driver bears it")  # fmt: skip

    def _look(self) -> Any:
        state = self._ask("state")
        done = state["at"] / state["total"] if state["total"] else 0.0
        self.last = Levels(peak=state["peak"], rms=state["rms"], over=state["over"], done=done)
        if state["lost"]:
            end(self._process)
            raise self._lost("it stopped")
        return state

    def _ask(self, word: str) -> Any:
        self._tell(word)
        try:
            if self._pipe.poll(_HUNG_S):
                return self._pipe.recv()
        except (EOFError, OSError):
            raise self._lost("its process ended") from None
        end(self._process)
        raise self._lost("it answers no more")

    def _tell(self, *words: Any) -> None:
        try:
            self._pipe.send(words)
        except OSError:
            raise self._lost("its process ended") from None

    def _stop(self) -> None:
        """Take the sound away; what goes wrong now has been said already."""
        with contextlib.suppress(InputError):
            self._tell("stop")
            for _ in range(20):
                if self._look()["over_now"]:
                    break
                self._process.join(0.02)
            self._ask("fetch")

    def _lost(self, how: str) -> InputError:
        self.lost = True
        return InputError(
            _LOST, found=f"{' and '.join(dict.fromkeys(self.names))}: {how}", remedy=_AFTER_LOSS
        )


def _check_fit(setup: CaptureSetup, inputs: int, into: str, outputs: int, out: str) -> None:
    if len(setup.inputs) > inputs:
        raise InputError("The input device has too few channels", key="inputs", found=f"{into} has {inputs}",
                         allowed=f"at least {len(setup.inputs)}, one for each role")  # fmt: skip
    if setup.output_channel > outputs:
        raise InputError("The output device has too few channels", key="output_channel",
                         found=f"{out} has {outputs}", allowed=f"at least {setup.output_channel}")  # fmt: skip


def _refusal(
    setup: CaptureSetup, names: tuple[str, str], rates: list[float], text: str, code: int
) -> InputError:
    if code == _BAD_RATE:
        return InputError("The sound device does not run at this sample rate", key="rate_hz",
                          found=f"{setup.rate_hz} Hz", allowed=" or ".join(f"{rate:.0f} Hz" for rate in rates),
                          remedy="Choose its own rate, or change it in the system's sound settings")  # fmt: skip
    return InputError(f"The sound device could not be opened: {text}", found=" and ".join(dict.fromkeys(names)),
                      remedy="Close other programs that use it; input and output must belong to one sound system")  # fmt: skip


def _check_whole(flags: list[tuple[int, str]], rate_hz: int) -> None:
    """Refuse a recording with gaps: samples were lost while it ran."""
    if flags:
        where = ", ".join(f"{what} at {at / rate_hz:.2f} s" for at, what in flags)
        raise InputError("The sound card dropped samples, so the recording was thrown away", found=where,
                         remedy="Close other programs, choose a larger block, and record again")  # fmt: skip
