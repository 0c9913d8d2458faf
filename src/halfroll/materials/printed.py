"""From a filament to the plastic in the print: what lines and filling make of its stiffness and its density.

A print is not the solid its data sheet speaks of. Neighbouring lines are welded less well than a line holds together, so a load
across them meets less stiffness, and a wall that is not filled is lighter and softer. Both come in as one isotropic stand-in with a
wider uncertainty, not as an orthotropic law: the factors are known to about 20 %, and a calibration in the print's own direction
(`calibrate`) takes their place.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from halfroll.core.errors import InputError, choose
from halfroll.core.text import format_with_u
from halfroll.materials.types import Filament, LineDirection

Raster = Literal["around", "radial", "crossed"]
Load = Literal["radial", "around", "both"]
"""How a part of revolution is strained: along its radius (a surround that bends from clamp to clamp, an arm), around its axis, or
both alike (a cone's shell)."""

LawName = Literal["neo-hooke", "st-venant"]

SOFT_PA = 300e6
"""Below this modulus a plastic is taken for an elastomer, with the neo-Hooke law (between the stiffest TPU, 0.25 GPa, and the softest
polypropylene, 0.9 GPa)."""

FILL_EXPONENT, FILL_EXPONENT_U = 1.5, 0.5 / math.sqrt(3.0)
"""Modulus goes with the filled share to a power: 1 where cell walls are stretched, 2 where they bend (L. J. Gibson and M. F. Ashby,
"Cellular Solids", 2nd ed. 1997, chapter 5; from memory). Printed fillings lie between (common practice): 1 to 2, evenly."""

FILL_U = 0.02
"""Relative standard uncertainty of the share of a wall that is plastic when it is said to be solid: voids between lines, and how
much is extruded (common practice)."""

POROUS_POISSON_U = 0.05
"""Poisson's ratio of a wall with half its plastic gone (own estimate); it grows with what is missing."""

LEAST_INFILL = 0.05

WORDS: dict[LineDirection, str] = {
    "along": "along the lines",
    "across": "across the lines",
    "crossed": "with lines in both directions",
}


@dataclass(frozen=True, kw_only=True)
class InPrint:
    """A printed plastic as an isotropic stand-in: modulus (Pa), Poisson's ratio, density (kg/m³) with standard uncertainties.

    `law` suits it at the strains of a suspension. `lines` is how the load meets the lines, `words` says in a sentence what was
    done to the filament's values.
    """

    modulus_pa: float
    modulus_u_pa: float
    poisson: float
    poisson_u: float
    density_kg_m3: float
    density_u_kg_m3: float
    law: LawName
    lines: LineDirection
    words: str


def in_print(
    filament: Filament, *, raster: Raster = "around", infill: float = 1.0, direction: Load = "radial"
) -> InPrint:
    """What a filament is like in a print.

    E = E_f g(load)/g(measured) s^n, with g = 1 along the lines, the filament's across factor across them and the mean of both,
    less sure, where they cross; s the filled share, n = 1.5 ± 0.29. Density goes with s.

    Parameters
    ----------
    filament
        Shipped, own or calibrated. A modulus measured in the direction of this print's load is taken as it is.
    raster
        How lines run in the part of revolution.
    infill
        Share of the wall that is plastic, 0.05 to 1. Thin walls are solid whatever the slicer's filling says.
    direction
        How the part is strained.

    Raises
    ------
    InputError
        A filling outside 0.05 to 1, or a word that is none of the choices.
    """
    _check_infill(infill)
    lines = lines_under_load(raster, direction)
    factor, factor_u = line_factor(filament, lines)
    fill, fill_u = _fill(infill)
    modulus = filament.modulus_pa * factor * fill
    own, turn = filament.modulus_u_pa / filament.modulus_pa, factor_u / factor
    rise = _rise(filament, lines) * filament.across_factor_u / filament.across_factor
    shared = 2.0 * filament.across_correlation * own * rise
    relative = math.sqrt(max(own**2 + turn**2 + shared, 0.0) + (fill_u / fill) ** 2)
    return InPrint(
        modulus_pa=modulus,
        modulus_u_pa=modulus * relative,
        poisson=filament.poisson,
        poisson_u=math.hypot(filament.poisson_u, 2.0 * POROUS_POISSON_U * (1.0 - infill)),
        density_kg_m3=infill * filament.density_kg_m3,
        density_u_kg_m3=infill * math.hypot(filament.density_u_kg_m3, FILL_U * filament.density_kg_m3),
        law="neo-hooke" if filament.modulus_pa < SOFT_PA else "st-venant",
        lines=lines,
        words=_words(filament, lines, (factor, factor_u), infill),
    )


def lines_under_load(raster: Raster, direction: Load = "radial") -> LineDirection:
    """How a load meets the lines: those around the axis are crossed by a radial load."""
    choose(raster, ("around", "radial", "crossed"), field="The raster", key="raster")
    choose(direction, ("radial", "around", "both"), field="The direction of the load", key="direction")
    if raster == "crossed" or direction == "both":
        return "crossed"
    return "along" if raster == direction else "across"


def line_factor(filament: Filament, lines: LineDirection) -> tuple[float, float]:
    """Modulus in a direction over the filament's own (in the direction it was measured in), and its standard uncertainty.

    Along the lines 1, across them the across factor f, where they cross the mean of both, which may lie anywhere between.
    """
    f, u = filament.across_factor, filament.across_factor_u
    to, by = (_over_along(f, one) for one in (lines, filament.modulus_lines))
    if lines == filament.modulus_lines:
        return 1.0, 0.0
    turn = _rise(filament, lines) * u / f
    rule = abs(1.0 - f) / (2.0 * math.sqrt(3.0)) if "crossed" in (lines, filament.modulus_lines) else 0.0
    return to / by, to / by * math.hypot(turn, rule)


def _over_along(f: float, lines: LineDirection) -> float:
    return {"along": 1.0, "across": f, "crossed": 0.5 * (1.0 + f)}[lines]


def _rise(filament: Filament, lines: LineDirection) -> float:
    """Relative change of the factor between two directions by a relative change of f."""
    f = filament.across_factor
    share = {"along": 0.0, "across": 1.0, "crossed": f / (1.0 + f)}
    return share[lines] - share[filament.modulus_lines]


def _fill(infill: float) -> tuple[float, float]:
    """Modulus of a partly filled wall over that of a solid one, s^n, from the exponent and from how full it really is."""
    fill = infill**FILL_EXPONENT
    return fill, fill * math.hypot(math.log(infill) * FILL_EXPONENT_U, FILL_EXPONENT * FILL_U)


def _check_infill(infill: float) -> None:
    if not (math.isfinite(infill) and LEAST_INFILL <= infill <= 1.0):
        raise InputError("The filling must be a share of the wall", key="infill", found=f"{infill:g}", allowed="0.05 to 1",
                         remedy="Write 15 % as 0.15; a thin wall without a filling is 1")  # fmt: skip


def _words(filament: Filament, lines: LineDirection, factor: tuple[float, float], infill: float) -> str:
    measured = WORDS[filament.modulus_lines]
    if lines == filament.modulus_lines:
        text = f"{filament.title}, loaded {WORDS[lines]}, as its modulus was measured"
    else:
        share = format_with_u(*factor)
        text = f"{filament.title}, loaded {WORDS[lines]}: {share} of its modulus {measured}"
    if infill < 1.0:
        text += f"; filled to {100 * infill:.0f} %, modulus with the power {FILL_EXPONENT:g} of it"
    return text + "."
