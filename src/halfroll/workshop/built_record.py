"""``[weighed]``, ``[[glued]]``, ``[[deviations]]`` and ``[[photographs]]`` of ``unit.toml``: what was really built."""

from __future__ import annotations

from typing import Annotated, ClassVar

from pydantic import Field

from halfroll.workshop.fields import Date, FileName, Sha256, Table

Mass = Annotated[float, Field(gt=0, le=1000)]
Words = Annotated[str, Field(min_length=1, max_length=1000)]


class WeighedTable(Table):
    """``[weighed]``: parts on a scale before they were glued in, g."""

    kind: ClassVar[str] = "weighed parts"

    cone_g: Mass | None = None
    cap_g: Mass | None = None
    surround_g: Mass | None = None
    spider_g: Mass | None = None
    former_g: Mass | None = None
    coil_g: Mass | None = None
    glue_g: Mass | None = None
    leads_g: Mass | None = None
    u_g: Annotated[float, Field(ge=0, le=100)] = 0.0


class GluedTable(Table):
    """``[[glued]]``: one joint."""

    kind: ClassVar[str] = "joint"

    seam: Words
    glue: str = ""
    mass_g: Mass | None = None


class DeviationTable(Table):
    """``[[deviations]]``: what was built otherwise than planned."""

    kind: ClassVar[str] = "deviation"

    what: Words
    planned: str = ""
    built: str = ""
    why: str = ""


class PhotographTable(Table):
    """``[[photographs]]``: a picture in the unit's folder ``photographs``; `shows` is its text alternative."""

    kind: ClassVar[str] = "photograph"

    file: FileName
    shows: Words
    date: Date | None = None
    sha256: Sha256 | None = None
