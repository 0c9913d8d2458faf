"""The gap-centring jig: what fills the clearances of the gap while the coil is glued to its suspension.

An inner sleeve stands between pole and former, an outer one between winding and top plate. A wall printed upright is as thick
as whole lines; where not even one line fits, three shims printed flat, as thick as whole layers and bent around by hand, do it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.types import Filament
from halfroll.suspension.design import PrintSettings
from halfroll.suspension.models.model import Shape

Where = Literal["inner", "outer"]

COLLAR_M, COLLAR_HEIGHT_M = 3e-3, 1.6e-3
"""How far the collar stands out beyond the sleeve, and its height: enough to grip."""

LAYER_OFF = 0.1
"""How much thicker than its layers a sheet may come out, as a share (common practice)."""

LOOSE = 0.5
"""Share of a clearance that may stay free before the coil is no longer centred by the jig."""

SHIMS, APART_M, TAB_M = 3, 1e-3, (8e-3, 10e-3)
"""Number of shims around, the space left between two of them, width and length of the tab they are pulled out by."""


@dataclass(frozen=True, kw_only=True)
class GapJig:
    """The gap a jig is made for: radii in metres, inside out.

    `gap_height_m` is the height of the top plate, `reach_m` how far the former stands out over the top plate, which the inner
    sleeve must clear. `print_tolerance_m` is half of the band a printed diameter may be off.
    """

    pole_radius_m: float
    former_inner_m: float
    coil_outer_m: float
    plate_radius_m: float
    gap_height_m: float
    reach_m: float
    material: Filament
    print_tolerance_m: float = 0.1e-3
    print: PrintSettings = field(default_factory=PrintSettings)

    def __post_init__(self) -> None:
        radii = (self.pole_radius_m, self.former_inner_m, self.coil_outer_m, self.plate_radius_m)
        if not (all(math.isfinite(r) for r in radii) and 0.0 <= radii[0] < radii[1] < radii[2] < radii[3]):
            raise InputError(
                "The radii of a gap must grow from the pole over the former and the winding to the top plate",
                key="jig", found=", ".join(f"{1e3 * r:g}" for r in radii) + " mm",
            )  # fmt: skip
        if not (self.gap_height_m > 0.0 and self.reach_m >= 0.0):
            raise InputError(
                "The gap of a jig must have a height", key="jig", found=f"{1e3 * self.gap_height_m:g} mm"
            )


@dataclass(frozen=True, kw_only=True)
class Fit:
    """How one clearance (m, on the radius) is filled: by a wall of so many whole lines, by sheets of so many whole layers, or,
    with `count` 0, by nothing that can be printed. `play_m` is what stays free on the radius.
    """

    where: Where
    clearance_m: float
    wall_m: float
    count: int
    by: Literal["lines", "layers"]
    play_m: float


def fit_of(jig: GapJig, where: Where) -> Fit:
    """What fits into a clearance once both printed surfaces are off by their tolerance."""
    low, high = _between(jig, where)
    clearance = high - low
    # A sleeve has two printed diameters, each off by half the tolerance on the radius; a sheet is as thick as its layers come out.
    steps: tuple[tuple[Literal["lines", "layers"], float, float], ...] = (
        ("lines", jig.print.line_width_m, clearance - jig.print_tolerance_m),
        ("layers", jig.print.layer_m, clearance / (1.0 + LAYER_OFF)),
    )
    for by, step, room in steps:
        count = math.floor(room / step + 1e-9)
        if count >= 1:
            return Fit(where=where, clearance_m=clearance, wall_m=count * step, count=count, by=by,
                       play_m=clearance - count * step)  # fmt: skip
    return Fit(where=where, clearance_m=clearance, wall_m=0.0, count=0, by="layers", play_m=clearance)


def fit_verdict(fit: Fit) -> Verdict | None:
    """What is to be said of how a clearance is filled; None when the jig fills it well."""
    where, data = (
        _words(fit.where),
        {"clearance_mm": 1e3 * fit.clearance_m, "wall_mm": 1e3 * fit.wall_m, "play_mm": 1e3 * fit.play_m},
    )
    if fit.count == 0:
        return Verdict(
            code="jig-not-printable", severity=Severity.NOTE, data=data,
            text=f"Between {where} there are {1e3 * fit.clearance_m:.2f} mm: too little for one printed layer with the tolerance of the print.",
            remedy="Centre the coil there with strips of film or paper of that thickness.",
        )  # fmt: skip
    if fit.play_m > LOOSE * fit.clearance_m:
        return Verdict(
            code="jig-loose", severity=Severity.CAUTION, data=data,
            text=f"The jig between {where} is {fit.count} {fit.by[: -1 if fit.count == 1 else None]} thick, {1e3 * fit.wall_m:.2f} mm, and leaves "
                 f"{1e3 * fit.play_m:.2f} of {1e3 * fit.clearance_m:.2f} mm free: walls come in whole {fit.by} only.",
            remedy=f"Print it with another {'line width' if fit.by == 'lines' else 'layer height'}, or add a strip of film until it does not shift.",
        )  # fmt: skip
    return None


def jig_shape(jig: GapJig, fit: Fit) -> Shape:
    """The jig's solid before it is laid on the plate: a sleeve with its collar on top, or shims lying flat."""
    if fit.count == 0:
        raise InputError(f"No wall that can be printed fits between {_words(fit.where)}", key="jig",
                         found=f"{1e3 * fit.clearance_m:.2f} mm", remedy="Centre the coil with strips of film or paper of that thickness")  # fmt: skip
    low, _ = _between(jig, fit.where)
    inner = low + 0.5 * (fit.play_m if fit.by == "lines" else 0.0)
    depth = jig.gap_height_m + (jig.reach_m if fit.where == "inner" else 0.0)
    if fit.by == "layers":
        return Shape(outlines_m=_shims(inner + 0.5 * fit.wall_m, depth), height_m=fit.wall_m)
    outer = inner + fit.wall_m
    # Outwards on both: over the top plate, and over the former's end, on which the inner one comes to rest.
    rim = outer + COLLAR_M
    section = [(inner, 0.0), (outer, 0.0), (outer, depth), (rim, depth), (rim, depth + COLLAR_HEIGHT_M), (inner, depth + COLLAR_HEIGHT_M)]  # fmt: skip
    return Shape(sections_m=(np.array(section),))


def jig_title(fit: Fit) -> str:
    """What it is, in words."""
    what = "sleeve" if fit.by == "lines" else f"{SHIMS} shims to bend around"
    return f"{fit.where.capitalize()} jig, {what}"


def _between(jig: GapJig, where: Where) -> tuple[float, float]:
    if where == "inner":
        return jig.pole_radius_m, jig.former_inner_m
    return jig.coil_outer_m, jig.plate_radius_m


def _words(where: Where) -> str:
    return "pole and former" if where == "inner" else "winding and top plate"


def _shims(radius_m: float, depth_m: float) -> tuple[FloatArray, ...]:
    """Three strips with a tab each, side by side."""
    width = 2.0 * math.pi * radius_m / SHIMS - APART_M
    tab = min(TAB_M[0], 0.6 * width)
    a, b, top = 0.5 * width, 0.5 * tab, depth_m + TAB_M[1]
    strip = np.array([(-a, 0.0), (a, 0.0), (a, depth_m), (b, depth_m), (b, top), (-b, top), (-b, depth_m), (-a, depth_m)])  # fmt: skip
    return tuple(strip + np.array([k * (width + 3e-3), 0.0]) for k in range(SHIMS))
