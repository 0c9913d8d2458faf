"""How far a printed strip's stiffness may lie from the computed one: by the plastic's modulus, and by the wall's thickness."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from halfroll.materials.printed import in_print
from halfroll.suspension.design import StripDesign
from halfroll.suspension.elastic.equilibrium import settle
from halfroll.suspension.elastic.ring import Ring
from halfroll.suspension.elastic.strip import mesh_strip
from halfroll.suspension.study.cuts import MeshSettings, cuts_of
from halfroll.suspension.types import SuspensionPart

THICKNESS_U_M = 0.02e-3
"""Standard uncertainty of a printed wall's thickness: extrusion within some 5 % of a 0.4 mm line (common practice)."""

_CHANGE = 0.02
_MESH = MeshSettings(order=3)
"""A power to a per cent is enough, so the elements may be one order lower than the study's."""


def stiffness_spread(design: StripDesign, part: SuspensionPart) -> float:
    """Relative standard uncertainty of a strip's stiffness curve.

    The modulus scales the whole curve. Thickness enters between its first power (a stretched wall) and its third (a bent one): the
    power is found by solving the strip at rest a little thinner and thicker.
    """
    plastic = in_print(design.material, raster=design.print.raster, infill=design.print.infill)
    modulus = plastic.modulus_u_pa / plastic.modulus_pa
    thickness = THICKNESS_U_M / float(part.profile.thickness(np.array([0.5]))[0][0])
    return math.hypot(modulus, thickness_power(part) * thickness)


def thickness_power(part: SuspensionPart) -> float:
    """By which power of its thickness a strip's stiffness at rest grows."""
    return power_of(lambda factor: _at_rest(part, factor))


def power_of(stiffness: Callable[[float], float]) -> float:
    """By which power of a factor on its thickness a stiffness, given as a function of that factor, grows near 1."""
    thin, thick = (stiffness(1 + change) for change in (-_CHANGE, _CHANGE))
    return math.log(thick / thin) / math.log((1 + _CHANGE) / (1 - _CHANGE))


def _at_rest(part: SuspensionPart, factor: float) -> float:
    profile = part.profile.thicker(factor)
    ring = Ring(mesh_strip(profile, cuts_of(part.profile, _MESH), _MESH.order), part.material)
    rest = settle(ring, ring.clamps(), 0.0, np.zeros(ring.size))
    assert rest is not None
    return rest.stiffness_n_per_m
