"""The sections of versions' drivers as thumbnails, motor and moving parts: from their records alone, nothing is computed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue
from halfroll.motor.coil.wound import Coil
from halfroll.motor.types import Assembly
from halfroll.publish.section import section_svg
from halfroll.publish.section_moving import moving_extent, moving_svg
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
