"""``releases/<release>/release.toml``: which versions are published, when, for whom, under which licence, and what goes along."""

from __future__ import annotations

import datetime as dt
import re
from typing import Annotated, Any, ClassVar, Literal, Self, get_args

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from halfroll.workshop.fields import Date, FileName, Record, Sha256, Table, Text, refuse
from halfroll.workshop.licences import is_own, licence, nearest

Content = Literal[
    "records", "takes", "models", "sheet", "guide", "bill", "comparison", "charts", "figures", "sweep", "changes", "photographs",
]  # fmt: skip
CONTENTS: tuple[Content, ...] = get_args(Content)
"""What a bundle can hold, in the order in which it is made and told."""

ModelFormat = Literal["3mf", "stl", "step"]
TakeChoice = Literal["all", "best", "none", "chosen"]

FIRST_DAY, LAST_DAY = dt.date(1980, 1, 1), dt.date(2107, 12, 31)
"""Dates a ZIP file can tell (PKWARE's application note, 4.4.6: years from 1980 in seven bits)."""

EVERYONE = "everyone"
_AUDIENCE = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?")


def _audience(value: str) -> str:
    if not _AUDIENCE.fullmatch(value):
        raise PydanticCustomError(
            "halfroll", "must be a plain name: small letters, digits and hyphens, up to 40"
        )
    return value


def _day(value: dt.date) -> dt.date:
    if not FIRST_DAY <= value <= LAST_DAY:
        raise PydanticCustomError("halfroll", "must be a date from 1980-01-01 to 2107-12-31")
    return value


def _licence(value: str) -> str:
    if licence(value) is None:
        near = nearest(value)
        hint = f"; {' or '.join(near)} may be meant" if near else ""
        rule = f"must be an SPDX identifier halfroll knows, or LicenseRef- and a name of your own{hint}"
        raise PydanticCustomError("halfroll", "{rule}", {"rule": rule})
    return value


AudienceName = Annotated[str, AfterValidator(_audience)]
Day = Annotated[Date, AfterValidator(_day)]
LicenceId = Annotated[str, AfterValidator(_licence)]
Contents = Annotated[tuple[Content, ...], Field(strict=False)]


class OriginTable(Table):
    """``[origin]`` of ``version.toml``: the release a version was brought in from, and what it was called there."""

    kind: ClassVar[str] = "origin"

    release: Text
    title: str = ""
    version: Text
    parent: str = ""
    date: Date
    licence: Text
    authors: Annotated[tuple[str, ...], Field(strict=False)] = ()
    sha256: Sha256
    brought_in: Date | None = None

    @property
    def said(self) -> str:
        """Where it comes from, in a few words."""
        by = f" by {', '.join(self.authors)}" if self.authors else ""
        return f"{self.version} in the release {self.title or self.release} of {self.date.isoformat()}{by}, {self.licence}"


class AudienceTable(Table):
    """``[[audiences]]``: who may have the release, from which date on, and what of it; everything where nothing is named."""

    kind: ClassVar[str] = "audience"

    name: AudienceName
    date: Day
    gets: Contents = ()


class ReleaseRecord(Record):
    """``release.toml``: a dated set of files of one or more versions.

    ``take_ids`` stand with ``takes = "chosen"``; ``leave_out`` names contents that are not made.
    """

    kind: ClassVar[str] = "release"

    title: Text
    versions: Annotated[tuple[Text, ...], Field(strict=False, min_length=1)]
    date: Day
    licence: LicenceId
    licence_file: FileName | None = None
    authors: Annotated[tuple[Text, ...], Field(strict=False)] = ()
    takes: TakeChoice = "best"
    take_ids: Annotated[tuple[Text, ...], Field(strict=False)] = ()
    runs: bool = True
    models: Annotated[tuple[ModelFormat, ...], Field(strict=False)] = ("3mf", "stl", "step")
    bill: bool = True
    photographs: bool = False
    builders: bool = False
    leave_out: Contents = ()
    notes: str = ""
    audiences: Annotated[tuple[AudienceTable, ...], Field(strict=False)] = ()

    @model_validator(mode="after")
    def _whole(self) -> Self:
        _once(self.versions, "versions", "version")
        _once(tuple(one.name for one in self.audiences), "audiences", "audience")
        if is_own(self.licence) and self.licence_file is None:
            refuse("licence_file", "must name the file with the text of a licence of your own", "nothing")
        if self.licence_file == "release.toml":
            refuse("licence_file", "must be another file than the record itself", self.licence_file)
        if (self.takes == "chosen") != bool(self.take_ids):
            refuse(
                "take_ids",
                'must name the takes with takes = "chosen", and only then',
                len(self.take_ids) or "nothing",
            )
        for n, one in enumerate(self.audiences):
            if one.date < self.date:
                refuse(
                    f"audiences.{n}.date",
                    f"must not lie before the release, {self.date.isoformat()}",
                    one.date.isoformat(),
                )
        return self

    @property
    def who(self) -> tuple[AudienceTable, ...]:
        """Its audiences in the order in which they get it; everyone from the release's date where none is named."""
        named = self.audiences or (AudienceTable(name=EVERYONE, date=self.date),)
        return tuple(sorted(named, key=lambda one: (one.date, one.name != EVERYONE, one.name)))

    def audience(self, name: str) -> AudienceTable | None:
        """The audience of a name; None when there is no such."""
        return next((one for one in self.who if one.name == name), None)

    def contents_for(self, audience: AudienceTable) -> tuple[Content, ...]:
        """What an audience gets, in order: what is chosen for it, without what is left out or switched off."""
        chosen = audience.gets or CONTENTS
        off = {*self.leave_out, *(() if self.bill else ("bill",)), *(() if self.photographs else ("photographs",)),
               *(("takes",) if self.takes == "none" else ()), *(() if self.models else ("models",))}  # fmt: skip
        if "records" in off or "records" not in chosen:
            off |= {"takes", "photographs"}  # they are files beside records
        return tuple(one for one in CONTENTS if one in chosen and one not in off)


def new_values(**values: Any) -> dict[str, Any]:
    """Values of a new record as somebody gave them: what is empty is left to its default."""
    return {key: value for key, value in values.items() if value not in (None, "", (), [])}


def _once(values: tuple[str, ...], key: str, what: str) -> None:
    twice = sorted({value for value in values if values.count(value) > 1})
    if twice:
        refuse(key, f"must name each {what} once", ", ".join(twice))
