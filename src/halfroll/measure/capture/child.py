"""The process that talks to PortAudio. It answers over a pipe and ends when the pipe does, sound and all."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import time
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from types import ModuleType

    from halfroll.measure.capture.types import CaptureSetup

Block = NDArray[np.float32]

SILENT_S = 2.0
"""A device whose callback has not come for so long is lost (s)."""
SPAN_S = 0.5
"""So much of a recording before and after a gap is needed to see it: callbacks come in bursts (s)."""
LEAST_GAP_S = 0.02
"""A gap in time shorter than this, or than half a block, cannot be told from a late callback (s)."""
FADE_S = 0.01
"""A stop takes the sound away within this time, without a click (s)."""
_FULL = 0.9995


class Take:
    """One signal on its way out and what comes in meanwhile, block by block."""

    def __init__(self, samples: Block, channels: int, rate_hz: int, delay: int) -> None:
        self._signal = samples
        self._delay = delay
        self._record = np.zeros((len(samples) + delay, channels), np.float32)
        self._fade = max(round(FADE_S * rate_hz), 1)
        self._stopped_at: int | None = None
        self._rate_hz = rate_hz
        self._clock: list[tuple[float, int]] = []
        self.at = 0
        self.flags: list[tuple[int, str]] = []

    @property
    def total(self) -> int:
        """Frames until all is played and has come back."""
        return len(self._record)

    @property
    def over(self) -> bool:
        """Whether nothing more is played or recorded."""
        stopped = self._stopped_at is not None and self.at >= self._stopped_at + self._fade
        return stopped or self.at >= self.total

    def stop(self) -> None:
        """Fade out from here on."""
        if self._stopped_at is None:
            self._stopped_at = self.at

    def step(self, incoming: Block, outgoing: Block, trouble: str, now_s: float = 0.0) -> None:
        """Take one block (frames, channels) in at a time and fill one (frames,) that goes out, which holds zeros."""
        frames = len(incoming)
        self._clock.append((now_s, self.at))
        if trouble and self.at < self.total:
            self.flags.append((self.at, trouble))
        kept = min(frames, self.total - self.at)
        self._record[self.at : self.at + kept] = incoming[:kept]
        played = self._signal[self.at : self.at + frames]
        outgoing[: len(played)] = played
        if self._stopped_at is not None:
            since = np.arange(self.at, self.at + frames) - self._stopped_at
            outgoing *= np.clip(1.0 - since / self._fade, 0.0, 1.0).astype(np.float32)
        self.at += frames

    def troubles(self) -> list[tuple[int, str]]:
        """Where samples were lost: by what the sound system says, and by the clock."""
        return sorted([*self.flags, *((at, "a gap") for at in gaps(self._clock, self._rate_hz))])

    def recorded(self) -> Block:
        """What came in, the delay taken out, shape (channels, n)."""
        return np.ascontiguousarray(self._record[self._delay :].T)


def gaps(clock: list[tuple[float, int]], rate_hz: int) -> list[int]:
    """Where blocks were skipped without a word, as PipeWire's JACK door does when a client comes too late.

    A callback may come late and the next ones catch up; skipped blocks are never caught up, so from there on every
    callback is behind the clock. `clock` holds the time (s) and the first frame of every callback; the earliest callback
    of the second after each is compared with the earliest of the second before.
    """
    if len(clock) < 2:
        return []
    times, frames = np.array(clock).T
    behind = (times - times[0]) * rate_hz - frames
    least = max(0.5 * float(np.median(np.diff(frames))), LEAST_GAP_S * rate_hz)
    found: list[int] = []
    for n in np.flatnonzero((times - times[0] >= SPAN_S) & (times[-1] - times >= SPAN_S)):
        first, last = np.searchsorted(times, (times[n] - 1.0, times[n] + 1.0))
        jumped = behind[n:last].min() - behind[first:n].min() > least
        if jumped and (not found or frames[n] - found[-1] > rate_hz):
            found.append(int(frames[n]))
    return found


@dataclass
class _Meter:
    """Largest sample, sum of squares and overs of each channel since the last look."""

    channels: int
    count: int = 0
    peak: NDArray[np.float64] = field(init=False)
    squares: NDArray[np.float64] = field(init=False)
    over: NDArray[np.int64] = field(init=False)

    def __post_init__(self) -> None:
        self.peak, self.squares = np.zeros(self.channels), np.zeros(self.channels)
        self.over = np.zeros(self.channels, np.int64)

    def step(self, incoming: Block) -> None:
        magnitude = np.abs(incoming)
        self.count += len(incoming)
        self.peak = np.maximum(self.peak, magnitude.max(axis=0, initial=0.0))
        self.squares = self.squares + np.sum(np.square(incoming, dtype=np.float64), axis=0)
        self.over = self.over + np.count_nonzero(magnitude >= _FULL, axis=0)

    def read(self) -> dict[str, tuple[Any, ...]]:
        rms = np.sqrt(self.squares / max(self.count, 1))
        return {
            "peak": tuple(self.peak.tolist()),
            "rms": tuple(rms.tolist()),
            "over": tuple(self.over.tolist()),
        }


class Duplex:
    """A stream that runs all the while, so that every signal finds the same delay; silent when nothing plays."""

    def __init__(
        self, sound: ModuleType, setup: CaptureSetup, devices: tuple[int, int], outputs: int
    ) -> None:
        self._setup = setup
        self._channels = len(setup.inputs)
        self._meter = _Meter(self._channels)
        self._levels = self._meter.read()
        self._heard = time.monotonic()
        self.take: Take | None = None
        self._stream = sound.Stream(
            samplerate=setup.rate_hz, blocksize=setup.block, device=devices, channels=(self._channels, outputs),
            dtype="float32", latency="high", callback=self._callback, clip_off=True,
        )  # fmt: skip
        self._stream.start()

    def _callback(self, incoming: Block, outgoing: Block, frames: int, when: Any, status: Any) -> None:
        self._heard = time.monotonic()
        outgoing.fill(0.0)
        self._meter.step(incoming)
        take = self.take
        if take is not None and not take.over:
            take.step(incoming, outgoing[:, self._setup.output_channel - 1], _trouble(status), self._heard)

    def play(self, samples: Block) -> None:
        """Begin a signal with the next block."""
        delay = self._setup.latency_samples or 0
        self.take = Take(samples, self._channels, self._setup.rate_hz, delay)

    def state(self) -> dict[str, Any]:
        """What the meters show and how far the signal is, for the process that asks."""
        if self._meter.count:  # else no block came since the last look, and what it showed still holds
            meter, self._meter = self._meter, _Meter(self._channels)
            self._levels = meter.read()
        take = self.take
        return self._levels | {
            "at": take.at if take else 0,
            "total": take.total if take else 0,
            "over_now": take is None or take.over,
            "flags": take.troubles()[:3] if take is not None and take.over else [],
            "lost": self.lost,
        }

    @property
    def lost(self) -> bool:
        """Whether the device does not run any more."""
        return not self._stream.active or time.monotonic() - self._heard > SILENT_S

    def close(self) -> None:
        """Stop at once."""
        self._stream.abort()
        self._stream.close()


def _trouble(status: Any) -> str:
    """Names of what a callback says went wrong; that buffers are being filled at the start is no trouble."""
    kinds = ("input_overflow", "input_underflow", "output_overflow", "output_underflow")
    return " and ".join(kind.replace("_", " ") for kind in kinds if getattr(status, kind))


def list_devices(pipe: Connection) -> None:
    """Answer with all devices: number, name, system, inputs, outputs, rate; which ones are the defaults."""
    _be_quiet()
    sound = _sound(pipe)
    if sound is not None:
        systems = sound.query_hostapis()
        rows = [
            {
                "number": one["index"],
                "name": one["name"],
                "system": systems[one["hostapi"]]["name"],
                "inputs": one["max_input_channels"],
                "outputs": one["max_output_channels"],
                "rate_hz": one["default_samplerate"],
            }
            for one in sound.query_devices()
        ]
        pipe.send(("devices", rows, tuple(int(number) for number in sound.default.device)))
    pipe.close()


def run(pipe: Connection, setup: CaptureSetup, devices: tuple[int, int], outputs: int) -> None:
    """Hold a stream open and do what the other end of the pipe asks, until it closes."""
    _be_quiet()
    sound = _sound(pipe)
    if sound is None:
        return
    try:
        duplex = Duplex(sound, setup, devices, outputs)
    except sound.PortAudioError as fault:
        pipe.send(("refused", str(fault.args[0]), fault.args[1] if len(fault.args) > 1 else 0))
        return
    pipe.send(("ready",))
    with contextlib.suppress(EOFError, OSError):
        while _answer(pipe, duplex):
            pass
    if not duplex.lost:
        duplex.close()
    os._exit(0)  # tidying up after a lost server may never end


def _answer(pipe: Connection, duplex: Duplex) -> bool:
    """Do one thing that was asked; False when it was to close."""
    word, *rest = pipe.recv()
    if word == "play":
        duplex.play(rest[0])
    elif word == "stop":
        if duplex.take is not None:
            duplex.take.stop()
    elif word == "state":
        pipe.send(duplex.state())
    elif word == "fetch":
        take, duplex.take = duplex.take, None
        pipe.send(None if take is None else take.recorded())
    return bool(word != "close")


def _sound(pipe: Connection) -> ModuleType | None:
    """The library, or None when the other end was told why not."""
    try:
        import sounddevice
    except ImportError:
        pipe.send(("missing", "sounddevice"))
    except OSError as fault:
        pipe.send(("missing", "portaudio", str(fault)))
    else:
        module: ModuleType = sounddevice
        return module
    return None


def _be_quiet() -> None:
    """Leave Ctrl-C to the process that asked, and keep the sound systems' chatter off the terminal."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    sys.stdout.flush()
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
    os.dup2(nothing, 2)
