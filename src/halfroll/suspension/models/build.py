"""From a design of moving parts to the models that are printed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from halfroll.core.errors import InputError, choose
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.materials.types import Filament
from halfroll.suspension.design import (
    CapDesign,
    ConeDesign,
    FlexureDesign,
    FormerDesign,
    MovingDesign,
    PrintSettings,
    StripDesign,
)
from halfroll.suspension.models import PARTS
from halfroll.suspension.models.jig import GapJig, fit_of, jig_shape, jig_title
from halfroll.suspension.models.model import SIDES, Model, Shape, Side, laid
from halfroll.suspension.models.solids import raised, turned
from halfroll.suspension.profile.families import TITLES
from halfroll.suspension.profile.flexure import title_of
from halfroll.suspension.profile.outlines import (
    cap_outline,
    cone_outline,
    flexure_outline,
    former_outline,
    strip_outline,
)

FINE_M = 10e-6
"""How far facets may lie off the true surface: a hundredth of a line's width is less than any printer holds."""

SECTION_M = 20e-6
"""How far chords of a half-section may leave its curve at most, however coarse the facets are."""

FINEST_M = 1e-6
"""Half-sections as fine as this give a part's size."""

SHARP = 1e-3
"""How far the volume inside the chords of a half-section may be off, as a share."""

Part = StripDesign | FlexureDesign | ConeDesign | CapDesign | FormerDesign


def models_of(
    design: MovingDesign,
    *,
    parts: Sequence[str] | None = None,
    jig: GapJig | None = None,
    side: Side = "auto",
    within_m: float = FINE_M,
    progress: Progress = silent,
) -> tuple[Model, ...]:
    """The models of a design's parts and of its jig, in the order of `PARTS`, each as it lies on the build plate.

    Parameters
    ----------
    parts
        Names of `PARTS`; all that are designed and printed when None (a former of film, card or metal is not). Of a jig, what fits no printable wall is left out unless asked for by name.
    side
        Which side lies below; ``auto`` takes the one with less overhang, then with more contact.
    within_m
        How far facets may lie off the true surface (m).

    Raises
    ------
    InputError
        A part is asked for that is none, not designed or bent from sheet, or it cannot be.
    CancelledError
        `progress` asked to stop.
    """
    choose(side, SIDES, field="The side a part is printed on", key="side")
    there = available(design, jig)
    for name in parts or ():
        choose(name, PARTS, field="The part to print", key="part")
        part = getattr(design, name, None)
        if part is not None and not _printed(part):
            raise InputError(f"The {name} is bent from sheet, not printed", key=name, found=part.material.title,
                             remedy="Give it a filament as its material to print it")  # fmt: skip
        if name not in there:
            raise InputError(f"The version has no {name} to print", key=name, found="none designed",
                             allowed=there or "nothing yet; design a surround, spider, cone or coil first")  # fmt: skip
    wanted = [name for name in there if not parts or name in parts]
    made: list[Model] = []
    for n, name in enumerate(wanted):
        progress(n / len(wanted), name)
        if name.startswith("jig-"):
            assert jig is not None
            made += _jig(jig, name, side, within_m, by_name=bool(parts))
        else:
            made.append(model_of(name, getattr(design, name), side=side, within_m=within_m))
    progress(1.0, "done")
    return tuple(made)


def available(design: MovingDesign, jig: GapJig | None = None) -> list[str]:
    """Names of the models a design gives."""
    jigs = [] if jig is None else [name for name in PARTS if name.startswith("jig-")]
    return [name for name in PARTS if name in jigs or _printed(getattr(design, name, None))]


def _printed(part: Part | None) -> bool:
    """Whether a part is there and is not cut from sheet."""
    return part is not None and not part.material.sheet


def model_of(name: str, part: Part, *, side: Side = "auto", within_m: float = FINE_M) -> Model:
    """The model of one part.

    Raises
    ------
    InputError
        The part cannot be.
    """
    settings = PrintSettings() if isinstance(part, FormerDesign) else part.print
    return _laid(name, _title(name, part), _shape(part, within_m), part.material, settings, side, within_m)


def _shape(part: Part, within_m: float) -> Shape:
    if isinstance(part, FlexureDesign):
        plane = flexure_outline(part, 0.2 * within_m)
        return Shape(outlines_m=(plane.outer,), holes_m=plane.holes, height_m=plane.thickness_m)
    if isinstance(part, FormerDesign):
        return Shape(sections_m=(former_outline(part),))
    outline: Callable[[Any, float], FloatArray] = (
        strip_outline if isinstance(part, StripDesign) else cone_outline if isinstance(part, ConeDesign) else cap_outline
    )  # fmt: skip
    finest = outline(part, FINEST_M)
    true = (2.0 * float(finest[:, 0].max()), float(np.ptp(finest[:, 1])))
    return Shape(
        sections_m=(_sharp(lambda fine: outline(part, fine), min(0.5 * within_m, SECTION_M)),), true_m=true
    )


def _sharp(outline: Callable[[float], FloatArray], within_m: float) -> FloatArray:
    """A half-section with chords so fine that its volume is right, too: tight bends need finer ones than their sagitta says.

    What chords leave out goes with the distance they leave the curve by, so two finenesses tell how much is left out.
    """
    share = SHARP * max(within_m / (0.5 * FINE_M), 1.0)
    found = outline(within_m)
    for _ in range(6):
        finer = outline(0.25 * within_m)
        missing = abs(_swept(finer) - _swept(found)) * 4.0 / 3.0
        if missing <= share * _swept(finer):
            return found
        within_m, found = 0.25 * within_m, finer
    return found


def _swept(outline: FloatArray) -> float:
    """Volume (m³) swept by a half-section about the axis (Pappus), from its corners."""
    r, z = outline[:, 0], outline[:, 1]
    r2, z2 = np.roll(r, -1), np.roll(z, -1)
    return abs(float(np.sum((r * z2 - r2 * z) * (r + r2))) * np.pi / 3.0)


def _jig(jig: GapJig, name: str, side: Side, within_m: float, *, by_name: bool) -> list[Model]:
    fit = fit_of(jig, "inner" if name == "jig-inner" else "outer")
    if fit.count == 0 and not by_name:
        return []
    shape = jig_shape(jig, fit)
    return [_laid(name, jig_title(fit), shape, jig.material, jig.print, side, within_m)]


def _laid(
    name: str, title: str, shape: Shape, material: Filament, settings: PrintSettings, side: Side, within_m: float
) -> Model:  # fmt: skip
    if shape.is_round:
        mesh = turned(shape.sections_m, within_m)
    else:
        mesh = raised(shape.outlines_m, shape.height_m, shape.holes_m)
    mesh, shape, over = laid(mesh, shape, side, settings.layer_m)
    return Model(name=name, title=title, shape=shape, mesh=mesh, material=material, print=settings, turned_over=over,
                 mesh_error_m=within_m)  # fmt: skip


def _title(name: str, part: Part) -> str:
    if isinstance(part, StripDesign):
        family = TITLES[part.family]
        if part.family not in ("flat", "corrugated", "free"):
            family += f" {part.direction}"
        return f"{name.capitalize()}, {family}"
    if isinstance(part, FlexureDesign):
        return f"{name.capitalize()}, {title_of(part)}"
    if isinstance(part, ConeDesign):
        return "Dome" if part.shape == "dome" else f"Cone, {part.shape}"
    return {"cap": "Dust cap", "former": "Former"}[name]
