"""Whether a part can be printed, in words: its surface, walls, overhangs, the plate it stands on, and the grams it takes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity, Verdict
from halfroll.suspension.models.filament import FilamentUse, filament_use
from halfroll.suspension.models.mesh import faults_of
from halfroll.suspension.models.model import Model, contact_m2, overhang_share
from halfroll.suspension.models.walls import Wall, Walls, walls_of

Volume = tuple[float, float, float]

USUAL_BED_M: Volume = (0.22, 0.22, 0.25)
"""Build volume of a usual printer, x, y and height (common practice)."""

WHOLE = 0.1
"""How far from a whole number of lines or layers a wall may be."""

MANY = 6
"""Of a wall with more lines or layers than this the odd part makes no difference."""

MUCH_OVERHANG = 0.05
"""Share of the surface from which an overhang is a caution and not a note."""

LITTLE_CONTACT = 0.05
"""Share of a part's footprint (its extent in x times y) under which it stands on little."""

PRINT_CAUTIONS = Verdict(
    code="print-with-care", severity=Severity.NOTE,
    text="A printer's nozzle and plate burn the skin, and molten plastic gives off fumes and fine particles; ABS and ASA most.",
    remedy="Air the room or print in a closed, vented case, stay near while it runs, and follow the filament's own sheet and local rules.",
)  # fmt: skip
"""Said once, whatever is printed."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Printable:
    """A model with what was found of it: walls, share of overhang, contact of the first layer (m²), filament, verdicts."""

    model: Model
    walls: Walls
    overhang: float
    contact_m2: float
    filament: FilamentUse
    verdicts: tuple[Verdict, ...]


def check_bed(bed_m: Volume) -> Volume:
    """Return a build volume when it is one, else raise `InputError`."""
    if not all(math.isfinite(side) and 0.02 <= side <= 3.0 for side in bed_m):
        raise InputError("A build volume must have three possible sides", key="bed",
                         found=" x ".join(f"{1e3 * side:g}" for side in bed_m) + " mm", allowed="20 to 3000 mm each")  # fmt: skip
    return bed_m


def printable(model: Model, *, bed_m: Volume = USUAL_BED_M, filament_m: float = 1.75e-3) -> Printable:
    """Everything that is checked of one model."""
    check_bed(bed_m)
    walls, use = walls_of(model.shape), filament_use(model, filament_m)
    overhang, contact = overhang_share(model.mesh), contact_m2(model.mesh, model.print.layer_m)
    verdicts = [
        *_surface(model), *_walls(model, walls), *_overhang(model, overhang), *_fits(model, bed_m), *_contact(model, contact),
        *_slicer(model, use),
    ]  # fmt: skip
    return Printable(
        model=model,
        walls=walls,
        overhang=overhang,
        contact_m2=contact,
        filament=use,
        verdicts=tuple(verdicts),
    )


def _surface(model: Model) -> Iterator[Verdict]:
    faults = faults_of(model.mesh)
    what, count = model.name, len(model.mesh.triangles)
    if faults.none:
        yield Verdict(code="mesh-closed", severity=Severity.GOOD, data={"part": what, "triangles": count},
                      text=f"The surface of the {model.words} is closed and faces outwards everywhere ({count} triangles).")  # fmt: skip
        return
    data = {
        "part": what,
        "open_edges": faults.open_edges,
        "crowded_edges": faults.crowded_edges,
        "turned_edges": faults.turned_edges,
    }
    yield Verdict(code="mesh-not-closed", severity=Severity.BAD, data=data, remedy="Look at its profile where it is drawn; do not print it.",
                  text=f"The surface of the {model.words} does not bound a body: {faults.open_edges} open, {faults.crowded_edges} crowded and "
                       f"{faults.turned_edges} turned edges.")  # fmt: skip


def _walls(model: Model, walls: Walls) -> Iterator[Verdict]:
    line, layer = model.print.line_width_m, model.print.layer_m
    if walls.standing is not None:
        yield from _too_thin("wall-under-line", model, walls.standing, line, LINES)
        yield from _not_whole("wall-not-whole-lines", model, walls.standing, line, LINES)
    if walls.lying is not None:
        yield from _too_thin("sheet-under-layer", model, walls.lying, layer, LAYERS)
        yield from _not_whole("sheet-not-whole-layers", model, walls.lying, layer, LAYERS)


LINES, LAYERS = ("line", "that stand upright", "nozzle"), ("layer", "that lie flat", "layer height")
"""What walls are built of, which walls these are, and what is made smaller for thinner ones."""


def _too_thin(
    code: str, model: Model, wall: Wall, step: float, words: tuple[str, str, str]
) -> Iterator[Verdict]:
    what, which, smaller = words
    if wall.least_m >= (1.0 - WHOLE) * step:
        return
    yield Verdict(
        code=code, severity=Severity.BAD, data=_wall_data(model, wall, step, what),
        text=f"Walls of the {model.words} {which} go down to {1e3 * wall.least_m:.2f} mm, less than one {what} of {1e3 * step:g} mm: "
             "the slicer leaves them out.",
        remedy=f"Make it thicker, or use a smaller {smaller}.",
    )  # fmt: skip


def _not_whole(
    code: str, model: Model, wall: Wall, step: float, words: tuple[str, str, str]
) -> Iterator[Verdict]:
    what, which, _ = words
    steps = wall.steps_of(step)
    if (
        steps is None
        or steps > MANY
        or wall.least_m < (1.0 - WHOLE) * step
        or abs(steps - round(steps)) <= WHOLE
    ):
        return
    below = max(math.floor(steps), 1)
    yield Verdict(
        code=code, severity=Severity.NOTE, data={**_wall_data(model, wall, step, what), f"{what}s": steps},
        text=f"Walls of the {model.words} {which} are {1e3 * steps * step:.2f} mm thick, {steps:.2f} {what}s of {1e3 * step:g} mm: what is "
             "printed will be thicker or thinner, or have a gap inside.",
        remedy=f"Take {1e3 * below * step:.2f} or {1e3 * (below + 1) * step:.2f} mm, or snap the thickness to whole {what}s.",
    )  # fmt: skip


def _wall_data(model: Model, wall: Wall, step: float, what: str) -> dict[str, Any]:
    usual = None if wall.usual_m is None else 1e3 * wall.usual_m
    return {"part": model.name, "least_mm": 1e3 * wall.least_m, "usual_mm": usual, f"{what}_mm": 1e3 * step}


def _overhang(model: Model, share: float) -> Iterator[Verdict]:
    if share < 0.002:
        return
    severe = share > MUCH_OVERHANG
    yield Verdict(code="overhang", severity=Severity.CAUTION if severe else Severity.NOTE,
                  data={"part": model.name, "share_percent": 100.0 * share},
                  text=f"{100.0 * share:.0f} % of the surface of the {model.words} leans out by more than 45°"
                       f"{' and needs support, or will sag' if severe else ''}.",
                  remedy="Support it from below with a gap of one layer, or cool well and print slowly; take the support off before it is weighed.")  # fmt: skip


def _fits(model: Model, bed: Volume) -> Iterator[Verdict]:
    size = model.size_m
    if np.all(size <= np.array(bed) + 1e-9):
        return
    yield Verdict(code="larger-than-bed", severity=Severity.BAD,
                  data={"part": model.name, "size_mm": [round(1e3 * float(s), 2) for s in size], "bed_mm": [round(1e3 * s, 1) for s in bed]},
                  text=f"The {model.words} measures {_sides(size)} mm and does not fit a build volume of {_sides(bed)} mm.",
                  remedy="Print it on a larger printer, or divide it; name your own printer's volume if it is another.")  # fmt: skip


def _contact(model: Model, contact: float) -> Iterator[Verdict]:
    x, y, z = (float(side) for side in model.size_m)
    share = contact / (x * y)
    if share >= LITTLE_CONTACT or z <= model.print.layer_m * 2.0:
        return
    yield Verdict(code="little-contact", severity=Severity.NOTE, data={"part": model.name, "contact_mm2": 1e6 * contact, "share_percent": 100.0 * share},
                  text=f"The first layer of the {model.words} covers {1e6 * contact:.0f} mm², {100.0 * share:.1f} % of the place it takes: "
                       "it may come off the plate.", remedy="Print it with a brim, or with wider lips.")  # fmt: skip


def _slicer(model: Model, use: FilamentUse) -> Iterator[Verdict]:
    yield from _differs("slicer-differs", model, use, "the slicer says", use.slicer_kg)
    yield from _differs("scale-differs", model, use, "the scale says", use.weighed_kg)


def _differs(code: str, model: Model, use: FilamentUse, whose: str, kg: float | None) -> Iterator[Verdict]:
    if kg is None or abs(kg - use.mass_kg) <= 2.0 * use.mass_u_kg:
        return
    yield Verdict(
        code=code, severity=Severity.CAUTION, data={"part": model.name, "computed_g": 1e3 * use.mass_kg, "stated_g": 1e3 * kg},
        text=f"The {model.words} should take {1e3 * use.mass_kg:.2f} ± {2e3 * use.mass_u_kg:.2f} g (95 %), and {whose} {1e3 * kg:.2f} g.",
        remedy="Look at infill, brim and supports, at the filament's density, and whether it is the same part.",
    )  # fmt: skip


def _sides(sides: Volume | np.ndarray) -> str:
    return " × ".join(f"{1e3 * float(side):.1f}".removesuffix(".0") for side in sides)
