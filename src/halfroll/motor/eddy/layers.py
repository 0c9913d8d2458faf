"""Triangles along the faces of conductors cut into layers that get thinner towards the face.

The first cut lies at a quarter of an element from the face, the next at a quarter of that, and so on: a few cuts resolve every
skin depth from the element down to the last layer (geometric refinement; Szabó and Babuška, Finite Element Analysis, 1991).
Along the face elements stay as long as they were. Only the conductor's side is cut.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray

CUT = 0.25
"""Where an element is cut, from the face, and every layer again."""

Ints = NDArray[np.int64]
Corners = tuple[int, ...]
Edge = tuple[int, int]


@dataclass(frozen=True, eq=False)
class Flat:
    """A flat mesh: points (n, 2), elements by their corners with the region each lies in, boundary edges with theirs.

    Elements have three or four corners, anticlockwise, numbered from 0.
    """

    points: FloatArray
    elements: tuple[tuple[Corners, int], ...]
    edges: tuple[tuple[Edge, int], ...]


def layered(flat: Flat, kind: Ints, open_edges: frozenset[int], layers: int) -> Flat:
    """The mesh with `layers` cuts along the faces of every kind of conductor.

    Parameters
    ----------
    flat
        Triangles.
    kind
        (number of regions,): which kind of conductor a region is, 0 for what is not cut. A face is where kinds differ.
    open_edges
        Regions of boundary edges that are no faces: the axis.
    layers
        Number of cuts, at least 1.
    """
    work = _Work(flat, [CUT**k for k in range(1, layers + 1)])
    faces = _faces(flat, kind, open_edges)
    ends = {(k, corner) for k, edge in faces for corner in edge}
    elements: list[tuple[Corners, int]] = []
    for corners, region in flat.elements:
        k = int(kind[region])
        if k and any((k, corner) in ends for corner in corners):
            flagged = tuple((k, corner) in ends for corner in corners)
            at_face = tuple((k, _key(*edge)) in faces for edge in _around(corners))
            elements += [(piece, region) for piece in work.cut(corners, flagged, at_face)]
        else:
            elements.append((corners, region))
    return Flat(work.all_points(), tuple(elements), tuple(work.split(flat.edges)))


def _faces(flat: Flat, kind: Ints, open_edges: frozenset[int]) -> set[tuple[int, Edge]]:
    """Edges of a kind's elements that no other element of the kind shares, by kind."""
    once: set[tuple[int, Edge]] = set()
    for corners, region in flat.elements:
        if kind[region]:
            once ^= {(int(kind[region]), _key(*edge)) for edge in _around(corners)}
    free = {_key(*edge) for edge, region in flat.edges if region in open_edges}
    return {(k, edge) for k, edge in once if edge not in free}


def _around(corners: Corners) -> Iterator[Edge]:
    return zip(corners, (*corners[1:], corners[0]), strict=True)


def _key(a: int, b: int) -> Edge:
    return (a, b) if a < b else (b, a)


@dataclass(eq=False)
class _Work:
    """New points, each made once."""

    flat: Flat
    shares: list[float]
    _new: list[FloatArray] = field(default_factory=list)
    _on_edge: dict[Edge, list[int]] = field(default_factory=dict)

    def all_points(self) -> FloatArray:
        return np.vstack([self.flat.points, *self._new])

    def cut(
        self, corners: Corners, flagged: tuple[bool, ...], at_face: tuple[bool, ...]
    ) -> Iterator[Corners]:
        """The pieces of a triangle; `at_face` says of each edge, from its corner on, whether it is a face."""
        chains: list[tuple[list[int], list[int]]] = []
        core: list[int] = []
        for i, corner in enumerate(corners):
            after, before = corners[(i + 1) % 3], corners[i - 1]
            if not flagged[i]:
                chains.append(([], []))
                core.append(corner)
                continue
            chains.append(self._chains(corner, before, after, at_face[i - 1], at_face[i]))
            to_before, to_after = chains[-1]
            core += [to_before[0]] if to_before is to_after else [to_before[0], to_after[0]]
            if not at_face[i - 1] and not at_face[i]:
                yield from _fan(corner, to_after, to_before)
        for i, corner in enumerate(corners):
            if at_face[i]:
                yield from _strip(
                    [corner, *reversed(chains[i][1])],
                    [corners[(i + 1) % 3], *reversed(chains[(i + 1) % 3][0])],
                )
        yield from _pieces(core)

    def _chains(
        self, corner: int, before: int, after: int, face_before: bool, face_after: bool
    ) -> tuple[list[int], list[int]]:
        """Points from far to near the corner, on the side of the edge before and of the edge after it."""
        if face_before and face_after:
            inside = self._inside(corner, before, after)
            return inside, inside
        if face_before or face_after:
            along = self._toward(corner, after if face_before else before)
            return along, along
        return self._toward(corner, before), self._toward(corner, after)

    def _toward(self, corner: int, other: int) -> list[int]:
        """Points on an edge, near one end of it; the neighbour asks for the same."""
        if (corner, other) not in self._on_edge:
            here, there = self.flat.points[corner], self.flat.points[other]
            self._on_edge[corner, other] = [self._add(here + share * (there - here)) for share in self.shares]
        return self._on_edge[corner, other]

    def _inside(self, corner: int, before: int, after: int) -> list[int]:
        here = self.flat.points[corner]
        both = self.flat.points[before] + self.flat.points[after] - 2.0 * here
        return [self._add(here + share * both) for share in self.shares]

    def _add(self, point: FloatArray) -> int:
        self._new.append(point)
        return len(self.flat.points) + len(self._new) - 1

    def split(self, edges: Iterable[tuple[Edge, int]]) -> Iterator[tuple[Edge, int]]:
        """Boundary edges in the pieces they were cut into."""
        for (a, b), region in edges:
            near_a, near_b = self._on_edge.get((a, b), []), self._on_edge.get((b, a), [])
            stops = [a, *reversed(near_a), *near_b, b]
            for piece in pairwise(stops):
                yield piece, region


def _fan(corner: int, after: list[int], before: list[int]) -> Iterator[Corners]:
    """Around a corner that touches the face alone."""
    yield corner, after[-1], before[-1]
    for k in range(len(after) - 1, 0, -1):
        yield after[k], after[k - 1], before[k - 1], before[k]


def _strip(start: list[int], end: list[int]) -> Iterator[Corners]:
    """Layers over an edge of the face, from two chains that begin at its ends."""
    for k in range(len(start) - 1):
        yield start[k], end[k], end[k + 1], start[k + 1]


def _pieces(core: list[int]) -> Iterator[Corners]:
    """A convex polygon in quadrilaterals and at most one triangle."""
    while len(core) > 4:
        yield tuple(core[:4])
        core = [core[0], *core[3:]]
    yield tuple(core)
