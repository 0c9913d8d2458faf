"""The sections of versions' motors as thumbnails: from their records alone, nothing is computed."""

from __future__ import annotations

from collections.abc import Mapping

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue
from halfroll.motor.coil.wound import Coil
from halfroll.motor.types import Assembly
from halfroll.publish.section import section_svg
from halfroll.workshop import VersionRecord, Workshop
from halfroll.workshop.motor_design import design_of
from halfroll.workshop.parts import lookups

WIDTH_PX = 300


def motor_drawings(
    workshop: Workshop,
    records: Mapping[str, VersionRecord],
    names: Mapping[str, str] | None = None,
    *,
    width_px: float = WIDTH_PX,
) -> dict[str, str]:
    """SVG of the whole section of every motor that can be built, by version id, all to one scale."""
    if not any(record.motor is not None for record in records.values()):
        return {}
    catalogue = lookups(workshop)
    built = {id_: one for id_, record in records.items() if (one := _built(record, catalogue)) is not None}
    reach = max((body.bounds[1] for assembly, _ in built.values() for body in assembly.bodies), default=None)
    return {
        id_: section_svg(assembly, coil=coil, theme=None, width_px=width_px, dimensions=False, mirrored=True,
                         name=(names or {}).get(id_, id_), reach_m=reach)
        for id_, (assembly, coil) in built.items()
    }  # fmt: skip


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
