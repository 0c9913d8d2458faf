"""Stills as arrays, what changes between two of them, and the frames in between."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.publish.screens.build_up import Manner, Step, eased

Picture = NDArray[np.uint8]
"""Shape (rows, columns, 4): red, green, blue, alpha, not multiplied."""

SOFT = 0.02
"""Width of the edge that uncovers, as a share of the picture's width."""


def decoded(png: bytes) -> Picture:
    """A PNG as an array."""
    import av

    with av.open(io.BytesIO(png), "r", format="png_pipe") as container:
        frame = next(container.decode(video=0))
    return np.ascontiguousarray(frame.to_ndarray(format="rgba"))


@dataclass(frozen=True, kw_only=True)
class Change:
    """Where two stills differ: rows and columns, and both cut to that."""

    rows: slice
    columns: slice
    before: Picture
    after: Picture


def change(before: Picture, after: Picture) -> Change:
    """What is different in the smallest box around it; an empty box where nothing is."""
    differs = np.any(before != after, axis=2)
    rows, columns = _extent(differs.any(axis=1)), _extent(differs.any(axis=0))
    return Change(rows=rows, columns=columns, before=before[rows, columns], after=after[rows, columns])


def between(found: Change, share: float, manner: Manner, *, soft_px: float) -> Picture:
    """The changing box at a share of the change, 0 before, 1 after."""
    width = found.after.shape[1]
    if manner == "fade":
        return mixed(found.before, found.after, np.full(width, share))
    edge = share * (width + soft_px)
    weight = np.clip((edge - np.arange(width) - 0.5) / soft_px, 0.0, 1.0)
    first, last = (
        int(np.searchsorted(-weight, -1.0, side="right")),
        int(np.searchsorted(-weight, 0.0, side="left")),
    )
    box = found.before.copy()
    box[:, :first] = found.after[:, :first]
    box[:, first:last] = mixed(found.before[:, first:last], found.after[:, first:last], weight[first:last])
    return box


def mixed(before: Picture, after: Picture, weight: FloatArray) -> Picture:
    """Two pictures mixed, `weight` (columns,) of the second; alpha counts, so that a clear ground lends no colour."""
    w = weight.astype(np.float32)[None, :, None]
    if before.size and before[..., 3].min() == 255 and after[..., 3].min() == 255:
        return np.asarray(np.rint(before + w * (after.astype(np.float32) - before)), dtype=np.uint8)
    a, b = (1.0 - w) * before[..., 3:], w * after[..., 3:]
    alpha = a + b
    colour = (a * before[..., :3] + b * after[..., :3]) / np.maximum(alpha, 1e-6)
    return np.asarray(np.rint(np.concatenate([colour, alpha], axis=2)), dtype=np.uint8)


def frames(planned: list[Step], still: Callable[[Step], Picture]) -> Iterator[tuple[Picture, bool]]:
    """Every frame of a build-up in turn, and whether it is the same as the one before; the array is used again."""
    shown: Picture | None = None
    for step in planned:
        after = still(step)
        if shown is None:
            shown = after.copy()
            yield shown, False
            yield from ((shown, True) for _ in range(step.frames - 1))
            continue
        found = change(shown, after)
        soft = SOFT * after.shape[1]
        for i in range(step.changing):
            shown[found.rows, found.columns] = between(
                found, eased((i + 1) / step.changing), step.manner, soft_px=soft
            )
            yield shown, False
        shown[:] = after
        yield from ((shown, True) for _ in range(step.standing))


def _extent(any_there: NDArray[np.bool_]) -> slice:
    at = np.flatnonzero(any_there)
    return slice(int(at[0]), int(at[-1]) + 1) if at.size else slice(0, 0)
