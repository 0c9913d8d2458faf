"""A part as it is printed: its solid, where it came from, and what it is printed of."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.materials.types import Filament
from halfroll.suspension.design import PrintSettings
from halfroll.suspension.models.mesh import Mesh, faults_of, slice_area_m2

Side = Literal["auto", "as-designed", "upside-down"]
"""Which side of a part lies on the build plate; ``auto`` takes the one with less overhang, then with more contact."""

SIDES: tuple[Side, ...] = ("auto", "as-designed", "upside-down")

STEEPEST = np.cos(np.pi / 4.0)
"""A face is an overhang when it leans out by more than 45° from the vertical (common practice)."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Shape:
    """What a solid is made from, in the position it is printed in.

    Either `sections_m`, closed half-sections (n, 2) in r, z of a part of revolution; or `outlines_m` and `holes_m`, closed
    outlines (n, 2) in x, y of a plate `height_m` thick. Outlines of either kind join where they overlap. `true_m` are
    diameter and height of the round part that coarse half-sections stand for, None where these are as good.
    """

    sections_m: tuple[FloatArray, ...] = ()
    outlines_m: tuple[FloatArray, ...] = ()
    holes_m: tuple[FloatArray, ...] = ()
    height_m: float = 0.0
    true_m: tuple[float, float] | None = None

    @property
    def is_round(self) -> bool:
        """Whether it is a part of revolution."""
        return bool(self.sections_m)

    def shifted(self, by_m: FloatArray) -> Shape:
        """Shifted by (x, y, z): half-sections upwards only, a plate in its plane only, for it lies on z = 0."""
        up, level = np.array([0.0, by_m[2]]), by_m[:2]
        return replace(
            self,
            sections_m=tuple(one + up for one in self.sections_m),
            outlines_m=tuple(one + level for one in self.outlines_m),
            holes_m=tuple(one + level for one in self.holes_m),
        )

    def upside_down(self) -> Shape:
        """Turned over; half-sections keep running the same way round."""
        over = np.array([1.0, -1.0])
        return replace(
            self,
            sections_m=tuple((one * over)[::-1] for one in self.sections_m),
            outlines_m=tuple((one * over)[::-1] for one in self.outlines_m),
            holes_m=tuple((one * over)[::-1] for one in self.holes_m),
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Model:
    """A part to print. Its `mesh` lies on z = 0 with the middle of its extent on x = y = 0, layers upwards.

    `name` is the key (surround, jig-inner), `title` the words. `turned_over` tells that its outer face lies below.
    `mesh_error_m` is how far the facets may be off the true surface.
    """

    name: str
    title: str
    shape: Shape
    mesh: Mesh
    material: Filament
    print: PrintSettings
    turned_over: bool = False
    mesh_error_m: float = 10e-6

    @property
    def words(self) -> str:
        """Its name as it is said: ``jig-inner`` is the inner jig."""
        what, _, which = self.name.partition("-")
        return f"{which} {what}".strip()

    @property
    def size_m(self) -> FloatArray:
        """Extent in x, y and z; of a round part its true diameter and height, from which facets are off a little."""
        size = self.mesh.size_m
        if self.shape.true_m is not None:
            size[:2], size[2] = self.shape.true_m
        elif self.shape.is_round:
            size[:2] = 2.0 * max(float(one[:, 0].max()) for one in self.shape.sections_m)
        return size

    @property
    def volume_m3(self) -> float:
        """What its surface encloses."""
        return self.mesh.volume_m3


def overhang_share(mesh: Mesh) -> float:
    """Share of the surface that leans out by more than 45° and does not lie on the plate."""
    vectors = mesh.area_vectors_m2
    areas = np.linalg.norm(vectors, axis=1)
    leaning = vectors[:, 2] < -(STEEPEST + 1e-6) * areas  # a face at 45° sharp is none
    return float(areas[leaning & ~_on_plate(mesh)].sum() / areas.sum())


def contact_m2(mesh: Mesh, layer_m: float) -> float:
    """What the first layer covers: the cut through its middle."""
    return slice_area_m2(mesh, float(mesh.low_m[2]) + 0.5 * min(layer_m, float(mesh.size_m[2])))


def laid(mesh: Mesh, shape: Shape, side: Side, layer_m: float) -> tuple[Mesh, Shape, bool]:
    """A solid put on the plate, on the side that is asked for: mesh, shape, whether it was turned over."""
    over = side == "upside-down" if side != "auto" else _lies_better(mesh.upside_down(), mesh, layer_m)
    if over:
        mesh, shape = mesh.upside_down(), shape.upside_down()
    low, size = mesh.low_m, mesh.size_m
    by = -(low + np.array([0.5, 0.5, 0.0]) * size)
    if shape.is_round:
        by[:2] = 0.0  # its axis is at 0 already, but for rounding
    foot = min((float(one[:, 1].min()) for one in shape.sections_m), default=0.0)
    return mesh.moved(by), shape.shifted(np.array([by[0], by[1], -foot])), over


ALIKE = 0.03
"""Shares of overhang that differ by less count as equal."""


def _lies_better(one: Mesh, other: Mesh, layer_m: float) -> bool:
    """Whether one side is better than the other: less overhang, and if that is alike clearly more contact."""
    gain = overhang_share(other) - overhang_share(one)
    if abs(gain) > ALIKE:
        return gain > 0.0
    return contact_m2(one, layer_m) > 1.05 * contact_m2(other, layer_m)


def _on_plate(mesh: Mesh) -> NDArray[np.bool_]:
    z = mesh.corners_m[:, 2] - mesh.low_m[2]
    lying: NDArray[np.bool_] = (z[mesh.triangles] < 1e-7).all(axis=1)
    return lying


__all__ = ["SIDES", "Model", "Shape", "Side", "contact_m2", "faults_of", "laid", "overhang_share"]
