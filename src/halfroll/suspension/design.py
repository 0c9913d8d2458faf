"""What a maker writes down of the moving parts: surround, spider, cone, cap, and how each is printed.

Value objects, SI, nothing computed and only types checked: what cannot be is refused by `suspension.profile` (strips, flexures)
and `suspension.diaphragm` (cone, cap). Heights z are over the middle of the motor's gap, positive outwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from halfroll.materials.types import Filament

StripFamily = Literal["half-roll", "elliptic-roll", "m-roll", "double-roll", "flat", "corrugated", "free"]
"""``free`` is a profile of one's own, as points."""

FlexureFamily = Literal["straight-legs", "spiral-arms"]

Direction = Literal["up", "down"]
"""Which way the (first) roll bulges: up is outwards, towards the listener."""

Raster = Literal["around", "radial", "crossed"]
"""How the printed lines run in a part of revolution: around the axis, outwards from it, or in layers that cross."""

Snap = Literal["none", "lines", "layers"]
"""Whether thickness is rounded to whole line widths (a wall printed upright) or whole layers (a sheet printed flat)."""

Hub = Literal["held", "free"]
"""Whether something keeps the hub of a flexure from turning about the axis; a coil on one flexure alone is free to."""

Point = tuple[float, float]
"""(r, z) in metres."""


@dataclass(frozen=True, kw_only=True)
class PrintSettings:
    """How a part is printed: line width and layer height (m), share of the inside that is filled (0 to 1), how lines run,
    and what its thickness is rounded to. `grams` is what the slicer says or the scale showed (kg), None when unknown.
    """

    line_width_m: float = 0.42e-3
    layer_m: float = 0.2e-3
    infill: float = 1.0
    raster: Raster = "around"
    snap: Snap = "none"
    slicer_kg: float | None = None
    weighed_kg: float | None = None


@dataclass(frozen=True, kw_only=True)
class StripDesign:
    """A surround or spider of revolution between two clamps, where it leaves the glue.

    `height_m` is the roll's height over the line through its clamps (half and elliptic roll, each roll of an M or a double
    roll); a half roll needs none: its height is half its width. Corrugations have `rolls` full waves of `amplitude_m` at the
    inner and `amplitude_outer_m` at the outer edge. `points` is a free middle line from the inner clamp outwards.
    `height_over_gap_m` is where the inner clamp's middle line is. Lips are the flat rings beyond the clamps that take the glue.
    """

    name: str
    family: StripFamily
    inner_radius_m: float
    outer_radius_m: float
    thickness_m: float
    thickness_outer_m: float | None = None
    direction: Direction = "up"
    height_m: float | None = None
    rolls: int | None = None
    amplitude_m: float | None = None
    amplitude_outer_m: float | None = None
    points: tuple[Point, ...] = ()
    height_over_gap_m: float = 0.0
    lip_inner_m: float = 0.0
    lip_outer_m: float = 0.0
    material: Filament
    print: PrintSettings = PrintSettings()


@dataclass(frozen=True, kw_only=True)
class FlexureDesign:
    """A planar spider of arms between a hub and a rim: straight radial legs, or arms on an Archimedean spiral.

    `width_m` is measured in the plane, across the arm; `sweep_rad` is the angle a spiral arm turns through from hub to rim.
    """

    name: str
    family: FlexureFamily
    inner_radius_m: float
    outer_radius_m: float
    thickness_m: float
    width_m: float
    arms: int
    sweep_rad: float = 0.0
    hub: Hub = "held"
    height_over_gap_m: float = 0.0
    lip_inner_m: float = 0.0
    lip_outer_m: float = 0.0
    material: Filament
    print: PrintSettings = PrintSettings()


@dataclass(frozen=True, kw_only=True)
class ConeDesign:
    """The cone or a dome that stands in for it, from the former to the surround.

    `inner_radius_m` is at the former (0 for a dome), `depth_m` how far the outer edge lies above (positive) the inner one.
    A flared cone follows an arc whose sagitta over the straight line is `flare_m` (positive: hollow towards the listener, the
    generator bulges to the axis side). `points` is a free middle line. Thickness may run to `thickness_outer_m` at the outer edge,
    linearly with the radius. `height_over_gap_m` is where the inner edge's middle line is (a dome's apex).
    """

    shape: Literal["straight", "flared", "dome", "free"]
    inner_radius_m: float
    outer_radius_m: float
    depth_m: float
    thickness_m: float
    thickness_outer_m: float | None = None
    flare_m: float = 0.0
    points: tuple[Point, ...] = ()
    height_over_gap_m: float = 0.0
    material: Filament
    print: PrintSettings = PrintSettings()


@dataclass(frozen=True, kw_only=True)
class CapDesign:
    """The dust cap: part of a sphere of `height_m` over its rim (negative: hollow), or flat. Its rim sits on the cone or former."""

    radius_m: float
    height_m: float
    thickness_m: float
    material: Filament
    print: PrintSettings = PrintSettings()


@dataclass(frozen=True, kw_only=True)
class FormerDesign:
    """The coil's former as a tube, with the winding as a mass: what the coil's design says, where it stands."""

    inner_radius_m: float
    wall_m: float
    low_m: float
    high_m: float
    material: Filament
    winding_kg: float
    winding_low_m: float
    winding_high_m: float
    former_kg: float


@dataclass(frozen=True, kw_only=True)
class MovingDesign:
    """All that moves and what holds it; None or empty where not designed. `glue_kg`, `leads_kg` are extra masses.

    `travel_m` is how far it is to be bent both ways.
    """

    surround: StripDesign | FlexureDesign | None = None
    spider: StripDesign | FlexureDesign | None = None
    cone: ConeDesign | None = None
    cap: CapDesign | None = None
    former: FormerDesign | None = None
    glue_kg: float = 0.0
    leads_kg: float = 0.0
    travel_m: float = 5e-3
    temperature_c: float = 20.0
