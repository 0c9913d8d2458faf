"""What makes a part this one and not another: digests of dimensions, material and print settings, without place and weight.

Equal digests mean that one part can take the place of the other.
"""

from __future__ import annotations

import hashlib
from dataclasses import fields, is_dataclass
from typing import Any

from halfroll.materials.glue import Glue
from halfroll.materials.types import Conductor, Filament, Wire
from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.coil.wound import wind
from halfroll.motor.types import Body
from halfroll.suspension.models.jig import GapJig

_NOT_SHAPE = {"name", "height_over_gap_m", "slicer_kg", "weighed_kg", "offset_m", "print_tolerance_m", "hub"}
"""Where a part stands, what a scale says of it and what the calculation assumes of it do not make it another part."""

LENGTH = 12


def shape_of(part: object) -> str:
    """Digest of a printed part's design: dimensions to a nanometre, filament, print settings."""
    return digest(plain(part))


def coil_shape(coil: CoilDesign) -> str:
    """Digest of a coil as wound: wire, turns, layers, former, glue. The whole is one piece once it is wound."""
    return digest((plain(coil), round(wind(coil).former_height_m, 9)))


def body_shape(body: Body, material: str) -> str:
    """Digest of a motor part that no record describes: its outline from its own foot, and what it is of."""
    foot = body.bounds[2]
    return digest((material, [(round(r, 9), round(z - foot, 9)) for r, z in body.outline]))


def jig_shape(jig: GapJig, name: str) -> str:
    """Digest of one of a gap's jigs."""
    return digest((name, plain(jig)))


def digest(value: object) -> str:
    """A short digest of plain values."""
    return hashlib.sha256(repr(value).encode()).hexdigest()[:LENGTH]


def plain(value: Any) -> Any:
    """A design as plain values: materials by their keys, numbers rounded to a nanometre or better."""
    if isinstance(value, Filament | Conductor | Wire | Glue):
        return value.key
    if is_dataclass(value) and not isinstance(value, type):
        kept = (one.name for one in fields(value) if one.name not in _NOT_SHAPE)
        return (type(value).__name__, *((name, plain(getattr(value, name))) for name in kept))
    if isinstance(value, float):
        return round(value, 9)
    return tuple(plain(one) for one in value) if isinstance(value, tuple) else value
