"""``[surround]``, ``[spider]``, ``[cone]``, ``[cap]`` and ``[moving]`` of ``version.toml``: what moves and what holds it.

Only types are checked here, so that a version with an unfinished design still opens. What cannot be is refused by the suspension
room, and `workshop.suspensions` adds file and line.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from halfroll.workshop.fields import FileName, Table

Corner = Annotated[tuple[float, float], Field(strict=False)]
Corners = Annotated[tuple[Corner, ...], Field(strict=False)]
MaterialKey = Annotated[str, Field(min_length=1)]


class PrintTable(Table):
    """``[surround.print]`` and the like: how a part is printed."""

    kind: ClassVar[str] = "print settings"

    line_width_mm: float = 0.42
    layer_mm: float = 0.2
    infill: float = 1.0
    raster: Literal["around", "radial", "crossed"] = "around"
    snap: Literal["none", "lines", "layers"] = "none"
    slicer_g: float | None = None
    weighed_g: float | None = None


class SuspensionTable(Table):
    """``[surround]`` or ``[spider]``: a part of revolution, or a flat one of arms."""

    kind: ClassVar[str] = "suspension"

    family: Literal[
        "half-roll", "elliptic-roll", "m-roll", "double-roll", "flat", "corrugated", "free", "straight-legs",
        "spiral-arms",
    ]  # fmt: skip
    inner_mm: float | None = None
    outer_mm: float | None = None
    thickness_mm: float
    thickness_outer_mm: float | None = None
    direction: Literal["up", "down"] | None = None
    height_mm: float | None = None
    rolls: int | None = None
    amplitude_mm: float | None = None
    amplitude_outer_mm: float | None = None
    width_mm: float | None = None
    arms: int | None = None
    sweep_deg: float | None = None
    hub: Literal["held", "free"] | None = None
    points_mm: Corners = ()
    points: FileName | None = None
    at_mm: float | None = None
    lip_inner_mm: float = 0.0
    lip_outer_mm: float = 0.0
    material: MaterialKey
    print: PrintTable = PrintTable()


class ConeTable(Table):
    """``[cone]``: the cone, or a dome in its place."""

    kind: ClassVar[str] = "cone"

    shape: Literal["straight", "flared", "dome", "free"] = "straight"
    inner_mm: float | None = None
    outer_mm: float | None = None
    depth_mm: float | None = None
    thickness_mm: float
    thickness_outer_mm: float | None = None
    flare_mm: float | None = None
    points_mm: Corners = ()
    points: FileName | None = None
    at_mm: float | None = None
    material: MaterialKey
    print: PrintTable = PrintTable()


class CapTable(Table):
    """``[cap]``: the dust cap."""

    kind: ClassVar[str] = "cap"

    outer_mm: float
    height_mm: float = 0.0
    thickness_mm: float
    material: MaterialKey
    print: PrintTable = PrintTable()


class MovingTable(Table):
    """``[moving]``: what else moves, how far, and how warm it is."""

    kind: ClassVar[str] = "moving parts"

    glue_g: float = 0.0
    leads_g: float = 0.0
    travel_mm: float | None = None
    temperature_c: float = 20.0


MOVING_TABLES = ("surround", "spider", "cone", "cap", "moving")
"""Keys of the record under which they stand."""
