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
    outlines (n, 2) in x, y of a plate `height_m` thick. Outlines of either kind join where they overlap.
    """

    sections_m: tuple[FloatArray, ...] = ()
    outlines_m: tuple[FloatArray, ...] = ()
    holes_m: tuple[FloatArray, ...] = ()
    height_m: float = 0.0

    @property
    def is_round(self) -> bool:
        """Whether it is a part of revolution."""
        return bool(self.sections_m)

    def shifted(self, up_m: float) -> Shape:
        """Half-sections raised by `up_m`; a plate lies on its own plane."""
        return replace(self, sections_m=tuple(one + np.array([0.0, up_m]) for one in self.sections_m))

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
    if side != "auto":
        over = side == "upside-down"
    else:
        here, there = (_worth(one, layer_m) for one in (mesh, mesh.upside_down()))
        over = there > here
    if over:
        mesh, shape = mesh.upside_down(), shape.upside_down()
    low, size = mesh.low_m, mesh.size_m
    by = -(low + np.array([0.5, 0.5, 0.0]) * size)
    if shape.is_round:
        by[:2] = 0.0  # its axis is at 0 already, but for rounding
    return mesh.moved(by), shape.shifted(float(by[2])), over


def _worth(mesh: Mesh, layer_m: float) -> tuple[float, float]:
    """How well a solid lies: least overhang first, then most contact, both rounded so that equal sides tie."""
    return (-round(overhang_share(mesh), 2), round(1e6 * contact_m2(mesh, layer_m), 1))


def _on_plate(mesh: Mesh) -> NDArray[np.bool_]:
    z = mesh.corners_m[:, 2] - mesh.low_m[2]
    lying: NDArray[np.bool_] = (z[mesh.triangles] < 1e-7).all(axis=1)
    return lying


__all__ = ["SIDES", "Model", "Shape", "Side", "contact_m2", "faults_of", "laid", "overhang_share"]
