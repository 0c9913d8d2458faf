"""How far an arm is strained over the travel, away from its clamps, and how it looks bent.

At a clamp's corners strain has no finite value, so nothing within one thickness of a clamped face is counted or drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.laws import green
from halfroll.suspension.elastic.solid import deformation
from halfroll.suspension.elastic.strip import IntArray
from halfroll.suspension.flexure.bend import BentArm
from halfroll.suspension.results import ArmShape, BentShape
from halfroll.suspension.study.shapes import band_triangles

ALONG = 5
"""Places along each element."""
_ACROSS = np.array([0.0, 0.5, 1.0])


@dataclass(frozen=True, kw_only=True, eq=False)
class ArmStrains:
    """Over the displacements asked for (n,): largest and smallest principal Green-Lagrange strain and largest principal true stress
    (Pa); `worst_r_m` the radius at rest at which the last of them is most strained.
    """

    strain: FloatArray
    least: FloatArray
    stress_pa: FloatArray
    worst_r_m: float


class Looked:
    """An arm looked at on a grid of places: (rows along, places across, 3 through: lower face, middle, upper face).

    Nothing nearer than `near_m` to a clamp is counted, by default one thickness.
    """

    def __init__(self, bent: BentArm, near_m: float | None = None, along: int = ALONG) -> None:
        self.bent = bent
        self._along = along
        mesh = bent.solid.mesh
        self._values, self._gradient, at = mesh.sample(
            (np.linspace(0.0, 1.0, along), _ACROSS, np.array([0.0, 0.5, 1.0]))
        )
        rest: FloatArray = self._values @ mesh.nodes[mesh.elements]
        self.rest = self._grid(rest)
        near = min(bent.arm.thickness_m, 0.25 * bent.arm.whole_m) if near_m is None else near_m
        self._known = bent.arm.from_clamp(at[..., 0]) > (1 - 1e-6) * near  # an element ends there
        self.away = self._grid(self._known)

    def places(self, u: FloatArray) -> FloatArray:
        """Bent places (rows, across, 3, 3) in metres."""
        elements = self.bent.solid.mesh.elements
        moved: FloatArray = self._values @ u.reshape(-1, 3)[elements]
        return np.asarray(self.rest + self._grid(moved))

    def strains(self, u: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Largest, smallest principal strain and largest principal stress (rows, across, 3); nan near the clamps."""
        gradient = deformation(self.bent.solid.mesh, self._gradient, u)
        gradient[~self._known] = np.eye(3)  # a clamp's corner may be turned inside out
        stretch = np.asarray(np.linalg.eigvalsh(green(gradient)), dtype=np.float64)
        stress = np.asarray(np.linalg.eigvalsh(self.bent.solid.material.cauchy(gradient)), dtype=np.float64)
        found = (stretch[..., 2], stretch[..., 0], stress[..., 2])
        high, low, most = (np.where(self.away, self._grid(one), np.nan) for one in found)
        return high, low, most

    def _grid(self, values: Any) -> Any:
        """Values (e, q, ...) of all elements as one grid. Where two elements meet, the one farther from the ends is looked at: strain
        jumps a little there, and most in the element at the clamp.
        """
        mesh = self.bent.solid.mesh
        counts = [len(cut) - 1 for cut in mesh.cuts]
        shape = (*counts, self._along, len(_ACROSS), 3, *values.shape[2:])
        full = np.moveaxis(values.reshape(shape), (3, 4, 5), (1, 3, 5))
        full = full.reshape(counts[0] * self._along, counts[1] * len(_ACROSS), 3, *values.shape[2:])
        return np.asarray(full[_once(counts[0], self._along)][:, _once(counts[1], len(_ACROSS))])


def strains_over(looked: Looked, x_m: FloatArray) -> ArmStrains:
    """Strains at displacements (n,), the same at -x as at x."""
    sides, which = np.unique(np.abs(x_m), return_inverse=True)
    rows, worst = [], 0
    for x in sides:
        high, low, stress = looked.strains(looked.bent.displacement(float(x)))
        worst = int(np.nanargmax(high))
        rows.append((np.nanmax(high), np.nanmin(low), np.nanmax(stress)))
    strain, least, stress = np.array(rows)[which].T
    at = looked.rest.reshape(-1, 3)[worst]
    return ArmStrains(strain=strain, least=least, stress_pa=stress, worst_r_m=float(np.hypot(at[0], at[1])))


def shape_of(looked: Looked, x_m: float) -> tuple[BentShape, ArmShape]:
    """The arm bent to x: its centre line seen by radius and height, with the largest strain across its width, and in space."""
    u = looked.bent.displacement(x_m)
    places, (strain, _, _) = looked.places(u), looked.strains(u)
    middle = places[:, places.shape[1] // 2]
    section = np.stack([np.hypot(middle[..., 0], middle[..., 1]), middle[..., 2]], axis=-1)
    outline = np.concatenate([section[:, 2], section[::-1, 0], section[:1, 2]])
    across = np.where(
        np.isnan(strain).all(axis=1), np.nan, np.where(np.isnan(strain), -np.inf, strain).max(axis=1)
    )
    flat = section.reshape(-1, 2)
    bent = BentShape(
        x_m=x_m, outline_m=outline, places_m=flat, triangles=band_triangles(len(section)), strain=across.ravel(),
        hoop_strain=np.full(len(flat), np.nan),
    )  # fmt: skip
    faces = np.maximum(strain[:, :, 0], strain[:, :, 2])
    arm = ArmShape(
        x_m=x_m,
        turn_rad=looked.bent.turn_rad(x_m),
        upper_m=places[:, :, 2],
        lower_m=places[:, :, 0],
        strain=faces,
    )
    return bent, arm


def _once(count: int, points: int) -> IntArray:
    """Places along `count` elements of `points` each; of the two where elements meet, the one nearer the middle of the row."""
    keep = np.ones((count, points), dtype=bool)
    meet = np.arange(1, count)
    left = meet > count / 2
    keep[meet[left], 0] = False
    keep[meet[~left] - 1, -1] = False
    return np.flatnonzero(keep.ravel())
