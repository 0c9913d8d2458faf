"""Layers along faces: pieces fit together, fill what was there, and get thinner as they should."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import Delaunay

from halfroll.motor.eddy.layers import CUT, Flat, layered


def _square(inside: np.ndarray, is_metal: np.ndarray) -> tuple[Flat, int]:
    """Points in the unit square as triangles, some of them (by a list of truths) of metal; the left side is the axis."""
    frame = np.array(
        [(x, y) for x in (0.0, 0.25, 0.5, 0.75, 1.0) for y in (0.0, 1.0)]
        + [(x, y) for x in (0.0, 1.0) for y in (0.25, 0.5, 0.75)]
    )
    points = np.vstack([frame, inside])
    cut = Delaunay(points)
    triangles = [tuple(int(i) for i in corners) for corners in cut.simplices if _area(points[corners]) > 1e-9]
    once = Counter(tuple(sorted(edge)) for corners in triangles for edge in pairwise((*corners, corners[0])))
    rim = [edge for edge, n in once.items() if n == 1]
    edges = tuple((edge, 0 if max(points[i, 0] for i in edge) < 1e-12 else 1) for edge in rim)
    elements = tuple((corners, int(is_metal[i % len(is_metal)])) for i, corners in enumerate(triangles))
    return Flat(points, elements, edges), len(rim)


def _area(corners: np.ndarray) -> float:
    x, y = corners.T
    return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000), layers=st.integers(1, 6))
def test_pieces_fit_and_fill(seed: int, layers: int) -> None:
    """Any triangles of metal in any neighbourhood, alone and at corners too: every inner edge is shared by two elements, the
    rim keeps its length, every element is convex and turns left, and each matter keeps its area.
    """
    rng = np.random.default_rng(seed)
    flat, _ = _square(rng.uniform(0.05, 0.95, (25, 2)), rng.random(97) < rng.uniform(0.1, 0.9))
    found = layered(flat, np.array([0, 1]), frozenset({0}), layers)
    shared = Counter(tuple(sorted(edge)) for c, _ in found.elements for edge in pairwise((*c, c[0])))
    rim = {tuple(sorted(edge)) for edge, _ in found.edges}
    assert set(shared.values()) <= {1, 2}
    assert {edge for edge, n in shared.items() if n == 1} == rim
    for region in (0, 1):
        before, after = (
            sum(_area(f.points[list(c)]) for c, r in f.elements if r == region) for f in (flat, found)
        )
        assert after == pytest.approx(before, rel=1e-12)
    for corners, _ in found.elements:
        around = found.points[list(corners)]
        steps = np.roll(around, -1, axis=0) - around
        turns = steps[:, 0] * np.roll(steps[:, 1], -1) - steps[:, 1] * np.roll(steps[:, 0], -1)
        assert (turns > 0.0).all()


def test_layers_thin_out_by_a_quarter() -> None:
    """A metal triangle on a face of another: heights over the face at a quarter, a sixteenth, a sixty-fourth."""
    points = np.array([(0.0, 0.0), (1.0, 0.0), (0.5, 1.0), (0.5, -1.0)])
    flat = Flat(
        points, (((0, 1, 2), 1), ((0, 3, 1), 0)), (((1, 2), 0), ((2, 0), 0), ((0, 3), 0), ((3, 1), 0))
    )
    found = layered(flat, np.array([0, 1]), frozenset({0}), 3)
    heights = sorted({round(float(y), 9) for y in found.points[:, 1] if y > 0.0})
    assert heights == pytest.approx([CUT**3, CUT**2, CUT, 1.0])
    assert len(found.elements) == 5  # three layers, what is left, and the neighbour


def test_what_has_no_kind_is_left_alone() -> None:
    """Without metal nothing is cut."""
    flat, rim = _square(np.array([(0.4, 0.6)]), np.array([False]))
    found = layered(flat, np.array([0, 1]), frozenset({0}), 4)
    assert found.elements == flat.elements
    assert len(found.edges) == rim
