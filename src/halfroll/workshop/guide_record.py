"""``guide.toml`` beside a version's record: steps of its assembly guide that are written by hand."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, ClassVar, Self

from pydantic import Field, model_validator

from halfroll.workshop.fields import Record, Table, refuse
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.paths import folder_of
from halfroll.workshop.toml_read import read_record

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

FILE = "guide.toml"

Lines = Annotated[tuple[Annotated[str, Field(min_length=1, max_length=2000)], ...], Field(strict=False)]


class GuideStepTable(Table):
    """``[[steps]]``: a step of one's own `after` another, or another wording of one that the design makes (`step`)."""

    kind: ClassVar[str] = "step"

    step: str = ""
    after: str = ""
    title: str = ""
    text: Lines = ()
    parts: Lines = ()
    tools: Lines = ()
    cautions: Lines = ()
    leave_out: str = ""

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if bool(self.step) == bool(self.after):
            rule = "must say either which step it rewrites (step) or after which it comes (after)"
            refuse("step", rule, self.step or "neither")
        if self.after and not (self.title and self.text):
            rule = "must have a title and a text where it is a step of its own"
            refuse("title", rule, self.title or "none")
        return self


class GuideRecord(Record):
    """``guide.toml``."""

    kind: ClassVar[str] = "guide"

    note: str = ""
    steps: Annotated[tuple[GuideStepTable, ...], Field(strict=False)] = ()


def guide_record(workshop: Workshop, version_id: str) -> Loaded[GuideRecord] | None:
    """What a version's ``guide.toml`` says; None where there is no such file.

    Raises
    ------
    InputError
        It cannot be read; with key and line.
    """
    path: Path = folder_of(workshop.folder, version_id) / FILE
    return read_record(path, GuideRecord, version_id) if path.exists() else None
