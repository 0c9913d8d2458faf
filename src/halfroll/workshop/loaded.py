"""A record as it was read, with what is needed to save it again without losing somebody else's change."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

from halfroll.core.errors import ConflictError
from halfroll.core.verdicts import Verdict
from halfroll.workshop.fields import Record

R = TypeVar("R", bound=Record)


@dataclass(frozen=True, kw_only=True)
class Loaded(Generic[R]):
    """A record and where it came from.

    Parameters
    ----------
    id
        Id of the driver, version, unit or take; name of the rig; empty for the workshop itself.
    path
        File it was read from.
    record
        What the file says.
    revision
        SHA-256 of the file's bytes when it was read; `Workshop.save` refuses when it is another by then.
    notes
        What to say about the file although it is valid, such as keys halfroll does not know.
    """

    id: str
    path: Path
    record: R
    revision: str
    notes: tuple[Verdict, ...] = ()

    def expect(self, revision: str | None) -> None:
        """Refuse the file when it is another than `revision` by now; None takes any.

        Raises
        ------
        ConflictError
            Somebody changed it.
        """
        if revision not in (None, self.revision):
            raise ConflictError(
                f"The {self.record.kind} {self.id}".rstrip() + " was changed by somebody else since it was opened",
                file=str(self.path), remedy="Nothing was overwritten; open it again and make your change once more",
            )  # fmt: skip
