"""A model as a STEP file (ISO 10303-21): curved faces as what they are, not as facets.

The geometry kernel is Open CASCADE inside Netgen. Outlines are taken apart at their corners; each run becomes a line, an arc of
a circle where all its points lie on one, else a spline through its points.
"""

from __future__ import annotations

import re
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from halfroll.core.errors import InputError, OwnFaultError
from halfroll.core.levels import FloatArray
from halfroll.suspension.models.model import Model, Shape

CORNER = np.deg2rad(12.0)
"""Neighbouring pieces of an outline that turn by more than this meet in a corner: curves are sampled finer."""

ON_ARC_MM = 2e-6
"""How far points may lie off a circle or a line and still be on it."""

_TIME = re.compile(rb"(FILE_NAME\([^,]*,)'[^']*'")
_COUNT = re.compile(rb"'Open CASCADE STEP translator [^']*'")
"""The kernel names a part by counting what it has written since it started."""


def write_step(model: Model) -> bytes:
    """The bytes of a STEP file of one part, in millimetres. Its time is fixed and it is named by the part, so equal models give equal bytes.

    Raises
    ------
    InputError
        The geometry kernel is not built for this machine (such as Linux on ARM).
    OwnFaultError
        The kernel gave no solid of the right volume.
    """
    solid = _solid(model.shape)
    off = abs(solid.mass * 1e-9 / model.volume_m3 - 1.0)
    if off > 0.002:
        raise OwnFaultError(f"The STEP solid of {model.name} came out {100.0 * off:.1f} % off in volume and was not written. Take the 3MF.")  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / f"{model.name}.step"
        solid.WriteStep(str(file))
        text = file.read_bytes()
    text = _TIME.sub(rb"\1'1980-01-01T00:00:00'", text, count=1)
    return _COUNT.sub(f"'{model.name}'".encode(), text)


def can_write_step() -> bool:
    """Whether the geometry kernel is there."""
    try:
        import netgen.occ  # noqa: F401
    except ImportError:
        return False
    return True


def _kernel() -> Any:
    try:
        import netgen.occ
    except ImportError as fault:
        raise InputError(
            "STEP files need the geometry kernel, which is not built for this machine", key="step",
            remedy="Take the 3MF or STL file; on Linux with an Intel or AMD processor, macOS and Windows STEP works",
        ) from fault  # fmt: skip
    return netgen.occ


def _solid(shape: Shape) -> Any:
    occ = _kernel()
    if shape.is_round:
        face = _union([_face(occ, 1e3 * one, upright=True) for one in shape.sections_m])
        return face.Revolve(occ.Axis((0, 0, 0), occ.Z), 360)
    face = _union([_face(occ, 1e3 * one, upright=False) for one in shape.outlines_m])
    for hole in shape.holes_m:
        face = face - _face(occ, 1e3 * hole, upright=False)
    return face.Extrude(1e3 * shape.height_m * occ.Z)


def _union(faces: list[Any]) -> Any:
    whole = faces[0]
    for one in faces[1:]:
        whole = whole + one
    return whole


def _face(occ: Any, outline: FloatArray, *, upright: bool) -> Any:
    """The face inside an outline (mm), in the plane of x and z (`upright`) or of x and y."""

    def at(point: FloatArray) -> Any:
        x, y = (float(value) for value in point)
        return occ.Pnt(x, 0.0, y) if upright else occ.Pnt(x, y, 0.0)

    edges = [_edge(occ, [at(point) for point in run], run) for run in runs(outline)]
    return occ.Face(occ.Wire(edges))


def runs(outline: FloatArray) -> list[FloatArray]:
    """An outline (mm) taken apart at its corners and where a straight piece meets a curve: each run from corner to corner."""
    apart = np.hypot(*(np.roll(outline, -1, axis=0) - outline).T)
    outline = outline[apart > 1e-7]
    step = np.roll(outline, -1, axis=0) - outline
    length = np.hypot(step[:, 0], step[:, 1])
    before = np.roll(step, 1, axis=0)
    turn = np.abs(
        np.arctan2(before[:, 0] * step[:, 1] - before[:, 1] * step[:, 0], np.sum(before * step, axis=1))
    )
    unequal = np.maximum(length, np.roll(length, 1)) > 4.0 * np.minimum(length, np.roll(length, 1))
    corners = np.flatnonzero((turn > CORNER) | (unequal & (turn > 1e-6)))
    if len(corners) == 0:  # a circle: two halves
        corners = np.array([0, len(outline) // 2])
    ends = [*corners[1:], corners[0] + len(outline)]
    whole = [outline[np.arange(a, b + 1) % len(outline)] for a, b in zip(corners, ends, strict=True)]
    return [piece for run in whole for piece in _off_straight_ends(run)]


def _off_straight_ends(run: FloatArray) -> list[FloatArray]:
    """A run with a straight piece before or after an arc it meets without a corner, apart; else the run alone."""
    if not _on_circle(run):
        for first, last in ((1, 0), (0, 1), (1, 1)):
            arc = run[first : len(run) - last]
            if _on_circle(arc):
                return [*([run[:2]] if first else []), arc, *([run[-2:]] if last else [])]
    return [run]


def _edge(occ: Any, points: list[Any], run: FloatArray) -> Any:
    if _straight(run):
        return occ.Segment(points[0], points[-1])
    if _on_circle(run):
        return occ.ArcOfCircle(points[0], points[len(points) // 2], points[-1])
    return occ.SplineInterpolation(points)


def _straight(run: FloatArray) -> bool:
    along = run[-1] - run[0]
    off = (run[:, 0] - run[0, 0]) * along[1] - (run[:, 1] - run[0, 1]) * along[0]
    return bool(np.abs(off).max() <= ON_ARC_MM * max(float(np.hypot(*along)), 1e-9))


def _on_circle(run: FloatArray) -> bool:
    if len(run) < 4:
        return False
    a, b, c = run[0], run[len(run) // 2], run[-1]
    system = 2.0 * np.array([b - a, c - a])
    if abs(float(np.linalg.det(system))) < 1e-9:
        return False
    middle = np.linalg.solve(system, np.array([b @ b - a @ a, c @ c - a @ a]))
    radii = np.hypot(*(run - middle).T)
    return bool(np.ptp(radii) <= ON_ARC_MM)
