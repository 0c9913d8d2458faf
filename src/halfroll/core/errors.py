"""What can go wrong, as one small tree.

::

    HalfrollError                  anything a person may see; never shown as a traceback
    ├── InputError                 something given is wrong: file, key, line, found, allowed (exit code 2)
    │   ├── RefusedError           the request is understood but physically not allowed; the reason is the message
    │   └── ConflictError          a file was changed by somebody else meanwhile; nothing was overwritten
    ├── CancelledError             the person stopped the work; nothing half-done is left
    └── OwnFaultError              what was asked is right and could not be done: a fault of ours (exit code 1)
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class HalfrollError(Exception):
    """Base of every error whose text is meant for a person."""


class CancelledError(HalfrollError):
    """Work was stopped on request."""

    def __init__(self, what: str = "The work") -> None:
        super().__init__(f"{what} was stopped. Nothing was changed.")
        self.what = what

    def __reduce__(self) -> tuple[type[CancelledError], tuple[str]]:
        return type(self), (self.what,)  # else a process that hands it on would say "was stopped" twice


class OwnFaultError(HalfrollError):
    """What was asked is right, but it could not be done: the fault is the program's. The text says what helps meanwhile."""


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a fault was found: a file, the dotted key in it and the line, as far as they are known."""

    file: str | None = None
    key: str | None = None
    line: int | None = None

    def __str__(self) -> str:
        parts = []
        if self.file:
            parts.append(self.file if self.line is None else f"{self.file}:{self.line}")
        if self.key:
            parts.append(self.key)
        return ", ".join(parts)


class InputError(HalfrollError):
    """Something a person gave is wrong.

    Parameters
    ----------
    message
        One sentence: "<field> of <object> must be <rule>".  It ends without the value; the value goes to `found`.
    file, key, line
        Where it was found.
    found
        What was found, shown by ``repr`` unless it is a string already fit to read.
    allowed
        What is allowed, as a sentence part or the list of choices.
    remedy
        What to do next, one sentence.
    """

    def __init__(
        self,
        message: str,
        *,
        file: str | None = None,
        key: str | None = None,
        line: int | None = None,
        found: object = None,
        allowed: str | Iterable[str] | None = None,
        remedy: str | None = None,
    ) -> None:
        self.message = message.rstrip(".")
        self.place = Place(file=file, key=key, line=line)
        self.found = None if found is None else (found if isinstance(found, str) else repr(found))
        self.allowed = allowed if isinstance(allowed, str) or allowed is None else ", ".join(allowed)
        self.remedy = remedy
        super().__init__(self._text())

    def _text(self) -> str:
        text = self.message
        if self.found is not None:
            text += f"; found {self.found}"
        text += "."
        if self.allowed is not None:
            text += f" Allowed: {self.allowed.rstrip('.')}."
        if self.remedy is not None:
            lines = "\n" in self.remedy  # an example to be copied: a dot at its end would be copied, too
            text += f" {self.remedy.rstrip()}" if lines else f" {self.remedy.rstrip('.')}."
        where = str(self.place)
        return f"{where}: {text}" if where else text

    def as_dict(self) -> dict[str, object]:
        """The error for a machine: every part under its own key, absent parts left out."""
        parts = {
            "message": self.message,
            "file": self.place.file,
            "key": self.place.key,
            "line": self.place.line,
            "found": self.found,
            "allowed": self.allowed,
            "remedy": self.remedy,
        }
        return {k: v for k, v in parts.items() if v is not None}


class RefusedError(InputError):
    """The request is clear, but doing it would not be true; the message is the reason."""


class ConflictError(InputError):
    """A file was changed since it was read; saving would lose that change."""


def choose(value: str, choices: Iterable[str], *, field: str, **place: object) -> str:
    """Return `value` if it is one of `choices`, else raise `InputError` in the house's one wording."""
    options = list(choices)
    if value in options:
        return value
    raise InputError(f"{field} must be one of the allowed words", found=value, allowed=options, **place)  # type: ignore[arg-type]
