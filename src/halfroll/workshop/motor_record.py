"""``[motor]`` and ``[coil]`` of ``version.toml``: the design of a motor and its coil.

Only types are checked here, so that a version with an unfinished design still opens. What cannot be built is refused by
`motor.placing.stack.assemble`, and `workshop.motors` adds file and line.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from halfroll.workshop.fields import Table

Corner = Annotated[tuple[float, float], Field(strict=False)]
Whole = Annotated[int, Field(ge=1, le=100_000)]


class PartTable(Table):
    """``[[motor.parts]]``: one part, what it is, and what it touches."""

    kind: ClassVar[str] = "motor"

    name: Annotated[str, Field(min_length=1)]
    part: Annotated[str, Field(min_length=1)] | None = None
    shape: Literal["disc", "ring", "turned"] | None = None
    outer_mm: float | None = None
    inner_mm: float | None = None
    height_mm: float | None = None
    profile_mm: Annotated[tuple[Corner, ...], Field(strict=False)] = ()
    material: Annotated[str, Field(min_length=1)] | None = None
    magnetised: Literal["up", "down", "outwards", "inwards"] | None = None
    on: Annotated[str, Field(min_length=1)] | None = None
    under: Annotated[str, Field(min_length=1)] | None = None
    beside: Annotated[str, Field(min_length=1)] | None = None
    glue_mm: float | None = None
    align: Literal["top", "middle", "bottom"] | None = None
    offset_mm: float | None = None
    turns: float | None = None
    current_a: float | None = None


class MotorTable(Table):
    """``[motor]``: the parts of a motor and the pair its gap lies between."""

    kind: ClassVar[str] = "motor"

    gap: Annotated[tuple[str, str], Field(strict=False)]
    temperature_c: float = 20.0
    travel_mm: float | None = None
    parts: Annotated[tuple[PartTable, ...], Field(strict=False)] = ()


class CoilTable(Table):
    """``[coil]``: the coil as wound."""

    kind: ClassVar[str] = "coil"

    wire: Annotated[str, Field(min_length=1)]
    layers: Whole
    turns: Whole
    former_inner_mm: float
    former_wall_mm: float
    former_material: Annotated[str, Field(min_length=1)]
    former_height_mm: float | None = None
    insulation_mm: float | None = None
    offset_mm: float | None = None
    packing: Literal["stacked", "nested"] | None = None
    glue: Annotated[str, Field(min_length=1)] | None = None
    print_tolerance_mm: float | None = None
