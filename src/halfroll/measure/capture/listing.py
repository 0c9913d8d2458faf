"""Which sound devices there are, and which one a person means."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from halfroll.core.errors import InputError
from halfroll.measure.capture import child

ANSWER_S = 15.0
"""So long a sound system may take to list or open its devices (s)."""
WITHOUT = "Without a sound card, recordings made elsewhere can be imported"


@dataclass(frozen=True, kw_only=True)
class Device:
    """One sound device as the system names it. `system` is the sound system it is reached through."""

    number: int
    name: str
    system: str
    inputs: int
    outputs: int
    rate_hz: float
    default_input: bool = False
    default_output: bool = False

    @property
    def label(self) -> str:
        """Its name with the system behind it; the same device may be there through several."""
        return f"{self.name} ({self.system})"


def devices() -> tuple[Device, ...]:
    """All sound devices of this machine, asked for anew each time.

    Raises
    ------
    InputError
        What playing and recording needs is not installed, or the sound system does not answer. The text says what is
        missing and how to get it.
    """
    process, pipe = start(child.list_devices)
    try:
        _, rows, (first_in, first_out) = answer(pipe, process)
    finally:
        end(process)
    return tuple(
        Device(**row, default_input=row["number"] == first_in, default_output=row["number"] == first_out)
        for row in rows
    )


def choose_device(known: Sequence[Device], wanted: str, *, output: bool) -> Device:
    """The device a person means by a number, a name or a part of one; empty means the default.

    Raises
    ------
    InputError
        No device or several fit, or the one that fits has no input (output).
    """
    kind = "output" if output else "input"
    able = [device for device in known if (device.outputs if output else device.inputs)]
    if not able:
        raise InputError(f"There is no sound device with an {kind}", found=_list(known) or "no sound device at all",
                         remedy=f"Connect one and look again. {WITHOUT}")  # fmt: skip
    word = wanted.strip().casefold()
    fitting = _fitting(able, word, output)
    if len(fitting) == 1:
        return fitting[0]
    what = f"The {kind} device must be one that is there" if not fitting else f"Several {kind} devices fit"
    raise InputError(what, found=wanted or "no default device", allowed=_list(fitting or able),
                     remedy="Give its number, or more of its name")  # fmt: skip


def _fitting(able: Sequence[Device], word: str, output: bool) -> list[Device]:
    if not word:
        return [device for device in able if (device.default_output if output else device.default_input)]
    if word.isdecimal():
        return [device for device in able if device.number == int(word)]
    ways: tuple[Callable[[Device], bool], ...] = (
        lambda device: device.label.casefold() == word,
        lambda device: device.name.casefold() == word,
        lambda device: word in device.label.casefold(),
    )
    return next((found for way in ways if (found := [device for device in able if way(device)])), [])


def _list(known: Sequence[Device]) -> str:
    return "; ".join(f"{device.number} {device.label}" for device in known)


# The process behind it.


def start(task: Callable[..., None], *arguments: Any) -> tuple[BaseProcess, Connection]:
    """Start one of the tasks of `child` in a process of its own, with a pipe to it."""
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe()
    process = context.Process(target=task, args=(there, *arguments), daemon=True, name="halfroll sound")
    process.start()
    there.close()
    return process, here


def answer(pipe: Connection, process: BaseProcess, wait_s: float = ANSWER_S) -> Any:
    """The first answer of a process that was started.

    Raises
    ------
    InputError
        It says why it cannot, or does not answer.
    """
    try:
        said = pipe.recv() if pipe.poll(wait_s) else None
    except (EOFError, OSError):
        said = None
    if said is None:
        raise InputError("The sound system does not answer", found=f"nothing within {wait_s:.0f} s"
                         if process.is_alive() else "the process that talks to it ended",
                         remedy=f"See that its service runs, then try again. {WITHOUT}")  # fmt: skip
    if said[0] == "missing":
        raise _missing(*said[1:])
    return said


def end(process: BaseProcess, wait_s: float = 0.0) -> None:
    """End a process that may hang in a call that never returns."""
    process.join(wait_s)
    if process.is_alive():
        process.kill()
        process.join(5.0)


def _missing(what: str, detail: str = "") -> InputError:
    if what == "sounddevice":
        return InputError("Playing and recording needs the Python library sounddevice, which is not installed",
                          remedy=f'Install it with: pip install "halfroll[capture]". {WITHOUT}')  # fmt: skip
    return InputError("Playing and recording needs the system's PortAudio library, which is not installed",
                      found=detail or None,
                      remedy=f"On Debian and Ubuntu: sudo apt-get install libportaudio2. {WITHOUT}")  # fmt: skip
