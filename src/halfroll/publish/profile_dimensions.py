"""The dimensions by which moving parts are drawn, each with the key it has in a version's record."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from halfroll.publish.section_sheet import millimetres
from halfroll.suspension.design import CapDesign, ConeDesign, FlexureDesign, FormerDesign, Point, StripDesign
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.profile.placed import former_line

PartDesign = StripDesign | FlexureDesign | ConeDesign | CapDesign | FormerDesign

Kind = Literal["diameter", "height", "width", "note", "plan note"]
"""Below the drawing, beside it, over it, or words with a leader to a place, of the section or of the plan."""


@dataclass(frozen=True, kw_only=True)
class Dimension:
    """A dimension of a drawing.

    Parameters
    ----------
    key
        Its key in the record, such as ``surround.inner_mm``; empty for what follows from others, which stands in brackets.
    kind, low, high
        Between which places (r, z) in metres: a diameter at `high`, a height or width from `low` to `high`, a note at `low`.
    value_m
        Its value (m).
    words, text
        What it is, and the number as it is drawn.
    """

    key: str
    kind: Kind
    low: Point
    high: Point
    value_m: float
    words: str
    text: str


def dimensions_of(
    design: PartDesign, line: Profile, name: str, *, placed: bool = False
) -> tuple[Dimension, ...]:
    """Those of one part whose middle line is `line`; `placed` also gives the height over the gap's middle of what has one."""
    if isinstance(design, StripDesign):
        found = _strip(design, line, name)
    elif isinstance(design, FlexureDesign):
        found = _flexure(design, line, name)
    elif isinstance(design, ConeDesign):
        found = _cone(design, line)
    elif isinstance(design, CapDesign):
        found = _cap(design, line)
    else:
        found = _former(design)
    every = tuple(found)
    if placed and isinstance(design, StripDesign | FlexureDesign | ConeDesign) and design.height_over_gap_m:
        start = _at(line, 0.0)
        words = f"Height of the {name} over the middle of the gap"
        every = (*every, _height(f"{name}.at_mm", (start[0], 0.0), start, words))
    return every


def _strip(design: StripDesign, line: Profile, name: str) -> Iterator[Dimension]:
    start, stop = _at(line, 0.0), _at(line, 1.0)
    yield _diameter(f"{name}.inner_mm", start, f"Inner diameter of the {name} at its clamp")
    yield _diameter(f"{name}.outer_mm", stop, f"Outer diameter of the {name} at its clamp")
    yield from _heights(design, line, name)
    for key, width, at, way in (("lip_inner_mm", design.lip_inner_m, start, -1.0), ("lip_outer_mm", design.lip_outer_m, stop, 1.0)):  # fmt: skip
        if width > 0:
            ends = sorted([at, (at[0] + way * width, at[1])])
            words = f"Width of the {name}'s {'inner' if way < 0 else 'outer'} lip"
            yield Dimension(key=f"{name}.{key}", kind="width", low=ends[0], high=ends[1], value_m=width, words=words, text=millimetres(width))  # fmt: skip
    yield from _thicknesses(design.thickness_m, design.thickness_outer_m, line, name)


def _heights(design: StripDesign, line: Profile, name: str) -> Iterator[Dimension]:
    """Of rolls, or the amplitudes of corrugations: from the clamps' level to a crest."""
    z, foot = _at(line, 0.0)[1], _at(line, 1.0)
    if design.family == "corrugated" and design.rolls and design.amplitude_m is not None:
        first, last = _at(line, 0.25 / design.rolls), _at(line, 1 - 0.25 / design.rolls)
        outer, words = design.amplitude_outer_m, f"Amplitude of the {name}'s waves"
        if outer is None or outer == design.amplitude_m:
            yield _height(f"{name}.amplitude_mm", (foot[0], z), first, words)
        else:  # no crest is just as high as the amplitude at the edge
            yield _note(
                f"{name}.amplitude_mm",
                first,
                design.amplitude_m,
                f"{words} at its inner edge",
                "amplitude {}",
            )
            yield _note(
                f"{name}.amplitude_outer_mm", last, outer, f"{words} at its outer edge", "amplitude {}"
            )
    elif design.family not in ("flat", "corrugated"):
        places = line.curve(np.linspace(0.0, 1.0, 2001))
        top = int(np.argmax(np.abs(places.z - z)))
        crest = (float(places.r[top]), float(places.z[top]))
        stated = design.height_m is not None and design.family != "half-roll"
        yield _height(
            f"{name}.height_mm" if stated else "", (foot[0], z), crest, f"Height of the {name}'s roll"
        )


def _flexure(design: FlexureDesign, line: Profile, name: str) -> Iterator[Dimension]:
    start, stop = _at(line, 0.0), _at(line, 1.0)
    yield _diameter(f"{name}.inner_mm", start, f"Diameter of the {name}'s hub at its arms")
    yield _diameter(f"{name}.outer_mm", stop, f"Diameter of the {name}'s rim at its arms")
    middle = (0.5 * (start[0] + stop[0]), start[1])
    yield _note(f"{name}.thickness_mm", middle, design.thickness_m, f"Thickness of the {name}", "{} thick")


def _cone(design: ConeDesign, line: Profile) -> Iterator[Dimension]:
    start, stop = _at(line, 0.0), _at(line, 1.0)
    if start[0] > 0:
        yield _diameter("cone.inner_mm", start, "Inner diameter of the cone")
    yield _diameter("cone.outer_mm", stop, "Outer diameter of the cone")
    if stop[1] != start[1]:
        key = "" if design.shape == "free" else "cone.depth_mm"
        low, high = sorted([start, stop], key=lambda place: place[1])
        reach = max(start[0], stop[0])
        yield _height(
            key, (reach if low is stop else low[0], low[1]), (reach if high is stop else high[0], high[1]), "Depth of the cone"
        )  # fmt: skip
    yield from _thicknesses(design.thickness_m, design.thickness_outer_m, line, "cone")
    if design.shape == "flared" and design.flare_m:
        yield _note("cone.flare_mm", _at(line, 0.5), design.flare_m, "Flare of the cone: how far its arc leaves the straight line", "flare {}")  # fmt: skip


def _cap(design: CapDesign, line: Profile) -> Iterator[Dimension]:
    apex, rim = _at(line, 0.0), _at(line, 1.0)
    yield _diameter("cap.outer_mm", rim, "Diameter of the cap")
    if design.height_m:
        ends = sorted([apex, rim], key=lambda place: place[1])
        yield _height("cap.height_mm", ends[0], ends[1], "Height of the cap")
    yield from _thicknesses(design.thickness_m, None, line, "cap")


def _former(design: FormerDesign) -> Iterator[Dimension]:
    line = former_line(design)
    inner, outer = design.inner_radius_m, design.inner_radius_m + design.wall_m
    yield _diameter("", (inner, design.low_m), "Inner diameter of the former")
    yield _diameter("", (outer, design.low_m), "Outer diameter of the former")
    yield _height("", (outer, design.low_m), (outer, design.high_m), "Height of the former")
    yield _note("", _at(line, 0.6), design.wall_m, "Wall of the former", "{} thick")


def _thicknesses(inner: float, outer: float | None, line: Profile, name: str) -> Iterator[Dimension]:
    if outer is None or outer == inner:
        yield _note(f"{name}.thickness_mm", _at(line, 0.62), inner, f"Thickness of the {name}", "{} thick")
        return
    yield _note(
        f"{name}.thickness_mm",
        _at(line, 0.06),
        inner,
        f"Thickness of the {name} at its inner edge",
        "{} thick",
    )
    yield _note(
        f"{name}.thickness_outer_mm",
        _at(line, 0.94),
        outer,
        f"Thickness of the {name} at its outer edge",
        "{} thick",
    )


def _diameter(key: str, at: Point, words: str) -> Dimension:
    text = f"⌀{millimetres(2.0 * at[0])}"
    return Dimension(
        key=key, kind="diameter", low=(0.0, at[1]), high=at, value_m=2.0 * at[0], words=words, text=text
    )


def _height(key: str, one: Point, other: Point, words: str) -> Dimension:
    low, high = sorted([one, other], key=lambda place: place[1])
    value = high[1] - low[1]
    text = millimetres(value) if key else f"({millimetres(value)})"
    return Dimension(key=key, kind="height", low=low, high=high, value_m=value, words=words, text=text)


def _note(key: str, at: Point, value: float, words: str, text: str) -> Dimension:
    """Words with a leader to a place in the wall."""
    return Dimension(
        key=key,
        kind="note",
        low=at,
        high=at,
        value_m=value,
        words=words,
        text=text.format(millimetres(value)),
    )


def _at(line: Profile, s: float) -> Point:
    place = line.curve(np.array([s]))
    r, z = float(place.r[0]), float(place.z[0])
    return (0.0 if math.isclose(r, 0.0, abs_tol=1e-12) else r, z)
