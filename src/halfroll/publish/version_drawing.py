"""The sections of versions' drivers, motor and moving parts: thumbnails, and one with its dimensions; from their records alone, nothing is
computed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from html import unescape
from math import pi

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue
from halfroll.motor.coil.wound import Coil
from halfroll.motor.types import Assembly
from halfroll.publish.outline import half_section
from halfroll.publish.paper import Picture
from halfroll.publish.section import section_svg
from halfroll.publish.section_moving import moving_extent, moving_svg
from halfroll.publish.theme import Theme
from halfroll.suspension.design import MovingDesign
from halfroll.workshop import VersionRecord, Workshop
from halfroll.workshop.motor_design import design_of
from halfroll.workshop.parts import lookups

WIDTH_PX = 300


@dataclass(frozen=True, kw_only=True)
class Drawable:
    """What of a version can be drawn: the motor in its places, its coil, what moves; at least one is there."""

    assembly: Assembly | None
    coil: Coil | None
    moving: MovingDesign | None

    @property
    def reach_m(self) -> float:
        """Its largest radius (m)."""
        extent = moving_extent(self.moving)
        radii = [] if extent is None else [extent[0]]
        if self.assembly is not None:
            radii += [body.bounds[1] for body in self.assembly.bodies]
        return max(radii)


def motor_drawings(
    workshop: Workshop,
    records: Mapping[str, VersionRecord],
    names: Mapping[str, str] | None = None,
    *,
    width_px: float = WIDTH_PX,
) -> dict[str, str]:
    """SVG of the whole section of every driver whose motor or moving parts can be built, by version id, all to one scale."""
    designed = [id_ for id_, one in records.items() if one.motor is not None or moves(one)]
    if not designed:
        return {}
    catalogue = lookups(workshop)
    found = {
        id_: one for id_ in designed if (one := drawable(workshop, id_, records[id_], catalogue)) is not None
    }
    reach = max((one.reach_m for one in found.values()), default=None)
    return {id_: _drawn(one, width_px, (names or {}).get(id_, id_), reach) for id_, one in found.items()}


def version_picture(
    workshop: Workshop,
    version_id: str,
    *,
    theme: Theme,
    width_px: float,
    name: str = "",
    tallest_px: float = 420.0,
) -> Picture:
    """A version's half-section with its main dimensions, not taller than `tallest_px`; a dashed outline of its size where nothing is designed."""
    record = workshop.version(version_id).record
    one = drawable(workshop, version_id, record, lookups(workshop))
    words = name or version_id
    if one is None:
        return _outlined(record, theme, width_px, words)
    width = width_px
    for _ in range(4):
        svg = _sized(one, theme, width, words)
        size = _size(svg)
        if size[1] <= tallest_px:
            break
        width *= max(0.5, tallest_px / size[1])
    label = re.search(r'aria-label="([^"]*)"', svg)
    return Picture(svg=svg, size=size, alt=unescape(label[1]) if label else words)


def _sized(one: Drawable, look: Theme, width_px: float, name: str) -> str:
    if one.assembly is None:
        assert one.moving is not None
        return moving_svg(one.moving, theme=look, width_px=width_px, name=name)
    return section_svg(
        one.assembly,
        coil=one.coil,
        theme=look,
        width_px=width_px,
        name=name,
        moving=one.moving,
        show=("hatching",),
    )


def _size(svg: str) -> tuple[float, float]:
    found = re.search(r'viewBox="[-\d.]+ [-\d.]+ ([\d.]+) ([\d.]+)"', svg)
    assert found is not None
    return float(found[1]), float(found[2])


def _outlined(record: VersionRecord, look: Theme, width_px: float, name: str) -> Picture:
    """The outline of a driver without a design, with the style of a page written into it."""
    area = record.effective_area_cm2
    svg = half_section(None if area is None else (1e-4 * area / pi) ** 0.5, name=name)
    ink = look.palette.ink
    style = (
        f"<style>path{{fill:none;stroke:{ink};stroke-width:.7px}}.outline{{stroke-width:1.2px;stroke-dasharray:5 2.2}}"
        f".hatch{{stroke-width:.5px;opacity:.6}}.centre{{stroke-dasharray:13 3 2 3}}.arrow{{fill:{ink};stroke:none}}"
        f"text{{font-size:11px;fill:{ink};font-family:'{look.family}',sans-serif}}</style>"
    )
    across, tall = _size(svg)
    width = min(width_px, 340.0)
    size = (width, round(tall / across * width, 1))
    start = svg.index(">") + 1
    head = svg[: start - 1] + f' width="{size[0]:g}" height="{size[1]:g}">'
    return Picture(
        svg=f"{head}{style}{svg[start:]}", size=size, alt=f"{name}: outline only, no design is recorded."
    )


def drawable(
    workshop: Workshop, version_id: str, record: VersionRecord, catalogue: Catalogue
) -> Drawable | None:
    """What of a version can be drawn; None when there is nothing, or it cannot be built."""
    built = _built(record, catalogue)
    moving = moving_parts(workshop, version_id, record, catalogue)
    if built is None and moving is None:
        return None
    assembly, coil = built or (None, None)
    return Drawable(assembly=assembly, coil=coil, moving=moving)


def moving_parts(
    workshop: Workshop, version_id: str, record: VersionRecord, catalogue: Catalogue
) -> MovingDesign | None:
    """The moving parts of a version that can be drawn; None when none are designed, or they cannot be."""
    if not moves(record):
        return None
    from halfroll.workshop.suspension_design import moving_of

    try:
        moving = moving_of(record, catalogue, workshop.version(version_id).path.parent)
        return moving if moving_extent(moving) is not None else None
    except InputError:  # the page of the suspension says what is wrong with it
        return None


def moves(record: VersionRecord) -> bool:
    """Whether a moving part is designed."""
    return any(getattr(record, name) is not None for name in ("surround", "spider", "cone", "cap"))


def _drawn(one: Drawable, width_px: float, name: str, reach: float | None) -> str:
    if one.assembly is None:
        assert one.moving is not None
        return moving_svg(one.moving, theme=None, width_px=width_px, name=name, reach_m=reach)
    return section_svg(one.assembly, coil=one.coil, theme=None, width_px=width_px, dimensions=False, mirrored=True, name=name,
                       reach_m=reach, moving=one.moving)  # fmt: skip


def _built(record: VersionRecord, catalogue: Catalogue) -> tuple[Assembly, Coil | None] | None:
    """The motor of a version in its places, and its coil; None when there is none or it cannot be built."""
    if record.motor is None:
        return None
    from halfroll.motor.coil.wound import wind
    from halfroll.motor.placing.stack import assemble

    try:
        design = design_of(record.motor, record.coil, catalogue)
        return assemble(design), None if design.coil is None else wind(design.coil)
    except InputError:  # the page of the design says what is wrong with it
        return None
